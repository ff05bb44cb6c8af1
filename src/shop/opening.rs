//! One opening of a press on a garment, its time as it was corrected: losses, the standard figures and the report
//! count from this.

use super::Shop;
use super::fact::{Event, PressOpened, TimeCorrected, Timing};
use super::ids::{ActNo, PressNo, Tag};
use super::step::Step;

/// An opening. Nothing in it depends on what became of the garment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    pub act: ActNo,
    pub press: PressNo,
    pub garment: Tag,
    pub step: Step,
    pub again: bool,
    pub over_restart: bool,
    /// Seconds that the recipe wants it shut; None where that is not known.
    pub target: Option<f64>,
    recorded: Told,
    /// What was said of it afterwards, and by which act.
    corrected: Option<(ActNo, Told)>,
}

/// What is said of the time shut.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Told {
    seconds: Option<f64>,
    timing: Timing,
}

impl Opening {
    /// The opening that an event tells of.
    pub fn of(event: &Event, fact: &PressOpened, shop: &Shop) -> Self {
        let recipe = shop.garment(fact.garment).and_then(|garment| shop.recipe_of(garment));
        let pressing = recipe.and_then(|(_, recipe)| recipe.pressing(fact.step, fact.again));
        Self {
            act: event.act,
            press: fact.press,
            garment: fact.garment,
            step: fact.step,
            again: fact.again,
            over_restart: fact.over_restart,
            target: pressing.map(|pressing| pressing.target.as_seconds()),
            recorded: Told { seconds: fact.seconds, timing: fact.timing },
            corrected: None,
        }
    }

    fn told(&self) -> Told {
        self.corrected.map_or(self.recorded, |(_, told)| told)
    }

    /// Seconds shut; None where they are not known.
    pub fn seconds(&self) -> Option<f64> {
        self.told().seconds
    }

    /// How that lies to the recipe's times.
    pub fn timing(&self) -> Timing {
        self.told().timing
    }

    /// Seconds past the target; 0 where it was not reached, or is not known.
    pub fn past(&self) -> f64 {
        let past = self.seconds().zip(self.target).map(|(shut, target)| shut - target);
        past.map_or(0.0, |past| past.max(0.0))
    }

    /// Takes a correction in, where it is of this opening.
    pub fn correct(&mut self, event: &Event, fact: &TimeCorrected, shop: &Shop) {
        if (fact.corrects, fact.garment) != (self.act, self.garment) {
            return;
        }
        // An older program did not record how the corrected time lies to the recipe's.
        let kind = (self.step, self.again);
        let timing =
            fact.timing.unwrap_or_else(|| shop.timing_of(fact.garment, kind, fact.seconds));
        self.corrected = Some((event.act, Told { seconds: fact.seconds, timing }));
    }

    /// Takes a correction back, with the act that made it.
    pub fn take_back(&mut self, act: ActNo) {
        self.corrected.take_if(|(by, _)| *by == act);
    }
}
