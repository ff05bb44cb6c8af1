//! What came out: garments that were finished, those that were lost, and which of them were right at once.
//!
//! First pass: a garment that came out first quality, and in whose life nothing was noted, nothing was done again and
//! nothing that was measured lay outside: no drying or cure opened before the recipe's shortest time or after its
//! longest, and no coat whose last weight before drying was outside the window. One that was lost counts among all.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::Book;
use super::entry::{Done, Entry, Opened};
use super::shared::Shared;
use crate::figures::coat::Verdict;
use crate::shop::facts::fact::Timing;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::Outcome;

/// How far back the board looks: longer than any shift.
const A_WEEK: Duration = Duration::from_secs(7 * 86_400);
/// The most entries of each kind that the board keeps, however fast they come.
const MOST_KEPT: usize = 20_000;

/// A garment was finished.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Finish {
    seq: u64,
    moment: Moment,
    garment: Tag,
    /// False once it holds no longer: it is cured again, or is a reject after all.
    stands: bool,
}

/// A garment left as no first quality.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Loss {
    seq: u64,
    moment: Moment,
    garment: Tag,
    reject: bool,
}

/// Why a garment is not right at once.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
struct Fault {
    /// For good.
    stays: bool,
    /// The coat as it was weighed last: it may still be mended.
    coat: bool,
    /// The coat was mended.
    mended: bool,
}

/// Which part of what came out is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scope {
    /// From this event on.
    From(u64),
    /// From this moment of the wall clock on.
    Since(Wall),
    /// No longer ago than this before that moment.
    Within(Moment, Duration),
}

impl Scope {
    /// Whether an event belongs to it.
    pub fn holds(self, seq: u64, moment: Moment) -> bool {
        match self {
            Scope::From(first) => seq >= first,
            Scope::Since(at) => moment.at >= at,
            Scope::Within(now, span) => now.since(moment).span <= span,
        }
    }
}

/// Finished and lost garments.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finished {
    /// How long entries are kept; None: for ever.
    keeps: Option<Duration>,
    finished: Shared<Finish>,
    lost: Shared<Loss>,
    faults: BTreeMap<Tag, Fault>,
}

/// As a board keeps it: the last week.
impl Default for Finished {
    fn default() -> Self {
        Self { keeps: Some(A_WEEK), ..Self::of_all_time() }
    }
}

impl Book for Finished {
    fn take(&mut self, entry: &Entry) {
        self.forget(entry.moment);
        let Some(garment) = entry.garment else { return };
        let (seq, moment) = (entry.seq, entry.moment);
        match &entry.done {
            Done::Opened(opened) => {
                self.judge(garment, opened);
                if opened.finished {
                    self.finished.push_back(Finish { seq, moment, garment, stands: true });
                }
            }
            Done::CoatWeighed(fact) if fact.verdict != Verdict::Inside => {
                self.faults.entry(garment).or_default().coat = true;
            }
            Done::CoatWeighed(_) => {
                if let Some(fault) = self.faults.get_mut(&garment) {
                    fault.coat = false;
                }
            }
            Done::CoatMended => self.faults.entry(garment).or_default().mended = true,
            Done::Renewed => self.fault(garment),
            Done::Trouble { outcome, .. } => {
                self.fault(garment);
                let reject = *outcome == Outcome::Out;
                if reject || *outcome == Outcome::SecondQuality {
                    self.lost.push_back(Loss { seq, moment, garment, reject });
                }
                if reject || *outcome == Outcome::StepAgain {
                    let its = |finish: &Finish| finish.garment == garment;
                    self.finished.change(its, |finish| finish.stands = false);
                }
            }
            Done::Order(_)
            | Done::Shut { .. }
            | Done::Handwork { .. }
            | Done::Printed { .. }
            | Done::Stored
            | Done::Weighed
            | Done::Sheet { .. }
            | Done::Filled { .. }
            | Done::Flushed
            | Done::OutOfUse { .. }
            | Done::InUse(_)
            | Done::SignedIn { .. }
            | Done::SignedOut(_)
            | Done::ShiftClosed
            | Done::Fan(_)
            | Done::Tap
            | Done::Other => {}
        }
    }
}

