//! One garment's story; the garments of a lot; those that a press has seen.

use std::collections::{BTreeMap, BTreeSet};

use clap::Args;
use serde_json::{Value, json};

use super::history::rfc3339;
use super::{Failure, Places, output, zone_of};
use crate::screen::words;
use crate::shell::journal::Reader;
use crate::shell::journal::story::Part;
use crate::shop::Shop;
use crate::shop::day::Day;
use crate::shop::fact::{Event, Fact, Timing};
use crate::shop::ids::{PressNo, Tag};
use crate::shop::moment::Boot;
use crate::shop::recipe::Pressing;

/// Which garment, or which of them.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("whom").required(true).args(["tag", "lot", "press"]))]
pub struct Options {
    /// The garment's tag, such as A3-04
    tag: Option<String>,
    /// Every garment that was sprayed with fluid of this lot, and where it is now
    #[arg(long)]
    lot: Option<String>,
    /// Every garment that this press was shut on
    #[arg(long, value_name = "N")]
    press: Option<u8>,
    /// From this day on, 2026-12-04
    #[arg(long, value_name = "DAY", requires = "press")]
    from: Option<String>,
    /// Up to the end of this day
    #[arg(long, value_name = "DAY", requires = "press")]
    to: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints what was asked for.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let data = places.data()?;
    let reader = Reader::open(&data)?.map(Reader::mapped).transpose()?;
    match (&options.tag, &options.lot, options.press) {
        (Some(tag), ..) => one(reader.as_ref(), tag, options.json),
        (_, Some(lot), _) => of_lot(reader.as_ref(), lot, options.json),
        (.., Some(press)) => of_press(reader.as_ref(), PressNo(press), options),
        _ => Err(Failure::Input("a tag, --lot or --press: see --help".into())),
    }
}

fn one(reader: Option<&Reader>, text: &str, as_json: bool) -> Result<(), Failure> {
    let tag: Tag = text
        .parse()
        .map_err(|wrong: crate::shop::ids::NotATag| Failure::Input(wrong.to_string()))?;
    let unknown = |near: &[Tag]| {
        let near: Vec<String> = near.iter().map(Tag::to_string).collect();
        let hint =
            if near.is_empty() { String::new() } else { format!("; near it: {}", near.join(", ")) };
        Err(Failure::Input(format!("no garment {tag} is known here{hint}")))
    };
    let Some(reader) = reader else { return unknown(&[]) };
    let part = reader.part_of(&BTreeSet::from([tag]))?;
    if !is_known(&part, tag) {
        return unknown(&nearest(reader, tag)?);
    }
    let zone = zone_of(&part.shop, boot_of(&part));
    if as_json {
        return output::json(&story_json(reader, tag, &part)?);
    }
    output::lines(crate::shell::story::told(reader, tag, &part, &zone)?)
}

fn boot_of(part: &Part) -> Boot {
    part.events.last().map_or(Boot(0), |event| event.moment.boot)
}

/// Whether an order has such a garment, or anything ever happened to it.
fn is_known(part: &Part, tag: Tag) -> bool {
    part.shop.garment(tag).is_some()
        || part.events.iter().any(|event| event.fact.garment() == Some(tag))
}

/// Tags that were perhaps meant: those that differ in one letter, or swap two; at most five.
fn nearest(reader: &Reader, tag: Tag) -> Result<Vec<Tag>, Failure> {
    const MOST: usize = 5;
    let wanted = tag.to_string();
    let mut near: Vec<(usize, Tag)> = Vec::new();
    for (first, count) in reader.orders()? {
        let last = u16::try_from(count).unwrap_or(u16::MAX);
        // Of the order itself all pieces, of another the same piece: nobody mistypes both.
        let pieces =
            if first.order == tag.order { 1..=last } else { tag.piece..=tag.piece.min(last) };
        for piece in pieces {
            let other = Tag { piece, ..first };
            let off = strsim::osa_distance(&wanted, &other.to_string());
            if off <= 1 {
                near.push((off, other));
            }
        }
    }
    near.sort();
    Ok(near.into_iter().map(|(_, tag)| tag).take(MOST).collect())
}

