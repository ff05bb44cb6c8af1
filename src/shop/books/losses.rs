//! What was lost and to what: garments, and the minutes of presses and hands that were given in vain.
//!
//! Counted so: for a garment that is out, or second quality, all press and hand time that it had been given until
//! then; for a step that is done again, the time of the first attempt; for a garment treated again, its pre-press,
//! spray and drying since the last cure; for one dried again, the drying before; for one shut past its longest time, the press time past the target. Press
//! time is what was recorded; hand time is what `hands` in the station's profile says, not measured. The printer's
//! own minutes are left out. No second is counted twice.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::Book;
use super::entry::{Done, Entry};
use super::opening::Opening;
use super::shared::Shared;
use super::used::Used;
use crate::figures::coat::Verdict;
use crate::shop::facts::fact::Timing;
use crate::shop::facts::ids::{ActNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::{Outcome, Trouble};

/// How far back the board looks.
const A_DAY: Duration = Duration::from_secs(86_400);
/// The most entries of each kind that the board keeps, however fast they come.
const MOST_KEPT: usize = 20_000;

/// What it was lost to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Cause {
    Trouble(Trouble),
    /// Opened before the recipe's shortest time. It costs minutes only where a trouble is noted for it.
    OpenedEarly,
    /// Shut past the recipe's longest time.
    ShutTooLong,
    /// A coat was laid anew.
    TreatedAgain,
    /// Dried once more, since it was dried for too short a time.
    DriedAgain,
    /// Its coat was outside the window as it was dried: that costs minutes only where a trouble is noted for it.
    CoatOutside,
}

impl Cause {
    /// Whether a blank is spoiled where the garment goes out with it.
    fn spoils(self) -> bool {
        self != Cause::Trouble(Trouble::Cancelled)
    }

    /// What to do about it. Common practice, no source.
    pub fn remedy(self) -> &'static str {
        match self {
            Cause::Trouble(trouble) => trouble.row().remedy,
            Cause::OpenedEarly => {
                "wait for the end of the time; probe the platen if the recipe's seems too long"
            }
            Cause::ShutTooLong => {
                "open at the sound; set the sounder louder, or work one press fewer"
            }
            Cause::TreatedAgain => "print sooner after the drying, first in, first out",
            Cause::DriedAgain => "leave it shut until the recipe's time; weigh the next one",
            Cause::CoatOutside => {
                "weigh three in a row, and change one thing: trigger, distance or pace"
            }
        }
    }

    /// The name as people read it.
    pub fn words(self) -> &'static str {
        match self {
            Cause::Trouble(trouble) => trouble.words(),
            Cause::OpenedEarly => "opened early",
            Cause::ShutTooLong => "shut too long",
            Cause::TreatedAgain => "treated again",
            Cause::DriedAgain => "dried again",
            Cause::CoatOutside => "coat outside",
        }
    }
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

/// All that was lost to one cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    pub cause: Cause,
    /// Garments that it happened to, each once.
    pub garments: usize,
    /// How often what became of it was: the step again, second quality, out.
    pub again: usize,
    pub second: usize,
    pub out: usize,
    /// Seconds of presses, and of hands.
    pub press_s: f64,
    pub hand_s: f64,
    /// The same with the material, and the blanks that went with rejects.
    pub used: Used,
}

impl Loss {
    /// Minutes of presses and hands together.
    pub fn minutes(&self) -> f64 {
        (self.press_s + self.hand_s) / 60.0
    }
}

/// Time that a garment was given at a step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Given {
    act: ActNo,
    moment: Moment,
    garment: Tag,
    step: Step,
    used: Used,
    /// The press, where it was one.
    opening: Option<Opening>,
    /// The act that showed it to have been in vain.
    in_vain: Option<(ActNo, Moment)>,
    /// The number of what the garment was given before.
    before: Option<u64>,
}

impl Given {
    /// What it used that was of use while the garment was.
    fn of_use(&self) -> Used {
        Used { press_s: self.press_s(), ..self.used }
    }

    /// Press time that was of use while the garment was. What lies past the target of one that was shut too long is
    /// lost already: it is not lost once more with the garment.
    fn press_s(&self) -> f64 {
        let Some(opening) = self.opening else { return 0.0 };
        let target = opening.target.unwrap_or(0.0);
        let shut = opening.seconds.unwrap_or(target);
        if opening.timing == Timing::Late { shut.min(target) } else { shut }
    }
}

/// One time that something was lost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Lost {
    act: ActNo,
    moment: Moment,
    garment: Tag,
    cause: Cause,
    outcome: Option<Outcome>,
}

