//! Whose turn it is to be weighed, or to be asked about its steam: the first three of a hand, a lot and a recipe, then
//! one in so many, and again after a coat that was outside. One that was passed by has had its turn.

use serde::{Deserialize, Serialize};

/// So many in a row at the start, and after a fault (M).
const IN_A_ROW: u32 = 3;
/// The most hands and lots that are kept in mind; the one that was busy longest ago goes first.
const MOST_KEPT: usize = 12;
/// One garment in so many is asked about its steam (M).
pub const STEAM_EVERY: u32 = 10;

/// Who sprays, with what.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hand {
    /// Initials of everybody at the bench.
    pub people: Vec<String>,
    /// Lots in the sprayer.
    pub lots: Vec<String>,
}

/// How often one thing was asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Turn {
    /// So many are still to be asked in a row.
    row: u32,
    /// So many have gone by since.
    since: u32,
}

impl Default for Turn {
    fn default() -> Self {
        Self { row: IN_A_ROW, since: 0 }
    }
}

impl Turn {
    /// Whether the next one is asked, where one in `every` is; 0: none.
    pub fn is_next(self, every: u32) -> bool {
        every > 0 && (self.row > 0 || self.since + 1 >= every)
    }

    /// Another garment went by.
    fn pass(&mut self, had_its_turn: bool) {
        if had_its_turn {
            *self = Self { row: self.row.saturating_sub(1), since: 0 };
        } else {
            self.since = self.since.saturating_add(1);
        }
    }
}

/// The turns of one hand.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Of {
    hand: Hand,
    weight: Turn,
    steam: Turn,
}

/// The turns of a recipe's garments, the hand that was busy last at the end.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Turns {
    all: Vec<Of>,
}

impl Turns {
    /// Where the weighing has come to for a hand.
    pub fn weight(&self, hand: &Hand) -> Turn {
        self.of(hand).map(|of| of.weight).unwrap_or_default()
    }

    /// The same for the question about the steam.
    pub fn steam(&self, hand: &Hand) -> Turn {
        self.of(hand).map(|of| of.steam).unwrap_or_default()
    }

    fn of(&self, hand: &Hand) -> Option<&Of> {
        self.all.iter().find(|of| of.hand == *hand)
    }

    fn busy(&mut self, hand: Hand) -> &mut Of {
        let known = self.all.iter().position(|of| of.hand == hand);
        let of = match known {
            Some(place) => self.all.remove(place),
            None => Of { hand, ..Of::default() },
        };
        if self.all.len() == MOST_KEPT {
            self.all.remove(0);
        }
        self.all.push(of);
        let last = self.all.len() - 1;
        &mut self.all[last]
    }

    /// A garment was sprayed; whether it was weighed, or its weight was asked for.
    pub fn sprayed(&mut self, hand: Hand, had_its_turn: bool) {
        self.busy(hand).weight.pass(had_its_turn);
    }

    /// A garment was dried; whether its steam was noted, or asked about.
    pub fn dried(&mut self, hand: Hand, had_its_turn: bool) {
        self.busy(hand).steam.pass(had_its_turn);
    }

    /// A coat was outside: some in a row are weighed, and the next one's steam is asked about.
    pub fn fault(&mut self, hand: Hand) {
        let of = self.busy(hand);
        of.weight.row = IN_A_ROW;
        of.steam.row = of.steam.row.max(1);
    }
}
