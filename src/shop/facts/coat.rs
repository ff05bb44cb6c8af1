//! A coat: the window that it is to lie in, as a scale weighed it, and as a second of steam tells it.

use serde::{Deserialize, Serialize};

use super::check::{Senseless, check_size};
use crate::figures::coat::Verdict;
use crate::figures::units::{Grams, GramsPerSquareMetre, bounds};

/// Between which weights a coat holds, and which is aimed for. An edge that is left out lies as far from the target as
/// is usual: [`CoatWindow::opened`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(from = "CoatWritten")]
pub struct CoatWindow {
    pub low: GramsPerSquareMetre,
    pub target: GramsPerSquareMetre,
    pub high: GramsPerSquareMetre,
}

/// How far a coat may be off a target that somebody has confirmed: a window as wide as a factor of two catches nothing
/// (from memory).
const CONFIRMED: f64 = 0.15;
/// The same while nobody has: what is right for this fluid may lie far off (from memory).
const UNCONFIRMED: f64 = 0.35;

/// A window as a file has it.
#[derive(Deserialize)]
#[serde(rename = "CoatWindow", deny_unknown_fields)]
struct CoatWritten {
    #[serde(default)]
    low: Option<GramsPerSquareMetre>,
    target: GramsPerSquareMetre,
    #[serde(default)]
    high: Option<GramsPerSquareMetre>,
}

/// An edge that is left out lies on the target until the recipe is read whole.
impl From<CoatWritten> for CoatWindow {
    fn from(CoatWritten { low, target, high }: CoatWritten) -> Self {
        Self { low: low.unwrap_or(target), target, high: high.unwrap_or(target) }
    }
}

impl CoatWindow {
    /// The same with the edges that were left out at their usual distance from the target.
    pub(super) fn opened(self, confirmed: bool) -> Self {
        let share = if confirmed { CONFIRMED } else { UNCONFIRMED };
        // To a hundredth, so that it is written as it is read.
        let off = |share: f64| {
            GramsPerSquareMetre((self.target.0 * (1.0 + share) * 100.0).round() / 100.0)
        };
        let edge = |edge: GramsPerSquareMetre, share: f64| {
            if edge == self.target { off(share) } else { edge }
        };
        Self { low: edge(self.low, -share), high: edge(self.high, share), ..self }
    }

    pub(super) fn check(self) -> Result<(), Senseless> {
        check_size("coat.low", self.low, bounds::COAT)?;
        check_size("coat.high", self.high, bounds::COAT)?;
        if !(self.low < self.target && self.target < self.high) {
            let reason = format!(
                "{} is not between low ({}) and high ({})",
                self.target, self.low, self.high
            );
            return Err(Senseless::new("coat.target", reason));
        }
        Ok(())
    }
}

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