fn of_lot(reader: Option<&Reader>, lot: &str, as_json: bool) -> Result<(), Failure> {
    let found = match reader {
        Some(reader) => reader.sprayed_with(lot)?.zip(Some(reader)),
        None => None,
    };
    let Some((tags, reader)) = found else {
        let lot = crate::shop::words::clean(lot, 40);
        return Err(Failure::Input(format!("no bottle of lot {lot} was ever filled in here")));
    };
    let part = reader.part_of(&tags)?;
    let places = tags.iter().map(|tag| (*tag, place(&part.shop, *tag)));
    let lots = lots_of(&part);
    let lots = |tag| lots.get(&tag).copied().unwrap_or_default();
    if as_json {
        let garments: Vec<Value> = places
            .map(|(tag, place)| json!({ "tag": tag, "place": place, "lots": lots(tag) }))
            .collect();
        return output::json(&json!({ "lot": lot, "garments": garments }));
    }
    let head = format!("lot {lot}: {} garments", tags.len());
    output::lines(std::iter::once(head).chain(places.map(|(tag, place)| {
        let lots = lots(tag);
        let mixed =
            if lots.len() > 1 { format!("   mixed: {}", lots.join(", ")) } else { String::new() };
        format!("  {:<10} {place}{mixed}", tag.to_string())
    })))
}

fn place(shop: &Shop, tag: Tag) -> String {
    let Some(garment) = shop.garment(tag) else { return "long done".to_owned() };
    let place = words::place(garment.place);
    match garment.shelved.as_deref().filter(|_| garment.place == crate::shop::garment::Place::Shelf)
    {
        Some(shelved) => format!("{place}, stack {} place {}", shelved.stack, shelved.position),
        None => place,
    }
}

/// The lots of each garment's last spray.
fn lots_of(part: &Part) -> BTreeMap<Tag, &[String]> {
    let sprays = part.events.iter().filter_map(|event| match &event.fact {
        Fact::HandworkDone(fact) => Some((fact.garment, fact.lots.as_slice())),
        _ => None,
    });
    sprays.collect()
}

