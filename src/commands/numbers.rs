//! The shop in numbers: its pace, its shelf.

use clap::Args;
use serde_json::{Value, json};

use super::{Failure, Places, output, read};
use crate::screen::words;
use crate::shop::garment::{Garment, Queue};
use crate::shop::shelf::ShelfState;
use crate::shop::step::Step;

/// How it is to be told.
#[derive(Debug, Args)]
pub struct Options {
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints how many, how fast, what waits where.
pub fn pace(places: &Places, options: &Options) -> Result<(), Failure> {
    let read = read(&places.data()?, |_| {})?;
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
    output::lines(lines)
}

/// Prints what lies on the shelf, the soonest last day first.
pub fn shelf(places: &Places, options: &Options) -> Result<(), Failure> {
    let read = read(&places.data()?, |_| {})?;
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
