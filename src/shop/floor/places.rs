//! The floor: all garments, and who waits where.

use std::collections::{BTreeMap, BTreeSet};

use super::counts::{self, Counts, OfOrder};
use super::garment::{Garment, LONGEST_CORRECTION, Place, Quality, Queue};
use super::kinds::{self, Kinds};
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::step::Step;

/// All garments, by tag, with an index of who waits where.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Floor {
    garments: BTreeMap<Tag, Garment>,
    /// By place, the one that has waited longest first.
    queues: BTreeMap<Queue, BTreeSet<(u64, Tag)>>,
    /// What lies on the shelf, once more, by whose turn it is: a coat that was stored, pressed and stored again is no
    /// younger for it.
    turns: BTreeSet<(Day, u64, Tag)>,
    /// All that wait, once more, by kind.
    kinds: Kinds,
    counts: Counts,
}

impl Floor {
    /// The garment with this tag.
    pub fn get(&self, tag: Tag) -> Option<&Garment> {
        self.garments.get(&tag)
    }

    /// Puts a garment in or in place of its earlier self, which is returned.
    pub fn put(&mut self, garment: Garment) -> Option<Garment> {
        let before = self.remove(garment.tag);
        self.enqueue(garment.place.queue(), (garment.since_seq, garment.tag));
        self.turns.extend(garment.turn());
        if let Some(standing) = kinds::standing(&garment) {
            self.kinds.insert(standing);
        }
        self.counts.add(counts::counted(&garment));
        self.garments.insert(garment.tag, garment);
        before
    }

    /// Changes a garment where it stands; returns it as it was before.
    pub(in crate::shop) fn change(
        &mut self,
        tag: Tag,
        change: impl FnOnce(&mut Garment),
    ) -> Option<Garment> {
        let garment = self.garments.get_mut(&tag)?;
        let before = garment.clone();
        change(garment);
        let (from, to) = (before.place.queue(), garment.place.queue());
        let (since, turn) = (garment.since_seq, garment.turn());
        let (stood, stands) = (kinds::standing(&before), kinds::standing(garment));
        if stood != stands {
            stood.into_iter().for_each(|standing| self.kinds.remove(standing));
            stands.into_iter().for_each(|standing| self.kinds.insert(standing));
        }
        let (counted, counts) = (counts::counted(&before), counts::counted(garment));
        if counted != counts {
            self.counts.take(counted);
            self.counts.add(counts);
        }
        if before.turn() != turn {
            before.turn().map(|turn| self.turns.remove(&turn));
            self.turns.extend(turn);
        }
        if (from, before.since_seq) != (to, since) {
            self.unqueue(from, (before.since_seq, tag));
            self.enqueue(to, (since, tag));
        }
        Some(before)
    }

    fn enqueue(&mut self, name: Option<Queue>, entry: (u64, Tag)) {
        if let Some(name) = name {
            self.queues.entry(name).or_default().insert(entry);
        }
    }

    fn unqueue(&mut self, name: Option<Queue>, entry: (u64, Tag)) {
        let Some(name) = name else { return };
        if let Some(queue) = self.queues.get_mut(&name) {
            queue.remove(&entry);
            // An empty queue and none are the same: two floors with the same garments are equal.
            if queue.is_empty() {
                self.queues.remove(&name);
            }
        }
    }

    /// A floor with these garments, none of them twice.
    pub(in crate::shop) fn with(garments: Vec<Garment>) -> Self {
        let mut queues: BTreeMap<Queue, Vec<(u64, Tag)>> = BTreeMap::new();
        for garment in &garments {
            if let Some(queue) = garment.place.queue() {
                queues.entry(queue).or_default().push((garment.since_seq, garment.tag));
            }
        }
        let mut kinds = Kinds::default();
        garments.iter().filter_map(kinds::standing).for_each(|standing| kinds.insert(standing));
        let mut counts = Counts::default();
        garments.iter().for_each(|garment| counts.add(counts::counted(garment)));
        Self {
            kinds,
            counts,
            turns: garments.iter().filter_map(Garment::turn).collect(),
            garments: garments.into_iter().map(|garment| (garment.tag, garment)).collect(),
            queues: queues
                .into_iter()
                .map(|(name, queue)| (name, queue.into_iter().collect()))
                .collect(),
        }
    }

