//! What a press was shut on.

use std::collections::BTreeSet;
use std::time::Duration;

use serde_json::{Value, json};

use crate::commands::history::rfc3339;
use crate::commands::{Failure, output, zone_of};
use crate::figures::units::Days;
use crate::screen::words;
use crate::shell::journal::Reader;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::Fact;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::{Boot, Wall};

/// Prints every time that a press was shut, from one day to the end of another.
pub fn tell(
    reader: Result<Reader, Failure>,
    press: PressNo,
    (from, to): (Option<Day>, Option<Day>),
    as_json: bool,
) -> Result<(), Failure> {
    let reader = &reader?;
    let part = reader.part_of(&BTreeSet::new())?;
    let zone = zone_of(&part.shop, part.shop.newest().map_or(Boot(0), |newest| newest.boot));
    let from = from.map_or(Some(Wall::FIRST), |day| day.begins(&zone));
    let to = to.map_or(Some(Wall::LAST), |day| {
        Some(day.plus(Days(1)).begins(&zone)?.minus(Duration::from_micros(1)))
    });
    let (from, to) = (from.unwrap_or(Wall::LAST), to.unwrap_or(Wall::LAST));
    let shuts = reader.shut_by(press, from, to)?;
    let numbers = part.shop.press_numbers();
    // One that the station has dropped was there once, where anything is known of it.
    if shuts.is_empty()
        && !numbers.contains(&press)
        && reader.shut_by(press, Wall::FIRST, Wall::LAST)?.is_empty()
    {
        let known: Vec<String> = numbers.iter().map(PressNo::to_string).collect();
        let known = known.join(", ");
        return Err(Failure::Input(format!("no press {press} is known here; there are: {known}")));
    }
    if as_json {
        let all: Vec<Value> = shuts
            .iter()
            .filter_map(|event| match &event.fact {
                Fact::PressShut(fact) => Some(json!({
                    "tag": fact.garment, "step": fact.step, "again": fact.again, "place": fact.place,
                    "scanned": fact.scanned, "at": rfc3339(event.moment.at),
                })),
                _ => None,
            })
            .collect();
        return output::json(&all);
    }
    if shuts.is_empty() {
        return output::lines([format!("press {press} was not shut in that time")]);
    }
    output::lines(shuts.iter().map(|event| {
        let at = event.moment.at;
        format!(
            "{} {}  {}",
            words::day(at, &zone),
            words::clock_seconds(at, &zone),
            event.fact.in_words()
        )
    }))
}
