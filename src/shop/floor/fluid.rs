//! Bottles and the sprayer: only pretreatment fluid ever goes in, and what is in it is known.
//!
//! White ink looks much the same in a bottle and ruins a sprayer. So a fill is recorded only for a lot that is
//! registered as fluid and not past its date; the check is against the code that was scanned or typed, no more.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::garment::Garment;
use crate::figures::spray;
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::Shop;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{
    CoatWeighed, HandworkDone, LotRegistered, SprayerFilled, SprayerFlushed,
};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::clean;
use crate::shop::rules::command::Refusal;
use crate::shop::rules::decide::Facts;
use crate::shop::rules::trail::Before;

/// The most lots that are kept in mind; the oldest that is not in the sprayer goes first.
const MOST_LOTS: usize = 100;
/// How much more may have been sprayed than was filled before somebody has to look: scales and plans are no
/// better (common practice, no source).
const TOLERANCE: f64 = 0.1;
/// A kitchen scale's least, and more than any hand sprayer holds.
const FILL_G: (f64, f64) = (1.0, 5000.0);

/// What is in a bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Contents {
    PretreatmentFluid,
    Ink,
    Cleaner,
}

impl Contents {
    /// As the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Contents::PretreatmentFluid => "pretreatment fluid",
            Contents::Ink => "ink",
            Contents::Cleaner => "cleaner",
        }
    }
}

/// A lot as its bottle's label says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lot {
    pub contents: Contents,
    pub best_before: Option<Day>,
    pub place: String,
}

/// What is in the sprayer, and since when.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Filling {
    /// The lots in it: several after a top-up.
    pub lots: Vec<String>,
    /// Grams filled in since it was last empty, and grams sprayed since.
    pub filled: f64,
    pub used: f64,
    pub flushed: Option<Moment>,
    /// When fluid was first filled in since it was flushed.
    pub since: Option<Moment>,
    /// The last fill was more than there was room for by the account.
    #[serde(default)]
    pub was_off: bool,
}

/// Lots and sprayer.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Supplies {
    pub lots: BTreeMap<String, Lot>,
    pub filling: Filling,
}

impl Filling {
    /// Grams that are left, as far as fills and sprays tell.
    pub fn left(&self) -> Grams {
        Grams((self.filled - self.used).max(0.0))
    }

    /// Whether more was sprayed than was filled, beyond what scales and plans can be off.
    pub fn is_overdrawn(&self) -> bool {
        self.filled > 0.0 && self.used > self.filled * (1.0 + TOLERANCE)
    }
}

impl Shop {
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

    pub(in crate::shop) fn register_lot(&self, lot: &LotRegistered) -> Result<Facts, Refusal> {
        let name = clean(lot.lot.trim(), 24);
        let place = clean(lot.place.trim(), 24);
        if name.is_empty() {
            return Err(Refusal::NoLot);
        }
        if place.is_empty() {
            return Err(Refusal::NoPlaceForLot(name));
        }
        if let Some(known) = self.supplies.lots.get(&name) {
            let before = known.best_before.map_or("no date".to_owned(), |day| day.to_string());
            let contents = known.contents;
            return Err(Refusal::LotKnown { lot: name, contents, before });
        }
        let others = self.supplies.lots.values();
        let mixed = others.filter(|other| other.place.eq_ignore_ascii_case(&place));
        let apart = |contents| contents == Contents::PretreatmentFluid;
        if let Some(other) = mixed.into_iter().find(|o| apart(o.contents) != apart(lot.contents)) {
            return Err(Refusal::SamePlace { place, contents: other.contents });
        }
        Ok(vec![LotRegistered { lot: name, place, ..lot.clone() }.into()])
    }

    /// Whether a lot may go into the sprayer today.
    ///
    /// # Errors
    /// One that is not registered, is no fluid, or is past its date.
    pub fn may_fill(&self, lot: &str, now: Moment) -> Result<(), Refusal> {
        let name = clean(lot.trim(), 24);
        let Some(known) = self.supplies.lots.get(&name) else {
            return Err(Refusal::NoSuchLot(name));
        };
        if known.contents != Contents::PretreatmentFluid {
            return Err(Refusal::WrongBottle { lot: name, contents: known.contents });
        }
        match known.best_before {
            Some(day) if day < self.today(now) => Err(Refusal::LotPast { lot: name, day }),
            _ => Ok(()),
        }
    }

