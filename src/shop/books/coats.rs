//! What is known of the coats: weigh-ins, what the steam of each press has taught, which garment to weigh next.
//!
//! A coat belongs to a recipe, so there is a book for each, by the recipe's name. Weighing comes after the
//! pre-press, just before the spray: the moisture that pre-press drives out would hide the coat.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::turns::{Hand, STEAM_EVERY, Turns};
use crate::figures::coat::{self, Verdict};
use crate::figures::steam::{Learned, SteamConditions, Steamed};
use crate::figures::units::{
    CM2_PER_M2, Grams, GramsPerSquareMetre, SquareCentimetres, Temperature,
};
use crate::shop::Shop;
use crate::shop::facts::coat::{CoatEstimate, Weighing};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::step::{Cover, Step};
use crate::shop::floor::garment::{Garment, Place, Queue};
use crate::shop::floor::press::Load;

/// The most weigh-ins, pairs and dryings of a recipe that are kept in mind: what the chart shows.
pub const MOST_KEPT: usize = 30;
/// From so many weighed pairs on a press has been learned.
pub const LEAST_PAIRS: usize = 3;

/// One coat that was weighed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WeighIn {
    pub garment: Tag,
    /// As it was weighed last before it was dried.
    pub coat: GramsPerSquareMetre,
    pub verdict: Verdict,
    /// As it was sprayed: what the hand did, before anything was mended.
    pub sprayed: GramsPerSquareMetre,
    pub at: Moment,
}

/// How far a weighed coat was off what was aimed for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Try {
    pub hand: Vec<String>,
    /// In g/m2; below 0: too light.
    pub off: f64,
    pub outside: bool,
}

/// A weighed coat and the second at which its steam stopped, counted from where the platen had closed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pair {
    pub coat: GramsPerSquareMetre,
    pub seconds: f64,
    pub dial: Temperature,
    /// The cloth's own weight, which is heated too.
    pub cloth: GramsPerSquareMetre,
    /// The kind of its sheet: paper lets steam through and takes up water, a PTFE sheet does neither.
    pub under: Cover,
}

/// A garment that was dried, and whether its sheet clung.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dried {
    pub garment: Tag,
    pub press: PressNo,
    pub clung: bool,
}

/// The book of one recipe's coats. Its lists are shared with the trail until they change.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct CoatBook {
    /// Whose turn it is to be weighed, or asked about its steam.
    pub turns: Arc<Turns>,
    /// How far the last coats were off as they were sprayed.
    pub tries: Arc<VecDeque<Try>>,
    pub weighed: Arc<VecDeque<WeighIn>>,
    pub pairs: Arc<BTreeMap<PressNo, VecDeque<Pair>>>,
    pub dried: Arc<VecDeque<Dried>>,
}

/// Adds to a list that lets go of its oldest.
fn push<T>(list: &mut VecDeque<T>, one: T) {
    if list.len() == MOST_KEPT {
        list.pop_front();
    }
    list.push_back(one);
}

impl CoatBook {
    /// A garment was weighed with its coat on; `again` where its last weight no longer counts, `sprayed` where the
    /// coat is as it was sprayed.
    pub(in crate::shop) fn add(&mut self, weighed: WeighIn, again: bool, sprayed: bool) {
        let list = Arc::make_mut(&mut self.weighed);
        let its = |one: &&mut WeighIn| again && one.garment == weighed.garment;
        match list.iter_mut().rev().find(its) {
            Some(one) if sprayed => *one = WeighIn { at: one.at, ..weighed },
            Some(one) => (one.coat, one.verdict) = (weighed.coat, weighed.verdict),
            None => push(list, weighed),
        }
    }

    /// Keeps how far a coat was off as it was sprayed; `again` where the last weight was that of the same coat.
    pub(in crate::shop) fn tried(&mut self, one: Try, again: bool) {
        let list = Arc::make_mut(&mut self.tries);
        if again {
            list.pop_back();
        }
        push(list, one);
    }

    /// Whether a hand corrects back and forth by too much, with the coat that it has sprayed now.
    pub(in crate::shop) fn overcorrects(&self, now: &Try) -> bool {
        let mut its = self.tries.iter().rev().filter(|one| one.hand == now.hand);
        let (Some(second), Some(first)) = (its.next(), its.next()) else { return false };
        // What lies inside asks for no correction: then chance went back and forth, and nobody did.
        (first.outside || second.outside) && coat::overcorrects([first.off, second.off, now.off])
    }

    pub(in crate::shop) fn learn(&mut self, press: PressNo, pair: Pair) {
        push(Arc::make_mut(&mut self.pairs).entry(press).or_default(), pair);
    }

