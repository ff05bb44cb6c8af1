//! What may be filled into the sprayer, and the account of it.

use std::sync::Arc;

use super::command::Refusal;
use super::decide::Facts;
use super::trail::Before;
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::Shop;
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::fact::{
    CoatWeighed, HandworkDone, LotRegistered, SprayerFilled, SprayerFlushed,
};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::clean;
use crate::shop::floor::fluid::{Filling, Lot, Supplies};
use crate::shop::floor::garment::Garment;

/// The most lots that are kept in mind; the oldest that is not in the sprayer goes first.
const MOST_LOTS: usize = 100;
/// A kitchen scale's least, and more than any hand sprayer holds.
const FILL_G: (f64, f64) = (1.0, 5000.0);

impl Shop {
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
        let fluid = fact.fluid.filter(|fluid| !fluid.is_unsaid());
        Ok(vec![SprayerFilled { lot, grams, scanned: fact.scanned, over, fluid }.into()])
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
                fluid: None,
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
            if let Some(fluid) = fact.fluid {
                supplies.last = Some(fluid);
                if let Some(lot) = supplies.lots.get_mut(&fact.lot) {
                    lot.fluid = Some(fluid);
                }
            }
            let filling = &mut supplies.filling;
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
        });
    }

    pub(in crate::shop) fn flushed(&mut self, at: Moment) {
        self.with_supplies(|supplies| {
            supplies.filling = Filling { flushed: Some(at), ..Filling::default() };
        });
    }

    /// A garment was sprayed: its plan is taken off what is left.
    pub(in crate::shop) fn use_fluid(&mut self, fact: &HandworkDone, at: Moment) {
        let Some(Grams(grams)) = fact.used.filter(|_| fact.step == Step::Spray) else { return };
        self.with_supplies(|supplies| {
            supplies.filling.used += grams;
            supplies.filling.last_use = Some(at);
        });
    }

    /// A garment of a trial was sprayed: no account is kept of it, but the tip is wet.
    pub(in crate::shop) fn sprayed_for_trial(&mut self, at: Moment) {
        self.with_supplies(|supplies| supplies.filling.last_use = Some(at));
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
