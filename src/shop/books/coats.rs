//! What is known of the coats: weigh-ins, what the steam of each press has taught, which garment to weigh next.
//!
//! A coat belongs to a recipe, so there is a book for each, by the recipe's name. Weighing comes after the
//! pre-press, just before the spray: the moisture that pre-press drives out would hide the coat.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::figures::coat::Verdict;
use crate::figures::steam::{Bench, Learned};
use crate::figures::units::{
    CM2_PER_M2, Grams, GramsPerSquareMetre, SquareCentimetres, Temperature,
};
use crate::shop::Shop;
use crate::shop::facts::coat::{CoatEstimate, Weighing};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::floor::press::Load;

/// The most weigh-ins, pairs and dryings of a recipe that are kept in mind: what the chart shows.
pub const MOST_KEPT: usize = 30;
/// From so many weighed pairs on a press has been learned.
pub const LEAST_PAIRS: usize = 3;

/// One coat that was weighed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WeighIn {
    pub garment: Tag,
    pub coat: GramsPerSquareMetre,
    pub verdict: Verdict,
    pub at: Moment,
}

/// A weighed coat and the second at which its steam stopped.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pair {
    pub coat: GramsPerSquareMetre,
    pub seconds: f64,
    pub dial: Temperature,
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
    /// Garments sprayed since one was last weighed, or since somebody declined to; None: never yet.
    pub since: Option<u32>,
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
    pub(in crate::shop) fn add(&mut self, weighed: WeighIn) {
        self.since = Some(0);
        push(Arc::make_mut(&mut self.weighed), weighed);
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
}

impl Shop {
    /// The books of all recipes, by the recipe's name.
    pub fn coat_books(&self) -> impl Iterator<Item = (&str, &CoatBook)> {
        self.coats.iter().map(|(name, book)| (name.as_str(), book))
    }

    /// The book of a recipe, by its name.
    pub fn coat_book(&self, recipe: &str) -> Option<&CoatBook> {
        self.coats.get(recipe)
    }

    /// The name of the recipe that a garment's line asks for.
    pub fn recipe_name(&self, garment: &Garment) -> Option<&str> {
        let line = self.order(garment.order())?.form.lines.get(garment.line)?;
        Some(&line.recipe)
    }

    /// The weight that is wanted next, if one is: of a garment with its coat on, else of the next to be sprayed.
    pub fn weight_wanted(&self) -> Option<WeightWanted> {
        let under_way =
            |garment: &&Garment| garment.weighed.is_some_and(|weighing| weighing.after.is_none());
        let mut waiting = self.floor().waiting(Step::Dry).chain(self.floor().waiting(Step::Spray));
        if let Some(garment) = waiting.find(under_way) {
            return Some(WeightWanted { garment: garment.tag, coated: true });
        }
        let next = self.floor().waiting(Step::Spray).next()?;
        self.is_weighed_next(next).then_some(WeightWanted { garment: next.tag, coated: false })
    }

    /// The garment whose turn it is to be sprayed: the first that waits for it, else the next blank.
    pub fn next_to_spray(&self) -> Option<&Garment> {
        let blank =
            |garment: &&Garment| !garment.coated && self.wants_fluid(garment) != Some(false);
        let blanks = self.floor().waiting(Step::PrePress).filter(blank);
        self.floor().waiting(Step::Spray).chain(blanks).next()
    }

    /// Whether a garment that is about to be sprayed is one of those that its recipe wants weighed.
    pub fn is_weighed_next(&self, garment: &Garment) -> bool {
        let Some((_, recipe)) = self.recipe_of(garment) else { return false };
        let book = self.recipe_name(garment).and_then(|name| self.coats.get(name));
        let since = book.and_then(|book| book.since);
        recipe.weigh_every > 0
            && garment.weighed.is_none()
            && since.is_none_or(|since| since + 1 >= recipe.weigh_every)
    }

    /// The garment whose weight a key without a tag speaks of, and whether it has its coat on.
    pub fn to_weigh(&self, chosen: Option<Tag>) -> Option<WeightWanted> {
        let of = |garment: &Garment| match (garment.place, garment.weighed) {
            (Place::Waiting(Step::Spray), None) => {
                Some(WeightWanted { garment: garment.tag, coated: false })
            }
            (Place::Waiting(Step::Spray | Step::Dry), Some(Weighing { after: None, .. })) => {
                Some(WeightWanted { garment: garment.tag, coated: true })
            }
            _ => None,
        };
        match chosen.and_then(|tag| self.garment(tag)) {
            Some(garment) => of(garment),
            None => self
                .weight_wanted()
                .or_else(|| self.floor().waiting(Step::Spray).next().and_then(of)),
        }
    }

    /// Whether the steam of a shut press is to be noted: its garment's coat was weighed.
    pub fn steam_is_wanted(&self, load: &Load) -> bool {
        load.step == Step::Dry
            && load.steam.is_none()
            && self.garment(load.garment).is_some_and(|g| g.weighed.is_some())
    }

    /// What the steam of a press has taught for a recipe, by its name, at the dial that it is set to.
    /// None with fewer than three weighed pairs, or where they make no sense.
    pub fn learned(&self, press: PressNo, recipe: &str) -> Option<Learned> {
        let dial = self.setting(press)?.dial;
        let pairs: Vec<(Grams, f64)> = self.pairs(press, recipe).collect();
        if pairs.len() < LEAST_PAIRS {
            return None;
        }
        self.bench_of(press, dial)?.learn(&pairs).ok()
    }

    /// The weighed pairs of a press and a recipe at the dial that it is set to: grams on a square metre, so that
    /// prints of all sizes teach the same press.
    pub fn pairs(&self, press: PressNo, recipe: &str) -> impl Iterator<Item = (Grams, f64)> {
        let dial = self.setting(press).map(|set| set.dial);
        let book = self.coats.get(recipe).and_then(|book| book.pairs.get(&press));
        book.into_iter()
            .flatten()
            .filter(move |pair| Some(pair.dial) == dial)
            .map(|pair| (Grams(pair.coat.0), pair.seconds))
    }

    /// What a second at which a press's steam stopped says of the coat.
    pub fn coat_by_steam(&self, press: PressNo, tag: Tag, seconds: f64) -> Option<CoatEstimate> {
        let garment = self.garment(tag)?;
        let (_, recipe) = self.recipe_of(garment)?;
        // A coefficient beyond belief comes of a wrong clock or scale: it judges no coat.
        let learned =
            self.learned(press, self.recipe_name(garment)?).filter(Learned::is_believable)?;
        let (found, coverage) = (learned.estimate(seconds).ok()?, self.coverage(garment)?);
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
    fn bench_of(&self, press: PressNo, dial: Temperature) -> Option<Bench> {
        let probed = self.probe(press).filter(|probe| probe.dial == dial);
        Some(Bench {
            plate: probed.map_or(dial, |probe| Temperature::celsius(probe.mean_c)),
            area: SquareCentimetres(CM2_PER_M2),
            altitude_m: self.station()?.altitude_m(),
        })
    }
}
