//! The shop in numbers: its pace, its shelf.

use std::path::Path;
use std::time::Duration;

use clap::Args;
use serde_json::{Value, json};

use super::everywhere::{Everywhere, OneStation, Over};
use super::period::{Period, Since};
use super::{Failure, Places, output, read, read_since};
use crate::figures::units::spans;
use crate::screen::words;
use crate::shop::Shop;
use crate::shop::books::Books;
use crate::shop::books::finished::Scope;
use crate::shop::books::production::Production;
use crate::shop::books::shifts::ShiftName;
use crate::shop::books::tally::an_hour;
use crate::shop::facts::day::Day;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::Outcome;
use crate::shop::floor::garment::{Garment, Queue};
use crate::shop::floor::shelved::ShelfState;

/// How it is to be told.
#[derive(Debug, Args)]
pub struct Options {
    /// As JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    over: Over,
}

/// Over which time the pace is told.
#[derive(Debug, Args)]
pub struct PaceOptions {
    /// Only the last "2h", or what was since "13:00"
    #[arg(long, conflicts_with = "shift", value_parser = Since::read)]
    since: Option<Since>,
    /// A shift by its day, "2026-12-04", the day's second, "2026-12-04/2", or by initials, "2026-12-04/AK" or "AK" for the newest
    #[arg(long, value_name = "SHIFT")]
    shift: Option<ShiftName>,
    /// As JSON, with the standard figures and the elements that they are made of
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    over: Over,
}

/// What is told of a stretch of time: all of it is of that stretch, and what waits is what waited at its end.
struct PaceAnswer {
    /// Which stretch, in words and in a word.
    says: String,
    what: &'static str,
    from: Wall,
    to: Moment,
    shop: Shop,
    production: Production,
    finished: usize,
    second: usize,
    per_hour: Option<f64>,
    /// Over which the rate goes.
    rate_over: Duration,
}

/// Prints how many, how fast, what waits where.
pub fn pace(places: &Places, options: &PaceOptions) -> Result<(), Failure> {
    if let Some(all) = options.over.everywhere(places)? {
        return pace_everywhere(&all, options);
    }
    let told = pace_of(&places.data()?, options)?;
    if options.json {
        return output::json(&told.as_json());
    }
    output::lines(told.lines())
}

/// The same of each station, and what can be added up of all.
fn pace_everywhere(all: &Everywhere, options: &PaceOptions) -> Result<(), Failure> {
    let told = all.each(|one| Ok(pace_of(&one.data, options)?.as_json()))?;
    let sums = added_up(&told);
    if options.json {
        output::json(&json!({ "stations": all.named(&told), "all": sums }))?;
        return all.is_whole();
    }
    let mut lines = all.headed(|one| Ok(pace_of(&one.data, options)?.lines()))?;
    let figure = |name: &str| sums[name].as_u64().unwrap_or(0);
    let per_hour = sums["per_hour"].as_f64();
    let per_hour = per_hour.map_or_else(|| "-".to_owned(), |pace| format!("{pace:.1}"));
    lines.extend([
        String::new(),
        "all stations".to_owned(),
        format!("finished        {:>6}", figure("finished")),
        format!("out             {:>6}", figure("out")),
        format!("an hour         {per_hour:>6}   the stations' paces, added up"),
        format!("in progress     {:>6}", figure("in_progress")),
        format!("on the shelf    {:>6}", figure("shelf")),
    ]);
    output::lines(lines)?;
    all.is_whole()
}

/// Counts and paces of all stations; ratios cannot be added.
fn added_up(told: &[(&OneStation, Result<Value, String>)]) -> Value {
    let answers = || told.iter().filter_map(|(_, answer)| answer.as_ref().ok());
    let sum = |name: &str| -> Value {
        let values: Vec<&Value> = answers().map(|answer| &answer[name]).collect();
        if values.iter().all(|value| value.is_u64()) {
            return values.iter().filter_map(|value| value.as_u64()).sum::<u64>().into();
        }
        let known: Vec<f64> = values.iter().filter_map(|value| value.as_f64()).collect();
        if known.is_empty() { Value::Null } else { known.iter().sum::<f64>().into() }
    };
    let queue = |step: Step| {
        let waits = answers().filter_map(|answer| answer["queues"][step.name()].as_u64());
        (step.name().to_owned(), Value::from(waits.sum::<u64>()))
    };
    const NAMES: [&str; 9] = [
        "finished",
        "out",
        "second",
        "per_hour",
        "last_hour",
        "in_progress",
        "in_presses",
        "blanks",
        "shelf",
    ];
    let mut all: serde_json::Map<String, Value> =
        NAMES.iter().map(|name| ((*name).to_owned(), sum(name))).collect();
    let queues: serde_json::Map<String, Value> = Step::ALL.into_iter().map(queue).collect();
    all.insert("queues".to_owned(), queues.into());
    all.into()
}

