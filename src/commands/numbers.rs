//! The shop in numbers: its pace, its shelf.

use clap::Args;
use serde_json::{Value, json};

use super::{Failure, Places, output, read};
use crate::screen::words;
use crate::shop::garment::Queue;
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

/// Prints what lies on the shelf.
pub fn shelf(places: &Places, options: &Options) -> Result<(), Failure> {
    let read = read(&places.data()?, |_| {})?;
    let stored = read.shop.floor().queue(Queue::Shelf).map(|garment| {
        let order = read.shop.order(garment.order());
        let name = order.map_or("", |order| order.form.name.as_str());
        (garment.tag, name, words::day(garment.since.at, &read.zone))
    });
    if options.json {
        let all: Vec<Value> = stored
            .map(|(tag, order, stored)| json!({ "tag": tag, "order": order, "stored": stored }))
            .collect();
        return output::json(&all);
    }
    output::lines(stored.map(|(tag, order, stored)| format!("{tag:<10} {stored}  {order}")))
}
