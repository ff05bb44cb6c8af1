//! The shelf: stacks of treated garments, each with the day it is good for and its last day.
//!
//! Two lie treated side to treated side with a release paper between, folded once, left alone. Three weeks, at
//! the most a month: common practice, no source; the recipe's `keep` says.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::Shop;
use super::command::{Refusal, Which};
use super::day::Day;
use super::decide::Facts;
use super::fact::{Event, Renewed, StackDisturbed, StackNamed, Stored};
use super::garment::{Garment, Place, Queue};
use super::ids::{OrderNo, Tag};
use super::moment::Moment;
use super::step::Step;
use super::words::clean;
use crate::figures::units::Days;

/// The stack that is stored on while nobody has named another.
pub const FIRST_STACK: &str = "1";
/// Garments that go within so many days are counted apart.
const SOON: Days = Days(7);
/// The most letters of a stack's name.
const STACK_LETTERS: usize = 12;

/// Where and until when a garment keeps.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shelved {
    pub stack: Arc<str>,
    /// Its place in the stack, counted from 1 at the bottom.
    pub position: u32,
    pub day: Day,
    pub good_until: Day,
    pub last_day: Day,
    /// The clock was wrong when it was stored: its days are not to be trusted.
    pub unsure: bool,
    /// Its stack has been shifted since.
    pub disturbed: bool,
}

/// How a stored garment lies to its days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShelfState {
    Past,
    UseFirst,
    Good,
}

impl Shelved {
    /// How it lies to its days today.
    pub fn state(&self, today: Day) -> ShelfState {
        match today {
            today if today > self.last_day => ShelfState::Past,
            today if today > self.good_until => ShelfState::UseFirst,
            _ => ShelfState::Good,
        }
    }
}

/// A part of the shelf, and its sums.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ShelfPage<'a> {
    /// How many lie there; of them past their last day, past their good days, and within a week of their last.
    pub stored: usize,
    pub past: usize,
    pub use_first: usize,
    pub soon: usize,
    /// The place on the stack in use that the next garment gets.
    pub next: u32,
    /// How many there are of each order and line, the most first.
    pub kinds: Vec<((OrderNo, usize), usize)>,
    /// Those that were asked for.
    pub garments: Vec<&'a Garment>,
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

impl Garment {
    /// Whose turn is first on the shelf: by the soonest last day, then by who was stored first.
    fn turn(&self) -> (Option<Day>, u64) {
        (self.shelved.as_deref().map(|shelved| shelved.last_day), self.since_seq)
    }
}

/// How the garment that comes next onto a stack is laid: in pairs, treated side to treated side.
pub fn laying(position: u32) -> &'static str {
    if position % 2 == 1 { "treated side up" } else { "paper, then treated side down" }
}

impl Shop {
    /// What lies on the shelf, by the soonest last day, then by who was stored first.
    pub fn shelf(&self) -> Vec<&Garment> {
        let mut stored: Vec<&Garment> = self.floor().queue(Queue::Shelf).collect();
        stored.sort_by_key(|garment| garment.turn());
        stored
    }