    pub(in crate::shop) fn dry(&mut self, dried: Dried) {
        push(Arc::make_mut(&mut self.dried), dried);
    }

    pub(in crate::shop) fn cling(&mut self, garment: Tag) {
        let dried = Arc::make_mut(&mut self.dried);
        if let Some(one) = dried.iter_mut().rev().find(|one| one.garment == garment) {
            one.clung = true;
        }
    }
}

/// A weight that the board would like to have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WeightWanted {
    pub garment: Tag,
    /// With its coat on.
    pub coated: bool,
    /// Once more, since its coat was outside and can still be mended.
    pub mends: bool,
}

impl WeightWanted {
    fn dry(garment: Tag) -> Self {
        Self { garment, coated: false, mends: false }
    }

    fn coated(garment: Tag) -> Self {
        Self { garment, coated: true, mends: false }
    }
}

impl Shop {
    /// The book of a recipe, by its name.
    pub fn coat_book(&self, recipe: &str) -> Option<&CoatBook> {
        self.coats.get(recipe)
    }

    /// The name of the recipe that a garment's line asks for.
    pub fn recipe_name(&self, garment: &Garment) -> Option<&str> {
        let line = self.order(garment.order())?.form.lines.get(garment.line)?;
        Some(&line.recipe)
    }

    /// The weight that is wanted next, if one is: of a garment with its coat on, or once more after its coat is mended;
    /// else of the next to be sprayed.
    pub fn weight_wanted(&self) -> Option<WeightWanted> {
        let sprayed = self.floor().waiting(Step::Dry);
        let mut waiting = sprayed.chain(self.floor().waiting(Step::Spray));
        let wanted = waiting.find_map(|garment| match garment.weighed? {
            Weighing { after: None, .. } => Some(WeightWanted::coated(garment.tag)),
            _ => self.wants_mending(garment).then_some(WeightWanted {
                garment: garment.tag,
                coated: true,
                mends: true,
            }),
        });
        wanted.or_else(|| {
            let next = self.to_spray().next()?;
            self.is_weighed_next(next).then_some(WeightWanted::dry(next.tag))
        })
    }

    /// Whether the coat of a wet garment was weighed outside, and nobody has said that it is dried so.
    fn wants_mending(&self, garment: &Garment) -> bool {
        let wet = garment.place == Place::Waiting(Step::Dry);
        let left = garment.weighed.is_none_or(|weighing| weighing.left);
        wet && !left && self.mend(garment).is_some()
    }

    /// The garment whose turn it is to be sprayed: the first that waits for it, else the next blank.
    pub fn next_to_spray(&self) -> Option<&Garment> {
        let blank =
            |garment: &&Garment| !garment.coated && self.wants_fluid(garment) != Some(false);
        let blanks = [Queue::Step(Step::PrePress)];
        let mut blanks =
            self.floor().ordered(&blanks, &[], |garment| self.urgency(garment.order()));
        self.to_spray().next().or_else(|| blanks.find(blank))
    }

    /// Who sprays now, and with what.
    pub(in crate::shop) fn hand(&self) -> Hand {
        let lots = self.supplies().filling.lots.clone();
        Hand { people: self.desk().people.clone(), lots }
    }

    /// Whether a garment that is about to be sprayed is one of those that its recipe wants weighed.
    pub fn is_weighed_next(&self, garment: &Garment) -> bool {
        let Some((_, recipe)) = self.recipe_of(garment) else { return false };
        let book = self.recipe_name(garment).and_then(|name| self.coats.get(name));
        let turn = book.map(|book| book.turns.weight(&self.hand())).unwrap_or_default();
        garment.weighed.is_none() && !garment.declined && turn.is_next(recipe.weigh_every)
    }

    /// The garment whose weight a key without a tag speaks of, and whether it has its coat on.
    pub fn to_weigh(&self, chosen: Option<Tag>) -> Option<WeightWanted> {
        let of = |garment: &Garment| match (garment.place, garment.weighed) {
            (Place::Waiting(Step::Spray), None) => Some(WeightWanted::dry(garment.tag)),
            (Place::Waiting(Step::Spray | Step::Dry), Some(_)) => {
                Some(WeightWanted::coated(garment.tag))
            }
            _ => None,
        };
        match chosen.and_then(|tag| self.garment(tag)) {
            Some(garment) => of(garment),
            None => self
                .weight_wanted()
                .or_else(|| self.to_spray().next().and_then(of))
                // The last weight counts, for as long as the garment is not dried.
                .or_else(|| self.floor().waiting(Step::Dry).rev().find_map(of)),
        }
    }

