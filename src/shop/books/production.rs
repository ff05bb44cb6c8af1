//! What the presses did over a time, as the elements of the standard figures.
//!
//! The work unit is all presses together, an item is one press of a garment. Value is added from the shutting to
//! the recipe's target, no longer; a press that stays shut is busy, not productive. An item is good unless it was
//! opened early or its garment had a trouble noted at that step that it was not simply let go on with.

use std::collections::BTreeMap;
use std::time::Duration;

use super::Book;
use super::entry::{Done, Entry};
use super::finished::{Finished, Scope};
use super::opening::Opening;
use crate::figures::kpi::Elements;
use crate::shop::Shop;
use crate::shop::facts::fact::Timing;
use crate::shop::facts::ids::{ActNo, PressNo, Tag};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::Outcome;

/// A trouble that was noted.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Trouble {
    act: ActNo,
    garment: Tag,
    step: Option<Step>,
    outcome: Outcome,
}

/// A press went out of use as planned, to heat up or to be cleaned, or came back.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Change {
    press: PressNo,
    at: Wall,
    out: bool,
}

/// What the presses did within a scope, and what came out there.
#[derive(Debug, Clone, PartialEq)]
pub struct Production {
    scope: Scope,
    openings: Vec<Opening>,
    troubles: Vec<Trouble>,
    changes: Vec<Change>,
    finished: Finished,
    /// When a press was first shut.
    first: Option<Wall>,
}

impl Book for Production {
    fn take(&mut self, entry: &Entry) {
        self.finished.take(entry);
        if !self.scope.holds(entry.seq, entry.moment) {
            return;
        }
        let (act, at) = (entry.act, entry.moment.at);
        match &entry.done {
            Done::Shut { .. } => drop(self.first.get_or_insert(at)),
            Done::Opened(opened) => self.openings.push(opened.opening),
            Done::Trouble { step, outcome, .. } => {
                self.troubles.extend(entry.garment.map(|garment| Trouble {
                    act,
                    garment,
                    step: *step,
                    outcome: *outcome,
                }))
            }
            Done::OutOfUse { press, reason } if *reason != OutOfUse::Broken => {
                self.changes.push(Change { press: *press, at, out: true });
            }
            Done::InUse(press) => self.changes.push(Change { press: *press, at, out: false }),
            _ => {}
        }
    }
}

impl Production {
    /// Within a scope; `before` is what came out before the first entry that it will take.
    pub fn within(scope: Scope, before: Finished) -> Self {
        Self {
            scope,
            openings: Vec::new(),
            troubles: Vec::new(),
            changes: Vec::new(),
            finished: before.kept_for_ever(),
            first: None,
        }
    }

    /// Every opening.
    pub fn openings(&self) -> impl Iterator<Item = &Opening> {
        self.openings.iter()
    }

    /// How many troubles came to this.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.troubles.iter().filter(|trouble| trouble.outcome == outcome).count()
    }

    /// When garments were finished that still are, oldest first.
    pub fn finished(&self) -> Vec<(Tag, Moment)> {
        self.finished.all(self.scope)
    }

    /// The time for which presses were out of use as planned, up to `now`.
    fn planned_down(&self, now: Moment) -> Duration {
        let mut out: BTreeMap<PressNo, Wall> = BTreeMap::new();
        let mut down = Duration::ZERO;
        for change in &self.changes {
            match change.out {
                true => drop(out.entry(change.press).or_insert(change.at)),
                false => {
                    let since = out.remove(&change.press);
                    down += since.map_or(Duration::ZERO, |since| change.at.since(since));
                }
            }
        }
        down + out.values().map(|since| now.at.since(*since)).sum::<Duration>()
    }

    /// The elements up to `now`.
    #[expect(clippy::cast_precision_loss, reason = "counts of garments")]
    pub fn elements(&self, shop: &Shop, now: Moment) -> Elements {
        // The standard figures are of what was timed: seconds shut, and the target.
        let timed = |opening: &Opening| opening.seconds.zip(opening.target);
        let items: Vec<(&Opening, f64, f64)> = self
            .openings()
            .filter_map(|opening| timed(opening).map(|(shut, target)| (opening, shut, target)))
            .collect();
        let mut spoiling: BTreeMap<(Tag, Option<Step>), ActNo> = BTreeMap::new();
        for trouble in &self.troubles {
            if !matches!(trouble.outcome, Outcome::GoOn | Outcome::NotNoted) {
                spoiling.insert((trouble.garment, trouble.step), trouble.act);
            }
        }
        let spoiled = |opening: &Opening| {
            let newest = spoiling.get(&(opening.garment, Some(opening.step)));
            opening.timing == Timing::Early || newest.is_some_and(|act| *act >= opening.act)
        };
        let pq = items.len() as f64;
        // Not bare sums: those of nothing are -0.
        let sum = |of: fn(f64, f64) -> f64| {
            items.iter().fold(0.0, |sum, (_, shut, target)| sum + of(*shut, *target))
        };
        let first = self.first.unwrap_or(now.at);
        let since = now.at.since(first).as_secs_f64();
        let down = self.planned_down(now).as_secs_f64();
        let (good, inspected) = self.finished.first_pass(self.scope);
        Elements {
            apt: sum(f64::min),
            pbt: (since * shop.press_numbers().len() as f64 - down).max(0.0),
            aubt: sum(|shut, _| shut),
            aoet: since,
            pri: if pq > 0.0 { sum(|_, target| target) / pq } else { 0.0 },
            pq,
            gq: pq - items.iter().filter(|(opening, ..)| spoiled(opening)).count() as f64,
            sq: self.count(Outcome::Out) as f64,
            rq: self.count(Outcome::StepAgain) as f64,
            gp: good as f64,
            ip: inspected as f64,
        }
    }
}
