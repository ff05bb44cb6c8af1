//! Snapshots: the shop as of an event, in a file beside the journal, so that a start need not read a whole year.
//!
//! A cache and nothing more: it can be deleted at any time, and whatever does not fit is passed over with a word in
//! the log. A file of its own and no table of the journal, so that the journal holds nothing but facts, is only ever
//! added to, and can be copied without what any program could make again; a torn write here costs nothing there.
//!
//! It stands on a row that undo can no longer reach, so it lags behind: what may still be taken back is among the
//! rows after it, and their before-images come back as they are applied.

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::row::FIRST_SUM;
use super::{JournalError, Reader};
use crate::shell::{new_file, private, profiles};
use crate::shop::Shop;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::Event;
use crate::shop::facts::moment::Wall;

/// The newest snapshot, and the last one of the day before: what is asked since this morning needs no newer one.
const FILES: [&str; 2] = ["snapshot", "snapshot-of-yesterday"];
/// What such a file begins with.
const MAGIC: &[u8] = b"dwell snapshot 1\n";
/// Bytes of the SHA-256 that follows, over all the rest.
const PRINT: usize = 32;
/// A fingerprint of the rules that this program was built with: other rules, another state.
const RULES: &str = env!("DWELL_RULES");
/// No shop is larger: the file is somebody else's.
const MOST_BYTES: u64 = 1 << 28;

/// The shop as of a row.
#[derive(Debug, Clone)]
pub struct Snapshot {
    pub shop: Shop,
    /// The sum of the row that it stands on.
    pub sum: i64,
    /// The latest wall clock of any event in it.
    pub latest: Wall,
}

/// Where nothing has happened yet.
impl Default for Snapshot {
    fn default() -> Self {
        Self { shop: Shop::default(), sum: FIRST_SUM, latest: Wall::FIRST }
    }
}

/// What a snapshot says of itself before the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Head {
    rules: String,
    /// The row that it stands on, and its sum.
    pub seq: u64,
    pub sum: i64,
    latest: Wall,
}

impl Head {
    /// Whether the rules of this program made it.
    pub fn is_ours(&self) -> bool {
        self.rules == RULES
    }
}

