//! A coat as a scale weighed it, and as a second of steam tells it.

use serde::{Deserialize, Serialize};

use crate::figures::coat::Verdict;
use crate::figures::units::{Grams, GramsPerSquareMetre};

/// A garment on the scale before its spray, and after.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Weighing {
    pub before: Grams,
    pub after: Option<Grams>,
}

impl Weighing {
    /// The fluid that went on, once both weights are there.
    pub fn coat(&self) -> Option<Grams> {
        self.after.map(|after| Grams(after.0 - self.before.0))
    }
}

/// What a second of steam says of a coat, once a press has been learned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CoatEstimate {
    pub grams: Grams,
    /// Between these with 95 % probability.
    pub low: Grams,
    pub high: Grams,
    pub coat: GramsPerSquareMetre,
    pub verdict: Verdict,
}
