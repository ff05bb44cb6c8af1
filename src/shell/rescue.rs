//! What could not be written to the journal before the board had to go: kept beside it, read at the next start.

use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::sync::mpsc::channel;
use std::time::Duration;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::journal::Reader;
use super::{new_file, private};
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::ids::{ActNo, StationId};
use crate::shop::facts::moment::Moment;

/// How long one place may take to answer at the end: the exit does not wait for a disk that hangs.
const PATIENCE: Duration = Duration::from_millis(150);

/// What others must not have of a directory whose files are taken at their word: the right to write in it, and of the
/// one that is the program's own alone, any right.
const OTHERS_WRITE: u32 = 0o022;
const OTHERS_ANYTHING: u32 = 0o077;

/// The largest file that is read: far more than a day's events.
const MOST_BYTES: u64 = 1 << 28;

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

/// What the names of the rescue files of a data directory begin with: whose they are, for people and without a doubt.
fn stem(data: &Path) -> String {
    let whole = std::path::absolute(data).unwrap_or_else(|_| data.to_owned());
    let path: String = whole
        .to_string_lossy()
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    let print = Sha256::digest(whole.as_os_str().as_bytes());
    let print: String = print.iter().take(4).map(|byte| format!("{byte:02x}")).collect();
    format!("rescue{path}-{print}.")
}

const END: &str = ".jsonl";

/// The rescue files of a data directory that lie in a folder.
fn files(folder: &Path, stem: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let is_one = |name: &str| name.starts_with(stem) && name.ends_with(END);
    let ours = entries.filter(|entry| entry.file_name().to_str().is_some_and(is_one));
    let mut paths: Vec<PathBuf> = ours.map(|entry| entry.path()).collect();
    paths.sort();
    paths
}

fn text(events: &[Event]) -> std::io::Result<String> {
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
    Ok(text)
}

/// Does something on the disk on a thread of its own, which is left behind if it does not answer.
fn within_patience(
    work: impl FnOnce() -> std::io::Result<PathBuf> + Send + 'static,
) -> std::io::Result<PathBuf> {
    let (tell, told) = channel();
    std::thread::Builder::new().name("rescue".into()).spawn(move || drop(tell.send(work())))?;
    let silent = || std::io::Error::new(std::io::ErrorKind::TimedOut, "the disk does not answer");
    told.recv_timeout(PATIENCE).unwrap_or_else(|_| Err(silent()))
}

/// Writes events to the data directory, or where that fails beside it; returns where they are. Some before those that
/// are not saved tell which history they belong to.
///
/// # Errors
/// Neither place can be written.
pub fn write(data: &Path, events: &[Event]) -> std::io::Result<PathBuf> {
    let (stem, text) = (stem(data), text(events)?);
    let attempt = |folder: PathBuf, wanted: fn(&Path) -> std::io::Result<()>| {
        let (stem, text) = (stem.clone(), text.clone());
        within_patience(move || {
            wanted(&folder)?;
            new_file::lay_new(&folder, &stem, END, text.as_bytes())
        })
    };
    let with_its_journal = |data: &Path| {
        // Where the journal has vanished, so may what is written in its place: a mount that comes back hides it.
        std::fs::metadata(super::journal::path(data))?;
        is_ours(data)
    };
    let of_our_own = |folder: &Path| private::directory(folder).and_then(|()| is_ours(folder));
    let elsewhere = || match super::paths::rescue() {
        Some(folder) => attempt(folder, of_our_own),
        None => Err(std::io::Error::other(
            "no directory of the user's own is known beside it: set HOME",
        )),
    };
    attempt(data.to_owned(), with_its_journal)
        .or_else(|_| elsewhere())
        // Where others may write, the next start asks before it takes it in: better than nowhere.
        .or_else(|reason| attempt(data.to_owned(), |_| Ok(())).map_err(|_| reason))
}

fn is_ours(folder: &Path) -> std::io::Result<()> {
    private::is_ours(folder, OTHERS_WRITE).map_err(std::io::Error::other)
}

/// Writes events to a directory that somebody named. Put into the data directory they are read at the next start.
///
/// # Errors
/// What the file system says; a directory that is not there is not made.
pub fn write_to(folder: &Path, data: &Path, events: &[Event]) -> std::io::Result<PathBuf> {
    if !folder.is_dir() {
        let reason = "no such directory: name one that is there";
        return Err(std::io::Error::new(std::io::ErrorKind::NotFound, reason));
    }
    new_file::lay_new(folder, &stem(data), END, text(events)?.as_bytes())
}

/// What was found at the start.
#[derive(Debug, Default)]
pub struct Rescued {
    /// The events that follow on the journal, in their order.
    pub events: Vec<Event>,
    /// The files that hold nothing beyond these and the journal.
    pub files: Vec<PathBuf>,
    /// What is said of files that could not be taken in. They stay, under another name.
    pub troubles: Vec<String>,
}

