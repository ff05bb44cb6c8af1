//! The shop's garments by where they are, as far as something is still to be done with them.

use std::collections::BTreeMap;

use super::{Whose, millis};
use crate::forecast::plan::Millis;
use crate::shop::Shop;
use crate::shop::facts::ids::{OrderNo, PressNo};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::rules::offer::Waits;

/// What makes garments of one kind, in the order in which kinds stand: by due time, then by order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Key {
    undated: bool,
    due: Option<Wall>,
    order: OrderNo,
    line: usize,
    pub step: Step,
    round: usize,
    pub shelved: bool,
    pub coated: bool,
}

impl Key {
    pub fn whose(self) -> Whose {
        let Key { order, line, step, .. } = self;
        if self.shelved { Whose::Shelf(order) } else { Whose::Shop(Waits { order, line, step }) }
    }
}

/// Garments by where they are.
#[derive(Default)]
pub(super) struct Gathered<'a> {
    /// What waits, each kind with one of its garments.
    pub counts: BTreeMap<Key, (&'a Garment, usize)>,
    pub shut: Vec<(&'a Garment, PressNo)>,
    /// What is in a printer, and for how long.
    pub printing: Vec<(&'a Garment, Millis)>,
    pub kept: usize,
    /// The last order that was looked up, and when it is due.
    last: Option<(OrderNo, Option<Wall>)>,
}

impl<'a> Gathered<'a> {
    pub fn take(&mut self, shop: &Shop, garment: &'a Garment) {
        let step = match garment.place {
            Place::Waiting(step) => step,
            Place::Undecided => Step::Spray,
            Place::InPress(press) => return self.shut.push((garment, press)),
            Place::Shelf => Step::PrePress,
            Place::Finished | Place::Out => return,
        };
        // Garments come order by order, and thousands may lie on the shelf: each order is looked up once.
        let order = garment.order();
        if self.last.is_none_or(|(known, _)| known != order) {
            self.last = Some((order, due_at(shop, order)));
        }
        let due = self.last.and_then(|(_, due)| due);
        let shelved = garment.place == Place::Shelf;
        if shelved && due.is_none() {
            self.kept += 1;
            return;
        }
        let key = key(garment, due, step, shelved);
        self.counts.entry(key).or_insert((garment, 0)).1 += 1;
    }

    /// Nobody states that a printer is loaded. What has waited for it since before the last print came out is taken
    /// to be in it since then: without that, half a print too much would lie ahead on average.
    pub fn begin_prints(&mut self, shop: &'a Shop, printers: usize, now: Moment) {
        let Some(printed) = shop.last_printed() else { return };
        let gone = |since: Moment| Millis::try_from(now.since(since).span.as_millis()).ok();
        let first = shop.floor().waiting(Step::Print).take(printers);
        for (no, garment) in first.enumerate() {
            let Some((hash, _)) = shop.recipe_of(garment) else { continue };
            let times = shop.hand_times(Some(hash)).times;
            let whole = millis(times.print_load) + millis(times.print);
            // Several printers are taken to be begun one after the other.
            let share = Millis::try_from(printers.max(1)).unwrap_or(1);
            let later = (share - 1 - Millis::try_from(no).unwrap_or(0)) * (whole / share);
            let Some(gone) = gone(printed).zip(gone(garment.since)).map(|(a, b)| a.min(b)) else {
                continue;
            };
            // Nobody prints when the last one came out long ago.
            if gone > 2 * whole {
                return;
            }
            let due = due_at(shop, garment.order());
            let key = key(garment, due, Step::Print, false);
            if let Some((_, count)) = self.counts.get_mut(&key).filter(|(_, count)| *count > 0) {
                *count -= 1;
                self.printing.push((garment, gone + later));
            }
        }
    }
}

/// When an order is due on the wall clock, by the shop's zone.
fn due_at(shop: &Shop, order: OrderNo) -> Option<Wall> {
    shop.order(order)?.form.due?.at(shop.zone())
}

fn key(garment: &Garment, due: Option<Wall>, step: Step, shelved: bool) -> Key {
    Key {
        undated: due.is_none(),
        due,
        order: garment.order(),
        line: garment.line,
        step,
        round: garment.round,
        shelved,
        coated: garment.coated || shelved,
    }
}
