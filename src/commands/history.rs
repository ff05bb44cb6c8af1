//! What happened: all of it in order, or one garment's part.

use std::io::Write;

use clap::Args;
use serde_json::{Map, Value, json};

use super::{Failure, Places, output, read};
use crate::screen::words;
use crate::shell::journal::Reader;
use crate::shell::journal::row::Stored;
use crate::shop::Shop;
use crate::shop::fact::{Event, Fact, Timing};
use crate::shop::ids::{ActNo, Tag};
use crate::shop::recipe::Pressing;

/// How the history is to be told.
#[derive(Debug, Args)]
pub struct PastOptions {
    /// One JSON object a line
    #[arg(long)]
    json: bool,
    /// Only the last so many
    #[arg(long, value_name = "N")]
    last: Option<usize>,
}

/// Which garment.
#[derive(Debug, Args)]
pub struct TraceOptions {
    /// The garment's tag, such as A3-04
    tag: String,
    /// One JSON object
    #[arg(long)]
    json: bool,
}

/// A wall-clock moment as RFC 3339, in UTC.
fn rfc3339(at: i64) -> String {
    jiff::Timestamp::from_microsecond(at)
        .map_or_else(|_| "unknown".to_owned(), |time| time.to_string())
}

/// A row as one flat JSON object.
fn object(row: &Stored) -> Result<Map<String, Value>, Failure> {
    let mut object = Map::new();
    object.insert("seq".into(), row.seq.into());
    object.insert("act".into(), row.act.into());
    object.insert("station".into(), row.station.clone().into());
    object.insert("at".into(), rfc3339(row.at).into());
    object.insert("kind".into(), row.kind.clone().into());
    let body: Map<String, Value> =
        serde_json::from_str(&row.body).map_err(|wrong| Failure::Other(wrong.to_string()))?;
    object.extend(body);
    Ok(object)
}

/// Prints the history.
pub fn past(places: &Places, options: &PastOptions) -> Result<(), Failure> {
    let data = places.data()?;
    let Some(reader) = Reader::open(&data)? else { return Ok(()) };
    let last = reader.last()?.0;
    let from =
        options.last.map_or(0, |n| last.saturating_sub(u64::try_from(n).unwrap_or(u64::MAX)));
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut trouble = None;
    if options.json {
        reader.rows_after(from, |row| {
            if trouble.is_none() {
                let text = object(&row).map(|object| Value::Object(object).to_string());
                trouble = text.and_then(|text| Ok(writeln!(out, "{text}")?)).err();
            }
            Ok(())
        })?;
    } else {
        let zone = read(&data, |_| {})?.zone;
        reader.events_after(from, |event| {
            if trouble.is_none() {
                let at = event.moment.at;
                let when = format!("{} {}", words::day(at, &zone), words::clock_seconds(at, &zone));
                trouble = writeln!(out, "{:>7}  {when}  {}", event.seq, event.fact.in_words())
                    .map_err(Failure::from)
                    .err();
            }
        })?;
    }
    match trouble {
        Some(wrong) => Err(wrong),
        None => Ok(out.flush()?),
    }
}

/// Prints one garment's story.
pub fn trace(places: &Places, options: &TraceOptions) -> Result<(), Failure> {
    let data = places.data()?;
    let tag: Tag = options
        .tag
        .parse()
        .map_err(|wrong: crate::shop::ids::NotATag| Failure::Input(wrong.to_string()))?;
    let mut events: Vec<Event> = Vec::new();
    let mut undone: Vec<ActNo> = Vec::new();
    let mut order = None;
    let read = read(&data, |event| match &event.fact {
        Fact::Undone(fact) => undone.push(fact.undoes),
        Fact::OrderTaken(fact) if fact.order == tag.order => {
            let count = fact.form.count();
            if event.station == tag.station && (1..=count).contains(&u64::from(tag.piece)) {
                order = Some(event.clone());
            }
        }
        fact if fact.garment() == Some(tag) => events.push(event.clone()),
        _ => {}
    })?;
    events.retain(|event| !undone.contains(&event.act));
    if order.is_none() && events.is_empty() {
        return Err(Failure::Input(format!("no garment {tag} is known here")));
    }
    let mut story: Vec<Event> = order.into_iter().collect();
    story.extend(events);
    let garment = read.shop.garment(tag);
    let place =
        garment.map_or_else(|| "long done".to_owned(), |garment| words::place(garment.place));
    if options.json {
        return output::json(&story_json(tag, &place, &story, &read.shop));
    }
    let head = format!("{tag}: {place}");
    let lines = story.iter().map(|event| {
        let at = event.moment.at;
        let when =
            format!("{} {}", words::day(at, &read.zone), words::clock_seconds(at, &read.zone));
        format!("  {when}  {}", event.fact.in_words())
    });
    output::lines(std::iter::once(head).chain(lines))
}

fn story_json(tag: Tag, place: &str, story: &[Event], shop: &Shop) -> Value {
    let order = story.iter().find_map(|event| match &event.fact {
        Fact::OrderTaken(fact) => Some(json!({ "number": fact.order, "name": fact.form.name })),
        _ => None,
    });
    let recipe = story.iter().find_map(|event| match &event.fact {
        Fact::PressShut(fact) => {
            let title = shop.recipe(&fact.recipe).map(|recipe| recipe.title.clone());
            Some(json!({ "hash": fact.recipe, "title": title }))
        }
        _ => None,
    });
    // Only as far as every press was told by a scan may the whole story be trusted.
    let mut shuts = story.iter().filter_map(|event| match &event.fact {
        Fact::PressShut(fact) => Some(fact.scanned),
        _ => None,
    });
    let scanned = shuts.clone().next().is_some() && shuts.all(|scanned| scanned);
    let events: Vec<Value> = story
        .iter()
        .map(|event| {
            json!({
                "seq": event.seq, "at": rfc3339(event.moment.at),
                "kind": event.fact.kind(), "says": event.fact.in_words(),
            })
        })
        .collect();
    json!({
        "tag": tag, "place": place, "order": order, "recipe": recipe,
        "identity": if scanned { "scanned" } else { "assumed" },
        "cycles": cycles(story, shop), "events": events,
    })
}

/// Each press of a garment, from its shutting to its opening.
fn cycles(story: &[Event], shop: &Shop) -> Vec<Value> {
    let mut cycles = Vec::new();
    let mut shut = None;
    let mut last: Option<Pressing> = None;
    for event in story {
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
    cycles
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
