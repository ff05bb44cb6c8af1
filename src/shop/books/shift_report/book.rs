//! Gathers a shift, event by event, as they are applied.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use jiff::SignedDuration;

use super::crew::Crew;
use super::{At, Note};
use crate::shop::books::Book;
use crate::shop::books::entry::{Done, Entry, SheetWork};
use crate::shop::books::finished::{Finished, Scope};
use crate::shop::books::losses::Losses;
use crate::shop::books::press_spans::PressSpans;
use crate::shop::books::production::Production;
use crate::shop::books::shifts::Shift;
use crate::shop::books::used::Used;
use crate::shop::facts::fact::CoatWeighed;
use crate::shop::facts::ids::{OrderId, PressNo, RecipeHash, Tag};
use crate::shop::facts::mixture::Mixture;
use crate::shop::facts::moment::Moment;

/// A clock and a boot clock that differ by more have been set.
const SET: SignedDuration = SignedDuration::from_secs(120);

/// Something that counts.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    Sheet {
        work: SheetWork,
        late: bool,
    },
    PressPastWipe,
    /// As weighed last before it was dried, and whether it was mended.
    WeighIn(CoatWeighed, bool),
    Filled(Moment, String, f64, Option<Mixture>),
    Flushed,
    Sprayed(Vec<String>),
    Stored,
    Taken {
        past_day: bool,
    },
    Implied,
}

/// What is known of a shift so far. It is shown the whole history, since garments and the shelf come from before.
#[derive(Debug, Clone, PartialEq)]
pub struct ShiftBook {
    scope: Scope,
    pub(super) losses: Losses,
    pub(super) spans: PressSpans,
    pub(super) production: Production,
    pub(super) items: Vec<Item>,
    /// Since when the fan was said not to run, and until when.
    pub(super) fan_off: Vec<(Moment, Option<Moment>)>,
    /// Which of them are the weights of garments that are still wet: those may be weighed again.
    wet: BTreeMap<Tag, usize>,
    pub(super) orders: BTreeSet<OrderId>,
    pub(super) crew: Crew,
    /// What was used, for which order, and how many prints of which recipe.
    pub(super) used: Used,
    pub(super) used_for: BTreeMap<OrderId, Used>,
    pub(super) prints: BTreeMap<Option<RecipeHash>, u32>,
    /// The shifts that are over, where it is of several.
    pub(super) over: Vec<Over>,
    pub(super) clock: Vec<Note>,
    /// The moment of the entry before, where it belongs to the shift.
    newest: Option<Moment>,
}

/// What the presses did in a shift that is over.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Over {
    pub span: Duration,
    /// By press: how long it did each thing, in the order of `Doing::ALL`, and how often it was opened.
    pub presses: BTreeMap<PressNo, ([Duration; 6], usize)>,
}

impl Book for ShiftBook {
    fn take(&mut self, entry: &Entry) {
        let inside = self.scope.holds(entry.seq, entry.moment);
        let before = self.production.shifts().last();
        self.production.take(entry);
        if let Some(over) = before.filter(|over| {
            self.production.shifts().last().is_some_and(|now| now.first != over.first)
        }) {
            // Before the spans forget it.
            self.end_shift(over);
        }
        self.losses.take(entry);
        self.spans.take(entry);
        self.crew.take(entry, inside);
        if let Done::Fan(Some(running)) = entry.done {
            self.follow_fan(running, entry.moment);
        }
        if inside {
            self.count_used(entry);
            self.follow_clock(entry.moment);
            self.orders.extend(entry.garment.map(|tag| tag.order_id()));
            self.items.extend(entry.from_shelf.map(|past_day| Item::Taken { past_day }));
            self.note(entry);
        }
        self.newest = inside.then_some(entry.moment);
    }
}