fn pace_of(data: &Path, options: &PaceOptions) -> Result<PaceAnswer, Failure> {
    match (options.since, &options.shift) {
        (Some(since), _) => {
            of_period(data, &Period::since(data, since)?, ("since", since.to_string()))
        }
        (None, Some(name)) => {
            let period = Period::of_shift(data, Some(name))?;
            of_period(data, &period, ("shift", format!("the shift of {name}")))
        }
        (None, None) => of_today(data),
    }
}

impl PaceAnswer {
    fn waits(&self) -> impl Iterator<Item = (&'static str, usize)> {
        let floor = self.shop.floor();
        Step::ALL.into_iter().map(|step| (step.name(), floor.count(Queue::Step(step))))
    }

    fn as_json(&self) -> Value {
        let elements = self.production.elements(&self.shop, self.to);
        let ratios = elements.ratios();
        let tally = self.shop.tally(self.to, self.from);
        let queues: serde_json::Map<String, Value> =
            self.waits().map(|(name, count)| (name.to_owned(), count.into())).collect();
        json!({
            "of": { "what": self.what, "from": rfc3339(self.from), "to": rfc3339(self.to.at) },
            "finished": self.finished, "out": self.production.count(Outcome::Out),
            "second": self.second,
            "per_hour": self.per_hour, "per_hour_over_s": self.rate_over.as_secs_f64(),
            "last_hour": tally.last_hour,
            "in_progress": tally.in_progress, "in_presses": self.shop.loads().count(),
            "blanks": tally.blanks, "shelf": tally.shelf, "queues": queues,
            "kpi": ratios, "elements": elements,
        })
    }

    fn lines(&self) -> Vec<String> {
        let ratios = self.production.elements(&self.shop, self.to).ratios();
        let tally = self.shop.tally(self.to, self.from);
        let out = self.production.count(Outcome::Out);
        let per_hour = self.per_hour.map_or_else(|| "-".to_owned(), |pace| format!("{pace:.1}"));
        let over = spans::minutes(self.rate_over.as_secs_f64());
        let over = match self.what {
            "today" => format!("over the last {over}"),
            _ => format!("over all {over} of it"),
        };
        let mut lines = vec![
            self.says.clone(),
            format!("finished        {:>6}", self.finished),
            format!("out             {out:>6}"),
            format!("an hour         {per_hour:>6}   {over}"),
            format!(
                "in progress     {:>6}   at the end of it, as all that waits",
                tally.in_progress
            ),
        ];
        lines.extend(
            self.waits().map(|(name, count)| format!("  waiting for {name:<10} {count:>4}")),
        );
        lines.push(format!("on the shelf    {:>6}", tally.shelf));
        let percent =
            |ratio: Option<f64>| ratio.map_or("-".to_owned(), |r| format!("{:.1} %", r * 100.0));
        lines.extend([
            format!(
                "availability    {:>8}   of the presses (ISO 22400-2, as are those below)",
                percent(ratios.availability)
            ),
            format!("effectiveness   {:>8}", percent(ratios.effectiveness)),
            format!("quality ratio   {:>8}", percent(ratios.quality_ratio)),
            format!("OEE index       {:>8}", percent(ratios.oee_index)),
            format!(
                "first pass      {:>8}   of finished and lost garments",
                percent(ratios.first_pass_yield)
            ),
        ]);
        lines
    }
}

/// Since the shift began that runs, else since midnight; the rate as the board tells it, over the last hour.
fn of_today(data: &Path) -> Result<PaceAnswer, Failure> {
    let now = read(data)?;
    let from = now.shop.counted_since(now.now);
    let scope = Scope::Since(from);
    let (read, production) =
        read_since(data, from, |books| Production::within(scope, books.finished.clone()))?;
    let (shop, to) = (read.shop, now.now);
    let tally = shop.tally(to, from);
    let rate_over = shop.rate_over(to, from);
    let clock = |at| words::clock(at, &read.zone);
    Ok(PaceAnswer {
        says: format!("today: since {}, as of {}", clock(from), clock(to.at)),
        what: "today",
        from,
        to,
        production,
        finished: tally.finished,
        second: tally.second,
        per_hour: tally.per_hour,
        rate_over,
        shop,
    })
}

