//! Reading the journal, while another process may be writing it.
//!
//! No reader holds a transaction between two looks: a long one would keep the write-ahead log from shrinking.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, OptionalExtension, params};

use super::row::{COLUMNS, FIRST_SUM, Stored};
use super::{JournalError, beside, identity, path, schema};
use crate::shop::facts::fact::Event;

/// A journal is of one station. Saying so lets the primary key find rows by their number, without looking at all.
pub(super) const OWN: &str = "station = (SELECT station FROM events LIMIT 1)";

/// Pages that a connection keeps in mind, in KiB (SQLite says that with a minus). Rows are read once and in order:
/// what is kept of a long reading would stay for as long as the board runs.
const CACHE: i64 = -256;

/// A read-only connection.
pub struct Reader {
    connection: Connection,
    path: PathBuf,
    /// The version of its tables.
    tables: i64,
    /// Which files it and its companions were when it was opened.
    files: Files,
}

/// Which files a journal, its log and its index are, as far as they are there.
type Files = [Option<(u64, u64)>; 3];

fn files(path: &Path) -> Files {
    let which = |path: &Path| identity(path).ok();
    [which(path), which(&beside(path, "-wal")), which(&beside(path, "-shm"))]
}

impl Reader {
    pub(super) fn connection(&self) -> &Connection {
        &self.connection
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Whether another file has come to lie under the name since it was opened, as after a restore; or beside it, where
    /// what is written from then on would be overlooked.
    pub fn is_replaced(&self) -> bool {
        let there = files(&self.path);
        there[0].is_some() && there != self.files
    }

    /// Whether no file has its name any more.
    pub fn is_gone(&self) -> bool {
        identity(&self.path).is_err_and(|reason| reason.kind() == std::io::ErrorKind::NotFound)
    }

    pub(super) fn version_of_tables(&self) -> i64 {
        self.tables
    }

    /// Opens the journal of a data directory; None where there is none yet.
    ///
    /// # Errors
    /// A file that is not a journal, or one of a newer program.
    pub fn open(data: &Path) -> Result<Option<Self>, JournalError> {
        Self::open_file(&path(data))
    }

    /// The journal of a data directory, for whoever asks it something.
    ///
    /// # Errors
    /// None lies there: no answer is better than one about nothing. As for `open` besides.
    pub fn of(data: &Path) -> Result<Self, JournalError> {
        Self::open(data)?.ok_or_else(|| JournalError::Nothing(data.to_owned()))
    }

    /// Opens a file as a journal; None where there is none, or one in which nothing was ever written.
    ///
    /// # Errors
    /// A file that is not a journal, or one of a newer program.
    pub fn open_file(path: &Path) -> Result<Option<Self>, JournalError> {
        let path = path.to_owned();
        match std::fs::metadata(&path) {
            Err(reason) if reason.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(reason) => {
                let folder = path.parent().unwrap_or(&path).to_owned();
                return Err(JournalError::Directory { path: folder, reason });
            }
            Ok(_) => {}
        }
        let connected = match connected(&path, false) {
            Err(wrong) if wrong.is_unwritable() && has_no_log(&path) => connected(&path, true)?,
            connected => connected?,
        };
        Self::over(connected, path)
    }

    /// Opens a file by itself, whatever lies beside it, as the writer does with one that nobody else writes.
    ///
    /// # Errors
    /// As for `open_file`.
    pub(super) fn open_alone(path: &Path) -> Result<Option<Self>, JournalError> {
        Self::over(connected(path, true)?, path.to_owned())
    }

    fn over(
        (connection, tables): (Connection, i64),
        path: PathBuf,
    ) -> Result<Option<Self>, JournalError> {
        connection.pragma_update(None, "cache_size", CACHE)?;
        let files = files(&path);
        Ok((tables > 0).then_some(Self { connection, path, tables, files }))
    }

    /// Asks several things as of one moment, whatever is written meanwhile.
    ///
    /// # Errors
    /// What `ask` returns, or a file that cannot be read.
    pub fn at_one_moment<T>(
        &self,
        ask: impl FnOnce() -> Result<T, JournalError>,
    ) -> Result<T, JournalError> {
        // One within another is as of the same moment.
        let _read = match self.connection.is_autocommit() {
            true => Some(self.connection.unchecked_transaction()?),
            false => None,
        };
        ask()
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

    /// At most so many rows after `seq`, in order.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn some_after(&self, seq: i64, most: usize) -> Result<Vec<Stored>, JournalError> {
        let sql =
            format!("SELECT {COLUMNS} FROM events WHERE {OWN} AND seq > ?1 ORDER BY seq LIMIT ?2");
        let mut statement = self.connection.prepare_cached(&sql)?;
        let most = i64::try_from(most).unwrap_or(i64::MAX);
        let rows = statement.query_map([seq, most], Stored::read)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// Hands every event after row `seq`, whose sum is `sum`, to `take`, each with its own sum.
    ///
    /// # Errors
    /// A row that does not read or is not what was written, or a gap between two.
    pub fn chained_after(
        &self,
        seq: u64,
        sum: i64,
        mut take: impl FnMut(Event, i64),
    ) -> Result<(), JournalError> {
        let mut sum = sum;
        self.in_order_after(seq, |event, row| {
            if row.sum != row.chained(sum) {
                return Err(JournalError::Sum { seq: event.seq });
            }
            sum = row.sum;
            take(event, sum);
            Ok(())
        })
    }

    /// The rows behind one with the number and the sum `after`, up to `upto`, each looked at against its sum; none where
    /// another journal has come in between.
    ///
    /// # Errors
    /// A row that does not read or is not what was written, or a gap between two.
    pub fn sound_rows(&self, after: (u64, i64), upto: u64) -> Result<Vec<Stored>, JournalError> {
        let sql = format!(
            "SELECT {COLUMNS} FROM events WHERE {OWN} AND seq > ?1 AND seq <= ?2 ORDER BY seq"
        );
        let mut statement = self.connection.prepare_cached(&sql)?;
        let number = |seq: u64| i64::try_from(seq).unwrap_or(i64::MAX);
        let rows = statement.query_map(params![number(after.0), number(upto)], Stored::read)?;
        let (mut sound, mut before) = (Vec::new(), after);
        for row in rows {
            let row = row?;
            let seq = u64::try_from(row.seq).unwrap_or(0);
            if seq != before.0 + 1 {
                return Err(JournalError::Gap { after: before.0, found: seq });
            }
            if row.sum != row.chained(before.1) {
                return Err(JournalError::Sum { seq });
            }
            before = (seq, row.sum);
            sound.push(row);
        }
        Ok(sound)
    }

    /// Whether it holds nothing but what a board records by itself when it starts: its profiles.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn is_bare(&self) -> Result<bool, JournalError> {
        let sql = "SELECT NOT EXISTS (SELECT 1 FROM events WHERE kind NOT IN ('station-set', 'recipe-kept'))";
        Ok(self.connection.query_row(sql, [], |row| row.get(0))?)
    }

    /// The sum of a row; the first sum for row 0, None where there is no such row.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn sum_of(&self, seq: u64) -> Result<Option<i64>, JournalError> {
        if seq == 0 {
            return Ok(Some(FIRST_SUM));
        }
        let sql = format!("SELECT sum FROM events WHERE {OWN} AND seq = ?1");
        let mut statement = self.connection.prepare_cached(&sql)?;
        let seq = i64::try_from(seq).unwrap_or(i64::MAX);
        Ok(statement.query_row([seq], |row| row.get(0)).optional()?)
    }

