//! A garment's story: what the command and the board tell of it alike.

use jiff::tz::TimeZone;

use super::journal::story::Part;
use super::journal::{JournalError, Reader};
use super::recall;
use crate::screen::words;
use crate::shop::facts::fact::{
    Event, Fact, PlatenChecked, PressOpened, PressShut, Stored, TimeCorrected,
};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::trouble::Outcome;
use crate::shop::facts::words::counted;

/// The events of one garment, its order first.
pub fn of(tag: Tag, part: &Part) -> Vec<&Event> {
    let its = |event: &&Event| match &event.fact {
        Fact::OrderTaken(fact) => fact.order == tag.order && event.station == tag.station,
        // A blank that was not begun has nothing of its own: it went back with its order.
        Fact::OrderCancelled(fact) => fact.back.contains(&tag) || fact.under_way.contains(&tag),
        fact => fact.garment() == Some(tag),
    };
    part.events.iter().filter(its).collect()
}

/// Whether an order has such a garment, or anything ever happened to it.
pub fn is_known(tag: Tag, part: &Part) -> bool {
    let happened = |event: &&Event| !matches!(event.fact, Fact::OrderTaken(_));
    part.shop.garment(tag).is_some() || of(tag, part).iter().any(happened)
}

/// What is said of a garment that is not known: of another station's, whose it is.
pub fn unknown(tag: Tag, part: &Part) -> String {
    match part.shop.whose(tag.order_id()) {
        Some(whose) => format!("{whose}, and {tag} has not been here: its story is there"),
        None => format!("no garment {tag} is known here"),
    }
}

/// At how many of its presses the garment's tag was scanned. Elsewhere it was assumed from the queue, and alike garments
/// may have been swapped there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Identity {
    pub scanned: usize,
    pub presses: usize,
}

impl Identity {
    /// What a story says of it.
    pub fn of(story: &[&Event]) -> Self {
        let shuts = || {
            story.iter().filter_map(|event| match &event.fact {
                Fact::PressShut(fact) => Some(fact.scanned),
                _ => None,
            })
        };
        Self { scanned: shuts().filter(|scanned| *scanned).count(), presses: shuts().count() }
    }

    /// In one word: only as far as every press was told by a scan may the whole story be trusted.
    pub fn word(self) -> &'static str {
        match self {
            Identity { scanned: 0, .. } => "assumed",
            Identity { scanned, presses } if scanned == presses => "scanned",
            _ => "partly scanned",
        }
    }

    fn words(self) -> String {
        match self {
            Identity { scanned: 0, .. } => {
                "tag assumed from the queue: alike garments may be swapped".to_owned()
            }
            Identity { scanned, presses } if scanned == presses => {
                "tag scanned at every press".to_owned()
            }
            Identity { scanned, presses } => format!(
                "tag scanned at {scanned} of {presses} presses, assumed from the queue at the others: alike garments \
                 may be swapped there"
            ),
        }
    }
}

/// Who was at the bench at each event of a story; nobody where it was an order's.
///
/// # Errors
/// A row that does not read.
pub fn people_at(reader: &Reader, story: &[&Event]) -> Result<Vec<Vec<String>>, JournalError> {
    let done = |event: &&&Event| !matches!(event.fact, Fact::OrderTaken(_));
    let mut acts = story.iter().filter(done);
    let Some(first) = acts.next() else { return Ok(vec![Vec::new(); story.len()]) };
    let last = acts.next_back().unwrap_or(first);
    let changes = reader.people(first.seq, last.seq)?;
    let there = |event: &&Event| {
        let change = changes.iter().rev().find(|(seq, _)| *seq < event.seq);
        let there = change.filter(|_| done(&event)).map(|(_, there)| there.clone());
        there.unwrap_or_default()
    };
    Ok(story.iter().map(there).collect())
}

/// Everybody who was at the bench while something happened to the garment.
pub fn everybody(people: &[Vec<String>]) -> Vec<String> {
    let mut all: Vec<String> = people.iter().flatten().cloned().collect();
    all.sort();
    all.dedup();
    all
}

/// The last probe of a press's platen before an event, and when.
pub fn probe_before(probes: &[Event], press: PressNo, seq: u64) -> Option<(Wall, &PlatenChecked)> {
    probes.iter().rev().filter(|event| event.seq < seq).find_map(|event| match &event.fact {
        Fact::PlatenChecked(fact) if fact.press == press => Some((event.moment.at, fact)),
        _ => None,
    })
}

/// What was said later of an opening's time, if anything was.
pub fn correction<'a>(
    story: &[&'a Event],
    event: &Event,
) -> Option<(&'a Event, &'a TimeCorrected)> {
    story.iter().rev().find_map(|later| match &later.fact {
        Fact::TimeCorrected(fact) if fact.corrects == event.act => Some((*later, fact)),
        _ => None,
    })
}

/// A time that the garment lay on the shelf.
#[derive(Debug, Clone, Copy)]
pub struct Stay<'a> {
    pub put: &'a Event,
    pub fact: &'a Stored,
    /// What ended it; None: it lies there still.
    pub taken: Option<&'a Event>,
}

/// Every time that the garment lay on the shelf.
pub fn stays<'a>(story: &[&'a Event]) -> Vec<Stay<'a>> {
    let mut stays: Vec<Stay<'a>> = Vec::new();
    for event in story.iter().copied() {
        let open = stays.last_mut().filter(|stay| stay.taken.is_none());
        match (&event.fact, open) {
            (Fact::Stored(fact), _) => stays.push(Stay { put: event, fact, taken: None }),
            (Fact::PressShut(_) | Fact::Printed(_) | Fact::Renewed(_), Some(stay)) => {
                stay.taken = Some(event);
            }
            (Fact::TroubleNoted(fact), Some(stay))
                if matches!(fact.outcome, Outcome::Out | Outcome::StepAgain) =>
            {
                stay.taken = Some(event);
            }
            _ => {}
        }
    }
    stays
}

