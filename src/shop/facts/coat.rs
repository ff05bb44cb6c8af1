//! A coat as a scale weighed it, and as a second of steam tells it.

use serde::{Deserialize, Serialize};

use crate::figures::coat::Verdict;
use crate::figures::units::{Grams, GramsPerSquareMetre};

/// A garment on the scale before its spray, and after.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Weighing {
    pub before: Grams,
    /// The last weight with the coat on.
    pub after: Option<Grams>,
    /// Something was put on or taken off after the first weight with the coat on.
    pub mended: bool,
    /// Somebody said that it is dried as it is.
    pub left: bool,
}

impl Weighing {
    /// A dry garment.
    pub fn dry(before: Grams) -> Self {
        Self { before, after: None, mended: false, left: false }
    }

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