    /// Hands every event after `seq` to `take`, in order.
    ///
    /// # Errors
    /// A row that does not read, or a gap between two.
    pub fn events_after(&self, seq: u64, mut take: impl FnMut(Event)) -> Result<(), JournalError> {
        self.in_order_after(seq, |event, _| {
            take(event);
            Ok(())
        })
    }

    /// Hands every event after `seq` to `take` with its row; a gap between two is an error.
    fn in_order_after(
        &self,
        seq: u64,
        mut take: impl FnMut(Event, &Stored) -> Result<(), JournalError>,
    ) -> Result<(), JournalError> {
        let mut after = seq;
        self.rows_after(seq, |row| {
            let event = row.event()?;
            if event.seq != after + 1 {
                return Err(JournalError::Gap { after, found: event.seq });
            }
            after = event.seq;
            take(event, &row)
        })
    }

    /// The number and the sum of the last row; 0 and the first sum before there is one.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn last(&self) -> Result<(u64, i64), JournalError> {
        last(&self.connection)
    }

    /// The highest number of any row, however damaged the rows are; 0 where that cannot be read.
    pub(super) fn highest(&self) -> u64 {
        let sql = "SELECT max(seq) FROM events";
        let found: Option<i64> =
            self.connection.query_row(sql, [], |row| row.get(0)).unwrap_or(None);
        found.and_then(|seq| u64::try_from(seq).ok()).unwrap_or(0)
    }

    /// A number that changes whenever another process has written.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn version(&self) -> Result<i64, JournalError> {
        Ok(self.connection.pragma_query_value(None, "data_version", |row| row.get(0))?)
    }
}

/// A connection to a journal, and the version of its tables. Reading one that has a write-ahead log writes beside it;
/// where nothing can be written and no log lies there, the file is all there is and `immutable` may be said of it.
fn connected(path: &Path, immutable: bool) -> Result<(Connection, i64), JournalError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let wrong = |reason| JournalError::NotAJournal { path: path.to_owned(), reason };
    let connection = if immutable {
        let flags = flags | OpenFlags::SQLITE_OPEN_URI;
        Connection::open_with_flags(immutable_name(path), flags).map_err(wrong)?
    } else {
        Connection::open_with_flags(path, flags).map_err(wrong)?
    };
    connection.busy_timeout(std::time::Duration::from_secs(2))?;
    let tables = schema::check(&connection, path)?;
    Ok((connection, tables))
}

/// The file as SQLite's own kind of URI (https://sqlite.org/uri.html), each byte written so that it means itself.
fn immutable_name(path: &Path) -> String {
    use std::fmt::Write;
    use std::os::unix::ffi::OsStrExt;
    let mut name = String::from("file:");
    for byte in path.as_os_str().as_bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' => {
                name.push(char::from(*byte));
            }
            // Writing into memory cannot fail.
            _ => drop(write!(name, "%{byte:02x}")),
        }
    }
    name + "?immutable=1"
}

fn has_no_log(path: &Path) -> bool {
    std::fs::metadata(beside(path, "-wal")).map_or(true, |log| log.len() == 0)
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
