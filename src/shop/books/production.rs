//! What the presses did over a time, as the elements of the standard figures.
//!
//! The work unit is all presses together, an item is one press of a garment. It produces while it is shut, and is busy
//! while a garment is laid in or taken out too. What was planned for an item is its recipe's target, and no more than it
//! was shut: whoever opens early has beaten no plan, and whoever leaves it shut is slower than planned. Breaks and planned
//! outages are no planned time. An item is good unless it was opened early, or its garment had a trouble noted at that step,
//! or next at the printer, that it was not simply let go on with. Scrap is counted by garments.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use super::Book;
use super::entry::{Done, Entry};
use super::finished::{Finished, Scope};
use super::opening::Opening;
use super::shifts::Shifts;
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
struct NotedTrouble {
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
    /// What laying in and taking out took, as the station says.
    handling: Duration,
    troubles: Vec<NotedTrouble>,
    changes: Vec<Change>,
    finished: Finished,
    /// The shifts within the scope; none where it is a span of time.
    shifts: Shifts,
    /// When a press was first shut.
    first: Option<Wall>,
}

impl Book for Production {
    fn take(&mut self, entry: &Entry) {
        self.finished.take(entry);
        if !self.scope.holds(entry.seq, entry.moment) {
            return;
        }
        if matches!(self.scope, Scope::From(_)) {
            self.shifts.take(entry);
        }
        let (act, at) = (entry.act, entry.moment.at);
        match &entry.done {
            Done::Shut { .. } => drop(self.first.get_or_insert(at)),
            Done::Opened(opened) => {
                self.openings.push(opened.opening);
                self.handling += opened.load + opened.unload;
            }
            Done::Trouble { step, outcome, .. } => {
                self.troubles.extend(entry.garment.map(|garment| NotedTrouble {
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
            Done::Order(_)
            | Done::Handwork { .. }
            | Done::Printed { .. }
            | Done::Renewed
            | Done::Stored
            | Done::Weighed
            | Done::CoatWeighed(_)
            | Done::CoatMended
            | Done::Sheet { .. }
            | Done::Filled { .. }
            | Done::Flushed
            | Done::OutOfUse { .. }
            | Done::SignedIn { .. }
            | Done::SignedOut(_)
            | Done::ShiftClosed
            | Done::Fan(_)
            | Done::Tap
            | Done::Other => {}
        }
    }
}

impl Production {
    /// Within a scope; `before` is what came out before the first entry that it will take.
    pub fn within(scope: Scope, before: Finished) -> Self {
        Self {
            scope,
            openings: Vec::new(),
            handling: Duration::ZERO,
            troubles: Vec::new(),
            changes: Vec::new(),
            finished: before.kept_for_ever(),
            shifts: Shifts::default(),
            first: None,
        }
    }

    /// The shifts within the scope.
    pub fn shifts(&self) -> &Shifts {
        &self.shifts
    }

    /// When work went on from the first press on, up to `now`: what lies between two shifts is left out.
    fn stretches(&self, first: Wall, now: Wall) -> Vec<(Wall, Wall)> {
        let mut stretches: Vec<(Wall, Wall)> =
            self.shifts.all().map(|shift| (shift.from.at.max(first), shift.to.at)).collect();
        match stretches.last_mut() {
            Some(last) => last.1 = now,
            None => stretches.push((first, now)),
        }
        if let [only] = stretches.as_mut_slice() {
            only.0 = first;
        }
        stretches.retain(|(from, to)| from < to);
        stretches
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

    /// The time for which presses were out of use as planned while work went on, up to `now`.
    fn planned_down(&self, stretches: &[(Wall, Wall)], now: Moment) -> Duration {
        let within = |since: Wall, until: Wall| -> Duration {
            stretches.iter().map(|(from, to)| until.min(*to).since(since.max(*from))).sum()
        };
        let mut out: BTreeMap<PressNo, Wall> = BTreeMap::new();
        let mut down = Duration::ZERO;
        for change in &self.changes {
            match change.out {
                true => drop(out.entry(change.press).or_insert(change.at)),
                false => {
                    let since = out.remove(&change.press);
                    down += since.map_or(Duration::ZERO, |since| within(since, change.at));
                }
            }
        }
        down + out.values().map(|since| within(*since, now.at)).sum::<Duration>()
    }

    /// Garments that are out, each once.
    fn scrapped(&self) -> usize {
        let out = self.troubles.iter().filter(|trouble| trouble.outcome == Outcome::Out);
        out.map(|trouble| trouble.garment).collect::<BTreeSet<Tag>>().len()
    }

    /// The openings that a trouble tells of: the last one at its step; of one at the printer, the last one before it.
    fn spoiled(&self) -> BTreeSet<(ActNo, Tag)> {
        let mut by_garment: BTreeMap<Tag, Vec<&Opening>> = BTreeMap::new();
        for opening in &self.openings {
            by_garment.entry(opening.garment).or_default().push(opening);
        }
        let mut spoiled = BTreeSet::new();
        for trouble in &self.troubles {
            if matches!(trouble.outcome, Outcome::GoOn | Outcome::NotNoted) {
                continue;
            }
            let its = by_garment.get(&trouble.garment).into_iter().flatten();
            let mut before = its.filter(|opening| opening.act <= trouble.act);
            let last = match trouble.step {
                Some(Step::Print) => before.next_back(),
                step => before.rfind(|opening| Some(opening.step) == step),
            };
            spoiled.extend(last.map(|opening| (opening.act, trouble.garment)));
        }
        spoiled
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
        let spoiled = self.spoiled();
        let spoiled = |opening: &Opening| {
            opening.timing == Timing::Early || spoiled.contains(&(opening.act, opening.garment))
        };
        let pq = items.len() as f64;
        // Not bare sums: those of nothing are -0.
        let sum = |of: fn(f64, f64) -> f64| {
            items.iter().fold(0.0, |sum, (_, shut, target)| sum + of(*shut, *target))
        };
        let first = self.first.unwrap_or(now.at);
        let stretches = self.stretches(first, now.at);
        let since =
            stretches.iter().fold(0.0, |sum, (from, to)| sum + to.since(*from).as_secs_f64());
        let down = self.planned_down(&stretches, now).as_secs_f64();
        let rest = shop.rest_within(&stretches);
        let (good, inspected) = self.finished.first_pass(self.scope);
        let apt = sum(|shut, _| shut);
        Elements {
            apt,
            pbt: ((since - rest) * shop.press_numbers().len() as f64 - down).max(0.0),
            aubt: apt + self.handling.as_secs_f64(),
            aoet: since,
            pri: if pq > 0.0 { sum(f64::min) / pq } else { 0.0 },
            pq,
            gq: pq - items.iter().filter(|(opening, ..)| spoiled(opening)).count() as f64,
            sq: self.scrapped() as f64,
            rq: self.count(Outcome::StepAgain) as f64,
            gp: good as f64,
            ip: inspected as f64,
        }
    }
}
