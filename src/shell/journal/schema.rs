//! The tables of the journal and the steps that lead from one version of them to the next.

use std::path::Path;

use rusqlite::Connection;

use super::{JournalError, views};

/// Marks the file as a journal of this program: "dwel" in ASCII.
const APPLICATION: i64 = 0x6477_656c;

/// One step a version; the file's `user_version` is the number of steps it has been through.
const STEPS: [&str; 5] = [
    EVENTS,
    views::VIEWS,
    views::RARE_AGAIN,
    views::CYCLES_AND_SHELF_AGAIN,
    views::WEIGH_INS_AND_ORDERS_AGAIN,
];

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
    let wanted = parts(&model(version)?)?;
    let there = parts(connection)?;
    Ok(wanted.into_iter().find(|part| !there.contains(part)).map(|(name, _)| name))
}

/// What a file of this version holds besides, with its kind: `table "mine"`. What SQLite keeps for itself is left out.
pub fn foreign(connection: &Connection, version: i64) -> Result<Vec<Foreign>, JournalError> {
    let ours = parts(&model(version)?)?;
    let is_ours = |name: &str| ours.iter().any(|(own, _)| own == name);
    let sql = "SELECT type, name FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'";
    let mut statement = connection.prepare(sql)?;
    let all = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let all: Vec<(String, String)> = all.collect::<rusqlite::Result<_>>()?;
    let foreign = all.into_iter().filter(|(_, name)| !is_ours(name));
    Ok(foreign.map(|(kind, name)| Foreign { kind, name }).collect())
}

/// A part of the journal's file that this program did not make.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Foreign {
    kind: String,
    name: String,
}

impl Foreign {
    /// Whether it may change what is written.
    pub fn is_trigger(&self) -> bool {
        self.kind == "trigger"
    }
}

impl std::fmt::Display for Foreign {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} \"{}\"", self.kind, self.name)
    }
}

/// An empty file of a version.
fn model(version: i64) -> rusqlite::Result<Connection> {
    let model = Connection::open_in_memory()?;
    for (_, step) in (1i64..).zip(STEPS).take_while(|(number, _)| *number <= version) {
        model.execute_batch(step)?;
    }
    Ok(model)
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of some version, with a thousand rows in it.
    fn file(path: &Path, version: i64) -> Connection {
        let connection = Connection::open(path).unwrap();
        for (number, step) in (1i64..).zip(STEPS).take_while(|(number, _)| *number <= version) {
            connection.execute_batch(step).unwrap();
            connection.pragma_update(None, "application_id", APPLICATION).unwrap();
            connection.pragma_update(None, "user_version", number).unwrap();
        }
        if version > 0 {
            let rows = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 1000)
                 INSERT INTO events SELECT 'a', i, i, i, '0', i, 1, 'printed', '{\"garment\":\"A1-01\"}', i FROM n";
            connection.execute_batch(rows).unwrap();
        }
        connection
    }

    /// All that a person could see of a file.
    fn seen(path: &Path) -> (i64, Vec<(String, Option<String>)>, i64) {
        let connection = Connection::open(path).unwrap();
        let version =
            connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
        let rows = connection.query_row("SELECT count(*) FROM events", [], |row| row.get(0));
        (version, parts(&connection).unwrap(), rows.unwrap_or(0))
    }

    /// Stops the work of SQLite after ever more of its own steps: within each statement, and between any two.
    #[test]
    fn a_migration_that_is_broken_off_anywhere_leaves_a_whole_version() {
        let there = tempfile::tempdir().unwrap();
        for from in 0..known() {
            let model = there.path().join(format!("whole {from}"));
            drop(file(&model, from));
            let mut whole = vec![seen(&model)];
            for to in from + 1..=known() {
                let path = there.path().join(format!("to {from} {to}"));
                let connection = file(&path, from);
                for step in &STEPS[usize::try_from(from).unwrap()..usize::try_from(to).unwrap()] {
                    connection.execute_batch(step).unwrap();
                }
                connection.pragma_update(None, "user_version", to).unwrap();
                drop(connection);
                whole.push(seen(&path));
            }
            let (mut after, mut stopped) = (1, 0);
            loop {
                let path = there.path().join("broken");
                drop(std::fs::remove_file(&path));
                let mut connection = file(&path, from);
                // Called once every so many steps of SQLite's machine; the first call stops the work.
                connection.progress_handler(after, Some(|| true)).unwrap();
                let done = migrate(&mut connection, &path);
                connection.progress_handler(0, None::<fn() -> bool>).unwrap();
                drop(connection);
                let now = seen(&path);
                assert!(whole.contains(&now), "broken off after {after}: version {}", now.0);
                if done.is_ok() {
                    assert_eq!(now.0, known());
                    break;
                }
                stopped += 1;
                // And the next start ends it.
                migrate(&mut Connection::open(&path).unwrap(), &path).unwrap();
                assert_eq!(seen(&path), *whole.last().unwrap());
                after += 1 + after / 12;
            }
            assert!(stopped > 20, "from {from} it was stopped {stopped} times only");
        }
    }

    /// Each question is served by the index that was made for it: by another one, or none, it would read a year.
    #[test]
    fn every_question_has_its_index() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection, Path::new("memory")).unwrap();
        let plan = |filter: &str| -> String {
            let sql =
                format!("EXPLAIN QUERY PLAN SELECT * FROM events WHERE {filter} ORDER BY seq");
            let mut statement = connection.prepare(&sql).unwrap();
            let steps = statement.query_map([], |row| row.get::<_, String>(3)).unwrap();
            steps.map(Result::unwrap).collect::<Vec<_>>().join("; ")
        };
        let (rare, lot, order) = (views::RARE, views::LOT, views::OF_ORDER);
        for (filter, index) in [
            (format!("{} = 'A1-01'", views::GARMENT), "events_garment"),
            (format!("kind = 'undone' AND {} = 7", views::UNDOES), "events_undone"),
            (
                format!("kind = 'sprayer-flushed' AND {rare} AND seq > 7"),
                "events_rare (kind=? AND seq>?)",
            ),
            (format!("kind = 'sprayer-filled' AND {lot} = 'F-1'"), "events_lot"),
            (format!("{order} AND {} = 7", views::ORDER), "events_order"),
        ] {
            let plan = plan(&filter);
            assert!(
                plan.contains(&format!("SEARCH events USING INDEX {index}")),
                "{filter}: {plan}"
            );
        }
    }
}
