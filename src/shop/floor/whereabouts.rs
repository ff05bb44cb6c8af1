//! Which station keeps a garment, as its moves say: each names the one that it follows, so that two after one show, in
//! whatever order they were heard.

use serde::{Deserialize, Serialize};

use super::garment::Place;
use crate::shop::facts::fact::{Received, RowId, Settled};
use crate::shop::facts::ids::StationId;

/// A garment came to a station, by a row of a history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Move {
    pub row: RowId,
    /// The moves that it follows: one, none where nobody knew, all that it settles.
    pub after: Vec<RowId>,
    pub at: StationId,
}

impl Move {
    /// That of a garment which a station took over, by its event of that number.
    pub fn received(station: StationId, seq: u64, fact: &Received) -> Self {
        let row = fact.row(station, seq);
        Self { row, after: fact.after.into_iter().collect(), at: station }
    }

    /// That of an answer where a garment is.
    pub fn settled(station: StationId, seq: u64, fact: &Settled) -> Self {
        Self { row: fact.row(station, seq), after: fact.moves.clone(), at: fact.at }
    }
}

/// Everything that was heard of a garment's moves.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Whereabouts {
    moves: Vec<Move>,
    /// A press here was shut on it when it was heard to be elsewhere, and nobody has said since where it is.
    shut_here: bool,
    /// Where it was here before it left.
    pub(in crate::shop) was: Option<Place>,
}

impl Whereabouts {
    /// Whether a move is known.
    pub fn knows(&self, row: RowId) -> bool {
        self.moves.iter().any(|one| one.row == row)
    }

    /// Another move. One that only names others as its forerunners is new all the same.
    pub fn take(&mut self, other: Move, shut_here: bool) {
        self.shut_here = shut_here;
        if !self.knows(other.row) {
            self.moves.push(other);
        }
    }

    /// The moves that no other follows.
    pub fn last(&self) -> impl Iterator<Item = &Move> {
        let followed = |row: RowId| self.moves.iter().any(|other| other.after.contains(&row));
        self.moves.iter().filter(move |one| !followed(one.row))
    }

    /// The stations at which it is said to be, each once, `own` first; one, unless two have followed the same move.
    pub fn stations(&self, own: StationId) -> Vec<StationId> {
        let mut all: Vec<StationId> = self.last().map(|one| one.at).collect();
        all.extend(self.shut_here.then_some(own));
        all.sort_by_key(|station| (*station != own, *station));
        all.dedup();
        all
    }

    /// Whether it is said to be at several stations.
    pub fn is_doubtful(&self, own: StationId) -> bool {
        self.stations(own).len() > 1
    }
}
