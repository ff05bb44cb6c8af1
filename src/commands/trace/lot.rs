//! The garments that a lot of fluid was sprayed onto, and where they are.

use std::collections::{BTreeMap, BTreeSet};

use jiff::tz::TimeZone;
use serde_json::{Value, json};

use super::place;
use crate::commands::everywhere::{Everywhere, OneStation};
use crate::commands::{Failure, output, zone_of};
use crate::screen::words;
use crate::shell::journal::Reader;
use crate::shell::journal::story::Part;
use crate::shell::recall::{self, Taken};
use crate::shell::records::{self, Record};
use crate::shop::facts::fact::{Event, Fact, HandworkDone, Returned};
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::moment::{Boot, Wall};
use crate::shop::facts::words::{clean, counted};

/// One spray of a garment.
#[derive(Debug, Clone, Copy)]
struct Spray<'a> {
    fact: &'a HandworkDone,
    /// Its coat was laid anew since the spray before.
    renewed: bool,
}

/// Prints the garments of a lot.
pub fn tell(
    reader: Result<Reader, Failure>,
    lot: &str,
    (as_json, as_csv): (bool, bool),
) -> Result<(), Failure> {
    known(&reader?, lot, |known| match (as_json, as_csv) {
        (true, _) => output::json(&known.as_json()),
        (_, true) => table(&[&super::records::HEAD[..]], known.rows()),
        _ => output::lines(known.lines()),
    })
}

/// The same of all stations: whoever calls the customers is told which station has which order.
pub fn tell_everywhere(
    all: &Everywhere,
    lot: &str,
    (as_json, as_csv): (bool, bool),
) -> Result<(), Failure> {
    let mut lacks = Lacks::default();
    if as_json {
        let answers = all.each(|one| lacks.noted(one, asked(one, lot, |known| known.as_json())))?;
        let list = |list: &str| -> Vec<Value> {
            let of = |(station, answer): &(&OneStation, Result<Value, String>)| {
                let all = answer.as_ref().ok().and_then(|answer| answer[list].as_array());
                let with = |one: &Value| {
                    let mut one = one.clone();
                    one["station"] = json!(station.id);
                    one["station_name"] = json!(station.name());
                    one
                };
                all.into_iter().flatten().map(with).collect::<Vec<Value>>()
            };
            answers.iter().flat_map(of).collect()
        };
        output::json(&json!({
            "lot": lot, "orders": list("orders"), "garments": list("garments"),
        }))?;
        return lacks.none();
    }
    if as_csv {
        let answers = all.each(|one| lacks.noted(one, asked(one, lot, |known| known.rows())))?;
        let rows = answers.into_iter().flat_map(|(station, rows)| {
            let name = station.called();
            let with = move |row: Vec<String>| std::iter::once(name.clone()).chain(row).collect();
            rows.unwrap_or_default().into_iter().map(with).collect::<Vec<Vec<String>>>()
        });
        table(&[&["station"], &super::records::HEAD[..]], rows.collect())?;
        return lacks.none();
    }
    let answers = all.each(|one| lacks.noted(one, asked(one, lot, |known| known.lines())))?;
    let at = |(station, answer): (&OneStation, Result<Vec<String>, String>)| {
        let lines = answer.ok()?;
        Some(std::iter::once(format!("at {}", station.called())).chain(lines).collect())
    };
    let stations: Vec<Vec<String>> = answers.into_iter().filter_map(at).collect();
    output::lines(stations.into_iter().flatten())?;
    lacks.none()
}

