//! What the presses did over a time, as the elements of the standard figures.
//!
//! The work unit is all presses together, an item is one press of a garment. Value is added from the shutting to
//! the recipe's target, no longer; a press that stays shut is busy, not productive. An item is good unless it was
//! opened early or its garment had a trouble noted at that step that it was not simply let go on with.

use std::collections::{BTreeMap, BTreeSet};

use super::Shop;
use super::came_out::CameOut;
use super::fact::{Event, Fact, Timing};
use super::ids::{ActNo, PressNo, Tag};
use super::moment::Moment;
use super::opening::Opening;
use super::press::OutOfUse;
use super::step::Step;
use super::trouble::Outcome;
use crate::figures::kpi::Elements;

/// A trouble that was noted.
#[derive(Debug, Clone, Copy)]
struct Trouble {
    act: ActNo,
    garment: Tag,
    step: Option<Step>,
    outcome: Outcome,
}

/// A press went out of use as planned, to heat up or to be cleaned, or came back.
#[derive(Debug, Clone, Copy)]
struct Change {
    act: ActNo,
    press: PressNo,
    at: i64,
    out: bool,
}

/// Gathers events as they are applied; which time it tells of is the caller's to choose.
#[derive(Debug, Default)]
pub struct Production {
    openings: Vec<Opening>,
    /// What was said later of an opening's time: the act, and which of them.
    corrected: Vec<(ActNo, usize)>,
    troubles: Vec<Trouble>,
    changes: Vec<Change>,
    pub came_out: CameOut,
    undone: BTreeSet<ActNo>,
    first: Option<i64>,
}

impl Production {
    /// Takes an event that the shop has applied already.
    pub fn take(&mut self, event: &Event, shop: &Shop) {
        // Whether a press was timed or not: what it finished is finished.
        self.came_out.take(event, shop);
        let (act, at) = (event.act, event.moment.at);
        match &event.fact {
            Fact::PressShut(_) => drop(self.first.get_or_insert(at)),
            Fact::PressOpened(fact) => self.openings.push(Opening::of(event, fact, shop)),
            Fact::TimeCorrected(fact) => {
                let its = |one: &Opening| (one.act, one.garment) == (fact.corrects, fact.garment);
                if let Some(place) = self.openings.iter().rposition(its) {
                    self.openings[place].correct(event, fact, shop);
                    self.corrected.push((act, place));
                }
            }
            Fact::TroubleNoted(fact) => {
                let (garment, step, outcome) = (fact.garment, fact.step, fact.outcome);
                self.troubles.push(Trouble { act, garment, step, outcome });
            }
            Fact::PressOutOfUse(fact) if fact.reason != OutOfUse::Broken => {
                self.changes.push(Change { act, press: fact.press, at, out: true });
            }
            Fact::PressInUse(fact) => {
                self.changes.push(Change { act, press: fact.press, at, out: false });
            }
            Fact::Undone(fact) => {
                self.undone.insert(fact.undoes);
                while let Some((act, place)) = self.corrected.pop_if(|(act, _)| *act == fact.undoes)
                {
                    self.openings[place].take_back(act);
                }
            }
            _ => {}
        }
    }

    fn counts(&self, act: ActNo) -> bool {
        !self.undone.contains(&act)
    }

    /// Every opening that was not taken back, its time as it was corrected.
    pub fn openings(&self) -> impl Iterator<Item = &Opening> {
        self.openings.iter().filter(|opening| self.counts(opening.act))
    }

    fn troubles(&self) -> impl Iterator<Item = &Trouble> {
        self.troubles.iter().filter(|trouble| self.counts(trouble.act))
    }

    /// How many troubles came to this.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.troubles().filter(|trouble| trouble.outcome == outcome).count()
    }

    /// Microseconds for which presses were out of use as planned, up to `now`.
    fn planned_down(&self, now: Moment) -> i64 {
        let mut out: BTreeMap<PressNo, i64> = BTreeMap::new();
        let mut down = 0;
        for change in self.changes.iter().filter(|change| self.counts(change.act)) {
            match change.out {
                true => drop(out.entry(change.press).or_insert(change.at)),
                false => down += out.remove(&change.press).map_or(0, |since| change.at - since),
            }
        }
        down + out.values().map(|since| now.at - since).sum::<i64>()
    }

    /// The elements up to `now`.
    #[expect(clippy::cast_precision_loss, reason = "counts of garments, microseconds of a shift")]
    pub fn elements(&self, shop: &Shop, now: Moment) -> Elements {
        const SECOND_US: f64 = 1e6;
        // The standard figures are of what was timed: seconds shut, and the target.
        let timed = |opening: &Opening| opening.seconds().zip(opening.target);
        let items: Vec<(&Opening, f64, f64)> = self
            .openings()
            .filter_map(|opening| timed(opening).map(|(shut, target)| (opening, shut, target)))
            .collect();
        let mut spoiling: BTreeMap<(Tag, Option<Step>), ActNo> = BTreeMap::new();
        for trouble in self.troubles() {
            if !matches!(trouble.outcome, Outcome::GoOn | Outcome::NotNoted) {
                spoiling.insert((trouble.garment, trouble.step), trouble.act);
            }
        }
        let spoiled = |opening: &Opening| {
            let newest = spoiling.get(&(opening.garment, Some(opening.step)));
            opening.timing() == Timing::Early || newest.is_some_and(|act| *act >= opening.act)
        };
        let pq = items.len() as f64;
        // Not bare sums: those of nothing are -0.
        let sum = |of: fn(f64, f64) -> f64| {
            items.iter().fold(0.0, |sum, (_, shut, target)| sum + of(*shut, *target))
        };
        let first = self.first.unwrap_or(now.at);
        let since = (now.at - first).max(0) as f64 / SECOND_US;
        let down = self.planned_down(now) as f64 / SECOND_US;
        let (good, inspected) = self.came_out.first_pass(shop, i64::MIN);
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
