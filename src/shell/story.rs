//! A garment's story in words, for the command and for the board alike.

use jiff::tz::TimeZone;

use super::journal::story::Part;
use super::journal::{JournalError, Reader};
use crate::screen::words;
use crate::shop::fact::{Event, Fact, PlatenChecked};
use crate::shop::ids::{PressNo, Tag};

/// The events of one garment, its order first.
pub fn of(tag: Tag, part: &Part) -> Vec<&Event> {
    let its = |event: &&Event| match &event.fact {
        Fact::OrderTaken(fact) => fact.order == tag.order && event.station == tag.station,
        fact => fact.garment() == Some(tag),
    };
    part.events.iter().filter(its).collect()
}

/// Only as far as every press was told by a scan may the whole story be trusted.
pub fn identity(story: &[&Event]) -> &'static str {
    let mut shuts = story.iter().filter_map(|event| match &event.fact {
        Fact::PressShut(fact) => Some(fact.scanned),
        _ => None,
    });
    let scanned = shuts.clone().next().is_some() && shuts.all(|scanned| scanned);
    if scanned { "scanned" } else { "assumed" }
}

/// Everybody who was at the bench while something happened to the garment.
///
/// # Errors
/// A row that does not read.
pub fn people_at(reader: &Reader, story: &[&Event]) -> Result<Vec<String>, JournalError> {
    let mut people: Vec<String> = Vec::new();
    let done = |event: &&&Event| !matches!(event.fact, Fact::OrderTaken(_));
    let acts: Vec<&Event> = story.iter().filter(done).copied().collect();
    let (Some(first), Some(last)) = (acts.first(), acts.last()) else { return Ok(people) };
    let changes = reader.people(first.seq, last.seq)?;
    for event in acts {
        let there = changes.iter().rev().find(|(seq, _)| *seq < event.seq);
        people.extend(there.into_iter().flat_map(|(_, there)| there.iter().cloned()));
    }
    people.sort();
    people.dedup();
    Ok(people)
}

/// The last probe of a press's platen before an event, and when.
pub fn probe_before(probes: &[Event], press: PressNo, seq: u64) -> Option<(i64, &PlatenChecked)> {
    probes.iter().rev().filter(|event| event.seq < seq).find_map(|event| match &event.fact {
        Fact::PlatenChecked(fact) if fact.press == press => Some((event.moment.at, fact)),
        _ => None,
    })
}

/// The story in lines: what it is, then what happened.
///
/// # Errors
/// A row that does not read.
pub fn told(
    reader: &Reader,
    tag: Tag,
    part: &Part,
    zone: &TimeZone,
) -> Result<Vec<String>, JournalError> {
    let story = of(tag, part);
    let garment = part.shop.garment(tag);
    let place = garment.map_or_else(|| "long done".to_owned(), |g| words::place(g.place));
    let mut lines = vec![format!("{tag}: {place}")];
    if let Some(order) = garment.and_then(|garment| part.shop.order(garment.order())) {
        lines.push(format!("  order {} \"{}\"", order.no, order.form.name));
    }
    if let Some((hash, recipe)) = garment.and_then(|garment| part.shop.recipe_of(garment)) {
        lines.push(format!("  recipe {} ({hash})", recipe.title));
    }
    let line = garment.and_then(|g| part.shop.order(g.order())?.form.lines.get(g.line));
    if let Some(seen) = line.and_then(|line| line.seen.as_deref()) {
        lines.push(format!("  artwork: {}", seen.reason));
    }
    let trust = match identity(&story) {
        "scanned" => "tag scanned at every press",
        _ => "tag assumed from the queue: alike garments may be swapped",
    };
    lines.push(format!("  identity: {trust}"));
    let people = people_at(reader, &story)?;
    if !people.is_empty() {
        lines.push(format!("  at the bench: {}", people.join(", ")));
    }
    let probes = reader.probes()?;
    for event in story {
        let at = event.moment.at;
        let when = format!("{} {}", words::day(at, zone), words::clock_seconds(at, zone));
        let more = match &event.fact {
            Fact::HandworkDone(fact) if !fact.lots.is_empty() => {
                format!(", lot {}", fact.lots.join(" and "))
            }
            Fact::PressShut(fact) => shut_with(fact, &probes, event.seq),
            _ => String::new(),
        };
        lines.push(format!("  {when}  {}{more}", event.fact.in_words()));
    }
    Ok(lines)
}

fn shut_with(fact: &crate::shop::fact::PressShut, probes: &[Event], seq: u64) -> String {
    let sheet = fact.sheet.map_or_else(String::new, |sheet| {
        let presses = fact.sheet_presses.unwrap_or(0);
        format!(", sheet {sheet} after {presses} presses")
    });
    let probe = probe_before(probes, fact.press, seq).map_or_else(String::new, |(_, probe)| {
        let verdict = if probe.within { "within" } else { "OUTSIDE" };
        format!(", last probe {verdict} {}", probe.tolerance)
    });
    format!(", dial {}{sheet}{probe}", fact.dial)
}
