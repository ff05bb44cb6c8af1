//! The shop in numbers: its pace, its shelf.

use std::path::Path;
use std::time::Duration;

use clap::Args;
use serde_json::{Value, json};

use super::history::rfc3339;
use super::period::{Period, Since};
use super::{Failure, Places, output, read, read_since};
use crate::screen::words;
use crate::shop::Shop;
use crate::shop::books::Books;
use crate::shop::books::finished::Scope;
use crate::shop::books::production::Production;
use crate::shop::books::shifts::ShiftName;
use crate::shop::books::tally::an_hour;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::Outcome;
use crate::shop::floor::garment::{Garment, Queue};
use crate::shop::floor::shelf::ShelfState;

/// How it is to be told.
#[derive(Debug, Args)]
pub struct Options {
    /// As JSON
    #[arg(long)]
    json: bool,
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
    let data = places.data()?;
    let told = match (options.since, &options.shift) {
        (Some(since), _) => {
            of_period(&data, &Period::since(&data, since)?, ("since", since.to_string()))?
        }
        (None, Some(name)) => {
            let period = Period::of_shift(&data, Some(name))?;
            of_period(&data, &period, ("shift", format!("the shift of {name}")))?
        }
        (None, None) => of_today(&data)?,
    };
    let elements = told.production.elements(&told.shop, told.to);
    let ratios = elements.ratios();
    let tally = told.shop.tally(told.to, told.from);
    let out = told.production.count(Outcome::Out);
    let floor = told.shop.floor();
    let waits = Step::ALL.map(|step| (step.name(), floor.count(Queue::Step(step))));
    if options.json {
        let queues: serde_json::Map<String, Value> =
            waits.iter().map(|(name, count)| ((*name).to_owned(), (*count).into())).collect();
        return output::json(&json!({
            "of": { "what": told.what, "from": rfc3339(told.from), "to": rfc3339(told.to.at) },
            "finished": told.finished, "out": out, "second": told.second,
            "per_hour": told.per_hour, "per_hour_over_s": told.rate_over.as_secs_f64(),
            "last_hour": tally.last_hour,
            "in_progress": tally.in_progress, "in_presses": told.shop.loads().count(),
            "blanks": tally.blanks, "shelf": tally.shelf, "queues": queues,
            "kpi": ratios, "elements": elements,
        }));
    }
    let per_hour = told.per_hour.map_or_else(|| "-".to_owned(), |pace| format!("{pace:.1}"));
    let minutes = told.rate_over.as_secs_f64() / 60.0;
    let over = match told.what {
        "today" => format!("over the last {minutes:.0} min"),
        _ => format!("over all {minutes:.0} min of it"),
    };
    let mut lines = vec![
        told.says,
        format!("finished        {:>6}", told.finished),
        format!("out             {out:>6}"),
        format!("an hour         {per_hour:>6}   {over}"),
        format!("in progress     {:>6}   at the end of it, as all that waits", tally.in_progress),
    ];
    lines.extend(waits.iter().map(|(name, count)| format!("  waiting for {name:<10} {count:>4}")));
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
    output::lines(lines)
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
        second: finished.iter().filter(|(tag, _)| shop.is_second(*tag)).count(),
        per_hour: an_hour(finished.len(), rate_over),
        rate_over,
        production,
        shop,
    })
}

/// Prints what lies on the shelf, the soonest last day first.
pub fn shelf(places: &Places, options: &Options) -> Result<(), Failure> {
    let read = read(&places.data()?)?;
    let today = read.shop.today(read.now);
    let order_of = |garment: &Garment| {
        read.shop.order(garment.order()).map_or("", |order| order.form.name.as_str())
    };
    let stored = read.shop.shelf_page(read.now, 0, usize::MAX).garments;
    if options.json {
        let one = |(garment, place): &(&Garment, u32)| {
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
        let all: Vec<Value> = stored.iter().map(one).collect();
        return output::json(&all);
    }
    output::lines(stored.into_iter().map(|(garment, place)| {
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
    }))
}
