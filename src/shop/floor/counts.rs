//! How many garments of each order there are, and how many have begun: counted as they move, so that a frame costs by
//! what it shows, not by how much the shop keeps.

use std::collections::BTreeMap;

use super::garment::{Garment, Place, Quality, Queue};
use crate::shop::facts::ids::{OrderId, Tag};

/// The garments of one order.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct OfOrder {
    /// Finished as first quality.
    pub done: usize,
    /// First quality, and still to be finished.
    pub left: usize,
    /// Still to be finished, of whatever quality.
    pub open: usize,
    /// Finished, or out, and not cancelled.
    pub ended: usize,
    /// At other stations.
    pub away: usize,
    shelved: usize,
    /// All that are kept in mind.
    all: usize,
}

/// What garments are counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Counted {
    /// Its order: the tag of no piece of it.
    order: Tag,
    done: bool,
    left: bool,
    open: bool,
    ended: bool,
    away: bool,
    shelved: bool,
    /// The queue in which it waits, where it has been in a press before.
    begun: Option<Queue>,
}

/// As what a garment counts.
pub(super) fn counted(garment: &Garment) -> Counted {
    let first = garment.quality == Quality::First;
    Counted {
        order: Tag { piece: 0, ..garment.tag },
        done: first && garment.place == Place::Finished,
        left: first && !garment.is_done() && garment.is_wanted(),
        // What nobody wants any more may lie on the shelf: it is a store.
        open: !garment.is_done() && (garment.is_wanted() || garment.place != Place::Shelf),
        ended: garment.is_done() && garment.is_wanted() && !garment.is_away(),
        away: garment.is_away(),
        shelved: garment.place == Place::Shelf,
        begun: garment.place.queue().filter(|_| garment.recipe.is_some()),
    }
}

/// The counts of a floor.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Counts {
    orders: BTreeMap<Tag, OfOrder>,
    begun: BTreeMap<Queue, usize>,
}

impl Counts {
    /// The garments of an order.
    pub fn of(&self, order: OrderId) -> OfOrder {
        self.orders.get(&order.tag(0)).copied().unwrap_or_default()
    }

    /// The orders that have something on the shelf.
    pub fn shelved(&self) -> impl Iterator<Item = OrderId> {
        let orders = self.orders.iter().filter(|(_, of)| of.shelved > 0);
        orders.map(|(first, _)| first.order_id())
    }

    /// How many in a queue have been in a press before.
    pub fn begun(&self, queue: Queue) -> usize {
        self.begun.get(&queue).copied().unwrap_or(0)
    }

    pub fn add(&mut self, garment: Counted) {
        let of = self.orders.entry(garment.order).or_default();
        of.all += 1;
        of.done += usize::from(garment.done);
        of.left += usize::from(garment.left);
        of.open += usize::from(garment.open);
        of.ended += usize::from(garment.ended);
        of.away += usize::from(garment.away);
        of.shelved += usize::from(garment.shelved);
        if let Some(queue) = garment.begun {
            *self.begun.entry(queue).or_default() += 1;
        }
    }

    /// Nothing and none are the same: two floors with the same garments are equal.
    pub fn take(&mut self, garment: Counted) {
        if let Some(of) = self.orders.get_mut(&garment.order) {
            of.all -= 1;
            of.done -= usize::from(garment.done);
            of.left -= usize::from(garment.left);
            of.open -= usize::from(garment.open);
            of.ended -= usize::from(garment.ended);
            of.away -= usize::from(garment.away);
            of.shelved -= usize::from(garment.shelved);
            if of.all == 0 {
                self.orders.remove(&garment.order);
            }
        }
        let Some(queue) = garment.begun else { return };
        if let Some(count) = self.begun.get_mut(&queue) {
            *count -= 1;
            if *count == 0 {
                self.begun.remove(&queue);
            }
        }
    }
}