/// The story in lines: what it is, then what happened.
///
/// # Errors
/// A row that does not read.
pub fn lines(
    reader: &Reader,
    tag: Tag,
    part: &Part,
    zone: &TimeZone,
) -> Result<Vec<String>, JournalError> {
    let story = of(tag, part);
    let people = people_at(reader, &story)?;
    let mut lines = head(tag, part, &story, &people);
    let its = (tag, part.shop.mark_of(tag).unwrap_or_default());
    let again = recall::made_again(&reader.remakes()?, |of, size| of.may_be(size, its));
    lines.extend(again.iter().map(|(order, of)| format!("  made again: {order}, for {of}")));
    let probes = reader.probes()?;
    for (event, there) in story.iter().zip(&people) {
        let at = event.moment.at;
        let when = format!("{} {}", words::day(at, zone), words::clock_seconds(at, zone));
        let what = match &event.fact {
            Fact::PressOpened(fact) => opened(&story, event, fact, part),
            fact => fact.in_words(),
        };
        let more = match &event.fact {
            Fact::HandworkDone(fact) if !fact.lots.is_empty() => {
                format!(", lot {}", fact.lots.join(" and "))
            }
            Fact::PressShut(fact) => shut_with(fact, &probes, event.seq),
            Fact::Stored(fact) => keeps(fact),
            _ => String::new(),
        };
        let by = if there.is_empty() { String::new() } else { format!(" [{}]", there.join(", ")) };
        lines.push(format!("  {when}  {what}{more}{by}"));
    }
    Ok(lines)
}

fn head(tag: Tag, part: &Part, story: &[&Event], people: &[Vec<String>]) -> Vec<String> {
    let garment = part.shop.garment(tag);
    let returned = |event: &&Event| match &event.fact {
        Fact::OrderCancelled(fact) => fact.back.contains(&tag),
        fact => matches!(fact, Fact::BlankReturned(_)),
    };
    let gone = if story.iter().any(returned) { "back with the blanks" } else { "long done" };
    let place = garment.map_or_else(|| gone.to_owned(), |g| words::place(&part.shop, g.place));
    let round = part.shop.place_of(tag).filter(|_| garment.is_some_and(|g| !g.is_done()));
    let round = round.map_or_else(String::new, |round| format!(", {round}"));
    let mut lines = vec![format!("{tag}: {place}{round}")];
    if let Some(order) = garment.and_then(|garment| part.shop.order(garment.order())) {
        let no = part.shop.written(order.id);
        lines.push(format!("  order {no} \"{}\"", order.form.name));
    }
    if let Some((hash, recipe)) = garment.and_then(|garment| part.shop.recipe_of(garment)) {
        lines.push(format!("  recipe {} ({hash})", recipe.title));
    }
    let line = garment.and_then(|g| part.shop.order(g.order())?.form.lines.get(g.line));
    if let Some(of) = line.and_then(|line| line.remakes) {
        lines.push(format!("  makes {of} again"));
    }
    if let Some(mark) = part.shop.mark_of(tag) {
        lines.push(format!("  size {mark}"));
    }
    if let Some(line) = line.filter(|line| line.places.len() > 1) {
        lines.push(format!("  printed at: {}", line.places.join(", ")));
    }
    if let Some(seen) = line.and_then(|line| line.seen.as_deref()) {
        lines.push(format!("  artwork: {}", seen.reason));
    }
    lines.push(format!("  identity: {}", Identity::of(story).words()));
    let people = everybody(people);
    if !people.is_empty() {
        lines.push(format!("  at the bench, behind each act: {}", people.join(", ")));
    }
    lines
}

/// An opening with its time as it was corrected, and what its key had said.
fn opened(story: &[&Event], event: &Event, fact: &PressOpened, part: &Part) -> String {
    let found = correction(story, event).zip(part.openings.0.get(&event.seq));
    let Some(((_, correction), opening)) = found else { return event.fact.in_words() };
    let (seconds, timing) = (opening.seconds, opening.timing);
    let said = PressOpened { seconds, timing, ..fact.clone() };
    let key = match (fact.seconds, correction.ago) {
        (Some(seconds), Some(_)) => format!("; corrected, its key said {seconds:.0} s"),
        _ => "; said later".to_owned(),
    };
    Fact::from(said).in_words() + &key
}

fn shut_with(fact: &PressShut, probes: &[Event], seq: u64) -> String {
    let tag = if fact.scanned { "scanned" } else { "assumed" };
    let sheet = fact.sheet.map_or_else(String::new, |sheet| {
        let presses = fact.sheet_presses.unwrap_or(0);
        format!(", sheet {sheet} after {}", counted(presses, "press"))
    });
    let probe = probe_before(probes, fact.press, seq).map_or_else(String::new, |(_, probe)| {
        let verdict = if probe.within { "within" } else { "OUTSIDE" };
        format!(", last probe {verdict} {}", probe.tolerance)
    });
    format!(", tag {tag}, dial {}{sheet}{probe}", fact.dial)
}

fn keeps(fact: &Stored) -> String {
    let Some((good, last)) = fact.good_until.zip(fact.last_day) else { return String::new() };
    let unsure = if fact.unsure { ", days unsure: the clock was wrong" } else { "" };
    format!("; good until {good}, last day {last}{unsure}")
}
