//! Rows of this station's own history that come back from elsewhere: each looked at, and written as it was.
//!
//! They come in one transaction, under the lock and before a board writes: either all of them are there or none.

use std::path::Path;

use rusqlite::Connection;

use super::lock::Lock;
use super::mark::{Mark, Marker};
use super::reader::last;
use super::row::Stored;
use super::{JournalError, writer};

/// Rows that are being written.
pub struct Fetched<'a> {
    connection: Connection,
    data: &'a Path,
    mark: Mark,
    count: u64,
}

impl<'a> Fetched<'a> {
    /// Begins behind the last row of the journal, which is made where there is none.
    ///
    /// # Errors
    /// A journal that cannot be written.
    pub fn begin(data: &'a Path, _lock: &Lock) -> Result<Self, JournalError> {
        let connection = writer::open(data, true)?;
        let (seq, sum) = last(&connection)?;
        connection.execute_batch("BEGIN IMMEDIATE")?;
        Ok(Self { connection, data, mark: Mark { seq, sum }, count: 0 })
    }

    /// The last row.
    pub fn last(&self) -> (u64, i64) {
        (self.mark.seq, self.mark.sum)
    }

    /// Adds a row, if it is the next one, what was written, and known to this program.
    ///
    /// # Errors
    /// It is not, or what SQLite says.
    pub fn add(&mut self, row: &Stored) -> Result<(), JournalError> {
        let seq = u64::try_from(row.seq).unwrap_or(0);
        if seq != self.mark.seq + 1 {
            return Err(JournalError::Gap { after: self.mark.seq, found: seq });
        }
        if row.sum != row.chained(self.mark.sum) {
            return Err(JournalError::Sum { seq });
        }
        row.event().map_err(|wrong| match wrong {
            JournalError::Row { reason, .. } => JournalError::Unknown { seq, reason },
            wrong => wrong,
        })?;
        row.insert(&self.connection)?;
        self.mark = Mark { seq, sum: row.sum };
        self.count += 1;
        Ok(())
    }

    /// Has all of it stay; returns how many they were.
    ///
    /// # Errors
    /// What SQLite says: nothing of it is there then.
    pub fn end(self) -> Result<u64, JournalError> {
        self.connection.execute_batch("COMMIT")?;
        Marker::open(self.data).set(self.mark);
        Ok(self.count)
    }
}