fn asked<T>(one: &OneStation, lot: &str, tell: impl FnOnce(&Known<'_>) -> T) -> Result<T, Failure> {
    known(&one.reader()?, lot, |known| Ok(tell(known)))
}

/// Stations that a recall could not ask: one at which the lot was never filled in is none of them.
#[derive(Default)]
struct Lacks(Vec<String>);

impl Lacks {
    /// Notes why a station has no answer, and has the others asked all the same.
    fn noted<T>(&mut self, one: &OneStation, answer: Result<T, Failure>) -> Result<T, Failure> {
        answer.map_err(|wrong| match wrong {
            Failure::NoJournal(_) | Failure::Closed => wrong,
            Failure::Input(why) | Failure::Other(why) => {
                self.0.push(format!("{}: {why}", one.called()));
                Failure::Input(why)
            }
        })
    }

    /// Said after the answer.
    fn none(&self) -> Result<(), Failure> {
        match self.0.as_slice() {
            [] => Ok(()),
            lacks => Err(Failure::Other(format!("this recall lacks {}", lacks.join("; ")))),
        }
    }
}

/// A table under a head that is given in parts.
fn table(head: &[&[&str]], rows: Vec<Vec<String>>) -> Result<(), Failure> {
    let bytes = output::table_bytes(|table| {
        table.write_record(head.concat())?;
        rows.iter().try_for_each(|row| table.write_record(row))
    })?;
    output::raw(&bytes)
}

/// Has what a journal knows of a lot told.
fn known<T>(
    reader: &Reader,
    lot: &str,
    tell: impl FnOnce(&Known<'_>) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let unknown = |known: &[String]| {
        let lot = clean(lot, 40);
        let known = match known {
            [] => String::new(),
            known => format!("; lots that were registered last: {}", known.join(", ")),
        };
        Err(Failure::NoJournal(format!("no bottle of lot {lot} was ever filled in here{known}")))
    };
    let lots = reader.lots()?;
    let alike: Vec<&String> = lots.iter().filter(|one| one.eq_ignore_ascii_case(lot)).collect();
    let lot = match alike.as_slice() {
        // Exactly as written goes before the same in other letters.
        all if all.iter().any(|one| *one == lot) => lot,
        [one] => one.as_str(),
        [] => lot,
        several => {
            let names: Vec<&str> = several.iter().map(|name| name.as_str()).collect();
            let text = format!("several lots are written so: {}; expected one", names.join(", "));
            return Err(Failure::Input(text));
        }
    };
    let Some(tags) = reader.sprayed_with(lot)? else {
        const MOST_NAMED: usize = 5;
        return unknown(&lots[lots.len().saturating_sub(MOST_NAMED)..]);
    };
    let part = reader.part_of(&tags)?;
    let known = Known {
        lot,
        zone: zone_of(&part.shop, part.shop.newest().map_or(Boot(0), |newest| newest.boot)),
        sprays: sprays(&part),
        records: records::of(tags.iter().copied(), &part),
        orders: orders(reader, &tags)?,
        returns: reader.returns()?,
        part: &part,
    };
    tell(&known)
}

/// The orders of some garments, oldest first.
fn orders(reader: &Reader, tags: &BTreeSet<Tag>) -> Result<Vec<Taken>, Failure> {
    let wanted: BTreeSet<OrderId> = tags.iter().map(|tag| tag.order_id()).collect();
    let all = recall::orders(reader)?.into_iter();
    Ok(all.filter(|order| wanted.contains(&order.id)).collect())
}

/// What is known of a lot's garments.
struct Known<'a> {
    lot: &'a str,
    zone: TimeZone,
    sprays: BTreeMap<Tag, Vec<Spray<'a>>>,
    records: BTreeMap<Tag, Record>,
    orders: Vec<Taken>,
    returns: Vec<Event>,
    part: &'a Part,
}

