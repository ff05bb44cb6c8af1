//! The tables of the journal and the steps that lead from one version of them to the next.

use std::path::Path;

use rusqlite::Connection;

use super::JournalError;

/// Marks the file as a journal of this program: "dwel" in ASCII.
const APPLICATION: i64 = 0x6477_656c;

/// One step a version; the file's `user_version` is the number of steps it has been through.
const STEPS: [&str; 2] = [EVENTS, super::views::VIEWS];

const EVENTS: &str = "
    CREATE TABLE events (
        station TEXT NOT NULL,      -- short name of the station
        seq     INTEGER NOT NULL,   -- 1, 2, 3, ... without a gap
        act     INTEGER NOT NULL,   -- seq of the first event of the same act
        at      INTEGER NOT NULL,   -- wall clock, microseconds since 1970 UTC
        boot    TEXT NOT NULL,      -- which boot `up` counts from
        up      INTEGER NOT NULL,   -- boot clock, microseconds
        version INTEGER NOT NULL,   -- of the body
        kind    TEXT NOT NULL,
        body    TEXT NOT NULL,      -- JSON
        sum     INTEGER NOT NULL,   -- chains the row to the one before
        PRIMARY KEY (station, seq)
    ) STRICT, WITHOUT ROWID;
";

/// The version that this program writes.
pub fn known() -> i64 {
    i64::try_from(STEPS.len()).unwrap_or(i64::MAX)
}

/// Refuses a file that is not a journal, or one of a newer program, untouched.
pub fn check(connection: &Connection, path: &Path) -> Result<i64, JournalError> {
    let pragma = |name: &str| {
        connection
            .pragma_query_value(None, name, |row| row.get::<_, i64>(0))
            .map_err(|reason| JournalError::NotAJournal { path: path.to_owned(), reason })
    };
    let found = pragma("user_version")?;
    let id = pragma("application_id")?;
    if id != APPLICATION && !(id == 0 && found == 0) {
        return Err(JournalError::Foreign { path: path.to_owned(), id });
    }
    if found > known() {
        return Err(JournalError::Newer { path: path.to_owned(), found, known: known() });
    }
    Ok(found)
}

/// What a file of this version is made of, and a file of another program's hands would lack: the first part that is
/// not there as this program makes it. What people have added stays their own affair.
pub fn differs(connection: &Connection, version: i64) -> Result<Option<String>, JournalError> {
    let model = Connection::open_in_memory()?;
    for (_, step) in (1i64..).zip(STEPS).take_while(|(number, _)| *number <= version) {
        model.execute_batch(step)?;
    }
    let wanted = parts(&model)?;
    let there = parts(connection)?;
    Ok(wanted.into_iter().find(|part| !there.contains(part)).map(|(name, _)| name))
}

/// Tables, indexes and views with the words that made them.
fn parts(connection: &Connection) -> rusqlite::Result<Vec<(String, Option<String>)>> {
    let mut statement = connection.prepare("SELECT name, sql FROM sqlite_schema ORDER BY name")?;
    statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
}

/// Brings a file up to the version that this program writes, each step in a transaction of its own.
pub fn migrate(connection: &mut Connection, path: &Path) -> Result<(), JournalError> {
    let found = check(connection, path)?;
    for (version, step) in (1i64..).zip(STEPS).filter(|(version, _)| *version > found) {
        let change = connection.transaction()?;
        change.execute_batch(step)?;
        change.pragma_update(None, "application_id", APPLICATION)?;
        change.pragma_update(None, "user_version", version)?;
        change.commit()?;
    }
    Ok(())
}
