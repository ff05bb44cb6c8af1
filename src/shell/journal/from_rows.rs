//! A journal made of rows that came from elsewhere, so that whatever reads a journal reads those as well.
//!
//! It stands in a directory that goes with the question: nothing of it is synced, and no board may write in it.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags};

use super::row::Stored;
use super::{JournalError, path, schema};
use crate::shell::new_file::{NewFile, Readers};

/// A journal as it is filled.
pub struct FromRows {
    connection: Connection,
}

impl FromRows {
    /// Begins one in a directory that has none.
    ///
    /// # Errors
    /// A place where no file can be made.
    pub fn begin(data: &Path) -> Result<Self, JournalError> {
        let path: PathBuf = path(data);
        NewFile::beside(&path, Readers::Owner)?.name(&path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(&path, flags)?;
        connection.pragma_update(None, "synchronous", "OFF")?;
        schema::migrate(&mut connection, &path)?;
        connection.execute_batch("BEGIN")?;
        Ok(Self { connection })
    }

    /// Adds the row that comes next.
    ///
    /// # Errors
    /// A full disk, or a number that is there already.
    pub fn add(&self, row: &Stored) -> Result<(), JournalError> {
        Ok(row.insert(&self.connection)?)
    }

    /// Has all of it stand in the file.
    ///
    /// # Errors
    /// A full disk.
    pub fn end(self) -> Result<(), JournalError> {
        Ok(self.connection.execute_batch("COMMIT")?)
    }
}
