//! The shop in numbers: its pace, its shelf.

use std::path::Path;

use clap::Args;
use serde_json::{Value, json};

use super::period::Period;
use super::{Failure, Places, Read, output, read, read_since};
use crate::figures::kpi::Elements;
use crate::figures::units::Span;
use crate::screen::words;
use crate::shop::day::Day;
use crate::shop::garment::{Garment, Queue};
use crate::shop::production::Production;
use crate::shop::shelf::ShelfState;
use crate::shop::step::Step;

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
    /// Only the last so long, "2h"
    #[arg(long, conflicts_with = "shift")]
    since: Option<Span>,
    /// The shift that began on this day, "2026-12-04"
    #[arg(long, value_name = "DAY")]
    shift: Option<Day>,
    /// As JSON, with the standard figures and the elements that they are made of
    #[arg(long)]
    json: bool,
}

/// Prints how many, how fast, what waits where.
pub fn pace(places: &Places, options: &PaceOptions) -> Result<(), Failure> {
    let data = places.data()?;
    let read = read(&data)?;
    let elements = elements(&data, options, &read)?;
    let ratios = elements.ratios();
    let tally = read.shop.tally(read.now, words::day_start(read.now.at, &read.zone));
    let floor = read.shop.floor();
    let waits = Step::ALL.map(|step| (step.name(), floor.count(Queue::Step(step))));
    if options.json {
        let queues: serde_json::Map<String, Value> =
            waits.iter().map(|(name, count)| ((*name).to_owned(), (*count).into())).collect();
        return output::json(&json!({
            "finished": tally.finished, "out": tally.out, "second": tally.second,
            "per_hour": tally.per_hour, "last_hour": tally.last_hour,
            "in_progress": tally.in_progress, "in_presses": read.shop.loads().count(),
            "blanks": tally.blanks, "shelf": tally.shelf, "queues": queues,
            "kpi": ratios, "elements": elements,
        }));
    }
    let per_hour = tally.per_hour.map_or_else(|| "-".to_owned(), |pace| format!("{pace:.1}"));
    let mut lines = vec![
        format!("finished today  {:>6}", tally.finished),
        format!("out             {:>6}", tally.out),
        format!("an hour         {per_hour:>6}"),
        format!("in progress     {:>6}", tally.in_progress),
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

/// The elements of the standard figures over the time that is asked for: today, where none is.
fn elements(data: &Path, options: &PaceOptions, now: &Read) -> Result<Elements, Failure> {
    let mut production = Production::default();
    let period = match (options.since, options.shift) {
        (Some(span), _) => Period::since(data, span)?,
        (None, Some(day)) => Period::of_shift(data, Some(day))?,
        (None, None) => {
            let today = words::day_start(now.now.at, &now.zone);
            let read = read_since(data, today, |event, shop| {
                if event.moment.at >= today {
                    production.take(event, shop);
                }
            })?;
            return Ok(production.elements(&read.shop, now.now));
        }
    };
    let shop = period.read(data, |event, shop, inside| {
        if inside {
            production.take(event, shop);
        }
    })?;
    Ok(production.elements(&shop, period.to))
}

/// Prints what lies on the shelf, the soonest last day first.
pub fn shelf(places: &Places, options: &Options) -> Result<(), Failure> {
    let read = read(&places.data()?)?;
    let today = read.shop.today(read.now);
    let order_of = |garment: &Garment| {
        read.shop.order(garment.order()).map_or("", |order| order.form.name.as_str())
    };
    let stored = read.shop.shelf();
    if options.json {
        let one = |garment: &&Garment| {
            let shelved = garment.shelved.as_deref();
            json!({
                "tag": garment.tag, "order": order_of(garment),
                "stored": shelved.map(|shelved| shelved.day),
                "good_until": shelved.map(|shelved| shelved.good_until),
                "last_day": shelved.map(|shelved| shelved.last_day),
                "state": shelved.map(|shelved| shelved.state(today)),
                "stack": shelved.map(|shelved| shelved.stack.clone()),
                "position": shelved.map(|shelved| shelved.position),
                "unsure": shelved.is_some_and(|shelved| shelved.unsure),
                "disturbed": shelved.is_some_and(|shelved| shelved.disturbed),
            })
        };
        let all: Vec<Value> = stored.iter().map(one).collect();
        return output::json(&all);
    }
    output::lines(stored.into_iter().map(|garment| {
        let Some(shelved) = garment.shelved.as_deref() else { return garment.tag.to_string() };
        let state = match shelved.state(today) {
            ShelfState::Past => "PAST",
            ShelfState::UseFirst => "use first",
            ShelfState::Good => "",
        };
        let unsure = if shelved.unsure { "  days unsure: the clock was wrong" } else { "" };
        let disturbed = if shelved.disturbed { "  stack shifted" } else { "" };
        format!(
            "{:<10} good until {}  last day {}  {state:<9}  stack {} place {}  {}{disturbed}{unsure}",
            garment.tag.to_string(),
            shelved.good_until,
            shelved.last_day,
            shelved.stack,
            shelved.position,
            order_of(garment),
        )
    }))
}