impl Known<'_> {
    fn of(&self, tag: Tag) -> &[Spray<'_>] {
        self.sprays.get(&tag).map_or(&[][..], Vec::as_slice)
    }

    fn of_order(&self, order: OrderId) -> impl Iterator<Item = &Record> {
        self.records.values().filter(move |record| record.tag.order_id() == order)
    }

    /// Returns of an order of which nobody knows which garment it was.
    fn untagged(&self, order: OrderId) -> impl Iterator<Item = &Returned> {
        self.returns.iter().filter_map(move |event| match &event.fact {
            Fact::Returned(said) if order == event.of(said.order) && said.garment.is_none() => {
                Some(said)
            }
            _ => None,
        })
    }

    /// When the first and the last of an order were cured.
    fn finished(&self, order: OrderId) -> Option<(Wall, Wall)> {
        let cured = || self.of_order(order).filter_map(|record| Some(record.cured?.at));
        cured().min().zip(cured().max())
    }

    /// How many garments of an order are where.
    fn places(&self, order: OrderId) -> BTreeMap<String, usize> {
        let mut places = BTreeMap::new();
        for record in self.of_order(order) {
            *places.entry(place(&self.part.shop, record.tag)).or_default() += 1;
        }
        places
    }

    fn as_json(&self) -> Value {
        let garments: Vec<Value> = self
            .records
            .values()
            .map(|record| {
                let sprays = self.of(record.tag);
                let last = sprays.last();
                let mut garment = super::records::as_json(record);
                garment["place"] = json!(place(&self.part.shop, record.tag));
                garment["lots"] = json!(last.map(|last| &last.fact.lots));
                garment["fluids"] = json!(last.map(|last| &last.fact.fluids));
                garment["treated_again"] = json!(treated_again(sprays, self.lot));
                garment["sprays"] = json!(sprays.iter().map(|spray| json!({
                    "lots": spray.fact.lots, "place": spray.fact.place, "treated_again": spray.renewed,
                })).collect::<Vec<Value>>());
                garment
            })
            .collect();
        let orders: Vec<Value> = self
            .orders
            .iter()
            .map(|order| {
                let finished = self.finished(order.id);
                json!({
                    "order": order.id.no, "name": order.name, "taken": rfc3339(order.at),
                    "garments": self.of_order(order.id).count(),
                    "finished_from": finished.map(|(from, _)| rfc3339(from)),
                    "finished_to": finished.map(|(_, to)| rfc3339(to)),
                    "places": self.places(order.id),
                    "returns": self.untagged(order.id).map(super::records::returned).collect::<Vec<Value>>(),
                })
            })
            .collect();
        json!({ "lot": self.lot, "orders": orders, "garments": garments })
    }

    fn rows(&self) -> Vec<Vec<String>> {
        let mut rows = Vec::new();
        for order in &self.orders {
            for record in self.of_order(order.id) {
                let note = why(self.of(record.tag), self.lot);
                let place = place(&self.part.shop, record.tag);
                let row = super::records::row(record, order, &place, &note, &self.zone);
                rows.push(row.to_vec());
            }
        }
        rows
    }

    /// Orders, dates and places first: whoever calls the customers reads no further.
    fn lines(&self) -> Vec<String> {
        let (garments, orders) =
            (counted(self.records.len(), "garment"), counted(self.orders.len(), "order"));
        let mut lines = vec![format!("lot {}: {garments} of {orders}", self.lot)];
        lines.extend(self.orders.iter().map(|order| self.told_of(order)));
        lines.push(String::new());
        lines.extend(self.records.values().map(|record| {
            let (tag, size) = (record.tag.to_string(), &record.size);
            let place = place(&self.part.shop, record.tag);
            let note = why(self.of(record.tag), self.lot);
            format!("  {tag:<8} {size:<4} {place}; {}{note}", record.made_with())
        }));
        lines
    }

    fn told_of(&self, order: &Taken) -> String {
        let day = |at: Wall| words::day(at, &self.zone);
        let finished = match self.finished(order.id).map(|(from, to)| (day(from), day(to))) {
            None => String::new(),
            Some((from, to)) if from == to => format!(", finished {from}"),
            Some((from, to)) => format!(", finished {from} to {to}"),
        };
        let places = self.places(order.id);
        let places: Vec<String> =
            places.iter().map(|(place, count)| format!("{count} {place}")).collect();
        let back: Vec<String> = self
            .untagged(order.id)
            .map(|said| {
                let size = if said.size.is_empty() {
                    String::new()
                } else {
                    format!(" size {}", said.size)
                };
                format!("; CAME BACK{size}: {}", said.complaint)
            })
            .collect();
        let garments = counted(self.of_order(order.id).count(), "garment");
        format!(
            "  {}{finished}: {garments}, {}{}",
            order.dated(&self.zone),
            places.join(", "),
            back.concat()
        )
    }
}

/// The sprays of each garment, in order.
fn sprays(part: &Part) -> BTreeMap<Tag, Vec<Spray<'_>>> {
    let mut sprays: BTreeMap<Tag, Vec<Spray<'_>>> = BTreeMap::new();
    let mut renewed: BTreeMap<Tag, bool> = BTreeMap::new();
    for event in &part.events {
        match &event.fact {
            Fact::Renewed(fact) => drop(renewed.insert(fact.garment, true)),
            Fact::HandworkDone(fact) => {
                let renewed = renewed.remove(&fact.garment).unwrap_or(false);
                sprays.entry(fact.garment).or_default().push(Spray { fact, renewed });
            }
            _ => {}
        }
    }
    sprays
}

fn is_of(spray: &Spray<'_>, lot: &str) -> bool {
    spray.fact.lots.iter().any(|one| one == lot)
}

/// Whether the coat of this lot is no longer the one on the garment: it was laid anew.
fn treated_again(sprays: &[Spray<'_>], lot: &str) -> bool {
    let last = sprays.iter().rposition(|spray| is_of(spray, lot));
    last.is_some_and(|last| sprays[last + 1..].iter().any(|spray| spray.renewed))
}

/// What else there is to say of why a garment stands in this list.
fn why(sprays: &[Spray<'_>], lot: &str) -> String {
    let mut parts: Vec<String> = Vec::new();
    for (n, spray) in sprays.iter().enumerate() {
        let lots = spray.fact.lots.join(" and ");
        let place =
            spray.fact.place.as_deref().map(|place| format!("{place} ")).unwrap_or_default();
        match (is_of(spray, lot), spray.fact.lots.len()) {
            (true, 1) if sprays.len() > 1 => parts.push(format!("{place}sprayed with it")),
            (true, 1) => {}
            (true, _) => parts.push(format!("{place}mixed: {lots}")),
            (false, _) => {
                let again = match (spray.renewed, n) {
                    (true, _) => "treated again with",
                    (false, 0) => "sprayed first with",
                    (false, _) => "sprayed again with",
                };
                let lots = if lots.is_empty() { "a lot that is not known" } else { &lots };
                parts.push(format!("{place}{again} {lots}"));
            }
        }
    }
    if parts.is_empty() { String::new() } else { format!("   {}", parts.join(", then ")) }
}
