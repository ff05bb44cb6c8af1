//! A garment on the scale: what a weight means, and what is learned from it.

use super::command::Refusal;
use super::decide::Facts;
use crate::figures::coat;
use crate::figures::units::{Grams, GramsPerSquareMetre, bounds};
use crate::shop::Shop;
use crate::shop::books::coats::{Dried, Pair, WeighIn};
use crate::shop::facts::coat::Weighing;
use crate::shop::facts::fact::WeighingDeclined;
use crate::shop::facts::fact::{
    CoatWeighed, Event, Fact, PressOpened, Steam, TroubleNoted, Weighed,
};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place};

/// So many times the window's end is no coat but a mistyped weight.
const MOST_COAT: f64 = 2.0;
/// Two weights of a dry garment differ by less than this share of a window's low end.
const SAME_WEIGHT: f64 = 0.1;

/// The coat that a garment's steam is learned from. A coat that was topped up would teach nothing, since its first
/// pass had begun to dry: whoever records a mended coat leaves it out here.
fn teaches(garment: &Garment) -> Option<GramsPerSquareMetre> {
    garment.coat_by_scale()
}

impl Shop {
    /// What a weight says: the dry garment, or the garment with its coat on.
    pub(in crate::shop) fn weigh_garment(
        &self,
        tag: Tag,
        grams: Grams,
        now: Moment,
    ) -> Result<Facts, Refusal> {
        let grams = grams.as_written();
        if !bounds::GARMENT.holds(grams.0) {
            return Err(Refusal::NoGarmentsWeight(grams));
        }
        let garment = self.garment(tag).ok_or(Refusal::NoSuchGarment(tag))?;
        let dry = || Ok(vec![Weighed { garment: tag, grams }.into()]);
        match (garment.place, garment.weighed) {
            (Place::Waiting(Step::Spray), None) => dry(),
            (Place::Waiting(Step::Spray), Some(weighing)) => {
                if self.is_same_weight(garment, weighing.before, grams) {
                    return dry();
                }
                // It is heavier by a coat, so it has been sprayed, though nobody recorded it.
                let coat = self.coat_weighed(garment, weighing, grams)?;
                Ok(vec![self.done(tag, (Step::Spray, true), now), coat])
            }
            (Place::Waiting(Step::Dry), Some(weighing)) => {
                Ok(vec![self.coat_weighed(garment, weighing, grams)?])
            }
            (Place::Waiting(Step::Dry), None) => Err(Refusal::NotWeighedBefore(tag)),
            _ => Err(Refusal::NotWaiting { garment: tag, wanted: Step::Spray }),
        }
    }

    /// Whether a second weight is that of the same dry garment, weighed again.
    fn is_same_weight(&self, garment: &Garment, before: Grams, grams: Grams) -> bool {
        let Some((_, recipe)) = self.recipe_of(garment) else { return false };
        let Some(coverage) = self.coverage(garment) else { return false };
        let off = Grams((grams.0 - before.0).abs());
        coverage.per_area(off).0 < recipe.coat.low.0 * SAME_WEIGHT
    }

    fn coat_weighed(
        &self,
        garment: &Garment,
        weighing: Weighing,
        after: Grams,
    ) -> Result<Fact, Refusal> {
        let tag = garment.tag;
        if weighing.after.is_some() {
            return Err(Refusal::WeighedTwice(tag));
        }
        let (hash, recipe) = self.recipe_of(garment).ok_or(Refusal::NoRecipe(tag))?;
        let grams = coat::picked_up(weighing.before, after).map_err(Refusal::Coat)?;
        let coverage = self.coverage(garment).ok_or(Refusal::NoRecipe(tag))?;
        let coat = coverage.per_area(grams);
        if coat.0 > recipe.coat.high.0 * MOST_COAT {
            return Err(Refusal::TooMuchCoat { grams, area: coverage.counted() });
        }
        Ok(Fact::CoatWeighed(CoatWeighed {
            garment: tag,
            recipe: self.recipe_name(garment).unwrap_or_default().to_owned(),
            hash: *hash,
            before: weighing.before,
            after,
            coat: coat.as_written(),
            verdict: recipe.verdict(coat),
            unconfirmed: recipe.confirmed.is_none(),
            lots: self.supplies().filling.lots.clone(),
            used: self.used_for(garment, coat),
        }))
    }

    pub(in crate::shop) fn decline_weighing(&self, tag: Tag) -> Result<Facts, Refusal> {
        match self.weight_wanted() {
            Some(wanted) if wanted.garment == tag => {
                Ok(vec![WeighingDeclined { garment: tag }.into()])
            }
            _ => Err(Refusal::WeightNotAsked(tag)),
        }
    }

    pub(in crate::shop) fn weigh(&mut self, fact: &Weighed) {
        self.desk.last = Some(fact.garment);
        self.with_garment(fact.garment, |garment| {
            garment.weighed = Some(Weighing { before: fact.grams, after: None });
        });
    }

    pub(in crate::shop) fn weigh_coat(&mut self, event: &Event, fact: &CoatWeighed) {
        self.desk.last = Some(fact.garment);
        self.settle_fluid(fact);
        self.with_garment(fact.garment, |garment| {
            garment.weighed = Some(Weighing { before: fact.before, after: Some(fact.after) });
            garment.coat = Some((fact.coat, false));
        });
        let weighed = WeighIn {
            garment: fact.garment,
            coat: fact.coat,
            verdict: fact.verdict,
            at: event.moment,
        };
        self.with_book_of(fact.garment, |book| book.add(weighed));
    }

    pub(in crate::shop) fn stop_weighing(&mut self, fact: &WeighingDeclined) {
        let begun =
            |garment: &Garment| garment.weighed.is_some_and(|weighing| weighing.after.is_none());
        if self.garment(fact.garment).is_some_and(begun) {
            self.with_garment(fact.garment, |garment| garment.weighed = None);
        }
        self.with_book_of(fact.garment, |book| book.since = Some(0));
    }

    /// A dry press was opened: its garment counts among the dried, and a weighed one teaches.
    pub(in crate::shop) fn learn_from(&mut self, fact: &PressOpened, steam: Option<f64>) {
        let (press, garment) = (fact.press, fact.garment);
        let coat = self.garment(garment).and_then(teaches);
        let pair = coat.zip(steam).zip(self.setting(press));
        self.with_book_of(garment, |book| {
            if let Some(((coat, seconds), set)) = pair {
                book.learn(press, Pair { coat, seconds, dial: set.dial });
            }
            book.dry(Dried { garment, press, clung: false });
        });
    }

    pub(in crate::shop) fn say_steam(&mut self, tag: Tag, said: Steam) {
        self.desk.steam_unsaid = None;
        self.with_garment(tag, |garment| {
            if let Some(dried) = &mut garment.dried {
                dried.said = Some(said);
            }
        });
    }

    /// A sheet that clung is held against the sheet, and against its recipe's coats.
    pub(in crate::shop) fn count_clinging(&mut self, fact: &TroubleNoted) {
        if !fact.trouble.is_of_sheet() || fact.step != Some(Step::Dry) {
            return;
        }
        let in_press = fact.press.and_then(|press| self.load(press)).and_then(|load| load.sheet);
        let dried = self.garment(fact.garment).and_then(|g| g.dried.as_ref()).and_then(|d| d.sheet);
        if let Some(sheet) = dried.or(in_press) {
            self.with_sheet(sheet, |sheet| sheet.clung += 1);
        }
        self.with_book_of(fact.garment, |book| book.cling(fact.garment));
    }
}
