//! Garments with a measured fault, named before they cost ink: flagged, never stopped.

use super::decide::Facts;
use super::route::NextPress;
use crate::figures::coat::Verdict;
use crate::shop::Shop;
use crate::shop::facts::fact::{Fault, FaultKind, HeldShown, Timing};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place};

impl Shop {
    /// What was measured of a garment that waits for its ink and lies outside: drying and earlier cures by their times,
    /// the coat by its last weight, never by an estimate. Empty: nothing.
    pub fn held(&self, garment: &Garment) -> Vec<Fault> {
        if !matches!(garment.place, Place::Waiting(Step::Print) | Place::Shelf) {
            return Vec::new();
        }
        let faults =
            [self.dried_otherwise(garment), self.cured_long(garment), self.coat_outside(garment)];
        faults.into_iter().flatten().collect()
    }

    fn dried_otherwise(&self, garment: &Garment) -> Option<Fault> {
        let (dried, pressing) =
            (garment.drying()?, self.recipe_of(garment)?.1.pressing(Step::Dry, false)?);
        let (kind, limit) = match dried.timing {
            Timing::Early => (FaultKind::DriedShort, pressing.shortest),
            Timing::Late => (FaultKind::DriedLong, pressing.longest),
            Timing::InTime | Timing::NotTimed => return None,
        };
        Some(Fault { kind, found: dried.seconds?, limit: limit.as_seconds() })
    }

    fn cured_long(&self, garment: &Garment) -> Option<Fault> {
        let longest = self.recipe_of(garment)?.1.pressing(Step::Cure, false)?.longest;
        let found = garment.overcured?;
        Some(Fault { kind: FaultKind::CuredLong, found, limit: longest.as_seconds() })
    }

    fn coat_outside(&self, garment: &Garment) -> Option<Fault> {
        let (coat, recipe) = (garment.coat_by_scale()?, self.recipe_of(garment)?.1);
        let (kind, limit) = match recipe.verdict(coat) {
            Verdict::Under => (FaultKind::CoatLight, recipe.coat.low),
            Verdict::Over => (FaultKind::CoatHeavy, recipe.coat.high),
            Verdict::Inside => return None,
        };
        Some(Fault { kind, found: coat.0, limit: limit.0 })
    }

    /// Drying once more, of a garment at the printer that was dried for too short a time.
    pub(in crate::shop) fn dry_again(&self, garment: &Garment) -> Option<NextPress> {
        let waits = garment.place == Place::Waiting(Step::Print);
        let short = |fault: Fault| fault.kind == FaultKind::DriedShort;
        let short = waits && self.dried_otherwise(garment).is_some_and(short);
        short.then_some(NextPress { step: Step::Dry, again: true, implies: None })
    }

    /// The garment that the printer's key would take next, where a fault was measured of it, and what.
    pub fn held_at_printer(&self, now: Moment) -> Option<(&Garment, Vec<Fault>)> {
        let garment = self.to_print(now).next()?;
        Some((garment, self.held(garment))).filter(|(_, faults)| !faults.is_empty())
    }

    /// What stands behind the print of a garment: that the board had named its faults before.
    pub(in crate::shop) fn held_shown(&self, tag: Tag) -> Facts {
        let faults = self.garment(tag).map(|garment| self.held(garment)).unwrap_or_default();
        if faults.is_empty() {
            return Facts::new();
        }
        vec![HeldShown { garment: tag, faults }.into()]
    }
}
