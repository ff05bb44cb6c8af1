//! What may be filled into the sprayer, and the account of it.

use std::sync::Arc;

use super::command::Refusal;
use super::decide::Facts;
use super::trail::Before;
use crate::figures::units::{Grams, GramsPerSquareMetre, bounds};
use crate::shop::Shop;
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::fact::{CoatWeighed, LotRegistered, SprayerFilled, SprayerFlushed};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::words::clean;
use crate::shop::floor::fluid::Supplies;
use crate::shop::floor::garment::Garment;

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
        if !bounds::FILL.holds(grams.0) {
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

    /// Changes the lots or the sprayer.
    pub(in crate::shop) fn with_supplies(&mut self, change: impl FnOnce(&mut Supplies)) {
        self.trail.keep(Before::Supplies(Arc::clone(&self.supplies)));
        change(Arc::make_mut(&mut self.supplies));
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