/// Why a snapshot is passed over, or could not be made.
#[derive(Debug, thiserror::Error)]
enum Unfit {
    #[error("{0}")]
    File(#[from] std::io::Error),
    #[error("it is no snapshot, or not a whole one")]
    Damaged,
    #[error("other rules made it")]
    OtherRules,
    #[error("row {0} of the journal is not the one that it stands on")]
    OtherJournal(u64),
    #[error("it does not read: {0}")]
    Shop(#[from] crate::shop::floor::kept::NotKept),
    #[error("it does not read back as what it was made of")]
    Unfaithful,
}

/// The head of a snapshot's file and the bytes of its shop, if the file is what was written.
fn parts(bytes: &[u8]) -> Result<(Head, &[u8]), Unfit> {
    let rest = bytes.strip_prefix(MAGIC).ok_or(Unfit::Damaged)?;
    let (print, content) = rest.split_at_checked(PRINT).ok_or(Unfit::Damaged)?;
    if Sha256::digest(content).as_slice() != print {
        return Err(Unfit::Damaged);
    }
    postcard::take_from_bytes(content).map_err(|_| Unfit::Damaged)
}

fn bytes_of(path: &Path) -> Result<Vec<u8>, Unfit> {
    let there = std::fs::metadata(path)?;
    if !there.is_file() || there.len() > MOST_BYTES {
        return Err(Unfit::Damaged);
    }
    Ok(std::fs::read(path)?)
}

/// What the newest whole snapshot in a data directory says of the journal, whoever made it. Read piece by piece: the
/// file has megabytes, and only its beginning is wanted.
pub fn head(data: &Path) -> Option<Head> {
    let path = data.join(FILES[0]);
    std::fs::metadata(&path).ok().filter(std::fs::Metadata::is_file)?;
    let file = std::fs::File::open(path).ok()?;
    let mut file = BufReader::new(file.take(MOST_BYTES));
    let mut front = [0; MAGIC.len() + PRINT];
    file.read_exact(&mut front).ok()?;
    let print = front.strip_prefix(MAGIC)?;
    let (mut digest, mut beginning) = (Sha256::new(), Vec::new());
    loop {
        let piece = file.fill_buf().ok()?;
        if piece.is_empty() {
            break;
        }
        if beginning.is_empty() {
            beginning.extend_from_slice(piece);
        }
        digest.update(piece);
        let read = piece.len();
        file.consume(read);
    }
    let whole = digest.finalize().as_slice() == print;
    whole.then(|| postcard::take_from_bytes(&beginning).ok()).flatten().map(|(head, _)| head)
}

/// The newest snapshot that fits the journal and holds no event of `before` or later; None: all rows are to be read.
///
/// # Errors
/// A journal that cannot be read.
pub fn load(data: &Path, reader: &Reader, before: Wall) -> Result<Option<Snapshot>, JournalError> {
    for name in FILES {
        let path = data.join(name);
        match read(&path, reader)? {
            Ok(snapshot) if snapshot.latest < before => return Ok(Some(snapshot)),
            Ok(_) => {}
            Err(Unfit::File(reason)) if reason.kind() == std::io::ErrorKind::NotFound => {}
            Err(reason) => {
                tracing::info!(%reason, path = %path.display(), "a snapshot is passed over");
            }
        }
    }
    Ok(None)
}

fn read(path: &Path, reader: &Reader) -> Result<Result<Snapshot, Unfit>, JournalError> {
    let bytes = match bytes_of(path) {
        Ok(bytes) => bytes,
        Err(unfit) => return Ok(Err(unfit)),
    };
    let (head, shop) = match parts(&bytes) {
        Ok(parts) => parts,
        Err(unfit) => return Ok(Err(unfit)),
    };
    if !head.is_ours() {
        return Ok(Err(Unfit::OtherRules));
    }
    if reader.sum_of(head.seq)? != Some(head.sum) {
        return Ok(Err(Unfit::OtherJournal(head.seq)));
    }
    let shop = Shop::from_bytes(shop).map_err(Unfit::from);
    Ok(shop.map(|shop| Snapshot { shop, sum: head.sum, latest: head.latest }))
}

/// Makes the snapshot anew, from the last one and the rows since; returns the row that it stands on.
///
/// # Errors
/// A journal that cannot be read, or whose rows are not what was written: no snapshot is made of those.
pub fn renew(data: &Path) -> Result<u64, JournalError> {
    let Some(reader) = Reader::open(data)? else { return Ok(0) };
    let last = load(data, &reader, Wall::LAST)?;
    let (before, day) = last.as_ref().map_or((0, None), |last| (last.shop.seq(), day_of(last)));
    let mut lagging = Lagging::after(last.unwrap_or_default());
    let from = &lagging.behind;
    reader.chained_after(from.shop.seq(), from.sum, |event, sum| lagging.take(event, sum))?;
    let snapshot = lagging.settled();
    let seq = snapshot.shop.seq();
    if seq > before {
        let kept = keep(data, &snapshot, day.is_some_and(|day| Some(day) < day_of(&snapshot)));
        if let Err(reason) = kept {
            tracing::warn!(%reason, "no snapshot could be made");
        }
    }
    Ok(seq)
}

/// The day of the latest event, as the shop counts days.
fn day_of(snapshot: &Snapshot) -> Option<Day> {
    let zone = snapshot.shop.station().and_then(|station| profiles::zone(station))?;
    let newest = snapshot.shop.newest()?;
    Some(Day::of(crate::shop::facts::moment::Moment { at: snapshot.latest, ..newest }, &zone))
}

/// Writes a snapshot in place of the last one, which stays as yesterday's where the new one is the first of a day.
fn keep(data: &Path, snapshot: &Snapshot, first_of_day: bool) -> Result<(), Unfit> {
    let head = Head {
        rules: RULES.to_owned(),
        seq: snapshot.shop.seq(),
        sum: snapshot.sum,
        latest: snapshot.latest,
    };
    let shop = snapshot.shop.to_bytes()?;
    // A part of the state that is not kept as it is would show only after the next start.
    if Shop::from_bytes(&shop)? != snapshot.shop {
        return Err(Unfit::Unfaithful);
    }
    let mut content =
        postcard::to_stdvec(&head).map_err(crate::shop::floor::kept::NotKept::from)?;
    content.extend(shop);
    let mut bytes = MAGIC.to_vec();
    bytes.extend(Sha256::digest(&content).as_slice());
    bytes.extend(content);
    let path = data.join(FILES[0]);
    if first_of_day {
        let before = bytes_of(&path)?;
        if parts(&before).is_ok() {
            new_file::lay(data, FILES[1], &before)?;
        }
    }
    new_file::lay(data, FILES[0], &bytes)?;
    Ok(())
}

/// Takes the snapshots of a data directory away, with a journal that they no longer belong to.
///
/// # Errors
/// What the file system says.
pub fn remove(data: &Path) -> std::io::Result<()> {
    FILES.iter().try_for_each(|name| private::remove(&data.join(name)))
}

/// Two shops that are told the same: one at once, the other only what can no longer be undone.
struct Lagging {
    behind: Snapshot,
    ahead: Shop,
    /// What the one behind has not been told yet.
    between: VecDeque<(Event, i64)>,
}

impl Lagging {
    fn after(snapshot: Snapshot) -> Self {
        Self { ahead: snapshot.shop.clone(), behind: snapshot, between: VecDeque::new() }
    }

    fn take(&mut self, event: Event, sum: i64) {
        /// How many events may wait before the one behind is told.
        const MOST: usize = 4096;
        self.ahead.apply(&event);
        self.between.push_back((event, sum));
        if self.between.len() >= MOST {
            self.settle();
        }
    }

    fn settle(&mut self) {
        let upto = self.ahead.beyond_undo();
        while let Some((event, sum)) = self.between.pop_front_if(|(event, _)| event.seq <= upto) {
            self.behind.shop.apply(&event);
            self.behind.sum = sum;
            self.behind.latest = self.behind.latest.max(event.moment.at);
        }
    }

    fn settled(mut self) -> Snapshot {
        self.settle();
        self.behind
    }
}
