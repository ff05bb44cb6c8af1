//! Reading the journal, while another process may be writing it.
//!
//! No reader holds a transaction between two looks: a long one would keep the write-ahead log from shrinking.

use std::path::Path;

use rusqlite::{Connection, OpenFlags, params};

use super::row::{COLUMNS, FIRST_SUM, Stored};
use super::{JournalError, path, schema};
use crate::shop::fact::Event;

/// A journal is of one station. Saying so lets the primary key find rows by their number, without looking at all.
pub(super) const OWN: &str = "station = (SELECT station FROM events LIMIT 1)";

/// A read-only connection.
pub struct Reader {
    connection: Connection,
}

impl Reader {
    pub(super) fn connection(&self) -> &Connection {
        &self.connection
    }

    /// Opens the journal of a data directory; None where there is none yet.
    ///
    /// # Errors
    /// A file that is not a journal, or one of a newer program.
    pub fn open(data: &Path) -> Result<Option<Self>, JournalError> {
        let path = path(data);
        match std::fs::metadata(&path) {
            Err(reason) if reason.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(reason) => return Err(JournalError::Directory { path: data.to_owned(), reason }),
            Ok(_) => {}
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let wrong = |reason| JournalError::NotAJournal { path: path.clone(), reason };
        let connection = Connection::open_with_flags(&path, flags).map_err(wrong)?;
        connection.busy_timeout(std::time::Duration::from_secs(2))?;
        match schema::check(&connection, &path)? {
            0 => Ok(None),
            _ => Ok(Some(Self { connection })),
        }
    }

    /// The same, for a command that looks a thing up and ends: rows here and there are served better from the
    /// kernel's own cache than by reads of single pages. Not for the board: a page of a mapped file that the disk
    /// cannot read is no error but the end of the process, timers and all.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn mapped(self) -> Result<Self, JournalError> {
        self.connection.pragma_update(None, "mmap_size", 1i64 << 30)?;
        Ok(self)
    }

    /// Hands every row after `seq` to `take`, in order.
    ///
    /// # Errors
    /// A row that does not read, or what `take` returns.
    pub fn rows_after(
        &self,
        seq: u64,
        mut take: impl FnMut(Stored) -> Result<(), JournalError>,
    ) -> Result<(), JournalError> {
        let sql = format!("SELECT {COLUMNS} FROM events WHERE {OWN} AND seq > ?1 ORDER BY seq");
        let mut statement = self.connection.prepare_cached(&sql)?;
        let mut rows = statement.query(params![i64::try_from(seq).unwrap_or(i64::MAX)])?;
        while let Some(row) = rows.next()? {
            take(Stored::read(row).map_err(|reason| {
                let seq = row.get::<_, i64>(1).unwrap_or(-1);
                JournalError::Row { seq, reason: reason.to_string() }
            })?)?;
        }
        Ok(())
    }

    /// Hands every event after `seq` to `take`, in order.
    ///
    /// # Errors
    /// A row that does not read, or a gap between two.
    pub fn events_after(&self, seq: u64, mut take: impl FnMut(Event)) -> Result<(), JournalError> {
        let mut after = seq;
        self.rows_after(seq, |row| {
            let event = row.event()?;
            if event.seq != after + 1 {
                return Err(JournalError::Gap { after, found: event.seq });
            }
            after = event.seq;
            take(event);
            Ok(())
        })
    }

    /// The number and the sum of the last row; 0 and the first sum before there is one.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn last(&self) -> Result<(u64, i64), JournalError> {
        last(&self.connection)
    }

    /// A number that changes whenever another process has written.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn version(&self) -> Result<i64, JournalError> {
        Ok(self.connection.pragma_query_value(None, "data_version", |row| row.get(0))?)
    }

    /// Follows the chain of sums from the first row to the last, and asks SQLite for its own opinion.
    /// Returns the number of rows.
    ///
    /// # Errors
    /// The first row that is not what was written.
    pub fn verify(&self) -> Result<u64, JournalError> {
        let verdict: String =
            self.connection.pragma_query_value(None, "integrity_check", |row| row.get(0))?;
        if verdict != "ok" {
            return Err(JournalError::Row { seq: 0, reason: verdict });
        }
        let (mut sum, mut count) = (FIRST_SUM, 0);
        self.rows_after(0, |row| {
            count += 1;
            if row.sum != row.chained(sum) {
                return Err(JournalError::Sum { seq: count });
            }
            sum = row.sum;
            row.event().map(drop)
        })?;
        Ok(count)
    }
}

/// The number and the sum of the last row.
pub(super) fn last(connection: &Connection) -> Result<(u64, i64), JournalError> {
    let sql = format!("SELECT seq, sum FROM events WHERE {OWN} ORDER BY seq DESC LIMIT 1");
    let mut statement = connection.prepare_cached(&sql)?;
    let mut rows = statement.query([])?;
    match rows.next()? {
        Some(row) => Ok((u64::try_from(row.get::<_, i64>(0)?).unwrap_or(0), row.get(1)?)),
        None => Ok((0, FIRST_SUM)),
    }
}