impl ShiftBook {
    /// Of what belongs to this scope.
    pub fn of(scope: Scope) -> Self {
        Self {
            scope,
            losses: Losses::of_all_time(),
            spans: PressSpans::default(),
            production: Production::within(scope, Finished::of_all_time()),
            items: Vec::new(),
            fan_off: Vec::new(),
            wet: BTreeMap::new(),
            orders: BTreeSet::new(),
            crew: Crew::default(),
            used: Used::default(),
            used_for: BTreeMap::new(),
            prints: BTreeMap::new(),
            over: Vec::new(),
            clock: Vec::new(),
            newest: None,
        }
    }

    /// A shift is over, and another begins with the entry that comes now.
    fn end_shift(&mut self, shift: Shift) {
        let span = shift.to.since(shift.from).span;
        let of = |press| {
            let totals = self.spans.totals(press, shift.to, span);
            (press, (totals, self.spans.cycles(press, shift.to, span)))
        };
        let presses = self.spans.presses().map(of).collect();
        self.crew.pause(shift.to);
        self.over.push(Over { span, presses });
    }

    fn count_used(&mut self, entry: &Entry) {
        let used = Used::by(&entry.done);
        self.used += used;
        if let Some(garment) = entry.garment {
            *self.used_for.entry(garment.order_id()).or_default() += used;
        }
        if let Done::Printed { recipe, .. } = &entry.done {
            *self.prints.entry(*recipe).or_default() += 1;
        }
    }

    /// A "no" stands until somebody says that it runs.
    fn follow_fan(&mut self, running: bool, now: Moment) {
        match (running, self.fan_off.last_mut()) {
            (true, Some((_, until @ None))) => *until = Some(now),
            (true, _) | (false, Some((_, None))) => {}
            (false, _) => self.fan_off.push((now, None)),
        }
    }

    fn follow_clock(&mut self, now: Moment) {
        let wrong = now.is_before_any_clock();
        if wrong && !self.clock.iter().any(|note| matches!(note, Note::ClockWrong { .. })) {
            self.clock.push(Note::ClockWrong { at: At(now.at) });
        }
        let Some(before) = self.newest else { return };
        if before.boot != now.boot {
            self.clock.push(Note::Restarted { at: At(now.at) });
            return;
        }
        let set = (now.at - before.at).saturating_sub(now.up - before.up);
        if set.abs() > SET {
            let seconds = set.as_secs_f64();
            self.clock.push(Note::ClockSet { at: At(now.at), seconds });
        }
    }

    /// The last weight of a garment before it is dried counts.
    fn weigh(&mut self, fact: &CoatWeighed) {
        match self.wet.get(&fact.garment).and_then(|place| self.items.get_mut(*place)) {
            Some(Item::WeighIn(last, _)) => *last = fact.clone(),
            _ => {
                self.wet.insert(fact.garment, self.items.len());
                self.items.push(Item::WeighIn(fact.clone(), false));
            }
        }
    }

    fn mend(&mut self, garment: Tag) {
        let place = self.wet.get(&garment);
        if let Some(Item::WeighIn(_, mended)) = place.and_then(|n| self.items.get_mut(*n)) {
            *mended = true;
        }
    }

    fn note(&mut self, entry: &Entry) {
        match (&entry.done, entry.garment) {
            (Done::CoatWeighed(fact), _) => self.weigh(fact),
            (Done::CoatMended, Some(garment)) => self.mend(garment),
            (Done::Opened(opened), _) => drop(self.wet.remove(&opened.opening.garment)),
            _ => {}
        }
        let mut push = |item| self.items.push(item);
        match &entry.done {
            Done::Order(order) => drop(self.orders.insert(*order)),
            Done::Shut { past_wipe: true, .. } => push(Item::PressPastWipe),
            Done::Sheet { work, late, .. } => push(Item::Sheet { work: *work, late: *late }),
            Done::Filled { lot, grams, fluid } => {
                push(Item::Filled(entry.moment, lot.clone(), *grams, *fluid));
            }
            Done::Flushed => push(Item::Flushed),
            Done::Stored => push(Item::Stored),
            Done::Handwork { lots, implied, .. } => {
                push(Item::Sprayed(lots.clone()));
                if *implied {
                    push(Item::Implied);
                }
            }
            Done::Printed { implied: true, .. } => push(Item::Implied),
            _ => {}
        }
    }
}
