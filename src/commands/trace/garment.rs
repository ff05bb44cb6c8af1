//! One garment's whole story.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::place;
use crate::commands::everywhere::Everywhere;
use crate::commands::{Failure, output, zone_of};
use crate::shell::journal::Reader;
use crate::shell::journal::story::Part;
use crate::shell::story::{self, Identity, Stay};
use crate::shop::facts::fact::{Event, Fact, PressOpened, Timing};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::Boot;
use crate::shop::facts::moment::rfc3339;
use crate::shop::floor::garment::Garment;

/// Prints the story of a tag.
pub fn tell(reader: Result<Reader, Failure>, text: &str, as_json: bool) -> Result<(), Failure> {
    let tag = read_tag(text)?;
    let reader = &reader?;
    if as_json {
        return output::json(&told(reader, tag, as_object)?);
    }
    output::lines(told(reader, tag, lines)?)
}

/// The story of a tag at each station that has a part in it.
pub fn tell_everywhere(all: &Everywhere, text: &str, as_json: bool) -> Result<(), Failure> {
    let tag = read_tag(text)?;
    if as_json {
        let mut answers = all.each(|one| told(&one.reader()?, tag, as_object))?;
        answers.retain(|(_, answer)| answer.is_ok());
        return output::json(&json!({ "tag": tag, "stations": all.named(&answers) }));
    }
    let answers = all.each(|one| told(&one.reader()?, tag, lines))?;
    let known = answers.into_iter().filter_map(|(station, answer)| Some((station, answer.ok()?)));
    output::lines(known.flat_map(|(station, story)| {
        std::iter::once(format!("at {}", station.called())).chain(story).collect::<Vec<String>>()
    }))
}

fn read_tag(text: &str) -> Result<Tag, Failure> {
    text.parse()
        .map_err(|wrong: crate::shop::facts::ids::NotATag| Failure::Input(wrong.to_string()))
}

/// What is told of a tag's part of a journal.
fn told<T>(
    reader: &Reader,
    tag: Tag,
    tell: impl FnOnce(&Reader, Tag, &Part) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let part = reader.part_of(&BTreeSet::from([tag]))?;
    if story::is_known(tag, &part) {
        return tell(reader, tag, &part);
    }
    let near: Vec<String> = nearest(reader, tag)?.iter().map(Tag::to_string).collect();
    let hint =
        if near.is_empty() { String::new() } else { format!("; near it: {}", near.join(", ")) };
    Err(Failure::Input(story::unknown(tag, &part) + &hint))
}

fn lines(reader: &Reader, tag: Tag, part: &Part) -> Result<Vec<String>, Failure> {
    let zone = zone_of(&part.shop, boot_of(part));
    Ok(story::lines(reader, tag, part, &zone)?)
}

