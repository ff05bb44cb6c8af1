//! Who waits where, by kind: garments of one line of an order that began with the same text of its recipe fare alike at
//! every press. A hundred thousand of them are looked through by their few thousand kinds.

use std::collections::{BTreeMap, BTreeSet};

use super::garment::{Garment, Place, Queue};
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{OrderId, RecipeHash, Tag};

/// A garment's place in its queue: on the shelf by the soonest last day, then by who came first.
pub(in crate::shop) type Rank = (Option<Day>, u64, Tag);

/// What garments have in common that fare alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::shop) struct Kind {
    order: OrderId,
    line: usize,
    /// The recipe that they began with.
    pub recipe: Option<RecipeHash>,
    /// Whether this round's coat is on: they are pressed again for their print, not for their spray.
    coated: bool,
}

/// In which queue a garment waits, of which kind it is, and where it stands.
pub(in crate::shop) type Standing = (Queue, Kind, Rank);

/// Where a garment stands; None in a press.
pub(in crate::shop) fn standing(garment: &Garment) -> Option<Standing> {
    let kind = Kind {
        order: garment.order(),
        line: garment.line,
        recipe: garment.recipe,
        coated: garment.coated,
    };
    let on_shelf = garment.shelved.as_deref().filter(|_| garment.place == Place::Shelf);
    let rank = (on_shelf.map(|shelved| shelved.last_day), garment.since_seq, garment.tag);
    Some((garment.place.queue()?, kind, rank))
}

/// Who waits where, by kind.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::shop) struct Kinds(BTreeMap<(Queue, Kind), BTreeSet<Rank>>);

impl Kinds {
    pub fn insert(&mut self, (queue, kind, rank): Standing) {
        self.0.entry((queue, kind)).or_default().insert(rank);
    }

    pub fn remove(&mut self, (queue, kind, rank): Standing) {
        if let Some(ranks) = self.0.get_mut(&(queue, kind)) {
            ranks.remove(&rank);
            // An empty kind and none are the same: two floors with the same garments are equal.
            if ranks.is_empty() {
                self.0.remove(&(queue, kind));
            }
        }
    }

    /// The kinds of a queue, of some orders.
    pub fn of(
        &self,
        queue: Queue,
        (from, to): ((OrderId, usize), (OrderId, usize)),
    ) -> impl Iterator<Item = (&Kind, &BTreeSet<Rank>)> {
        let last = RecipeHash([u8::MAX; 6]);
        let from = Kind { order: from.0, line: from.1, recipe: None, coated: false };
        let to = Kind { order: to.0, line: to.1, recipe: Some(last), coated: true };
        self.0.range((queue, from)..=(queue, to)).map(|((_, kind), ranks)| (kind, ranks))
    }

    /// All kinds of a queue.
    pub fn all(&self, queue: Queue) -> impl Iterator<Item = (&Kind, &BTreeSet<Rank>)> {
        self.of(queue, ((OrderId::LEAST, 0), (OrderId::GREATEST, usize::MAX)))
    }
}
