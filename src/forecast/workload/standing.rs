//! Where the garments of each recipe stand, and how many of them are made once more.

use std::collections::BTreeMap;

use crate::forecast::habit::{self, Counts};
use crate::shop::Shop;
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Place;

/// The share of garments that are made once more, by those that came to orders beside what was ordered.
pub fn anew(shop: &Shop) -> f64 {
    let (mut again, mut done) = (0, 0);
    for order in shop.orders() {
        let ordered: u32 = order.form.lines.iter().map(|line| line.count).sum();
        let there = shop.garments_of(order.no);
        let (all, gone) =
            there.fold((0, 0), |(all, gone), one| (all + 1, gone + usize::from(one.is_done())));
        again += usize::saturating_sub(all, usize::try_from(ordered).unwrap_or(0));
        done += gone;
    }
    habit::anew(again, done)
}

/// How many garments of each recipe stand before each step, or are in a machine for it.
pub fn before_each_step(shop: &Shop) -> BTreeMap<RecipeHash, Counts> {
    let mut standing: BTreeMap<RecipeHash, Counts> = BTreeMap::new();
    for garment in shop.floor().all().filter(|garment| garment.is_wanted()) {
        let step = match garment.place {
            Place::Waiting(step) => Some(step),
            Place::Undecided => Some(Step::Spray),
            Place::InPress(press) => shop.load(press).map(|load| load.step),
            Place::Shelf | Place::Finished | Place::Out => None,
        };
        let place = step.and_then(|step| Step::ALL.iter().position(|one| *one == step));
        if let Some((place, (hash, _))) = place.zip(shop.recipe_of(garment)) {
            standing.entry(*hash).or_default()[place] += 1;
        }
    }
    standing
}