/// One time that something was lost, and what had been given in vain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Once {
    pub act: ActNo,
    pub moment: Moment,
    pub garment: Tag,
    pub cause: Cause,
    pub outcome: Option<Outcome>,
    pub used: Used,
}

/// Losses, and what garments were given that may yet be lost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Losses {
    /// How long entries are kept; None: for ever.
    keeps: Option<Duration>,
    given: Shared<Given>,
    /// The number of the oldest of them.
    first: u64,
    /// The number of what each garment was given last.
    last: BTreeMap<Tag, u64>,
    lost: Shared<Lost>,
    /// Wet garments whose last weight is outside the window.
    outside: BTreeSet<Tag>,
}

/// As a board keeps it: the last 24 hours.
impl Default for Losses {
    fn default() -> Self {
        Self { keeps: Some(A_DAY), ..Self::of_all_time() }
    }
}

impl Book for Losses {
    fn take(&mut self, entry: &Entry) {
        self.forget(entry.moment);
        let Some(garment) = entry.garment else { return };
        match &entry.done {
            Done::CoatWeighed(fact) if fact.verdict != Verdict::Inside => {
                self.outside.insert(garment);
            }
            Done::CoatWeighed(_) => drop(self.outside.remove(&garment)),
            Done::Opened(opened) => {
                if opened.opening.step == Step::Dry {
                    self.dried(entry, garment, opened.opening.again);
                }
                let opening = opened.opening;
                self.give(entry, (garment, opening.step), Some(opening));
            }
            Done::Handwork { step, .. } | Done::Printed { step, .. } => {
                self.give(entry, (garment, *step), None);
            }
            Done::Trouble { step, trouble, outcome, .. } => {
                self.trouble(entry, garment, *step, *outcome);
                self.lose(entry, garment, Cause::Trouble(*trouble), Some(*outcome));
            }
            Done::Renewed => {
                let last_cure = |given: &Given| given.step == Step::Cure;
                let of_coat = |given: &Given| !matches!(given.step, Step::Print | Step::Cure);
                self.mark_in_vain(entry, garment, last_cure, of_coat, usize::MAX);
                self.lose(entry, garment, Cause::TreatedAgain, None);
            }
            Done::Order(_)
            | Done::Shut { .. }
            | Done::Stored
            | Done::Weighed
            | Done::CoatMended
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

impl Losses {
    /// For a report: keeps all, since what is lost today may have been begun weeks ago.
    pub fn of_all_time() -> Self {
        Self {
            keeps: None,
            given: Shared::default(),
            first: 0,
            last: BTreeMap::new(),
            lost: Shared::default(),
            outside: BTreeSet::new(),
        }
    }

    /// What was lost within `span` before `now`, most costly first.
    pub fn rows(&self, now: Moment, span: Duration) -> Vec<Loss> {
        let within = |moment: Moment| now.since(moment).span <= span;
        let mut rows: BTreeMap<Cause, (Loss, BTreeSet<Tag>)> = BTreeMap::new();
        for one in self.each().filter(|one| within(one.moment)) {
            let (loss, garments) =
                rows.entry(one.cause).or_insert_with(|| (none(one.cause), BTreeSet::new()));
            garments.insert(one.garment);
            loss.garments = garments.len();
            loss.press_s += one.used.press_s;
            loss.hand_s += one.used.hand_s;
            loss.used += one.used;
            match one.outcome {
                Some(Outcome::StepAgain) => loss.again += 1,
                Some(Outcome::SecondQuality) => loss.second += 1,
                Some(Outcome::Out) => loss.out += 1,
                Some(Outcome::GoOn | Outcome::NotNoted) | None => {}
            }
        }
        let mut rows: Vec<Loss> = rows.into_values().map(|(loss, _)| loss).collect();
        rows.sort_by(|one, other| {
            let by_minutes = other.minutes().total_cmp(&one.minutes());
            by_minutes.then(other.garments.cmp(&one.garments))
        });
        rows
    }

    /// Each time that something was lost, with what was given in vain.
    pub fn each(&self) -> impl Iterator<Item = Once> {
        let mut vain: BTreeMap<(ActNo, Tag), Used> = BTreeMap::new();
        for given in self.given.iter() {
            if let Some((act, _)) = given.in_vain {
                *vain.entry((act, given.garment)).or_default() += given.of_use();
            }
        }
        let timed = self.given.iter().filter_map(|given| {
            let opening = given.opening?;
            let (cause, press_s) = match opening.timing {
                Timing::Early => (Cause::OpenedEarly, 0.0),
                Timing::Late => (Cause::ShutTooLong, opening.past()),
                Timing::InTime | Timing::NotTimed => return None,
            };
            let used = Used { press_s, ..Used::default() };
            let Given { act, moment, garment, .. } = *given;
            Some(Once { act, moment, garment, cause, outcome: None, used })
        });
        let lost = self.lost.iter().map(move |lost| {
            let Lost { act, moment, garment, cause, outcome } = *lost;
            let mut used = vain.get(&(act, garment)).copied().unwrap_or_default();
            used.blanks = u32::from(outcome == Some(Outcome::Out) && cause.spoils());
            Once { act, moment, garment, cause, outcome, used }
        });
        timed.chain(lost)
    }

    fn dried(&mut self, entry: &Entry, garment: Tag, again: bool) {
        if again {
            let never = |_: &Given| false;
            self.mark_in_vain(entry, garment, never, |given| given.step == Step::Dry, 1);
            self.lose(entry, garment, Cause::DriedAgain, None);
        }
        if self.outside.remove(&garment) {
            self.lose(entry, garment, Cause::CoatOutside, None);
        }
    }

    fn trouble(&mut self, entry: &Entry, garment: Tag, step: Option<Step>, outcome: Outcome) {
        let all = |_: &Given| true;
        let never = |_: &Given| false;
        match outcome {
            Outcome::Out | Outcome::SecondQuality => {
                self.mark_in_vain(entry, garment, never, all, usize::MAX);
            }
            Outcome::StepAgain => {
                // Before its first step it is that first step that is done "again".
                let step = step.unwrap_or(Step::PrePress);
                self.mark_in_vain(entry, garment, never, |given| given.step == step, 1);
            }
            Outcome::GoOn | Outcome::NotNoted => {}
        }
    }

    fn give(&mut self, entry: &Entry, (garment, step): (Tag, Step), opening: Option<Opening>) {
        let used = Used::by(&entry.done);
        let (act, moment) = (entry.act, entry.moment);
        let number = self.first + self.given.len() as u64;
        let before = self.last.insert(garment, number);
        let given = Given { act, moment, garment, step, used, opening, in_vain: None, before };
        self.given.push_back(given);
    }

    fn lose(&mut self, entry: &Entry, garment: Tag, cause: Cause, outcome: Option<Outcome>) {
        let (act, moment) = (entry.act, entry.moment);
        self.lost.push_back(Lost { act, moment, garment, cause, outcome });
    }

    /// Shows `each` what a garment was given, the newest first, for as long as it wants more.
    fn each_given(&mut self, garment: Tag, mut each: impl FnMut(&mut Given) -> bool) {
        let mut next = self.last.get(&garment).copied();
        while let Some(place) = next.and_then(|number| number.checked_sub(self.first)) {
            let place = usize::try_from(place).unwrap_or(usize::MAX);
            let Some(given) = self.given.get_mut(place) else { return };
            next = given.before;
            if !each(given) {
                return;
            }
        }
    }

    /// Marks what a garment was given as given in vain, the newest first, back to where `ends` says.
    fn mark_in_vain(
        &mut self,
        entry: &Entry,
        garment: Tag,
        ends: impl Fn(&Given) -> bool,
        wanted: impl Fn(&Given) -> bool,
        most: usize,
    ) {
        let (act, now, keeps) = (entry.act, entry.moment, self.keeps);
        let old = |given: &Given| keeps.is_some_and(|keeps| now.since(given.moment).span > keeps);
        let mut left = most;
        self.each_given(garment, |given| {
            if left == 0 || ends(given) {
                return false;
            }
            if given.in_vain.is_none() && wanted(given) && !old(given) {
                given.in_vain = Some((act, now));
                left -= 1;
            }
            true
        });
    }

    fn forget(&mut self, now: Moment) {
        let Some(keeps) = self.keeps else { return };
        let old = |moment: Moment| now.since(moment).span > keeps;
        // What was lost with a garment is told of for as long as its loss is.
        let gone = |given: &Given| old(given.in_vain.map_or(given.moment, |(_, moment)| moment));
        while self.given.len() > MOST_KEPT || self.given.front().is_some_and(gone) {
            let Some(given) = self.given.pop_front() else { break };
            if self.last.get(&given.garment) == Some(&self.first) {
                self.last.remove(&given.garment);
            }
            self.first += 1;
        }
        while self.lost.len() > MOST_KEPT || self.lost.front().is_some_and(|l| old(l.moment)) {
            self.lost.pop_front();
        }
    }
}

fn none(cause: Cause) -> Loss {
    Loss {
        cause,
        garments: 0,
        again: 0,
        second: 0,
        out: 0,
        press_s: 0.0,
        hand_s: 0.0,
        used: Used::default(),
    }
}
