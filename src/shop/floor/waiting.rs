//! Those who wait, looked through by their kinds: a hundred thousand of them by their few thousand kinds.

use std::cmp::Reverse;
use std::collections::btree_set::Range;
use std::collections::{BTreeSet, BinaryHeap};

use super::garment::{Garment, Queue};
use super::kinds::Rank;
use super::places::Floor;
use crate::shop::facts::ids::{OrderId, Tag};

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
