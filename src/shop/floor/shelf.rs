//! The shelf: stacks of treated garments, each with the day it is good for and its last day.
//!
//! Two lie treated side to treated side with a release paper between, folded once, left alone. Three weeks, at
//! the most a month: common practice, no source; the recipe's `keep` says.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::garment::{Garment, Place, Queue};
use crate::figures::units::Days;
use crate::shop::Shop;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{Event, Renewed, StackDisturbed, StackNamed, Stored};
use crate::shop::facts::ids::{OrderNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::clean;
use crate::shop::rules::command::{Refusal, Which};
use crate::shop::rules::decide::Facts;

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
    /// It lies treated side down, on the paper of the one below.
    pub down: bool,
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
    /// How the next garment comes onto the stack in use.
    pub next: OnStack,
    /// How many there are of each order and line, the most first.
    pub kinds: Vec<((OrderNo, usize), usize)>,
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
    fn above(self) -> Self {
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

/// How a garment is laid onto a stack: in pairs, treated side to treated side.
pub fn laying(down: bool) -> &'static str {
    if down { "paper, then treated side down" } else { "treated side up" }
}

impl Shop {
    /// What lies on the shelf, by the soonest last day, then by who was stored first.
    pub fn shelf(&self) -> Vec<&Garment> {
        self.floor().queue(Queue::Shelf).collect()
    }

    /// The place of a garment in its stack as it is now, counted from 1 at the bottom; None where it lies in none.
    pub fn place_in_stack(&self, tag: Tag) -> Option<u32> {
        let garment = self.garment(tag).filter(|garment| garment.place == Place::Shelf)?;
        let stack = &garment.shelved.as_deref()?.stack;
        let below = self.on_stack(stack).filter(|(other, _)| other.since_seq < garment.since_seq);
        Some(OnStack::on(u32::try_from(below.count()).unwrap_or(u32::MAX - 1), None).position)
    }

    /// What lies on a stack.
    fn on_stack(&self, stack: &str) -> impl Iterator<Item = (&Garment, &Shelved)> {
        let stored = self.floor().queue(Queue::Shelf);
        let stored = stored.filter_map(|garment| Some((garment, garment.shelved.as_deref()?)));
        stored.filter(move |(_, shelved)| *shelved.stack == *stack)
    }

    /// Some of what lies on the shelf, in that order, and what there is to say of all of it; `from` and `count` say
    /// which. Thousands may lie there: they are passed once.
    pub fn shelf_page(&self, now: Moment, from: usize, count: usize) -> ShelfPage<'_> {
        let today = self.today(now);
        let soon = today.plus(SOON);
        let mut page = ShelfPage::default();
        let mut stored = Vec::with_capacity(self.floor().count(Queue::Shelf));
        let mut kinds: BTreeMap<(OrderNo, usize), usize> = BTreeMap::new();
        let (mut below, mut top) = (0, None);
        for garment in self.floor().all().filter(|garment| garment.place == Place::Shelf) {
            *kinds.entry((garment.order(), garment.line)).or_default() += 1;
            let Some(shelved) = garment.shelved.as_deref() else { continue };
            stored.push((shelved.last_day, garment.since_seq, garment, shelved));
            page.count(shelved, (today, soon));
            if *shelved.stack == *self.stack() {
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

    /// The stack that garments are stored on now.
    pub fn stack(&self) -> &str {
        if self.desk().stack.is_empty() { FIRST_STACK } else { &self.desk().stack }
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

    /// How a garment lies to its days; None for one that was never stored.
    pub fn shelf_state(&self, garment: &Garment, now: Moment) -> Option<ShelfState> {
        Some(garment.shelved.as_deref()?.state(self.today(now)))
    }

    /// Whether a garment that is taken from the shelf is past its last day.
    pub(in crate::shop) fn is_past_its_day(&self, garment: &Garment, now: Moment) -> bool {
        self.shelf_state(garment, now) == Some(ShelfState::Past)
    }

    pub(in crate::shop) fn is_disturbed(&self, garment: &Garment) -> bool {
        garment.shelved.as_deref().is_some_and(|shelved| shelved.disturbed)
    }

    /// Whether an older one of its kind (recipe, size mark and order) still lies on the shelf.
    pub(in crate::shop) fn is_out_of_turn(&self, garment: &Garment) -> bool {
        let kind = (garment.order(), garment.line);
        garment.place == Place::Shelf
            && self
                .floor()
                .queue(Queue::Shelf)
                .take_while(|other| other.tag != garment.tag)
                .any(|other| (other.order(), other.line) == kind)
    }

    pub(in crate::shop) fn store(&self, which: Which, now: Moment) -> Result<Facts, Refusal> {
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
        let places = std::iter::successors(Some(self.next_on(self.stack())), |on| Some(on.above()));
        let stored = places.zip(garments).map(|(on, garment)| self.stored(garment, on, now).into());
        Ok(stored.collect())
    }

    /// The days of a garment that was stored before go on from the first time: its coat is no younger.
    fn stored(&self, garment: &Garment, on: OnStack, now: Moment) -> Stored {
        let today = self.today(now);
        let keep = self.recipe_of(garment).map(|(_, recipe)| recipe.keep);
        let before = garment.shelved.as_deref();
        let day = before.map_or(today, |before| before.day);
        Stored {
            garment: garment.tag,
            stack: self.stack().to_owned(),
            position: on.position,
            down: Some(on.down),
            day: Some(day),
            good_until: keep.map(|keep| day.plus(keep.good_for)),
            last_day: keep.map(|keep| day.plus(keep.at_most)),
            unsure: before.is_some_and(|before| before.unsure) || self.clock_is_wrong(now),
        }
    }

    pub(in crate::shop) fn name_stack(&self, stack: &str) -> Result<Facts, Refusal> {
        let stack = clean(stack.trim(), STACK_LETTERS);
        if stack.is_empty() {
            return Err(Refusal::NoStack);
        }
        Ok(vec![StackNamed { stack }.into()])
    }

    pub(in crate::shop) fn disturb(&self, stack: &str) -> Result<Facts, Refusal> {
        if self.on_stack(stack).next().is_none() {
            return Err(Refusal::NothingOnStack(clean(stack, STACK_LETTERS)));
        }
        Ok(vec![StackDisturbed { stack: stack.to_owned() }.into()])
    }

    /// A coat that has lain too long is laid anew: the garment goes through it all again.
    pub(in crate::shop) fn renew(&self, tag: Tag) -> Result<Facts, Refusal> {
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

    pub(in crate::shop) fn put_on_shelf(&mut self, event: &Event, fact: &Stored) {
        // Journals from before there were stacks hold no days: the event's own day stands for them.
        let day = fact.day.unwrap_or_else(|| self.today(event.moment));
        let keep = self.garment(fact.garment).and_then(|garment| self.recipe_of(garment));
        let keep = keep.map(|(_, recipe)| recipe.keep);
        let (good, last) =
            keep.map_or((day, day), |keep| (day.plus(keep.good_for), day.plus(keep.at_most)));
        let shelved = Shelved {
            stack: self.name_of(&fact.stack),
            down: fact.lies_down(),
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

    pub(in crate::shop) fn shift_stack(&mut self, fact: &StackDisturbed) {
        let tags: Vec<Tag> = self.on_stack(&fact.stack).map(|(garment, _)| garment.tag).collect();
        for tag in tags {
            self.with_garment(tag, |garment| {
                if let Some(shelved) = garment.shelved.as_deref_mut() {
                    shelved.disturbed = true;
                }
            });
        }
    }

    pub(in crate::shop) fn begin_anew(&mut self, event: &Event, fact: &Renewed) {
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
