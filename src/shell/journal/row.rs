//! An event as a row: its texts, and the sum that chains it to the row before.

use std::sync::LazyLock;

use rusqlite::{Connection, Row, params};
use sha2::{Digest, Sha256};

use super::JournalError;
use crate::shop::facts::fact::{BODY_VERSION, Event, Fact};
use crate::shop::facts::ids::{ActNo, StationId};
use crate::shop::facts::moment::{Boot, Moment, Up, Wall};

/// The columns in the order in which they are read and written.
pub const COLUMNS: &str = "station, seq, act, at, boot, up, version, kind, body, sum";

static INSERT: LazyLock<String> = LazyLock::new(|| {
    format!("INSERT INTO events ({COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)")
});

/// The sum that stands before the first row.
pub const FIRST_SUM: i64 = 0;

/// A row as it is stored.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    pub station: String,
    pub seq: i64,
    pub act: i64,
    pub at: i64,
    pub boot: String,
    pub up: i64,
    pub version: u32,
    pub kind: String,
    pub body: String,
    pub sum: i64,
}

impl Stored {
    /// The row of an event that follows a row with the sum `before`.
    ///
    /// # Errors
    /// None in practice: a fact holds only numbers and texts.
    pub fn of(event: &Event, before: i64) -> serde_json::Result<Self> {
        let mut row = Self {
            station: event.station.to_string(),
            seq: i64::try_from(event.seq).unwrap_or(i64::MAX),
            act: i64::try_from(event.act.0).unwrap_or(i64::MAX),
            at: event.moment.at.0,
            boot: event.moment.boot.to_string(),
            up: event.moment.up.0,
            version: BODY_VERSION,
            kind: event.fact.kind().to_owned(),
            body: event.fact.body()?,
            sum: 0,
        };
        row.sum = row.chained(before);
        Ok(row)
    }

    /// Adds the row to the table.
    ///
    /// # Errors
    /// What SQLite says.
    pub fn insert(&self, into: &Connection) -> rusqlite::Result<()> {
        into.prepare_cached(&INSERT)?.execute(params![
            self.station,
            self.seq,
            self.act,
            self.at,
            self.boot,
            self.up,
            self.version,
            self.kind,
            self.body,
            self.sum
        ])?;
        Ok(())
    }

    /// Reads a row in the order of `COLUMNS`.
    ///
    /// # Errors
    /// A column of another type.
    pub fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            station: row.get(0)?,
            seq: row.get(1)?,
            act: row.get(2)?,
            at: row.get(3)?,
            boot: row.get(4)?,
            up: row.get(5)?,
            version: row.get(6)?,
            kind: row.get(7)?,
            body: row.get(8)?,
            sum: row.get(9)?,
        })
    }

    /// The sum that this row must have after a row with the sum `before`: the first eight bytes of a SHA-256
    /// over that sum and all that the row says.
    pub fn chained(&self, before: i64) -> i64 {
        let mut digest = Sha256::new();
        for number in [before, self.seq, self.act, self.at, self.up, i64::from(self.version)] {
            digest.update(number.to_le_bytes());
        }
        for text in [&self.station, &self.boot, &self.kind, &self.body] {
            digest.update(text.len().to_le_bytes());
            digest.update(text.as_bytes());
        }
        let bytes = digest.finalize();
        let mut first = [0u8; 8];
        first.copy_from_slice(&bytes[..8]);
        i64::from_le_bytes(first)
    }

    /// The event that the row tells of.
    ///
    /// # Errors
    /// A text that does not read, with the number of the row.
    pub fn event(&self) -> Result<Event, JournalError> {
        let wrong = |reason: String| JournalError::Row { seq: self.seq, reason };
        let number =
            |n: i64| u64::try_from(n).map_err(|_| wrong(format!("{n} is no number of a row")));
        if self.version > BODY_VERSION {
            return Err(wrong(format!(
                "its version is {}, newer than {BODY_VERSION}",
                self.version
            )));
        }
        Ok(Event {
            station: self.station.parse::<StationId>().map_err(|e| wrong(e.to_string()))?,
            seq: number(self.seq)?,
            act: ActNo(number(self.act)?),
            moment: Moment {
                at: Wall(self.at),
                boot: Boot::try_from(self.boot.clone()).map_err(wrong)?,
                up: Up(self.up),
            },
            fact: Fact::read(&self.kind, &self.body).map_err(|e| wrong(e.to_string()))?,
        })
    }
}