fn of_press(reader: Option<&Reader>, press: PressNo, options: &Options) -> Result<(), Failure> {
    let Some(reader) = reader else {
        return if options.json { output::json(&json!([])) } else { Ok(()) };
    };
    let part = reader.part_of(&BTreeSet::new())?;
    let zone = zone_of(&part.shop, Boot(0));
    let day = |text: &Option<String>| -> Result<Option<Day>, Failure> {
        let read = |text: &String| {
            text.parse().map_err(|e: crate::shop::day::NotADay| Failure::Input(e.to_string()))
        };
        text.as_ref().map(read).transpose()
    };
    let start = |day: Day| -> i64 {
        let zoned = day.0.at(0, 0, 0, 0).to_zoned_datetime(zone.clone());
        zoned.map_or(0, |zoned| zoned.timestamp().as_microsecond())
    };
    let from = day(&options.from)?.map_or(i64::MIN, start);
    let next = |day: Day| start(day.plus(crate::figures::units::Days(1))) - 1;
    let to = day(&options.to)?.map_or(i64::MAX, next);
    let shuts = reader.shut_by(press, from, to)?;
    if options.json {
        let all: Vec<Value> = shuts
            .iter()
            .filter_map(|event| match &event.fact {
                Fact::PressShut(fact) => Some(json!({
                    "tag": fact.garment, "step": fact.step, "again": fact.again, "at": rfc3339(event.moment.at),
                })),
                _ => None,
            })
            .collect();
        return output::json(&all);
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

/// The garment's life as one object.
fn story_json(reader: &Reader, tag: Tag, part: &Part) -> Result<Value, Failure> {
    let story = crate::shell::story::of(tag, part);
    let shop = &part.shop;
    let order = story.iter().find_map(|event| match &event.fact {
        Fact::OrderTaken(fact) => Some(json!({ "number": fact.order, "name": fact.form.name })),
        _ => None,
    });
    let recipe = story.iter().find_map(|event| match &event.fact {
        Fact::PressShut(fact) => {
            let text = shop.recipe(&fact.recipe);
            Some(json!({
                "hash": fact.recipe, "title": text.map(|recipe| recipe.title.clone()),
                "text": text.map(|recipe| json!(recipe.as_ref())),
            }))
        }
        _ => None,
    });
    let garment = shop.garment(tag);
    let line =
        garment.and_then(|garment| shop.order(garment.order())?.form.lines.get(garment.line));
    let artwork = line.and_then(|line| line.seen.as_deref()).map(|seen| {
        json!({ "underbase": seen.underbase, "reason": seen.reason, "file": line.and_then(|line| line.art.clone()) })
    });
    let decided =
        garment.and_then(|garment| shop.order(garment.order())?.lines.get(garment.line)?.underbase);
    let events: Vec<Value> = story
        .iter()
        .map(|event| {
            json!({
                "seq": event.seq, "at": rfc3339(event.moment.at),
                "kind": event.fact.kind(), "says": event.fact.in_words(),
            })
        })
        .collect();
    let shelf = garment.and_then(|garment| garment.shelved.as_deref()).map(|shelved| {
        json!({
            "stack": shelved.stack, "position": shelved.position, "stored": shelved.day,
            "good_until": shelved.good_until, "last_day": shelved.last_day,
            "unsure": shelved.unsure, "disturbed": shelved.disturbed,
        })
    });
    let coat = garment
        .and_then(|garment| garment.coat)
        .map(|(coat, estimated)| json!({ "coat": coat, "estimated": estimated }));
    let people = crate::shell::story::people_at(reader, &story)?;
    Ok(json!({
        "tag": tag, "place": place(shop, tag), "order": order, "recipe": recipe,
        "artwork": artwork, "underbase": decided,
        "identity": crate::shell::story::identity(&story),
        "cycles": cycles(reader, &story, shop)?, "coat": coat, "lots": lots_of(part).get(&tag), "shelf": shelf,
        "people": people, "events": events,
    }))
}

/// Each press of a garment, from its shutting to its opening.
fn cycles(reader: &Reader, story: &[&Event], shop: &Shop) -> Result<Vec<Value>, Failure> {
    let probes = reader.probes()?;
    let mut cycles = Vec::new();
    let mut shut = None;
    let mut last: Option<Pressing> = None;
    for event in story.iter().copied() {
        match &event.fact {
            Fact::PressShut(fact) => shut = Some((event, fact)),
            Fact::PressOpened(opened) => {
                let began = shut.take();
                last = began.and_then(|(_, fact)| {
                    shop.recipe(&fact.recipe)?.pressing(fact.step, fact.again)
                });
                cycles.push(json!({
                    "step": opened.step, "press": opened.press, "again": opened.again,
                    "shut": began.map(|(event, _)| rfc3339(event.moment.at)),
                    "opened": rfc3339(event.moment.at),
                    "seconds": opened.seconds,
                    "timing": opened.timing,
                    "early": opened.timing == Timing::Early, "late": opened.timing == Timing::Late,
                    "dial": began.map(|(_, fact)| fact.dial),
                    "sheet": began.and_then(|(_, fact)| fact.sheet),
                    "sheet_presses": began.and_then(|(_, fact)| fact.sheet_presses),
                    "last_probe": crate::shell::story::probe_before(&probes, opened.press, event.seq)
                        .map(|(at, probe)| json!({
                            "at": rfc3339(at), "dial": probe.dial, "mean_c": probe.mean_c, "within": probe.within,
                        })),
                    "past_wipe": began.is_some_and(|(_, fact)| fact.past_wipe),
                }));
            }
            Fact::TimeCorrected(fact) => {
                if let (Some(seconds), Some(cycle)) = (fact.seconds, cycles.last_mut()) {
                    restate(cycle, seconds, last.as_ref());
                }
            }
            _ => {}
        }
    }
    Ok(cycles)
}

/// Puts a corrected time into a cycle, and what it means by the recipe.
fn restate(cycle: &mut Value, seconds: f64, pressing: Option<&Pressing>) {
    cycle["seconds"] = seconds.into();
    cycle["corrected"] = true.into();
    if let Some(pressing) = pressing {
        let early = seconds < pressing.shortest.as_seconds();
        let late = seconds > pressing.longest.as_seconds();
        let timing = match (early, late) {
            (true, _) => Timing::Early,
            (_, true) => Timing::Late,
            _ => Timing::InTime,
        };
        cycle["timing"] = json!(timing);
        cycle["early"] = early.into();
        cycle["late"] = late.into();
    }
}
