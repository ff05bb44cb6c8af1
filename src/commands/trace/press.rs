//! What a press was shut on.

use std::collections::BTreeSet;
use std::time::Duration;

use jiff::tz::TimeZone;
use serde_json::{Value, json};

use crate::commands::everywhere::{Everywhere, OneStation};
use crate::commands::{Failure, output, zone_of};
use crate::figures::units::Days;
use crate::screen::words;
use crate::shell::journal::Reader;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::moment::{Boot, Wall};

/// Prints every time that a press was shut, from one day to the end of another.
pub fn tell(
    reader: Result<Reader, Failure>,
    press: PressNo,
    days: (Option<Day>, Option<Day>),
    as_json: bool,
) -> Result<(), Failure> {
    let shuts = shuts(&reader?, press, days)?;
    if as_json {
        return output::json(&shuts.as_json());
    }
    output::lines(shuts.lines(press))
}

/// The same of the press of that number at each station.
pub fn tell_everywhere(
    all: &Everywhere,
    press: PressNo,
    days: (Option<Day>, Option<Day>),
    as_json: bool,
) -> Result<(), Failure> {
    let shuts = |one: &OneStation| shuts(&one.reader()?, press, days);
    if as_json {
        let answers = all.each(|one| Ok(shuts(one)?.as_json()))?;
        return output::json(&json!({ "stations": all.named(&answers) }));
    }
    output::lines(all.headed(|one| Ok(shuts(one)?.lines(press)))?)
}

/// Each time that a press was shut.
struct Shuts {
    events: Vec<Event>,
    zone: TimeZone,
}

fn shuts(
    reader: &Reader,
    press: PressNo,
    (from, to): (Option<Day>, Option<Day>),
) -> Result<Shuts, Failure> {
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
    Ok(Shuts { events: shuts, zone })
}

impl Shuts {
    fn as_json(&self) -> Value {
        let all = self.events.iter().filter_map(|event| match &event.fact {
            Fact::PressShut(fact) => Some(json!({
                "tag": fact.garment, "step": fact.step, "again": fact.again, "place": fact.place,
                "scanned": fact.scanned, "at": rfc3339(event.moment.at),
            })),
            _ => None,
        });
        all.collect()
    }

    fn lines(&self, press: PressNo) -> Vec<String> {
        if self.events.is_empty() {
            return vec![format!("press {press} was not shut in that time")];
        }
        let line = |event: &Event| {
            let at = event.moment.at;
            let (day, clock) = (words::day(at, &self.zone), words::clock_seconds(at, &self.zone));
            format!("{day} {clock}  {}", event.fact.in_words())
        };
        self.events.iter().map(line).collect()
    }
}