impl Rescued {
    /// A file that cannot be taken in goes out of the way, so that the next one does not take its place.
    fn leave_out(&mut self, path: PathBuf, seq: u64, reason: &str) {
        let lies = new_file::set_aside(&path, &format!("not-taken-{seq}")).unwrap_or(path);
        let text = format!("RESCUE FILE NOT TAKEN IN: {reason}. It is in {}", lies.display());
        self.troubles.push(text);
    }
}

/// Looks for events of rescue files that follow on the journal, which ends with `seq`.
pub fn read(data: &Path, seq: u64) -> Rescued {
    let mut found = Rescued::default();
    let stem = stem(data);
    let places = [Some((data.to_owned(), OTHERS_WRITE)), elsewhere()];
    let mut paths = Vec::new();
    for (folder, closed) in places.into_iter().flatten() {
        let there = files(&folder, &stem);
        match private::is_ours(&folder, closed) {
            Ok(()) => paths.extend(there),
            Err(reason) if !there.is_empty() => found.troubles.push(format!(
                "RESCUE FILE NOT TAKEN IN: {} {reason}. Then start again",
                folder.display()
            )),
            Err(_) => {}
        }
    }
    for path in paths {
        match events_of(data, &path, seq) {
            // Both may hold the same: a disk that did not answer may have written all the same.
            Ok(events) if is_beginning(&events, &found.events) => found.files.push(path),
            Ok(events) if is_beginning(&found.events, &events) => {
                found.events = events;
                found.files.push(path);
            }
            // Nobody can be in two places: one of two histories is taken, the other is for somebody to read.
            Ok(events) if is_newer(&events, &found.events) => {
                found.events = events;
                for older in std::mem::replace(&mut found.files, vec![path]) {
                    found.leave_out(older, seq, "a newer one tells something else");
                }
            }
            Ok(_) => found.leave_out(path, seq, "a newer one tells something else"),
            Err(reason) => found.leave_out(path, seq, &reason),
        }
    }
    found
}

/// The place beside the data directory, and what of its mode others must lack: it is the program's own.
fn elsewhere() -> Option<(PathBuf, u32)> {
    super::paths::rescue().map(|folder| (folder, OTHERS_ANYTHING))
}

fn is_beginning(short: &[Event], long: &[Event]) -> bool {
    long.starts_with(short)
}

fn is_newer(one: &[Event], other: &[Event]) -> bool {
    let newest = |events: &[Event]| events.last().map(|event| event.moment.at);
    newest(one) > newest(other)
}

/// The events of a file that follow on the journal. Those that the journal has must be what it says.
fn events_of(data: &Path, path: &Path, seq: u64) -> Result<Vec<Event>, String> {
    let read = private::is_by_us(path);
    let read = read.and_then(|()| private::read_small(path, MOST_BYTES));
    let text = read.map_err(|wrong| wrong.to_string())?;
    let (mut known, mut follow): (Vec<Event>, Vec<Event>) = (Vec::new(), Vec::new());
    for (line, number) in text.lines().zip(1..) {
        let event = event(line).map_err(|reason| format!("line {number}: {reason}"))?;
        if event.seq > seq { follow.push(event) } else { known.push(event) }
    }
    is_history(data, &known)?;
    match follow.iter().zip(seq + 1..).find(|(event, wanted)| event.seq != *wanted) {
        Some((event, wanted)) => {
            Err(format!("event {} follows where {wanted} is wanted", event.seq))
        }
        None => Ok(follow),
    }
}

/// Whether the journal holds these events.
fn is_history(data: &Path, known: &[Event]) -> Result<(), String> {
    let Some(first) = known.first() else { return Ok(()) };
    let reader = Reader::open(data).map_err(|wrong| wrong.in_short())?;
    let mut left = known.iter().peekable();
    let mut other = None;
    let compare = |there: Event| {
        if let Some(event) = left.next_if(|event| event.seq <= there.seq)
            && *event != there
        {
            other.get_or_insert(event.seq);
        }
    };
    if let Some(reader) = reader {
        reader
            .events_after(first.seq.saturating_sub(1), compare)
            .map_err(|wrong| wrong.in_short())?;
    }
    match other.or(left.next().map(|event| event.seq)) {
        Some(seq) => Err(format!("event {seq} in it is another than in the journal")),
        None => Ok(()),
    }
}

fn event(line: &str) -> Result<Event, String> {
    let line: Line = serde_json::from_str(line).map_err(|wrong| wrong.to_string())?;
    let fact = Fact::read(&line.kind, &line.body).map_err(|wrong| wrong.to_string())?;
    let Line { station, seq, act, moment, .. } = line;
    Ok(Event { station, seq, act, moment, fact })
}

/// Marks a rescue file as read, once its events are in the journal.
pub fn done(path: &Path) {
    if let Err(reason) = new_file::set_aside(path, "read") {
        tracing::warn!(%reason, path = %path.display(), "could not rename a rescue file");
    }
}
