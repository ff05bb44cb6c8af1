//! Who waits where, by kind: garments of one line of an order that began with the same text of its recipe fare alike at
//! every press. A hundred thousand of them are looked through by their few thousand kinds.

use std::cmp::Reverse;
use std::collections::btree_set::Range;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

use super::garment::{Floor, Garment, Place, Queue};
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
    recipe: Option<RecipeHash>,
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
    fn of(
        &self,
        queue: Queue,
        (from, to): ((OrderId, usize), (OrderId, usize)),
    ) -> impl Iterator<Item = (&Kind, &BTreeSet<Rank>)> {
        let last = RecipeHash([u8::MAX; 6]);
        let from = Kind { order: from.0, line: from.1, recipe: None, coated: false };
        let to = Kind { order: to.0, line: to.1, recipe: Some(last), coated: true };
        self.0.range((queue, from)..=(queue, to)).map(|((_, kind), ranks)| (kind, ranks))
    }

    fn all(&self, queue: Queue) -> impl Iterator<Item = (&Kind, &BTreeSet<Rank>)> {
        self.of(queue, ((OrderId::LEAST, 0), (OrderId::GREATEST, usize::MAX)))
    }
}

/// Those who wait, in some order; whole kinds of them can be passed over.
pub struct Waiting<'a, K> {
    floor: &'a Floor,
    /// What they are ordered by before they go by their place in their queue. Within a kind that place comes to the same.
    key: Box<dyn Fn(&Garment) -> K + 'a>,
    /// The first of each kind that is left, and the others of that kind.
    next: BinaryHeap<Reverse<(K, Rank, usize)>>,
    rest: Vec<Range<'a, Rank>>,
    /// The kind of the last one, whose next has yet to be looked up.
    last: Option<usize>,
}

impl<K: Ord> Waiting<'_, K> {
    /// Nobody of the last one's kind comes any more.
    pub fn pass_over_its_kind(&mut self) {
        self.last = None;
    }

    fn look_up_next(&mut self, kind: usize) {
        if let Some(rank) = self.rest.get_mut(kind).and_then(Range::next)
            && let Some(garment) = self.floor.get(rank.2)
        {
            self.next.push(Reverse(((self.key)(garment), *rank, kind)));
        }
    }
}

impl<'a, K: Ord> Iterator for Waiting<'a, K> {
    type Item = &'a Garment;

    fn next(&mut self) -> Option<&'a Garment> {
        if let Some(kind) = self.last.take() {
            self.look_up_next(kind);
        }
        let Reverse((_, (.., tag), kind)) = self.next.pop()?;
        self.last = Some(kind);
        self.floor.get(tag)
    }
}

impl Floor {
    /// Those who wait in a queue, in its order, of whom whole kinds can be passed over.
    pub fn by_kind(&self, queue: Queue) -> Waiting<'_, ()> {
        self.ordered(&[queue], &[], |_| ())
    }

    /// Those who wait in some queues, the least by a key first. Of one kind in one queue, whoever stands behind another
    /// never has the lesser key; in other queues, in which few wait, that need not be so.
    pub fn ordered<'a, K: Ord>(
        &'a self,
        queues: &[Queue],
        others: &[Queue],
        key: impl Fn(&Garment) -> K + 'a,
    ) -> Waiting<'a, K> {
        let kinds = queues.iter().flat_map(|queue| self.kinds().all(*queue));
        let mut rest: Vec<Range<'_, Rank>> =
            kinds.map(|(_, ranks)| ranks.range::<Rank, _>(..)).collect();
        for (_, ranks) in others.iter().flat_map(|queue| self.kinds().all(*queue)) {
            rest.extend(ranks.iter().map(|rank| ranks.range(rank..=rank)));
        }
        let (key, next) = (Box::new(key), BinaryHeap::with_capacity(rest.len()));
        let mut waiting = Waiting { floor: self, key, next, rest, last: None };
        (0..waiting.rest.len()).for_each(|kind| waiting.look_up_next(kind));
        waiting
    }

    /// The first in a queue of a line of an order that is `wanted`.
    pub fn first_of_line(
        &self,
        queue: Queue,
        line: (OrderId, usize),
        wanted: impl Fn(Tag) -> bool,
    ) -> Option<&Garment> {
        let of_kind = |ranks: &BTreeSet<Rank>| ranks.iter().find(|(.., tag)| wanted(*tag)).copied();
        let first = self.kinds().of(queue, (line, line)).filter_map(|(_, ranks)| of_kind(ranks));
        self.get(first.min()?.2)
    }

    /// Those of a queue who have been in a press before, by kind, each kind in the order of the queue.
    pub(super) fn begun_by_kind(
        &self,
        queue: Queue,
    ) -> impl Iterator<Item = impl DoubleEndedIterator<Item = &Garment>> {
        let begun = self.kinds().all(queue).filter(|(kind, _)| kind.recipe.is_some());
        begun.map(|(_, ranks)| ranks.iter().filter_map(|(.., tag)| self.get(*tag)))
    }

    /// How many of an order wait in a queue.
    pub fn count_of_order(&self, queue: Queue, order: OrderId) -> usize {
        let lines = ((order, 0), (order, usize::MAX));
        self.kinds().of(queue, lines).map(|(_, ranks)| ranks.len()).sum()
    }
}