/// A shift or the last hours; the rate as the report tells it, over all of it.
fn of_period(
    data: &Path,
    period: &Period,
    (what, says): (&'static str, String),
) -> Result<PaceAnswer, Failure> {
    let begin = |books: &Books| Production::within(period.scope, books.finished.clone());
    let (shop, production) = period.read_inside(data, begin)?;
    let finished = production.finished();
    let rate_over = period.to.since(period.from).span;
    let when = |at| format!("{} {}", words::day(at, &period.zone), words::clock(at, &period.zone));
    Ok(PaceAnswer {
        says: format!("{says}: {} to {}", when(period.from.at), when(period.to.at)),
        what,
        from: period.from.at,
        to: period.to,
        finished: finished.len(),
        second: finished.iter().filter(|(tag, _)| shop.floor().is_second(*tag)).count(),
        per_hour: an_hour(finished.len(), rate_over),
        rate_over,
        production,
        shop,
    })
}

/// Prints what lies on the shelf, the soonest last day first.
pub fn shelf(places: &Places, options: &Options) -> Result<(), Failure> {
    if let Some(all) = options.over.everywhere(places)? {
        return shelf_everywhere(&all, options.json);
    }
    let stored = stored(&places.data()?)?;
    if options.json {
        return output::json(&stored.iter().map(|one| &one.json).collect::<Vec<&Value>>());
    }
    output::lines(stored.iter().map(|one| &one.line))
}

/// The shelves of all stations as one: whatever lies longest goes first, wherever it lies.
fn shelf_everywhere(all: &Everywhere, as_json: bool) -> Result<(), Failure> {
    let shelves = all.each(|one| stored(&one.data))?;
    let mut stored: Vec<(&OneStation, Stored)> = Vec::new();
    for (station, found) in shelves {
        stored.extend(found.unwrap_or_default().into_iter().map(|one| (station, one)));
    }
    stored.sort_by_key(|(_, one)| one.last_day);
    if as_json {
        let with = |(station, one): (&OneStation, Stored)| station.named(one.json);
        output::json(&stored.into_iter().map(with).collect::<Vec<Value>>())?;
    } else {
        let line = |(station, one): &(&OneStation, Stored)| {
            format!("{}  at {}", one.line.trim_end(), station.called())
        };
        output::lines(stored.iter().map(line))?;
    }
    all.is_whole()
}

/// A garment on a shelf, as it is told.
struct Stored {
    last_day: Option<Day>,
    json: Value,
    line: String,
}

/// What lies on a shelf, the soonest last day first.
fn stored(data: &Path) -> Result<Vec<Stored>, Failure> {
    let read = read(data)?;
    let today = read.shop.today(read.now);
    let order_of = |garment: &Garment| {
        read.shop.order(garment.order()).map_or("", |order| order.form.name.as_str())
    };
    let json = |garment: &Garment, place: u32| {
        let shelved = garment.shelved.as_deref();
        json!({
            "tag": garment.tag, "order": order_of(garment),
            "stored": shelved.map(|shelved| shelved.day),
            "good_until": shelved.map(|shelved| shelved.good_until),
            "last_day": shelved.map(|shelved| shelved.last_day),
            "state": shelved.map(|shelved| shelved.state(today)),
            "stack": shelved.map(|shelved| shelved.stack.clone()),
            "position": place,
            "unsure": shelved.is_some_and(|shelved| shelved.unsure),
            "disturbed": shelved.is_some_and(|shelved| shelved.disturbed),
        })
    };
    let line = |garment: &Garment, place: u32| {
        let Some(shelved) = garment.shelved.as_deref() else { return garment.tag.to_string() };
        let state = match shelved.state(today) {
            ShelfState::Past => "PAST",
            ShelfState::UseFirst => "use first",
            ShelfState::Good => "",
        };
        let unsure = if shelved.unsure { "  days unsure: the clock was wrong" } else { "" };
        let disturbed = if shelved.disturbed { "  stack shifted" } else { "" };
        format!(
            "{:<10} good until {}  last day {}  {state:<9}  stack {} place {place}  {}{disturbed}{unsure}",
            garment.tag.to_string(),
            shelved.good_until,
            shelved.last_day,
            shelved.stack,
            order_of(garment),
        )
    };
    let all = read.shop.shelf_page(read.now, 0, usize::MAX).garments.into_iter();
    Ok(all
        .map(|(garment, place)| Stored {
            last_day: garment.shelved.as_deref().map(|shelved| shelved.last_day),
            json: json(garment, place),
            line: line(garment, place),
        })
        .collect())
}
