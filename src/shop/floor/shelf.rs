//! The shelf: stacks of treated garments, each with the day it is good for and its last day.
//!
//! Two lie treated side to treated side with a release paper between, folded once, left alone. Three weeks, at
//! the most a month: common practice, no source; the recipe's `keep` says.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::garment::{Garment, Place, Queue};
use super::places::Floor;
use super::shelved::{ShelfState, Shelved};
use crate::figures::units::Days;
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::{Desk, Shop};

/// The stack that is stored on while nobody has named another.
pub const FIRST_STACK: &str = "1";
/// Garments that go within so many days are counted apart.
const SOON: Days = Days(7);

/// A part of the shelf, and its sums.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ShelfPage<'a> {
    /// How many lie there; of them past their last day, past their good days, and within a week of their last.
    pub stored: usize,
    pub past: usize,
    pub use_first: usize,
    pub soon: usize,
    /// How the next garment comes onto the stack in use.
    pub next: OnStack,
    /// How many there are of each order and line, the most first.
    pub kinds: Vec<((OrderId, usize), usize)>,
    /// Those that were asked for, each with its place in its stack.
    pub garments: Vec<(&'a Garment, u32)>,
}

/// How a garment comes onto a stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnStack {
    /// Counted from 1 at the bottom, as the stack is then.
    pub position: u32,
    pub down: bool,
}

/// Onto an empty stack.
impl Default for OnStack {
    fn default() -> Self {
        Self { position: 1, down: false }
    }
}

impl OnStack {
    /// How the one after it comes: in pairs, treated side to treated side.
    pub(in crate::shop) fn above(self) -> Self {
        Self { position: self.position + 1, down: !self.down }
    }

    /// Of one that lies on so many, the uppermost of them so.
    fn on(below: u32, top_down: Option<bool>) -> Self {
        Self { position: below + 1, down: top_down.is_some_and(|down| !down) }
    }
}

impl ShelfPage<'_> {
    fn count(&mut self, shelved: &Shelved, (today, soon): (Day, Day)) {
        match shelved.state(today) {
            ShelfState::Past => self.past += 1,
            ShelfState::UseFirst => self.use_first += 1,
            ShelfState::Good => {}
        }
        self.soon += usize::from((today..=soon).contains(&shelved.last_day));
    }
}

impl Floor {
    /// What lies on a stack.
    pub fn on_stack(&self, stack: &str) -> impl Iterator<Item = (&Garment, &Shelved)> {
        let stored = self.queue(Queue::Shelf);
        let stored = stored.filter_map(|garment| Some((garment, garment.shelved.as_deref()?)));
        stored.filter(move |(_, shelved)| *shelved.stack == *stack)
    }

    /// The place of a garment in its stack as it is now, counted from 1 at the bottom; None where it lies in none.
    pub fn place_in_stack(&self, tag: Tag) -> Option<u32> {
        let garment = self.get(tag).filter(|garment| garment.place == Place::Shelf)?;
        let stack = &garment.shelved.as_deref()?.stack;
        let below = self.on_stack(stack).filter(|(other, _)| other.since_seq < garment.since_seq);
        Some(OnStack::on(u32::try_from(below.count()).unwrap_or(u32::MAX - 1), None).position)
    }

    /// How the next garment comes onto a stack.
    pub fn next_on(&self, stack: &str) -> OnStack {
        let (mut below, mut top) = (0, None);
        for (garment, shelved) in self.on_stack(stack) {
            below += 1;
            top = top.max(Some((garment.since_seq, shelved.down)));
        }
        OnStack::on(below, top.map(|(_, down)| down))
    }

    /// Whether an older one of its kind (recipe, size mark and order) still lies on the shelf.
    pub(in crate::shop) fn is_out_of_turn(&self, garment: &Garment) -> bool {
        let kind = (garment.order(), garment.line);
        garment.place == Place::Shelf
            && self
                .queue(Queue::Shelf)
                .take_while(|other| other.tag != garment.tag)
                .any(|other| (other.order(), other.line) == kind)
    }
}

impl Desk {
    /// The stack that garments are stored on now.
    pub fn stack(&self) -> &str {
        if self.stack.is_empty() { FIRST_STACK } else { &self.stack }
    }
}

impl Garment {
    /// Whether its stack was shifted since it was stored.
    pub fn is_disturbed(&self) -> bool {
        self.shelved.as_deref().is_some_and(|shelved| shelved.disturbed)
    }
}

impl Shop {
    /// Some of what lies on the shelf, in that order, and what there is to say of all of it; `from` and `count` say
    /// which. Thousands may lie there: they are passed once.
    pub fn shelf_page(&self, now: Moment, from: usize, count: usize) -> ShelfPage<'_> {
        let today = self.today(now);
        let soon = today.plus(SOON);
        let mut page = ShelfPage::default();
        let mut stored = Vec::with_capacity(self.floor().count(Queue::Shelf));
        let mut kinds: BTreeMap<(OrderId, usize), usize> = BTreeMap::new();
        let (mut below, mut top) = (0, None);
        for garment in self.floor().on_shelf() {
            *kinds.entry((garment.order(), garment.line)).or_default() += 1;
            let Some(shelved) = garment.shelved.as_deref() else { continue };
            stored.push((shelved.last_day, garment.since_seq, garment, shelved));
            page.count(shelved, (today, soon));
            if *shelved.stack == *self.desk().stack() {
                below += 1;
                top = top.max(Some((garment.since_seq, shelved.down)));
            }
        }
        page.next = OnStack::on(below, top.map(|(_, down)| down));
        page.stored = stored.len();
        page.kinds = kinds.into_iter().collect();
        page.kinds.sort_by_key(|(kind, count)| (std::cmp::Reverse(*count), *kind));
        let from = from.min(stored.len().saturating_sub(count));
        let end = stored.len().min(from + count);
        let turn = |(day, seq, ..): &(Day, u64, &Garment, &Shelved)| (*day, *seq);
        // Only those that are asked for need their order.
        if end < stored.len() {
            stored.select_nth_unstable_by_key(end, turn);
        }
        stored[..end].sort_unstable_by_key(turn);
        let place = |(_, seq, garment, shelved): &(Day, u64, &'_ Garment, &Shelved)| {
            let below = stored.iter().filter(|(_, other, _, lies)| {
                other < seq
                    && (Arc::ptr_eq(&lies.stack, &shelved.stack) || lies.stack == shelved.stack)
            });
            (garment.tag, u32::try_from(below.count()).unwrap_or(0) + 1)
        };
        let places: Vec<(Tag, u32)> = stored[from..end].iter().map(place).collect();
        let known = |(tag, place)| Some((self.garment(tag)?, place));
        page.garments = places.into_iter().filter_map(known).collect();
        page
    }

    /// How a garment lies to its days; None for one that was never stored.
    pub fn shelf_state(&self, garment: &Garment, now: Moment) -> Option<ShelfState> {
        Some(garment.shelved.as_deref()?.state(self.today(now)))
    }

    /// Whether a garment that is taken from the shelf is past its last day.
    pub(in crate::shop) fn is_past_its_day(&self, garment: &Garment, now: Moment) -> bool {
        self.shelf_state(garment, now) == Some(ShelfState::Past)
    }
}
