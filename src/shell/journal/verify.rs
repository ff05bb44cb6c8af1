//! Whether a journal is what was written: all of it, row by row, and nothing else in the file.

use super::row::FIRST_SUM;
use super::schema::Foreign;
use super::{JournalError, Reader, schema};
use crate::shop::Shop;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Queue;

/// What a journal was proved to hold.
#[derive(Debug, Default)]
pub struct Proof {
    pub events: u64,
    /// The last event's number, its moment of the wall clock in microseconds, and the end of the chain of sums.
    pub last_seq: u64,
    pub last_at: Option<Wall>,
    pub chain: i64,
    /// What else is in the file: people's own tables and views, and triggers, which change what is written.
    pub foreign: Vec<Foreign>,
    /// The shop as all of it tells.
    pub shop: Shop,
}

impl Proof {
    /// Garments by place, each place with its name, empty ones left out.
    pub fn places(&self) -> Vec<(&'static str, usize)> {
        let floor = self.shop.floor();
        let steps = Step::ALL.map(|step| (step.name(), floor.count(Queue::Step(step))));
        let others = [
            ("underbase undecided", floor.count(Queue::Undecided)),
            ("in presses", self.shop.loads().count()),
            ("on the shelf", floor.count(Queue::Shelf)),
            ("finished", floor.count(Queue::Finished)),
            ("out", floor.count(Queue::Out)),
        ];
        steps.into_iter().chain(others).filter(|(_, count)| *count > 0).collect()
    }
}

impl Reader {
    /// Asks SQLite for its opinion, looks whether the tables and views are ours, follows the chain of sums from the
    /// first row to the last, and tells a shop all of it.
    ///
    /// # Errors
    /// The first thing that is not what was written.
    pub fn verify(&self) -> Result<Proof, JournalError> {
        // A board may write meanwhile: what is counted at the end must be what was read before.
        self.at_one_moment(|| self.verified()).map_err(|wrong| match wrong {
            JournalError::Sqlite(reason) => {
                JournalError::Damaged { path: self.path().to_owned(), reason: reason.to_string() }
            }
            wrong => wrong,
        })
    }

    fn verified(&self) -> Result<Proof, JournalError> {
        let damaged = |reason| JournalError::Damaged { path: self.path().to_owned(), reason };
        let verdict: String =
            self.connection().pragma_query_value(None, "integrity_check", |row| row.get(0))?;
        if verdict != "ok" {
            return Err(damaged(verdict));
        }
        if let Some(name) = schema::differs(self.connection(), self.version_of_tables())? {
            return Err(damaged(format!("its part \"{name}\" is not what this program makes")));
        }
        let foreign = schema::foreign(self.connection(), self.version_of_tables())?;
        let mut proof = Proof { chain: FIRST_SUM, foreign, ..Proof::default() };
        self.chained_after(0, FIRST_SUM, |event, sum| {
            proof.events += 1;
            (proof.last_seq, proof.last_at, proof.chain) = (event.seq, Some(event.moment.at), sum);
            proof.shop.apply(&event);
        })?;
        // Rows of another station stand in no chain.
        let sql = "SELECT count(*) FROM events";
        let rows: i64 = self.connection().query_row(sql, [], |row| row.get(0))?;
        match u64::try_from(rows).unwrap_or(0).saturating_sub(proof.events) {
            0 => Ok(proof),
            strays => Err(damaged(format!("{strays} rows in it are of another station"))),
        }
    }
}