fn boot_of(part: &Part) -> Boot {
    part.events.last().map_or(Boot(0), |event| event.moment.boot)
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

/// The garment's life as one object.
fn as_object(reader: &Reader, tag: Tag, part: &Part) -> Result<Value, Failure> {
    let told = story::of(tag, part);
    let people = story::people_at(reader, &told)?;
    let shop = &part.shop;
    let order = told.iter().find_map(|event| match &event.fact {
        Fact::OrderTaken(fact) => Some(json!({ "number": fact.order, "name": fact.form.name })),
        _ => None,
    });
    let recipe = told.iter().find_map(|event| match &event.fact {
        Fact::PressShut(fact) => {
            let text = shop.recipes().get(&fact.recipe);
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
    let event = |(event, there): (&&Event, &Vec<String>)| {
        json!({
            "seq": event.seq, "at": rfc3339(event.moment.at), "people": there,
            "kind": event.fact.kind(), "says": event.fact.in_words(),
        })
    };
    let events: Vec<Value> = told.iter().zip(&people).map(event).collect();
    let coat = garment
        .and_then(|garment| garment.coat)
        .map(|(coat, estimated)| json!({ "coat": coat, "estimated": estimated }));
    let sprayed = told.iter().rev().find_map(|event| match &event.fact {
        Fact::HandworkDone(fact) => Some(fact),
        _ => None,
    });
    let (lots, fluids) = (sprayed.map(|fact| &fact.lots), sprayed.map(|fact| &fact.fluids));
    let stays = story::stays(&told);
    Ok(json!({
        "tag": tag, "place": place(shop, tag), "order": order, "recipe": recipe,
        "artwork": artwork, "underbase": decided,
        "remakes": line.and_then(|line| line.remakes), "size": shop.mark_of(tag), "places": line.map(|line| &line.places), "round": shop.place_of(tag),
        "identity": Identity::of(&told).word(),
        "cycles": cycles(reader, &told, &people, part)?, "coat": coat, "lots": lots, "fluids": fluids,
        "shelf": shelf(garment, stays.last()), "stays": stays.iter().map(stay).collect::<Vec<Value>>(),
        "people": story::everybody(&people), "events": events,
    }))
}

/// Where it lies now, or lay before it was pressed again.
fn shelf(garment: Option<&Garment>, last: Option<&Stay<'_>>) -> Option<Value> {
    let shelved = garment?.shelved.as_deref()?;
    Some(json!({
        "stack": shelved.stack, "position": last.map(|stay| stay.fact.position), "stored": shelved.day,
        "good_until": shelved.good_until, "last_day": shelved.last_day,
        "unsure": shelved.unsure, "disturbed": shelved.disturbed,
    }))
}

/// A time on the shelf; its place in the stack is the one that it was given when it was put there.
fn stay(stay: &Stay<'_>) -> Value {
    let fact = stay.fact;
    json!({
        "stack": fact.stack, "position": fact.position, "stored": fact.day,
        "good_until": fact.good_until, "last_day": fact.last_day, "unsure": fact.unsure,
        "put": rfc3339(stay.put.moment.at), "taken": stay.taken.map(|event| rfc3339(event.moment.at)),
    })
}

/// Each press of a garment, from its shutting to its opening.
fn cycles(
    reader: &Reader,
    told: &[&Event],
    people: &[Vec<String>],
    part: &Part,
) -> Result<Vec<Value>, Failure> {
    let probes = reader.probes()?;
    let mut cycles = Vec::new();
    let mut shut = None;
    for (event, there) in told.iter().copied().zip(people) {
        let opened: &PressOpened = match &event.fact {
            Fact::PressShut(fact) => {
                shut = Some((event, fact, there));
                continue;
            }
            Fact::PressOpened(fact) => fact,
            _ => continue,
        };
        let began = shut.take();
        let fact = began.map(|(_, fact, _)| fact);
        let Some(opening) = part.openings.0.get(&event.seq) else { continue };
        let timing = opening.timing;
        let probe = story::probe_before(&probes, opened.press, event.seq).map(|(at, probe)| {
            json!({
                "at": rfc3339(at), "dial": probe.dial, "mean_c": probe.mean_c, "within": probe.within,
            })
        });
        cycles.push(json!({
            "step": opened.step, "press": opened.press, "again": opened.again, "place": opened.place,
            "shut": began.map(|(event, ..)| rfc3339(event.moment.at)),
            "opened": rfc3339(event.moment.at),
            "scanned": fact.map(|fact| fact.scanned),
            "people": { "shut": began.map(|(.., there)| there), "opened": there },
            "seconds": opening.seconds, "timing": timing,
            "early": timing == Timing::Early, "late": timing == Timing::Late,
            "corrected": story::correction(told, event).is_some(),
            "dial": fact.map(|fact| fact.dial),
            "sheet": fact.and_then(|fact| fact.sheet),
            "sheet_presses": fact.and_then(|fact| fact.sheet_presses),
            "last_probe": probe,
            "past_wipe": fact.is_some_and(|fact| fact.past_wipe),
        }));
    }
    Ok(cycles)
}
