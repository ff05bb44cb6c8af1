//! The way of one garment: what comes after each step.

use crate::shop::Shop;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::recipe::Spray;
use crate::shop::facts::step::Step;
use crate::shop::facts::telling::named;
use crate::shop::facts::words::behind;
use crate::shop::floor::garment::{Garment, Place};

impl Shop {
    /// Where a garment goes once `step` is done with it.
    ///
    /// `again` is the short press of a garment that came from the shelf.
    pub(in crate::shop) fn after(&self, garment: &Garment, step: Step, again: bool) -> Place {
        match step {
            Step::PrePress if again => Place::Waiting(Step::Print),
            Step::PrePress => self.after_prepress(garment),
            Step::Spray => Place::Waiting(Step::Dry),
            Step::Dry => Place::Waiting(Step::Print),
            Step::Print => Place::Waiting(Step::Cure),
            Step::Cure if garment.round + 1 < self.places(garment).len() => {
                Place::Waiting(Step::PrePress)
            }
            Step::Cure => Place::Finished,
        }
    }

    fn after_prepress(&self, garment: &Garment) -> Place {
        match self.wants_fluid(garment) {
            // Pressed once more with its coat on: it does not get a second one.
            _ if garment.coated => Place::Waiting(Step::Print),
            Some(true) => Place::Waiting(Step::Spray),
            Some(false) => Place::Waiting(Step::Print),
            None => Place::Undecided,
        }
    }

    /// Whether fluid goes onto a garment; None while nobody has said what its artwork wants.
    pub fn wants_fluid(&self, garment: &Garment) -> Option<bool> {
        let recipe = self.recipe_of(garment)?.1;
        let line = self.order(garment.order())?.lines.get(garment.line)?;
        recipe.wants_fluid(line.underbase)
    }

    /// Whether a garment's coat is on when it has been through its pre-press.
    pub(in crate::shop) fn comes_treated(&self, garment: &Garment) -> bool {
        self.recipe_of(garment).is_some_and(|(_, recipe)| recipe.spray == Spray::BoughtTreated)
    }

    /// The places of print of a garment, in the order of its rounds.
    pub fn places(&self, garment: &Garment) -> &[String] {
        self.order(garment.order())
            .and_then(|order| order.form.lines.get(garment.line))
            .map_or(&[], |line| line.places.as_slice())
    }

    /// The place of print that a garment's round is for, by its tag; None where its line has only one.
    pub fn place_of(&self, tag: Tag) -> Option<&str> {
        let garment = self.garment(tag)?;
        let places = self.places(garment);
        places.get(garment.round).filter(|_| places.len() > 1).map(String::as_str)
    }

    /// The size mark of a garment by its tag; None where its line has none.
    pub fn mark_of(&self, tag: Tag) -> Option<&str> {
        let line = self.garment(tag)?.line;
        let line = self.order(tag.order_id())?.form.lines.get(line)?;
        Some(line.mark.as_str()).filter(|mark| !mark.is_empty())
    }

    /// A garment as it is taken in the hand: by its tag, its size mark and the place of its round: "A1-01 M back".
    pub fn in_hand(&self, tag: Tag) -> String {
        format!("{tag}{}{}", behind(self.mark_of(tag)), behind(self.place_of(tag)))
    }

    /// The same where its tag stands beside it: "size M, back".
    pub fn beside_tag(&self, tag: Tag) -> String {
        let place = self.place_of(tag);
        let Some(mark) = self.mark_of(tag) else { return named(tag, place) };
        place.map_or_else(|| format!("size {mark}"), |place| format!("size {mark}, {place}"))
    }

    /// The same, as a fact keeps it.
    pub(in crate::shop) fn place_named(&self, garment: &Garment) -> Option<String> {
        self.place_of(garment.tag).map(str::to_owned)
    }

    /// The step that a press would do on a garment next, and whether an unrecorded one lies before it.
    ///
    /// None where no press is due: it is in one already, finished, out, or undecided.
    pub fn next_press(&self, garment: &Garment) -> Option<NextPress> {
        let plain = |step| NextPress { step, again: false, implies: None };
        Some(match garment.place {
            Place::Waiting(Step::Spray) => {
                NextPress { implies: Some(Step::Spray), ..plain(Step::Dry) }
            }
            Place::Waiting(Step::Print) => {
                NextPress { implies: Some(Step::Print), ..plain(Step::Cure) }
            }
            Place::Waiting(step) => plain(step),
            Place::Shelf => NextPress { again: true, ..plain(Step::PrePress) },
            Place::Undecided
            | Place::InPress(_)
            | Place::Finished
            | Place::Out
            | Place::Away(_) => return None,
        })
    }
}

/// What shutting a press on a garment would mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NextPress {
    pub step: Step,
    /// The short press of a garment from the shelf.
    pub again: bool,
    /// The handwork that shutting the press would imply.
    pub implies: Option<Step>,
}
