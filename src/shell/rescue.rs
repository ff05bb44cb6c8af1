//! What could not be written to the journal before the board had to go: kept beside it, read at the next start.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::private;
use crate::shop::fact::{Event, Fact};
use crate::shop::ids::{ActNo, StationId};
use crate::shop::moment::Moment;

/// One event as a line of a rescue file.
#[derive(Serialize, Deserialize)]
struct Line {
    station: StationId,
    seq: u64,
    act: ActNo,
    #[serde(flatten)]
    moment: Moment,
    kind: String,
    body: String,
}

/// The name of the rescue file of a data directory, which says whose it is.
fn name(data: &Path) -> String {
    let whole = std::path::absolute(data).unwrap_or_else(|_| data.to_owned());
    let path: String = whole
        .to_string_lossy()
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    format!("rescue{path}.jsonl")
}

/// Writes events to the data directory, or where that fails beside it; returns where they are.
///
/// # Errors
/// Neither place can be written.
pub fn write(data: &Path, events: &[Event]) -> std::io::Result<PathBuf> {
    let mut text = String::new();
    for event in events {
        let line = Line {
            station: event.station,
            seq: event.seq,
            act: event.act,
            moment: event.moment,
            kind: event.fact.kind().to_owned(),
            body: event.fact.body()?,
        };
        text.push_str(&serde_json::to_string(&line)?);
        text.push('\n');
    }
    let mut last = Ok(PathBuf::new());
    let beside = super::paths::rescue();
    // Where the journal has vanished, so may what is written in its place: a mount that comes back hides it.
    let folders = if super::journal::path(data).exists() {
        vec![data.to_owned(), beside]
    } else {
        vec![beside, data.to_owned()]
    };
    for folder in folders {
        let path = folder.join(name(data));
        let written =
            private::directory(&folder).and_then(|()| private::write(&path, text.as_bytes()));
        match written {
            Ok(()) => return Ok(path),
            Err(reason) => last = Err(reason),
        }
    }
    last
}

/// The events of a rescue file that follow on `seq`, and the file; None where there is none.
pub fn read(data: &Path, seq: u64) -> Option<(PathBuf, Vec<Event>)> {
    let folders = [data.to_owned(), super::paths::rescue()];
    let path = folders.iter().map(|folder| folder.join(name(data))).find(|path| path.is_file())?;
    let text = std::fs::read_to_string(&path).ok()?;
    let mut events: Vec<Event> = Vec::new();
    for line in text.lines() {
        let line: Line = serde_json::from_str(line).ok()?;
        let fact = Fact::read(&line.kind, &line.body).ok()?;
        let Line { station, seq, act, moment, .. } = line;
        events.push(Event { station, seq, act, moment, fact });
    }
    events.retain(|event| event.seq > seq);
    let follows = events.iter().zip(seq + 1..).all(|(event, wanted)| event.seq == wanted);
    follows.then_some((path, events))
}

/// Marks a rescue file as read, once its events are in the journal.
pub fn done(path: &Path) {
    if let Err(reason) = std::fs::rename(path, path.with_extension("read")) {
        tracing::warn!(%reason, path = %path.display(), "could not rename a rescue file");
    }
}