    /// Takes a garment off the floor altogether.
    pub fn remove(&mut self, tag: Tag) -> Option<Garment> {
        let garment = self.garments.remove(&tag)?;
        self.unqueue(garment.place.queue(), (garment.since_seq, tag));
        garment.turn().map(|turn| self.turns.remove(&turn));
        kinds::standing(&garment).into_iter().for_each(|standing| self.kinds.remove(standing));
        self.counts.take(counts::counted(&garment));
        Some(garment)
    }

    pub(in crate::shop) fn kinds(&self) -> &Kinds {
        &self.kinds
    }

    /// Who waits in a queue: longest first; on the shelf, whose turn it is.
    pub fn queue(&self, queue: Queue) -> impl DoubleEndedIterator<Item = &Garment> {
        let turns = Some(&self.turns).filter(|_| queue == Queue::Shelf).into_iter().flatten();
        let others = self.queues.get(&queue).filter(|_| queue != Queue::Shelf);
        let others = others.into_iter().flatten().map(|(_, tag)| tag);
        let tags = turns.map(|(.., tag)| tag).chain(others);
        tags.filter_map(|tag| self.garments.get(tag))
    }

    /// Who came into a queue, in that order.
    fn came(&self, queue: Queue) -> impl DoubleEndedIterator<Item = &Garment> {
        self.queues.get(&queue).into_iter().flatten().filter_map(|(_, tag)| self.garments.get(tag))
    }

    /// Who waits for a step, longest first.
    pub fn waiting(&self, step: Step) -> impl DoubleEndedIterator<Item = &Garment> {
        self.queue(Queue::Step(step))
    }

    /// Who has been in a press before, and has come into its queue since a moment of the wall clock.
    pub fn begun_and_moved_since(&self, at: Wall) -> impl Iterator<Item = &Garment> {
        // They stand in the order in which their acts were said: one whose time was corrected may have come before others
        // that stand before it.
        let earliest = at.minus(LONGEST_CORRECTION);
        let since = move |garment: &&Garment| garment.since.at >= earliest;
        // Among thousands of blanks those who have begun are found by their kinds.
        let mixed = |queue: &Queue| self.count_of_begun(*queue) < self.count(*queue);
        let (mixed, all): (Vec<Queue>, Vec<Queue>) =
            self.queues.keys().partition(|queue| mixed(queue));
        let all = all.into_iter().flat_map(move |queue| self.came(queue).rev().take_while(since));
        let begun = mixed.into_iter().filter(|queue| self.count_of_begun(*queue) > 0);
        let begun = begun.flat_map(|queue| self.begun_by_kind(queue));
        let found = all.chain(begun.flat_map(move |kind| kind.rev().take_while(since)));
        found.filter(move |garment| garment.since.at >= at)
    }

    /// How many wait in a queue.
    pub fn count(&self, queue: Queue) -> usize {
        self.queues.get(&queue).map_or(0, BTreeSet::len)
    }

    /// How many wait anywhere and are not done.
    pub fn count_of_open(&self) -> usize {
        let done = |queue: &Queue| matches!(queue, Queue::Finished | Queue::Out | Queue::Away);
        let open = self.queues.iter().filter(|(queue, _)| !done(queue));
        open.map(|(_, queue)| queue.len()).sum()
    }

    /// Every garment, by tag.
    pub fn all(&self) -> impl Iterator<Item = &Garment> {
        self.garments.values()
    }

    /// Every garment of an order, by tag.
    pub fn of_order(&self, order: OrderId) -> impl Iterator<Item = &Garment> {
        self.garments.range(order.tag(0)..=order.tag(u16::MAX)).map(|(_, garment)| garment)
    }

    /// Whether a garment is second quality.
    pub fn is_second(&self, tag: Tag) -> bool {
        self.get(tag).is_some_and(|garment| garment.quality == Quality::Second)
    }

    /// The garments of an order, counted.
    pub fn counted(&self, order: OrderId) -> OfOrder {
        self.counts.of(order)
    }

    /// Whether something is still to be done for an order.
    pub fn is_open(&self, order: OrderId) -> bool {
        self.counted(order).open > 0
    }

    /// What lies on the shelf, by tag: only the orders are walked that have something there.
    pub fn on_shelf(&self) -> impl Iterator<Item = &Garment> {
        let garments = self.counts.shelved().flat_map(|order| self.of_order(order));
        garments.filter(|garment| garment.place == Place::Shelf)
    }

    /// How many in a queue have been in a press before.
    pub fn count_of_begun(&self, queue: Queue) -> usize {
        self.counts.begun(queue)
    }
}
