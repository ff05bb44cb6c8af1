//! Bottles and the sprayer: only pretreatment fluid ever goes in, and what is in it is known.
//!
//! White ink looks much the same in a bottle and ruins a sprayer. So a fill is recorded only for a lot that is
//! registered as fluid and not past its date; the check is against the code that was scanned or typed, no more.

use std::collections::BTreeMap;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::garment::Garment;
use crate::figures::spray;
use crate::figures::units::Grams;
use crate::shop::Shop;
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::day::Day;
use crate::shop::facts::mixture::{Mixture, in_words};
use crate::shop::facts::moment::Moment;

/// How much more may have been sprayed than was filled before somebody has to look: scales and plans are no
/// better (common practice, no source).
const TOLERANCE: f64 = 0.1;

/// A lot as its bottle's label says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lot {
    pub contents: Contents,
    pub best_before: Option<Day>,
    pub place: String,
    /// What was said of it when it was last filled in.
    pub fluid: Option<Mixture>,
}

/// What is in the sprayer, and since when.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Filling {
    /// The lots in it: several after a top-up.
    pub lots: Vec<String>,
    /// What was said of them, each once.
    pub fluids: Vec<Mixture>,
    /// Grams filled in since it was last empty, and grams sprayed since.
    pub filled: f64,
    pub used: f64,
    pub flushed: Option<Moment>,
    /// When fluid was first filled in since it was flushed.
    pub since: Option<Moment>,
    /// When fluid last went in or out.
    pub last_use: Option<Moment>,
    /// The last fill was more than there was room for by the account.
    #[serde(default)]
    pub was_off: bool,
}

/// Fluid that stands in a sprayer for so long begins to dry in its tip (M).
const RINSED_AFTER: Duration = Duration::from_secs(30 * 60);

/// Lots and sprayer.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Supplies {
    pub lots: BTreeMap<String, Lot>,
    pub filling: Filling,
    /// What was said of the fluid that was filled in last.
    pub last: Option<Mixture>,
}

impl Filling {
    /// Grams that are left, as far as fills and sprays tell.
    pub fn left(&self) -> Grams {
        Grams((self.filled - self.used).max(0.0))
    }

    /// Whether the sprayer has stood with fluid in it for so long that its tip is to be rinsed.
    pub fn rinse_due(&self, now: Moment) -> bool {
        let stood = self.last_use.filter(|_| !self.lots.is_empty());
        stood.is_some_and(|last| now.since(last).span >= RINSED_AFTER)
    }

    /// Whether more was sprayed than was filled, beyond what scales and plans can be off.
    pub fn is_overdrawn(&self) -> bool {
        self.filled > 0.0 && self.used > self.filled * (1.0 + TOLERANCE)
    }
}

impl Supplies {
    /// What is taken to be true of a lot's fluid until somebody says otherwise: what was said when it was last filled in;
    /// of one that never was, that it is as the last fluid, but for its day.
    pub fn offered(&self, lot: &str) -> Mixture {
        let own = self.lots.get(lot).and_then(|lot| lot.fluid);
        let last = || Mixture { mixed: None, ..self.last.unwrap_or_default() };
        own.unwrap_or_else(last)
    }
}

impl Shop {
    /// What is in the sprayer that a garment's recipe is not for; empty where it is, or nobody has said what is in it.
    pub fn other_fluids(&self, garment: &Garment) -> Vec<Mixture> {
        let Some((_, recipe)) = self.recipe_of(garment) else { return Vec::new() };
        let wanted = recipe.fluid_wanted();
        let fluids = self.supplies.filling.fluids.iter().copied();
        fluids.filter(|fluid| fluid.differs_from(&wanted)).collect()
    }

    /// "the sprayer holds light fluid: Dark cotton wants dark fluid; flush it, then fill".
    pub fn says_other_fluid(&self, garment: &Garment) -> Option<String> {
        let other = self.other_fluids(garment);
        let (_, recipe) = self.recipe_of(garment).filter(|_| !other.is_empty())?;
        let (holds, wants) = (in_words(&other), recipe.fluid_wanted());
        Some(format!(
            "the sprayer holds {holds}: {} wants {wants}; flush it, then fill",
            recipe.title
        ))
    }

    /// The lots and the sprayer.
    pub fn supplies(&self) -> &Supplies {
        &self.supplies
    }

    /// Grams out of the nozzle for one garment: by the sprayer's plan, else the coat alone.
    pub fn planned_spray(&self, garment: &Garment) -> Option<Grams> {
        let pace = self.spray_task(garment).and_then(|task| spray::pace(&task).ok());
        pace.map(|pace| pace.used).or_else(|| self.grams_right(garment))
    }

    /// How many more garments the sprayer holds fluid for, by the plan of the next one. None while no fill is
    /// recorded, or nothing waits that wants fluid.
    pub fn sprays_left(&self) -> Option<u32> {
        let filling = &self.supplies.filling;
        let each = self.planned_spray(self.next_to_spray()?)?.0;
        let count = (filling.left().0 / each.max(f64::MIN_POSITIVE)).floor().min(9999.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 9999")]
        let count = count as u32;
        (filling.filled > 0.0).then_some(count)
    }

    /// Whether the sprayer wants to be flushed: filled for longer than the station allows.
    pub fn flush_due(&self, now: Moment) -> bool {
        let every = self.station().and_then(|station| station.sprayer).map(|s| s.flush_every.0);
        let since = self.supplies.filling.since;
        every.zip(since).is_some_and(|(every, since)| now.since(since).span > every)
    }
}