impl Finished {
    /// For a report: keeps all.
    pub fn of_all_time() -> Self {
        Self {
            keeps: None,
            finished: Shared::default(),
            lost: Shared::default(),
            faults: BTreeMap::new(),
        }
    }

    /// The same from here on, where a day was kept.
    #[must_use]
    pub fn kept_for_ever(self) -> Self {
        Self { keeps: None, ..self }
    }

    fn fault(&mut self, garment: Tag) {
        self.faults.entry(garment).or_default().stays = true;
    }

    fn judge(&mut self, garment: Tag, opened: &Opened) {
        let opening = &opened.opening;
        let judged = matches!(opening.step, Step::Dry | Step::Cure);
        // Once it is dry no coat is mended.
        let coat =
            opening.step == Step::Dry && self.faults.get(&garment).is_some_and(|fault| fault.coat);
        if coat || judged && matches!(opening.timing, Timing::Early | Timing::Late) {
            self.fault(garment);
        }
    }

    fn forget(&mut self, now: Moment) {
        let Some(keeps) = self.keeps else { return };
        let old = |moment: Moment| now.since(moment).span > keeps;
        while self.finished.len() > MOST_KEPT
            || self.finished.front().is_some_and(|f| old(f.moment))
        {
            let Some(finish) = self.finished.pop_front() else { break };
            if finish.stands {
                self.faults.remove(&finish.garment);
            }
        }
        while self.lost.len() > MOST_KEPT || self.lost.front().is_some_and(|loss| old(loss.moment))
        {
            let Some(loss) = self.lost.pop_front() else { break };
            if loss.reject {
                self.faults.remove(&loss.garment);
            }
        }
    }

    /// When garments were finished that still are, oldest first; of each garment the last.
    pub fn all(&self, scope: Scope) -> Vec<(Tag, Moment)> {
        let mut seen = BTreeSet::new();
        let newest = self.standing(scope).rev().filter(|finish| seen.insert(finish.garment));
        let mut all: Vec<(Tag, Moment)> =
            newest.map(|finish| (finish.garment, finish.moment)).collect();
        all.reverse();
        all
    }

    /// How many were finished in a span that ended so long before `now`.
    pub fn count(&self, now: Moment, span: Duration, before: Duration) -> usize {
        let ago = |finish: &&Finish| now.since(finish.moment).span;
        let all = self.finished.iter().filter(|finish| finish.stands);
        all.filter(|finish| ago(finish) >= before && ago(finish) < before + span).count()
    }

    /// Whether anything was finished that still is.
    pub fn has_any(&self) -> bool {
        self.finished.iter().any(|finish| finish.stands)
    }

    /// How many rejects there were.
    pub fn rejects(&self, scope: Scope) -> usize {
        let rejects = self.lost.iter().filter(|loss| loss.reject);
        rejects.filter(|loss| scope.holds(loss.seq, loss.moment)).count()
    }

    /// Garments that came out right at once, of those that came out or were lost.
    pub fn first_pass(&self, scope: Scope) -> (usize, usize) {
        let finished: BTreeSet<Tag> = self.standing(scope).map(|finish| finish.garment).collect();
        let lost = self.lost.iter().filter(|loss| scope.holds(loss.seq, loss.moment));
        let lost: BTreeSet<Tag> = lost.map(|loss| loss.garment).collect();
        let right = |tag: &&Tag| self.faults.get(tag).is_none_or(|fault| !fault.stays);
        (finished.iter().filter(right).count(), finished.union(&lost).count())
    }

    /// Whether nothing was wrong with a garment that came out.
    pub fn was_right(&self, garment: Tag) -> bool {
        self.faults.get(&garment).is_none_or(|fault| !fault.stays)
    }

    /// Those of them whose coat was mended before it was dried.
    pub fn mended(&self, scope: Scope) -> usize {
        let finished: BTreeSet<Tag> = self.standing(scope).map(|finish| finish.garment).collect();
        let mended = |tag: &&Tag| self.faults.get(tag).is_some_and(|one| one.mended && !one.stays);
        finished.iter().filter(mended).count()
    }

    fn standing(&self, scope: Scope) -> impl DoubleEndedIterator<Item = &Finish> {
        let holds = move |finish: &&Finish| scope.holds(finish.seq, finish.moment);
        self.finished.iter().filter(|finish| finish.stands).filter(holds)
    }
}