    /// Some of what lies on the shelf, in that order, and what there is to say of all of it; `from` and `count` say
    /// which. Thousands may lie there: they are passed once.
    pub fn shelf_page(&self, now: Moment, from: usize, count: usize) -> ShelfPage<'_> {
        let today = self.today(now);
        let soon = today.plus(SOON);
        let mut page = ShelfPage { next: 1, ..ShelfPage::default() };
        let mut stored = Vec::with_capacity(self.floor().count(Queue::Shelf));
        let mut kinds: BTreeMap<(OrderNo, usize), usize> = BTreeMap::new();
        for garment in self.floor().all().filter(|garment| garment.place == Place::Shelf) {
            stored.push((garment.turn(), garment));
            *kinds.entry((garment.order(), garment.line)).or_default() += 1;
            let Some(shelved) = garment.shelved.as_deref() else { continue };
            page.count(shelved, (today, soon));
            if *shelved.stack == *self.stack() {
                page.next = page.next.max(shelved.position + 1);
            }
        }
        page.stored = stored.len();
        page.kinds = kinds.into_iter().collect();
        page.kinds.sort_by_key(|(kind, count)| (std::cmp::Reverse(*count), *kind));
        let from = from.min(stored.len().saturating_sub(count));
        let end = stored.len().min(from + count);
        // Only those that are asked for need their order.
        if end < stored.len() {
            stored.select_nth_unstable_by_key(end, |(turn, _)| *turn);
            stored.truncate(end);
        }
        stored.sort_unstable_by_key(|(turn, _)| *turn);
        page.garments = stored.drain(from..).map(|(_, garment)| garment).collect();
        page
    }

    /// The stack that garments are stored on now.
    pub fn stack(&self) -> &str {
        if self.desk().stack.is_empty() { FIRST_STACK } else { &self.desk().stack }
    }

    /// The place on a stack that the next garment gets.
    pub fn next_on(&self, stack: &str) -> u32 {
        let there =
            self.floor().queue(Queue::Shelf).filter_map(|garment| garment.shelved.as_deref());
        there
            .filter(|shelved| &*shelved.stack == stack)
            .map(|shelved| shelved.position)
            .max()
            .unwrap_or(0)
            + 1
    }

    /// How a garment lies to its days; None for one that was never stored.
    pub fn shelf_state(&self, garment: &Garment, now: Moment) -> Option<ShelfState> {
        Some(garment.shelved.as_deref()?.state(self.today(now)))
    }

    /// Whether a garment that is taken from the shelf is past its last day.
    pub(super) fn is_past_its_day(&self, garment: &Garment, now: Moment) -> bool {
        self.shelf_state(garment, now) == Some(ShelfState::Past)
    }

    pub(super) fn is_disturbed(&self, garment: &Garment) -> bool {
        garment.shelved.as_deref().is_some_and(|shelved| shelved.disturbed)
    }

    /// Whether an older one of its kind (recipe, size mark and order) still lies on the shelf.
    pub(super) fn is_out_of_turn(&self, garment: &Garment) -> bool {
        let kind = (garment.order(), garment.line);
        garment.place == Place::Shelf
            && self
                .floor()
                .queue(Queue::Shelf)
                .take_while(|other| other.since_seq < garment.since_seq)
                .any(|other| (other.order(), other.line) == kind)
    }

    pub(super) fn store(&self, which: Which, now: Moment) -> Result<Facts, Refusal> {
        let ready = |garment: &&Garment| garment.coated;
        let dry = self.floor().waiting(Step::Print).filter(ready);
        let garments: Vec<&Garment> = match which {
            Which::All => dry.collect(),
            Which::First(count) => {
                let garments: Vec<&Garment> = dry.take(count.into()).collect();
                if !garments.is_empty() && garments.len() < usize::from(count) {
                    let there = garments.len();
                    return Err(Refusal::FewerWait { step: Step::Print, there, asked: count });
                }
                garments
            }
            Which::Tagged(tag) => dry.filter(|dry| dry.tag == tag).collect(),
        };
        if garments.is_empty() {
            return Err(Refusal::NoneToStore);
        }
        let first = self.next_on(self.stack());
        Ok((first..)
            .zip(garments)
            .map(|(n, garment)| self.stored(garment, n, now).into())
            .collect())
    }

    /// The days of a garment that was stored before go on from the first time: its coat is no younger.
    fn stored(&self, garment: &Garment, position: u32, now: Moment) -> Stored {
        let today = self.today(now);
        let keep = self.recipe_of(garment).map(|(_, recipe)| recipe.keep);
        let before = garment.shelved.as_deref();
        let day = before.map_or(today, |before| before.day);
        Stored {
            garment: garment.tag,
            stack: self.stack().to_owned(),
            position,
            day: Some(day),
            good_until: keep.map(|keep| day.plus(keep.good_for)),
            last_day: keep.map(|keep| day.plus(keep.at_most)),
            unsure: before.is_some_and(|before| before.unsure) || self.clock_is_wrong(now),
        }
    }

    pub(super) fn name_stack(&self, stack: &str) -> Result<Facts, Refusal> {
        let stack = clean(stack.trim(), STACK_LETTERS);
        if stack.is_empty() {
            return Err(Refusal::NoStack);
        }
        Ok(vec![StackNamed { stack }.into()])
    }

    pub(super) fn disturb(&self, stack: &str) -> Result<Facts, Refusal> {
        let mut there =
            self.floor().queue(Queue::Shelf).filter_map(|garment| garment.shelved.as_deref());
        if !there.any(|shelved| &*shelved.stack == stack) {
            return Err(Refusal::NothingOnStack(clean(stack, STACK_LETTERS)));
        }
        Ok(vec![StackDisturbed { stack: stack.to_owned() }.into()])
    }

    /// A coat that has lain too long is laid anew: the garment goes through it all again.
    pub(super) fn renew(&self, tag: Tag) -> Result<Facts, Refusal> {
        let garment = self.garment(tag).ok_or(Refusal::NoSuchGarment(tag))?;
        match garment.place {
            Place::Shelf | Place::Waiting(Step::Print) if garment.coated => {
                Ok(vec![Renewed { garment: tag }.into()])
            }
            _ => Err(Refusal::NothingToRenew(tag)),
        }
    }

    /// The name of a stack, shared with the garment below where that lies on the same.
    fn name_of(&self, stack: &str) -> Arc<str> {
        let below = self.floor().queue(Queue::Shelf).next_back();
        let below = below.and_then(|garment| garment.shelved.as_deref());
        match below.filter(|shelved| *shelved.stack == *stack) {
            Some(shelved) => Arc::clone(&shelved.stack),
            None => stack.into(),
        }
    }

    pub(super) fn put_on_shelf(&mut self, event: &Event, fact: &Stored) {
        // Journals from before there were stacks hold no days: the event's own day stands for them.
        let day = fact.day.unwrap_or_else(|| self.today(event.moment));
        let keep = self.garment(fact.garment).and_then(|garment| self.recipe_of(garment));
        let keep = keep.map(|(_, recipe)| recipe.keep);
        let (good, last) =
            keep.map_or((day, day), |keep| (day.plus(keep.good_for), day.plus(keep.at_most)));
        let shelved = Shelved {
            stack: self.name_of(&fact.stack),
            position: fact.position,
            day,
            good_until: fact.good_until.unwrap_or(good),
            last_day: fact.last_day.unwrap_or(last),
            unsure: fact.unsure,
            disturbed: false,
        };
        self.with_garment(fact.garment, |garment| {
            garment.stored = true;
            garment.shelved = Some(Box::new(shelved));
            // Its sheet came off long ago: how it was dried is nobody's question any more.
            garment.dried = None;
            garment.go(event, Place::Shelf);
        });
    }

    pub(super) fn shift_stack(&mut self, fact: &StackDisturbed) {
        let on_it = |garment: &&Garment| {
            garment.shelved.as_deref().is_some_and(|shelved| *shelved.stack == *fact.stack)
        };
        let tags: Vec<Tag> =
            self.floor().queue(Queue::Shelf).filter(on_it).map(|garment| garment.tag).collect();
        for tag in tags {
            self.with_garment(tag, |garment| {
                if let Some(shelved) = garment.shelved.as_deref_mut() {
                    shelved.disturbed = true;
                }
            });
        }
    }

    pub(super) fn begin_anew(&mut self, event: &Event, fact: &Renewed) {
        self.with_garment(fact.garment, |garment| {
            garment.coated = false;
            garment.stored = false;
            garment.shelved = None;
            garment.weighed = None;
            garment.dried = None;
            garment.coat = None;
            garment.go(event, Place::Waiting(Step::PrePress));
        });
    }
}