    pub(in crate::shop) fn fill_sprayer(
        &self,
        fact: &SprayerFilled,
        now: Moment,
    ) -> Result<Facts, Refusal> {
        self.may_fill(&fact.lot, now)?;
        let grams = fact.grams.as_written();
        if !(FILL_G.0..=FILL_G.1).contains(&grams.0) {
            return Err(Refusal::NoFill(grams));
        }
        // What was in it is an estimate; what was filled in is not. So the account gives way.
        let holds = self.station().and_then(|station| station.sprayer?.holds);
        let over = holds.map(|holds| self.supplies.filling.left().0 + grams.0 - holds.0);
        let over = over.filter(|over| *over > 0.0).map(|over| Grams(over).rounded());
        let lot = clean(fact.lot.trim(), 24);
        Ok(vec![SprayerFilled { lot, grams, scanned: fact.scanned, over }.into()])
    }

    pub(in crate::shop) fn flush(&self) -> Result<Facts, Refusal> {
        let filling = &self.supplies.filling;
        if filling.lots.is_empty() && filling.flushed.is_some() {
            return Err(Refusal::NothingToFlush);
        }
        Ok(vec![SprayerFlushed {}.into()])
    }

    fn with_supplies(&mut self, change: impl FnOnce(&mut Supplies)) {
        self.trail.keep(Before::Supplies(Arc::clone(&self.supplies)));
        change(Arc::make_mut(&mut self.supplies));
    }

    pub(in crate::shop) fn keep_lot(&mut self, fact: &LotRegistered) {
        self.with_supplies(|supplies| {
            let lot = Lot {
                contents: fact.contents,
                best_before: fact.best_before,
                place: fact.place.clone(),
            };
            supplies.lots.insert(fact.lot.clone(), lot);
            let in_use = supplies.filling.lots.clone();
            if supplies.lots.len() > MOST_LOTS {
                // By date, since names say nothing: those without one stay longest.
                let oldest = supplies.lots.iter().filter(|(name, _)| !in_use.contains(name));
                let oldest =
                    oldest.min_by_key(|(_, lot)| (lot.best_before.is_none(), lot.best_before));
                if let Some(name) = oldest.map(|(name, _)| name.clone()) {
                    supplies.lots.remove(&name);
                }
            }
        });
    }

    pub(in crate::shop) fn filled(&mut self, fact: &SprayerFilled, at: Moment) {
        self.with_supplies(|supplies| {
            let filling = &mut supplies.filling;
            // A fill settles the account: what was overdrawn is not carried on.
            filling.filled = filling.left().0 + fact.grams.0 - fact.over.map_or(0.0, |over| over.0);
            filling.was_off = fact.over.is_some();
            filling.used = 0.0;
            filling.since.get_or_insert(at);
            if !filling.lots.contains(&fact.lot) {
                filling.lots.push(fact.lot.clone());
            }
        });
    }

    pub(in crate::shop) fn flushed(&mut self, at: Moment) {
        self.with_supplies(|supplies| {
            supplies.filling = Filling { flushed: Some(at), ..Filling::default() };
        });
    }

    /// A garment was sprayed: its plan is taken off what is left.
    pub(in crate::shop) fn use_fluid(&mut self, fact: &HandworkDone) {
        let Some(Grams(grams)) = fact.used.filter(|_| fact.step == Step::Spray) else { return };
        self.with_supplies(|supplies| supplies.filling.used += grams);
    }

    /// A coat was weighed: what was really used replaces the plan.
    pub(in crate::shop) fn settle_fluid(&mut self, fact: &CoatWeighed) {
        let sprayed = self.garment(fact.garment).and_then(|garment| garment.sprayed);
        let (Some(planned), Some(really)) = (sprayed, fact.used) else { return };
        self.with_supplies(|supplies| supplies.filling.used += really.0 - planned.0);
    }

    /// What a weighed coat took out of the sprayer: more than stayed on the garment. What runs past the edge and is not
    /// kept is the same share of a light coat and of a heavy one, so it goes by the plan.
    pub(in crate::shop) fn used_for(
        &self,
        garment: &Garment,
        coat: GramsPerSquareMetre,
    ) -> Option<Grams> {
        let (_, recipe) =
            self.recipe_of(garment).filter(|_| !self.supplies.filling.lots.is_empty())?;
        let planned = self.planned_spray(garment)?;
        Some(Grams(planned.0 * coat.0 / recipe.coat.target.0).rounded())
    }
}
