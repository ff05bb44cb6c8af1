//! A garment on the scale: what a weight means, and what is learned from it.

use std::sync::Arc;

use super::command::Refusal;
use super::decide::Facts;
use crate::figures::coat::{self, Verdict};
use crate::figures::units::{Grams, GramsPerSquareMetre, bounds};
use crate::shop::Shop;
use crate::shop::books::coats::{Dried, Pair, Try, WeighIn};
use crate::shop::facts::coat::Weighing;
use crate::shop::facts::fact::WeighingDeclined;
use crate::shop::facts::fact::{
    CoatMended, CoatWeighed, Event, Fact, PressOpened, Steam, TroubleNoted, Weighed,
};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place};

/// So many times the window's end is no coat but a mistyped weight.
const MOST_COAT: f64 = 2.0;
/// Two weights of one garment with nothing done in between differ by less than this share of a window's low end.
const SAME_WEIGHT: f64 = 0.1;

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
                let mut facts = vec![self.done(tag, (Step::Spray, true), now)];
                facts.extend(self.coat_weighed(garment, weighing, grams)?);
                Ok(facts)
            }
            (Place::Waiting(Step::Dry), Some(weighing)) => {
                self.coat_weighed(garment, weighing, grams)
            }
            (Place::Waiting(Step::Dry), None) => Err(Refusal::NotWeighedBefore(tag)),
            (Place::InPress(press), _) => Err(Refusal::InPress { garment: tag, press }),
            _ if garment.coated => Err(Refusal::DriedAlready(tag)),
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

    /// The coat by its weight, which counts from now on, and what was done about the one before.
    fn coat_weighed(
        &self,
        garment: &Garment,
        weighing: Weighing,
        after: Grams,
    ) -> Result<Facts, Refusal> {
        let tag = garment.tag;
        let (hash, recipe) = self.recipe_of(garment).ok_or(Refusal::NoRecipe(tag))?;
        let grams = coat::picked_up(weighing.before, after).map_err(Refusal::Coat)?;
        let coverage = self.coverage(garment).ok_or(Refusal::NoRecipe(tag))?;
        let coat = coverage.per_area(grams);
        if coat.0 > recipe.coat.high.0 * MOST_COAT {
            return Err(Refusal::TooMuchCoat { grams, area: coverage.counted() });
        }
        let mended = self.mended(garment, weighing, after);
        let blotted = mended.as_ref().is_some_and(|mended| mended.added.0 < 0.0);
        let used = self.used_for(garment, coat);
        let verdict = recipe.verdict(coat);
        let overcorrects = match &mended {
            Some(mended) => mended.overcorrects() && verdict != Verdict::Inside,
            None => weighing.after.is_none() && self.overcorrects(garment, coat, verdict),
        };
        let weighed = CoatWeighed {
            garment: tag,
            recipe: self.recipe_name(garment).unwrap_or_default().to_owned(),
            hash: *hash,
            before: weighing.before,
            after,
            coat: coat.as_written(),
            verdict,
            // The window belongs to fluid, dilution and cloth together.
            unconfirmed: recipe.confirmed.is_none()
                || !self.other_fluids(garment).is_empty()
                || self.other_cloth(garment).is_some(),
            lots: self.supplies().filling.lots.clone(),
            fluids: self.supplies().filling.fluids.clone(),
            // What was blotted off does not go back into the sprayer.
            used: if blotted { garment.sprayed.or(used) } else { used },
            overcorrects,
        };
        Ok([weighed.into()].into_iter().chain(mended.map(Fact::CoatMended)).collect())
    }

    /// What was done about a coat between two weights: something was put on, or taken off one that was too heavy. A
    /// garment that has only lost some weight has dried.
    fn mended(&self, garment: &Garment, weighing: Weighing, after: Grams) -> Option<CoatMended> {
        let (before, was) = (weighing.after?, garment.coat_by_scale()?);
        let verdict = self.recipe_of(garment)?.1.verdict(was);
        let added = Grams(after.0 - before.0).rounded();
        let done = added.0 > 0.0 || verdict == Verdict::Over;
        if !done || self.is_same_weight(garment, before, after) {
            return None;
        }
        let short = Grams(self.grams_right(garment)?.0 - weighing.coat()?.0).rounded();
        Some(CoatMended { garment: garment.tag, was, verdict, short, added })
    }

    /// Whether whoever sprays corrects back and forth by more than twice the error, with a coat that was sprayed now.
    fn overcorrects(&self, garment: &Garment, coat: GramsPerSquareMetre, verdict: Verdict) -> bool {
        let book = self.recipe_name(garment).and_then(|name| self.coats.get(name));
        let now = self.try_of(garment, coat, verdict);
        book.zip(now).is_some_and(|(book, now)| book.overcorrects(&now))
    }

    fn try_of(
        &self,
        garment: &Garment,
        coat: GramsPerSquareMetre,
        verdict: Verdict,
    ) -> Option<Try> {
        let off = coat.0 - self.recipe_of(garment)?.1.coat.target.0;
        let outside = verdict != Verdict::Inside;
        Some(Try { hand: self.desk.people.clone(), off, outside })
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
            garment.weighed = Some(Weighing::dry(fact.grams));
        });
    }

    pub(in crate::shop) fn weigh_coat(&mut self, event: &Event, fact: &CoatWeighed) {
        self.desk.last = Some(fact.garment);
        self.settle_fluid(fact);
        let Some(garment) = self.garment(fact.garment) else { return };
        let last = garment.weighed.filter(|weighing| weighing.after.is_some());
        // What the hand did is the first weight: what was mended since says nothing of that.
        let only_again = |weighing: Weighing| {
            !weighing.mended && self.mended(garment, weighing, fact.after).is_none()
        };
        let sprayed = last.is_none_or(only_again);
        let tried = self.try_of(garment, fact.coat, fact.verdict);
        let hand = self.hand();
        self.with_garment(fact.garment, |garment| {
            let mended = last.is_some_and(|weighing| weighing.mended);
            let after = Some(fact.after);
            garment.weighed = Some(Weighing { after, mended, ..Weighing::dry(fact.before) });
            garment.coat = Some((fact.coat, false));
            garment.sprayed = fact.used.or(garment.sprayed);
        });
        let (garment, coat, verdict, at) = (fact.garment, fact.coat, fact.verdict, event.moment);
        let weighed = WeighIn { garment, coat, verdict, sprayed: coat, at };
        self.with_book_of(fact.garment, |book| {
            book.add(weighed, last.is_some(), sprayed);
            if let Some(tried) = tried.filter(|_| sprayed) {
                book.tried(tried, last.is_some());
            }
            if last.is_none() && fact.verdict != Verdict::Inside {
                Arc::make_mut(&mut book.turns).fault(hand);
            }
        });
    }

    /// Something was done about a coat: its steam teaches nothing from now on.
    pub(in crate::shop) fn mend_coat(&mut self, fact: &CoatMended) {
        self.with_garment(fact.garment, |garment| {
            if let Some(weighing) = &mut garment.weighed {
                weighing.mended = true;
            }
        });
    }

    pub(in crate::shop) fn stop_weighing(&mut self, fact: &WeighingDeclined) {
        self.with_garment(fact.garment, |garment| match &mut garment.weighed {
            Some(weighing) if weighing.after.is_some() => weighing.left = true,
            _ => (garment.weighed, garment.declined) = (None, true),
        });
    }

    /// A dry press was opened: its garment counts among the dried, and a weighed one teaches.
    pub(in crate::shop) fn learn_from(&mut self, fact: &PressOpened, steam: Option<f64>) {
        let (press, garment) = (fact.press, fact.garment);
        let teaches = self.garment(garment).filter(|garment| garment.teaches_steam());
        let pair = teaches.and_then(|garment| {
            let (coat, cloth) = (garment.coat_by_scale()?, self.cloth_weight(garment)?);
            let dried = self.recipe_of(garment)?.1.drying();
            // The balance counts from where it is closed.
            let (seconds, dial) = (dried.steamed(steam?)?, self.setting(press)?.dial);
            Some(Pair { coat, seconds, dial, cloth, under: dried.cover? })
        });
        // Dried again, it has lost most of its water before.
        let pair = pair.filter(|_| !fact.again);
        self.with_book_of(garment, |book| {
            if let Some(pair) = pair {
                book.learn(press, pair);
            }
            book.dry(Dried { garment, press, clung: false });
        });
    }

    /// A dry press was opened: somebody is asked about its steam where that was not noted and it is the garment's turn.
    pub(in crate::shop) fn ask_after_steam(&mut self, fact: &PressOpened, steam: Option<f64>) {
        let asked = self.garment(fact.garment).is_some_and(|garment| self.is_steam_asked(garment));
        let asks = asked && steam.is_none() && !fact.again;
        self.desk.steam_unsaid = asks.then_some((fact.press, fact.garment));
        let hand = self.hand();
        self.with_book_of(fact.garment, |book| {
            Arc::make_mut(&mut book.turns).dried(hand, asked || steam.is_some());
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
        let dried = self.garment(fact.garment).and_then(|g| g.drying()?.sheet);
        if let Some(sheet) = dried.or(in_press) {
            self.with_sheet(sheet, |sheet| sheet.clung += 1);
        }
        self.with_book_of(fact.garment, |book| book.cling(fact.garment));
    }
}
