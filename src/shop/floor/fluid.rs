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
use crate::shop::facts::fact::{LotRegistered, SprayerFilled};
use crate::shop::facts::mixture::{Mixture, in_words};
use crate::shop::facts::moment::Moment;

/// The most lots that are kept in mind; the oldest that is not in the sprayer goes first.
const MOST_LOTS: usize = 100;
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
    /// A garment was sprayed: its plan is taken off what is left.
    pub(in crate::shop) fn spray(&mut self, planned: Grams, at: Moment) {
        self.used += planned.0;
        self.last_use = Some(at);
    }

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
    /// A lot was registered. Of too many the oldest goes that is not in the sprayer.
    pub(in crate::shop) fn keep_lot(&mut self, fact: &LotRegistered) {
        let lot = Lot {
            contents: fact.contents,
            best_before: fact.best_before,
            place: fact.place.clone(),
            fluid: None,
        };
        self.lots.insert(fact.lot.clone(), lot);
        if self.lots.len() > MOST_LOTS {
            // By date, since names say nothing: those without one stay longest.
            let in_use = &self.filling.lots;
            let oldest = self.lots.iter().filter(|(name, _)| !in_use.contains(name));
            let oldest = oldest.min_by_key(|(_, lot)| (lot.best_before.is_none(), lot.best_before));
            if let Some(name) = oldest.map(|(name, _)| name.clone()) {
                self.lots.remove(&name);
            }
        }
    }

    /// Fluid was filled into the sprayer.
    pub(in crate::shop) fn fill(&mut self, fact: &SprayerFilled, at: Moment) {
        if let Some(fluid) = fact.fluid {
            self.last = Some(fluid);
            if let Some(lot) = self.lots.get_mut(&fact.lot) {
                lot.fluid = Some(fluid);
            }
        }
        let filling = &mut self.filling;
        let new = fact.fluid.filter(|fluid| !filling.fluids.contains(fluid));
        filling.fluids.extend(new);
        // A fill settles the account: what was overdrawn is not carried on.
        filling.filled = filling.left().0 + fact.grams.0 - fact.over.map_or(0.0, |over| over.0);
        filling.was_off = fact.over.is_some();
        filling.used = 0.0;
        filling.since.get_or_insert(at);
        filling.last_use = Some(at);
        if !filling.lots.contains(&fact.lot) {
            filling.lots.push(fact.lot.clone());
        }
    }

    /// The sprayer was emptied.
    pub(in crate::shop) fn flush(&mut self, at: Moment) {
        self.filling = Filling { flushed: Some(at), ..Filling::default() };
    }

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