    /// Whether the steam of a shut press is to be noted: its garment's coat was weighed, and nothing was put on after.
    pub fn steam_is_wanted(&self, load: &Load) -> bool {
        load.step == Step::Dry
            && load.steam.is_none()
            && self.garment(load.garment).is_some_and(Garment::teaches_steam)
    }

    /// Whether somebody is asked about the steam of a garment that is being dried, where it was not noted.
    pub(in crate::shop) fn is_steam_asked(&self, garment: &Garment) -> bool {
        let book = self.recipe_name(garment).and_then(|name| self.coats.get(name));
        let turn = book.map(|book| book.turns.steam(&self.hand())).unwrap_or_default();
        garment.teaches_steam() || turn.is_next(STEAM_EVERY)
    }

    /// What the steam of a press has taught for a recipe, by its name, at the dial that it is set to and under the
    /// recipe's kind of sheet. None with fewer than three weighed pairs, or where they make no sense.
    pub fn learned(&self, press: PressNo, recipe: &str) -> Option<Learned> {
        self.learned_by(press, recipe, self.recipes().named(recipe)?)
    }

    /// The same for a recipe that its name may not mean any more.
    fn learned_by(&self, press: PressNo, name: &str, recipe: &Recipe) -> Option<Learned> {
        let dial = self.setting(press)?.dial;
        let pair = |pair: &Pair| Steamed {
            grams: Grams(pair.coat.0),
            seconds: pair.seconds,
            cloth: pair.cloth,
        };
        let pairs: Vec<Steamed> = self.pairs_by(press, name, recipe).map(pair).collect();
        if pairs.len() < LEAST_PAIRS {
            return None;
        }
        self.bench_of(press, dial, recipe.weights(None).cloth)?.learn_from(&pairs).ok()
    }

    /// How many weighed pairs a press and a recipe, by its name, have at the dial that it is set to and under the recipe's
    /// kind of sheet.
    pub fn pairs(&self, press: PressNo, recipe: &str) -> usize {
        let named = self.recipes().named(recipe);
        named.map_or(0, |named| self.pairs_by(press, recipe, named).count())
    }

    /// Those pairs: grams on a square metre, so that prints of all sizes teach the same press.
    fn pairs_by(&self, press: PressNo, name: &str, recipe: &Recipe) -> impl Iterator<Item = &Pair> {
        let (dial, under) = (self.setting(press).map(|set| set.dial), recipe.dry.cover);
        let book = self.coats.get(name).and_then(|book| book.pairs.get(&press));
        let pairs = book.into_iter().flatten();
        pairs.filter(move |pair| Some(pair.dial) == dial && pair.under == under)
    }

    /// What a second at which a press's steam stopped says of the coat. None where it says nothing: the lift moved it, or
    /// the garment has lost most of its water before, since it is dried again.
    pub fn coat_by_steam(&self, press: PressNo, tag: Tag, seconds: f64) -> Option<CoatEstimate> {
        let garment = self.garment(tag)?;
        let (_, recipe) = self.recipe_of(garment)?;
        let again = self.load(press).is_some_and(|load| load.again);
        let shut = recipe.drying().steamed(seconds).filter(|_| !again)?;
        // A coefficient beyond belief comes of a wrong clock or scale: it judges no coat.
        let learned = self.learned_by(press, self.recipe_name(garment)?, recipe)?;
        let learned = Some(learned).filter(Learned::is_believable)?.on(self.cloth_weight(garment)?);
        let (found, coverage) = (learned.estimate(shut).ok()?, self.coverage(garment)?);
        let on_scale = |coat: Grams| coverage.grams(GramsPerSquareMetre(coat.0)).rounded();
        let coat = GramsPerSquareMetre(found.grams.0);
        Some(CoatEstimate {
            grams: on_scale(found.grams),
            low: on_scale(found.low),
            high: on_scale(found.high),
            coat: coat.as_written(),
            verdict: recipe.verdict(coat),
        })
    }

    /// A press as the balance of steam sees it: the platen as it was probed, else as the dial says.
    fn bench_of(
        &self,
        press: PressNo,
        dial: Temperature,
        cloth: GramsPerSquareMetre,
    ) -> Option<SteamConditions> {
        let probed = self.probe(press).filter(|probe| probe.dial == dial);
        Some(SteamConditions {
            plate: probed.map_or(dial, |probe| Temperature::celsius(probe.mean_c)),
            area: SquareCentimetres(CM2_PER_M2),
            cloth,
            altitude_m: self.station()?.altitude_m(),
        })
    }
}
