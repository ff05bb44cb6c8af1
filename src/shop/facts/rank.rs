//! The rank of an order: how it stands among the others.

use serde::{Deserialize, Serialize};

/// How an order stands among the others: 1 is a rush, 2 the usual, 3 can wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Rank(u8);

impl Rank {
    /// It goes before all others.
    pub const RUSH: Rank = Rank(1);
    /// What an order has where nothing is said.
    pub const USUAL: Rank = Rank(2);
    /// All ranks, the most pressing first.
    pub const ALL: [Rank; 3] = [Rank::RUSH, Rank::USUAL, Rank(3)];

    /// In a word.
    pub fn words(self) -> &'static str {
        match self.0 {
            1 => "rush",
            2 => "usual",
            _ => "can wait",
        }
    }

    /// Whether it is what an order has anyway: it is not written then.
    pub fn is_usual(&self) -> bool {
        *self == Rank::USUAL
    }
}

impl Default for Rank {
    fn default() -> Self {
        Rank::USUAL
    }
}

impl TryFrom<u8> for Rank {
    type Error = String;
    fn try_from(no: u8) -> Result<Self, String> {
        let known = Rank::ALL.into_iter().find(|rank| rank.0 == no);
        known.ok_or_else(|| format!("rank: {no}: expected 1 (rush), 2 (usual) or 3 (can wait)"))
    }
}

impl From<Rank> for u8 {
    fn from(rank: Rank) -> u8 {
        rank.0
    }
}
