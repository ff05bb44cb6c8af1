//! The garments that a lot of fluid was sprayed onto, and where they are.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::place;
use crate::commands::{Failure, output};
use crate::shell::journal::Reader;
use crate::shell::journal::story::Part;
use crate::shop::facts::fact::{Fact, HandworkDone};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::words::{clean, counted};

/// One spray of a garment.
#[derive(Debug, Clone, Copy)]
struct Spray<'a> {
    fact: &'a HandworkDone,
    /// Its coat was laid anew since the spray before.
    renewed: bool,
}

/// Prints the garments of a lot.
pub fn tell(reader: Result<Reader, Failure>, lot: &str, as_json: bool) -> Result<(), Failure> {
    let unknown = |known: &[String]| {
        let lot = clean(lot, 40);
        let known = match known {
            [] => String::new(),
            known => format!("; lots that were registered last: {}", known.join(", ")),
        };
        Err(Failure::Input(format!("no bottle of lot {lot} was ever filled in here{known}")))
    };
    let reader = &reader?;
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
    let sprays = sprays(&part);
    let of = |tag: &Tag| sprays.get(tag).map_or(&[][..], Vec::as_slice);
    if as_json {
        let garments: Vec<Value> = tags
            .iter()
            .map(|tag| {
                let last = of(tag).last();
                json!({
                    "tag": tag, "place": place(&part.shop, *tag),
                    "lots": last.map(|last| &last.fact.lots),
                    "fluids": last.map(|last| &last.fact.fluids), "treated_again": treated_again(of(tag), lot),
                    "sprays": of(tag).iter().map(|spray| json!({
                        "lots": spray.fact.lots, "place": spray.fact.place, "treated_again": spray.renewed,
                    })).collect::<Vec<Value>>(),
                })
            })
            .collect();
        return output::json(&json!({ "lot": lot, "garments": garments }));
    }
    let head = format!("lot {lot}: {}", counted(tags.len(), "garment"));
    output::lines(std::iter::once(head).chain(tags.iter().map(|tag| {
        format!("  {:<10} {}{}", tag.to_string(), place(&part.shop, *tag), why(of(tag), lot))
    })))
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
