//! Where the garments of each recipe stand, and how many of them are made once more.

use std::collections::BTreeMap;

use crate::forecast::habit::{self, Counts};
use crate::shop::Shop;
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Queue;

/// The share of garments that are made once more, by the blanks that replaced others.
pub fn anew(shop: &Shop) -> f64 {
    let (mut again, mut done) = (0_u32, 0);
    for order in shop.orders() {
        // By the blanks that were taken in: what is still there beside what is still ordered may be cancelled, too.
        again += order.lines.iter().map(|line| line.replaced).sum::<u32>();
        done += shop.floor().counted(order.id).ended;
    }
    habit::anew(usize::try_from(again).unwrap_or(usize::MAX), done)
}

/// How many garments of each recipe stand before each step, or are in a machine for it.
pub fn before_each_step(shop: &Shop) -> BTreeMap<RecipeHash, Counts> {
    let mut standing: BTreeMap<RecipeHash, Counts> = BTreeMap::new();
    let floor = shop.floor();
    for (place, step) in Step::ALL.into_iter().enumerate() {
        let in_press = shop.loads().filter(|(_, load)| load.step == step);
        let in_press = in_press.filter_map(|(_, load)| shop.garment(load.garment));
        let undecided = floor.queue(Queue::Undecided).filter(|_| step == Step::Spray);
        let there = floor.waiting(step).chain(in_press).chain(undecided);
        for garment in there.filter(|garment| garment.is_wanted()) {
            if let Some((hash, _)) = shop.recipe_of(garment) {
                standing.entry(*hash).or_default()[place] += 1;
            }
        }
    }
    standing
}
