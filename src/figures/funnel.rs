//! How far shares of different sizes may lie apart by chance: the limits of a funnel plot.
//!
//! D. J. Spiegelhalter, Funnel plots for comparing institutional performance, Statistics in Medicine 24(8), 2005: exact limits
//! of a binomial count. Ours are those of 99.8 %, as there: of a thousand groups that do alike, at most one lies below and
//! one above. Between two counts nothing is interpolated, as it is there: in a group of one or two garments that would blame
//! chance. For many garments they meet the three-sigma limits of a p chart (NIST/SEMATECH e-Handbook of Statistical Methods,
//! 6.3.3.2), which for few would do the same.

use statrs::distribution::{Binomial, DiscreteCDF};

/// The chance that a group lies below its lower limit, and above its upper one, is no more than this.
const TAIL: f64 = 0.001;

/// Between which two shares a group lies that does as all do; both are still inside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    pub low: f64,
    pub high: f64,
}

impl Limits {
    /// Those of a group of so many, where `share` of all are so; None of an empty group, and of what is no share.
    pub fn of(share: f64, count: usize) -> Option<Self> {
        let most = u64::try_from(count).ok()?;
        let binomial = Binomial::new(share, most).ok()?;
        let limit = |chance: f64| least(&binomial, most, chance) as f64 / count as f64;
        (count > 0).then(|| Self { low: limit(TAIL), high: limit(1.0 - TAIL) })
    }

    /// Whether a share lies outside them.
    pub fn exclude(self, share: f64) -> bool {
        share < self.low || share > self.high
    }
}

/// The least count of at most `most` up to which there is at least this chance. By halves: the library's own inverse does
/// not answer for small groups.
fn least(binomial: &Binomial, most: u64, chance: f64) -> u64 {
    let (mut low, mut high) = (0, most);
    while low < high {
        let middle = u64::midpoint(low, high);
        if binomial.cdf(middle) >= chance { high = middle } else { low = middle + 1 }
    }
    low
}
