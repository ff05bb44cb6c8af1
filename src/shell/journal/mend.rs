//! A journal whose rows are not all what was written: the sound part is kept in force, all of it is kept aside.
//!
//! A journal that has lost its end is the same with nothing to cut away: what was saved after its last sound row is
//! gone, and that is said, recorded as a fact, and said once.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, ErrorCode, OpenFlags};

use super::backup::{self, BackupError};
use super::mark::Mark;
use super::row::{FIRST_SUM, Stored};
use super::{JournalError, Reader, path, schema, snapshot};
use crate::shell::new_file::{NewFile, Readers};
use crate::shop::Shop;
use crate::shop::facts::moment::Wall;

/// What is known to be gone from a journal.
#[derive(Debug)]
pub struct Lost {
    /// The number of the last event that was saved.
    pub known: u64,
    /// Where the journal lies as it was found; None where nothing was left of it, or it could not be kept.
    pub kept: Option<PathBuf>,
}

impl JournalError {
    /// Whether rows are not what was written, so that the sound part before them may be kept in force. A disk that
    /// cannot be read is no such thing.
    pub fn is_of_rows(&self) -> bool {
        match self {
            Self::Row { .. } | Self::Sum { .. } | Self::Gap { .. } | Self::Damaged { .. } => true,
            Self::Sqlite(reason) | Self::NotAJournal { reason, .. } => {
                reason.sqlite_error_code() == Some(ErrorCode::DatabaseCorrupt)
            }
            _ => false,
        }
    }
}

/// Looks whether the journal of a data directory, which ends with event `seq`, has lost its end. What there is of it is
/// copied aside before anything is written to it: its write-ahead log may hold what somebody wants to look at.
pub fn lost_end(data: &Path, seq: u64) -> Option<Lost> {
    let known = Mark::known(data).map(|mark| mark.seq).filter(|known| *known > seq)?;
    let kept = backup::keep_short(data).unwrap_or_else(|reason| {
        tracing::error!(%reason, "the journal has lost its end, and no copy could be made");
        None
    });
    forget_snapshots(data, seq);
    tracing::error!(known, seq, ?kept, "the journal has lost its end");
    Some(Lost { known, kept })
}

/// What was made of more than is there now is of no use, and is not to be missed again at the next start.
fn forget_snapshots(data: &Path, seq: u64) {
    if snapshot::head(data).is_some_and(|head| head.seq > seq)
        && let Err(reason) = snapshot::remove(data)
    {
        tracing::warn!(%reason, "a snapshot of what is gone stays");
    }
}

/// The sound beginning of a journal, as a file of its own that has no name in force yet.
#[derive(Debug)]
pub struct SoundPart {
    pub shop: Shop,
    data: PathBuf,
    unfinished: NewFile,
    known: u64,
}

impl SoundPart {
    /// Copies what is sound of the journal of a data directory, whose lock is held.
    ///
    /// # Errors
    /// Rows that are what was written and that this program does not know, or a file that cannot be read or written.
    pub fn of(data: &Path) -> Result<Self, BackupError> {
        let reader = Reader::of(data)?;
        let journal = path(data);
        let failed = |reason| BackupError::File { path: journal.clone(), reason };
        let unfinished = NewFile::beside(&journal, Readers::Owner).map_err(failed)?;
        let shop = copied(data, &reader, unfinished.path())?;
        let marked = Mark::known(data).map_or(0, |mark| mark.seq);
        let known = marked.max(reader.highest()).max(shop.seq() + 1);
        Ok(Self { shop, data: data.to_owned(), unfinished, known })
    }

    /// Puts it in the journal's place, and keeps what was there.
    ///
    /// # Errors
    /// What the file system says: at each moment either is whole under one of its names.
    pub fn put_in_force(self) -> Result<Lost, BackupError> {
        let kept = backup::replace(&path(&self.data), self.unfinished, "damaged")?;
        forget_snapshots(&self.data, self.shop.seq());
        tracing::error!(
            known = self.known,
            ?kept,
            "the journal is damaged: its sound part is in force"
        );
        Ok(Lost { known: self.known, kept })
    }

    /// Leaves everything as it was.
    pub fn give_up(self) {
        drop(self.unfinished);
    }
}

/// Copies rows as long as they are sound; returns the shop as they tell it. Those that a snapshot stands on count as
/// sound, as at any start.
fn copied(data: &Path, reader: &Reader, to: &Path) -> Result<Shop, BackupError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut new = Connection::open_with_flags(to, flags).map_err(JournalError::from)?;
    schema::migrate(&mut new, to)?;
    let stands_on = snapshot::load(data, reader, Wall::LAST).ok().flatten().unwrap_or_default();
    let trusted = stands_on.shop.seq();
    let mut copy = Copy { trusted, shop: stands_on.shop, sum: FIRST_SUM, after: 0 };
    let change = new.unchecked_transaction().map_err(JournalError::from)?;
    let ended = reader.rows_after(0, |row| {
        copy.take(&row)?;
        Ok(row.insert(&change)?)
    });
    if let Err(reason) = ended {
        if !reason.is_of_rows() {
            return Err(reason.into());
        }
        tracing::error!(%reason, after = copy.after, "the sound part of the journal ends here");
    }
    change.commit().map_err(JournalError::from)?;
    drop(new);
    if copy.after >= trusted {
        return Ok(copy.shop);
    }
    // The damage lies before what the snapshot was made of: only the rows that are left tell.
    let mut shop = Shop::default();
    let left = Reader::open_file(to)?;
    left.map_or(Ok(()), |left| left.events_after(0, |event| shop.apply(&event)))?;
    Ok(shop)
}

/// How far rows were copied.
struct Copy {
    trusted: u64,
    shop: Shop,
    sum: i64,
    after: u64,
}

impl Copy {
    /// Takes a row if it is the next one and what was written.
    fn take(&mut self, row: &Stored) -> Result<(), JournalError> {
        let seq = u64::try_from(row.seq).unwrap_or(0);
        if seq != self.after + 1 {
            return Err(JournalError::Gap { after: self.after, found: seq });
        }
        if seq > self.trusted {
            if row.sum != row.chained(self.sum) {
                return Err(JournalError::Sum { seq });
            }
            // What was written and is not understood is not damaged: a newer program's, perhaps.
            let unknown = |wrong| match wrong {
                JournalError::Row { reason, .. } => JournalError::Unknown { seq, reason },
                wrong => wrong,
            };
            self.shop.apply(&row.event().map_err(unknown)?);
        }
        (self.after, self.sum) = (seq, row.sum);
        Ok(())
    }
}
