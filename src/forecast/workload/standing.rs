//! Where the garments of each recipe stand, and how many of them are made once more.

use std::collections::BTreeMap;

use crate::forecast::habit::{self, Counts};
use crate::shop::Shop;
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Place;

/// The share of garments that are made once more, by the blanks that replaced others.
pub fn anew(shop: &Shop) -> f64 {
    let (mut again, mut done) = (0_u32, 0);
    for order in shop.orders() {
        // By the blanks that were taken in: what is still there beside what is still ordered may be cancelled, too.
        again += order.lines.iter().map(|line| line.replaced).sum::<u32>();
        let there = shop.garments_of(order.no).filter(|one| one.is_wanted());
        done += there.filter(|one| one.is_done()).count();
    }
    habit::anew(usize::try_from(again).unwrap_or(usize::MAX), done)
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
