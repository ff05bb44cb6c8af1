//! What can be wrong with a garment, and what it means: where it is seen, what comes of it, a press that failed.

use super::command::Refusal;
use super::decide::Facts;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact, PressOpened, PressOutOfUse, Timing, TroubleNoted};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::{Outcome, Seen, Trouble};
use crate::shop::floor::garment::{Garment, Place, Quality};

impl Shop {
    /// Where a garment is when something is seen of it.
    pub fn seen(&self, tag: Tag) -> Seen {
        let Some(garment) = self.garment(tag) else { return Seen::default() };
        let pressed = match garment.place {
            Place::InPress(press) => self.load(press).map(|load| load.step),
            _ => None,
        };
        let step = pressed.or(garment.last_step.map(|(step, _)| step));
        let waits = garment.place == Place::Waiting(Step::Print);
        let at_printer = waits && step == Some(Step::Dry);
        Seen { step, in_press: pressed.is_some(), at_printer }
    }

    pub(in crate::shop) fn note_trouble(
        &self,
        tag: Tag,
        trouble: Trouble,
        outcome: Outcome,
        now: Moment,
    ) -> Result<Facts, Refusal> {
        let garment = self.known_garment(tag)?;
        let mut facts = Facts::new();
        let mut last = garment.last_step;
        if garment.place == Place::Out {
            return Err(Refusal::Out(tag));
        }
        if trouble == Trouble::PressFailed {
            return self.press_failed(garment, outcome, now);
        }
        if garment.place == Place::Waiting(Step::Print) && trouble.is_the_printers() {
            // Seen on a print, so there is one, though nobody recorded it.
            facts.push(self.done(tag, (Step::Print, true), now));
            last = Some((Step::Print, None));
        }
        if let Place::InPress(press) = garment.place {
            last = self.load(press).map(|load| (load.step, Some(press))).or(last);
            // It cannot go anywhere else without coming out of the press.
            if matches!(outcome, Outcome::StepAgain | Outcome::Out) {
                facts.push(self.open_press(press, now)?.into());
            }
        }
        facts.push(Fact::TroubleNoted(TroubleNoted {
            garment: tag,
            // What the sprayer did is told by its step, whenever it is seen.
            step: if trouble.is_of_spray() {
                Some(Step::Spray)
            } else {
                last.map(|(step, _)| step)
            },
            press: last.and_then(|(_, press)| press),
            trouble,
            outcome,
        }));
        Ok(facts)
    }

    /// A press failed while it was shut: its step is not done, and it is out of use.
    fn press_failed(
        &self,
        garment: &Garment,
        outcome: Outcome,
        now: Moment,
    ) -> Result<Facts, Refusal> {
        let tag = garment.tag;
        let Place::InPress(press) = garment.place else {
            return Err(Refusal::NotInPress(tag));
        };
        let opened = self.open_press(press, now)?;
        let step = Some(opened.step);
        let outcome = if outcome == Outcome::Out { outcome } else { Outcome::StepAgain };
        let (trouble, reason) = (Trouble::PressFailed, OutOfUse::Broken);
        Ok(vec![
            PressOpened { failed: true, timing: Timing::NotTimed, waited: None, ..opened }.into(),
            TroubleNoted { garment: tag, step, press: Some(press), trouble, outcome }.into(),
            PressOutOfUse { press, reason }.into(),
        ])
    }

    /// A press failed while it was shut: the garment is as it was before.
    pub(in crate::shop) fn failed(&mut self, event: &Event, fact: &PressOpened) {
        self.with_press(fact.press, |press| {
            press.load = None;
            press.opened = Some(event.moment);
        });
        let step = fact.step;
        self.with_garment(fact.garment, |garment| garment.go(event, Place::Waiting(step)));
        self.desk.last = Some(fact.garment);
    }

    pub(in crate::shop) fn trouble(&mut self, event: &Event, fact: &TroubleNoted) {
        self.count_clinging(fact);
        self.desk.last = Some(fact.garment);
        let lost = matches!(fact.outcome, Outcome::SecondQuality | Outcome::Out);
        let Some(garment) = self.floor.get(fact.garment) else { return };
        let (order, line) = (garment.order(), garment.line);
        let first_loss = lost && garment.quality == Quality::First && garment.place != Place::Out;
        self.with_garment(fact.garment, |garment| match fact.outcome {
            Outcome::GoOn | Outcome::NotNoted => {}
            Outcome::StepAgain => {
                let last = garment.last_step.map(|(step, _)| step);
                let step = fact.step.or(last).unwrap_or(Step::PrePress);
                // The cure of the last round has moved on to the next one: take that back too.
                if step == Step::Cure && garment.place == Place::Waiting(Step::PrePress) {
                    garment.round = garment.round.saturating_sub(1);
                }
                if step == Step::Spray {
                    garment.forget_coat();
                    // Seen only once it was dry, it gets another coat all the same.
                    (garment.coated, garment.dried) = (false, None);
                }
                garment.go(event, Place::Waiting(step));
            }
            Outcome::SecondQuality => garment.quality = Quality::Second,
            Outcome::Out => garment.go(event, Place::Out),
        });
        // Nobody asks for a blank in the place of one that is not wanted.
        if first_loss && fact.trouble != Trouble::Cancelled {
            self.with_line(order, line, |line| line.lost += 1);
        }
    }
}
