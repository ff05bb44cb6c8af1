//! What happened, all of it in order.

use clap::Args;
use serde_json::{Map, Value};

use super::everywhere::{Everywhere, Merged, Over};
use super::{Failure, Places, output, read};
use crate::figures::units::whole_reader;
use crate::screen::words;
use crate::shell::journal::Reader;
use crate::shell::journal::row::Stored;
use crate::shop::facts::fact::Event;
use crate::shop::facts::moment::{Wall, rfc3339};
use crate::shop::facts::words::harmless;

/// How the history is to be told.
#[derive(Debug, Args)]
pub struct PastOptions {
    /// One JSON object a line
    #[arg(long)]
    json: bool,
    /// Comma-separated, as RFC 4180 has it, with a head
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Only the last so many
    #[arg(long, value_name = "N", value_parser = whole_reader::<usize>("events", 1, 1_000_000_000))]
    last: Option<usize>,
    #[command(flatten)]
    over: Over,
}

/// A row as one flat JSON object.
fn object(row: &Stored) -> Result<Map<String, Value>, Failure> {
    let mut object = Map::new();
    object.insert("seq".into(), row.seq.into());
    object.insert("act".into(), row.act.into());
    object.insert("station".into(), row.station.clone().into());
    object.insert("at".into(), rfc3339(Wall(row.at)).into());
    object.insert("kind".into(), row.kind.clone().into());
    let body: Map<String, Value> =
        serde_json::from_str(&row.body).map_err(|wrong| Failure::Other(wrong.to_string()))?;
    object.extend(body);
    Ok(object)
}

/// Prints the history.
pub fn past(places: &Places, options: &PastOptions) -> Result<(), Failure> {
    if let Some(all) = options.over.everywhere(places)? {
        return everywhere(&all, options);
    }
    let data = places.data()?;
    let reader = Reader::of(&data)?;
    let last = reader.last()?.0;
    let from =
        options.last.map_or(0, |n| last.saturating_sub(u64::try_from(n).unwrap_or(u64::MAX)));
    if options.csv {
        return as_csv(&reader, from);
    }
    let mut page = output::Page::new();
    let mut trouble = None;
    if options.json {
        reader.rows_after(from, |row| {
            if trouble.is_none() {
                trouble = object(&row).and_then(|object| page.json(&object)).err();
            }
            Ok(())
        })?;
    } else {
        let zone = read(&data)?.zone;
        reader.events_after(from, |event| {
            if trouble.is_none() {
                let at = event.moment.at;
                let when = format!("{} {}", words::day(at, &zone), words::clock_seconds(at, &zone));
                let line = format!("{:>7}  {when}  {}", event.seq, event.fact.in_words());
                trouble = page.line(&line).err();
            }
        })?;
    }
    match trouble {
        Some(wrong) => Err(wrong),
        None => page.end(),
    }
}

const HEAD: [&str; 7] = ["seq", "act", "station", "at", "kind", "garment", "says"];

/// An event as a row under `HEAD`.
fn fields(event: &Event) -> [String; 7] {
    let garment = event.fact.garment().map_or_else(String::new, |tag| tag.to_string());
    [
        event.seq.to_string(),
        event.act.to_string(),
        event.station.to_string(),
        rfc3339(event.moment.at),
        event.fact.kind().to_owned(),
        garment,
        harmless(&event.fact.in_words()).into_owned(),
    ]
}

/// The histories of all stations as one, by the clock; each station's own events stay in their order.
fn everywhere(all: &Everywhere, options: &PastOptions) -> Result<(), Failure> {
    let mut merged = Merged::of(all, options.last)?;
    let mut page = output::Page::new();
    if options.csv {
        page.csv(HEAD)?;
    }
    while let Some((station, row)) = merged.next_row()? {
        if options.json {
            page.json(&object(&row)?)?;
            continue;
        }
        let event = row.event()?;
        if options.csv {
            page.csv(fields(&event))?;
            continue;
        }
        let (at, zone) = (event.moment.at, &station.zone);
        let when = format!("{} {}", words::day(at, zone), words::clock_seconds(at, zone));
        let letters = event.station.to_string().to_ascii_uppercase();
        page.line(&format!("{letters:<3} {:>7}  {when}  {}", event.seq, event.fact.in_words()))?;
    }
    page.end()?;
    all.is_whole()
}

/// The history as a table for any spreadsheet: RFC 4180, lines end in CRLF.
fn as_csv(reader: &Reader, from: u64) -> Result<(), Failure> {
    let out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut table = output::table(out);
    let mut trouble = table.write_record(HEAD).err();
    reader.events_after(from, |event| {
        if trouble.is_some() {
            return;
        }
        trouble = table.write_record(fields(&event)).err();
    })?;
    match trouble {
        Some(wrong) => Err(std::io::Error::from(wrong).into()),
        None => Ok(table.flush()?),
    }
}
