//! What hands take, learned from the history itself: the time between one act and the next.
//!
//! A gap is learned from only where nothing else can have lain in it: one person at the bench, one garment to the
//! act, both ends on one clock and known, and shorter than a pause. What was undone never was, and what was corrected
//! happened when it is said to have. A press that was still
//! running when the hands came free counts from the end of its run. Medians, so that a chat among sixty loads
//! changes nothing.
//!
//! A pause is a time in which nothing was stated and no machine ran: people who wait for a long cure or print are at work.

mod known;

pub use known::{Known, Learned};

use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;

use jiff::SignedDuration;
use serde::{Deserialize, Serialize};

use super::Book;
use super::chain::{Chain, RESTED};
use super::entry::{Done, Entry, SheetWork};
use crate::shop::facts::ids::{ActNo, PressNo, RecipeHash};
use crate::shop::facts::moment::{Moment, Up, Wall};
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::Outcome;

/// With fewer gaps than this the station's own times are gone by.
pub const ENOUGH: usize = 10;
/// So many of the last gaps are kept for each person, recipe and work.
const KEPT: usize = 60;
/// The most of those; the one that was used longest ago goes first.
const MOST: usize = 64;
/// Sigma of the logarithm of a hand time about its median, from memory, until it is learned.
pub const SCATTER: f64 = 0.18;
/// The two clocks drift apart by less than this within one gap; more, and one of them was set.
const CLOCK: SignedDuration = SignedDuration::from_secs(2);
/// Where no machine runs, acts further apart than this have a pause between them.
const PAUSE: Duration = Duration::from_secs(300);
/// How much working time a stretch of the history covers, and how many are kept: a shift.
const STRETCH: Duration = Duration::from_secs(600);
const STRETCHES: usize = 48;
/// The last prints that are kept: one for each printer that a station can have.
const MOST_PRINTERS: usize = 9;

/// What hands do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Work {
    Load,
    Unload,
    /// Spraying and rolling: one act records both.
    Spray,
    /// From one print to the next, while garments wait for the printer.
    Print,
    Wipe,
    Weigh,
    Fill,
}

impl Work {
    /// All of it.
    pub const ALL: [Work; 7] =
        [Work::Load, Work::Unload, Work::Spray, Work::Print, Work::Wipe, Work::Weigh, Work::Fill];

    /// As people say it.
    pub fn words(self) -> &'static str {
        match self {
            Work::Load => "load",
            Work::Unload => "unload",
            Work::Spray => "spray and roll",
            Work::Print => "print",
            Work::Wipe => "wipe",
            Work::Weigh => "weigh",
            Work::Fill => "fill",
        }
    }

    /// With fewer gaps than this the station's own time is gone by. Prints are few of which it is known when they ended, and
    /// everything waits for them.
    pub fn enough(self) -> usize {
        if self == Work::Print { 4 } else { ENOUGH }
    }

    /// What takes longer is no work but a pause (from memory).
    fn at_most_s(self) -> i64 {
        match self {
            Work::Load | Work::Unload => 90,
            Work::Weigh => 120,
            Work::Spray | Work::Wipe => 300,
            Work::Fill => 900,
            Work::Print => 1800,
        }
    }
}

/// Gaps of one kind of work, in milliseconds, oldest first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Gaps {
    work: Work,
    who: String,
    recipe: Option<RecipeHash>,
    last: VecDeque<u32>,
    used: u64,
}

/// A gap that is counted once the next act shows that nothing else was done in its act.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Held {
    work: Work,
    recipe: Option<RecipeHash>,
    millis: u32,
}

/// Gaps that nothing was learned from, by reason.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// A clock was set, or the machine started again, in between.
    pub clock: u32,
    pub pause: u32,
    /// Several people were at the bench.
    pub shared: u32,
}

/// Ten minutes of work, pauses left out: by recipe, how many times each step was done in it, less what was to be
/// done again.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    pub span: Duration,
    /// The pauses between: when each began on the wall clock, and how long it was.
    pub pauses: Vec<(Wall, Duration)>,
    pub done: Vec<(RecipeHash, [i16; Step::ALL.len()])>,
}

/// Everything that is learned of hands.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HandBook {
    gaps: Vec<Gaps>,
    /// Since when the hands are free. None: not known.
    free: Option<Moment>,
    /// When the last prints came out, the newest last.
    printed: VecDeque<Moment>,
    chain: Chain,
    act: ActNo,
    /// The moment of the newest act.
    newest: Option<Moment>,
    held: Option<Held>,
    left_out: LeftOut,
    stretches: VecDeque<Stretch>,
    now: Stretch,
    /// Who is at the bench.
    people: Vec<String>,
    /// When the run of each press that is shut ends; none where its time is not known.
    runs: BTreeMap<PressNo, Moment>,
}

/// What an entry means for the hands.
enum Means {
    Work(Work),
    /// A tap between two moves: it takes nobody's time to speak of.
    Tap,
    /// Something that takes time nobody knows.
    Other,
}

fn means(done: &Done) -> Means {
    match done {
        Done::Shut { .. } => Means::Work(Work::Load),
        Done::Opened(_) => Means::Work(Work::Unload),
        Done::Handwork { implied: false, .. } => Means::Work(Work::Spray),
        Done::Printed { implied: false, .. } => Means::Work(Work::Print),
        Done::Sheet { work: SheetWork::Wiped | SheetWork::Changed, .. } => Means::Work(Work::Wipe),
        Done::Weighed | Done::CoatWeighed(_) => Means::Work(Work::Weigh),
        Done::Filled { .. } => Means::Work(Work::Fill),
        Done::Tap | Done::Fan(_) => Means::Tap,
        Done::Order(_)
        | Done::Handwork { .. }
        | Done::Printed { .. }
        | Done::Trouble { .. }
        | Done::Renewed
        | Done::Stored
        | Done::CoatMended
        | Done::Sheet { .. }
        | Done::Flushed
        | Done::OutOfUse { .. }
        | Done::InUse(_)
        | Done::SignedIn { .. }
        | Done::SignedOut(_)
        | Done::ShiftClosed
        | Done::Other => Means::Other,
    }
}

impl Book for HandBook {
    fn take(&mut self, entry: &Entry) {
        if !entry.by_hand {
            return;
        }
        if let Some((step, by)) = progress(&entry.done)
            && let Some(recipe) = recipe_in(&entry.done)
        {
            self.count(&recipe, step, by);
        }
        let means = means(&entry.done);
        if entry.act == self.act {
            // Several things in one act: how long each took is not known.
            if !matches!(means, Means::Tap) {
                self.held = None;
            }
        } else {
            self.settle();
            self.act = entry.act;
            self.pass(entry);
            if let Means::Work(work) = means {
                self.hold_gap(work, entry);
            }
            if !matches!(means, Means::Tap) {
                self.chain.take(&entry.done, self.free, entry.moment);
                let nobody_knows = matches!(
                    entry.done,
                    Done::SignedIn { .. } | Done::SignedOut(_) | Done::ShiftClosed | Done::InUse(_)
                ) || !entry.timed;
                self.free = (!nobody_knows).then_some(entry.moment);
            }
        }
        self.follow(entry);
    }
}

impl HandBook {
    /// Keeps who is at the bench, and until when each press runs.
    fn follow(&mut self, entry: &Entry) {
        match &entry.done {
            Done::Shut { press, target, .. } if entry.timed => {
                self.runs.insert(*press, entry.moment.plus(*target));
            }
            Done::Shut { press, .. } => drop(self.runs.remove(press)),
            Done::Opened(opened) => drop(self.runs.remove(&opened.opening.press)),
            Done::SignedIn { who, .. } => self.people.push(who.clone()),
            Done::SignedOut(who) => self.people.retain(|one| one != who),
            Done::ShiftClosed => self.people.clear(),
            _ => {}
        }
    }

    /// Holds the gap that an entry ends.
    fn hold_gap(&mut self, work: Work, entry: &Entry) {
        let to = entry.moment;
        let mut late = None;
        let from = match &entry.done {
            Done::Opened(opened) => self.free.map(|free| {
                let run = self.runs.get(&opened.opening.press).copied();
                run.filter(|end| end.boot == free.boot && end.up > free.up)
                    // Opened before its time: nobody waited for it.
                    .map_or(free, |end| if end.up > to.up { free } else { end })
            }),
            Done::Printed { waited_since, unload, printers, .. } => {
                let last = self.printer_since(usize::from(*printers));
                if self.printed.len() == MOST_PRINTERS {
                    self.printed.pop_front();
                }
                self.printed.push_back(to);
                // Where none waited when the last one came out, the printer stood still for a time; where hands came
                // straight from something else, it waited for them.
                let free = self.free.filter(|free| free.boot == to.boot);
                let gone = free.map(|free| {
                    let busy = *unload + self.chain.after();
                    to.since(free).span.saturating_sub(busy)
                });
                late = match gone.filter(|gone| *gone <= RESTED) {
                    Some(gone) => free.and_then(|free| Some(gone + self.chain.before_free(free)?)),
                    None => free.map(|_| Duration::ZERO),
                };
                let waited = |last: &Moment| waited_since.is_some_and(|since| since.up <= last.up);
                last.filter(|last| late.is_some() && waited(last))
            }
            _ => self.free,
        };
        let Some(from) = from.filter(|_| entry.timed) else { return };
        let Some(millis) = self.measure(work, from, to) else { return };
        let late = late.map_or(0, |late| u32::try_from(late.as_millis()).unwrap_or(0));
        let millis = millis.saturating_sub(late);
        self.held = Some(Held { work, recipe: recipe_in(&entry.done), millis });
    }

    /// The length of a gap, or None with the reason noted.
    fn measure(&mut self, work: Work, from: Moment, to: Moment) -> Option<u32> {
        let (up, at) = (to.up - from.up, to.at - from.at);
        if from.boot != to.boot || up.is_negative() || (up - at).abs() > CLOCK {
            self.left_out.clock += 1;
            return None;
        }
        if up.as_secs_f64() > work.at_most_s() as f64 {
            self.left_out.pause += 1;
            return None;
        }
        u32::try_from(up.as_millis()).ok()
    }

    /// Counts the gap that was held: its act is over.
    fn settle(&mut self) {
        let Some(held) = self.held.take() else { return };
        let who = match self.people.as_slice() {
            [] => String::new(),
            [one] => one.clone(),
            _ => {
                self.left_out.shared += 1;
                return;
            }
        };
        let used = self.act.0;
        let same =
            |gaps: &Gaps| gaps.work == held.work && gaps.who == who && gaps.recipe == held.recipe;
        if let Some(gaps) = self.gaps.iter_mut().find(|gaps| same(gaps)) {
            if gaps.last.len() == KEPT {
                gaps.last.pop_front();
            }
            gaps.last.push_back(held.millis);
            gaps.used = used;
            return;
        }
        if self.gaps.len() == MOST
            && let Some(oldest) = (0..MOST).min_by_key(|n| self.gaps[*n].used)
        {
            self.gaps.swap_remove(oldest);
        }
        let last = VecDeque::from([held.millis]);
        let (work, recipe) = (held.work, held.recipe);
        self.gaps.push(Gaps { work, who, recipe, last, used });
    }

    /// Since when the printer of the print that comes out next has printed it, where none stood empty: of several it is the
    /// one that has printed longest.
    fn printer_since(&self, printers: usize) -> Option<Moment> {
        self.printed.len().checked_sub(printers.max(1)).map(|n| self.printed[n])
    }

    /// Lets working time pass, and begins the next stretch where one is full.
    fn pass(&mut self, entry: &Entry) {
        let to = entry.moment;
        let since = self.newest.replace(to).filter(|newest| newest.boot == to.boot);
        if let Some(since) = since {
            let span = to.up.since(since.up);
            let idle = to.up.since(self.runs_until(entry).max(since.up));
            if idle <= PAUSE {
                self.now.span += span;
            } else {
                self.now.span += span.saturating_sub(idle);
                self.now.pauses.push((to.minus(idle).at, idle));
            }
        }
        if self.now.span >= STRETCH {
            if self.stretches.len() == STRETCHES {
                self.stretches.pop_front();
            }
            self.stretches.push_back(std::mem::take(&mut self.now));
        }
    }

    /// Until when some machine has run before an entry: a press by its target, a printer for twice as long as a print
    /// takes at the most, since nobody states when it is loaded.
    fn runs_until(&self, entry: &Entry) -> Up {
        let to = entry.moment;
        let presses =
            self.runs.values().filter(|end| end.boot == to.boot).map(|end| end.up.min(to.up));
        let prints = match &entry.done {
            Done::Printed { waited_since: Some(waited), whole, .. } if waited.boot == to.boot => {
                let since = self.printed.back().filter(|last| last.boot == to.boot);
                let since =
                    since.map_or(*waited, |last| if last.up > waited.up { *last } else { *waited });
                let learned = self.gaps.iter().filter(|gaps| gaps.work == Work::Print);
                let learned = learned.filter_map(|gaps| gaps.last.back()).max();
                let learned = Duration::from_millis(learned.copied().unwrap_or(0).into());
                Some(since.plus(learned.max(*whole) * 2).up.min(to.up))
            }
            _ => None,
        };
        presses.chain(prints).max().unwrap_or(Up(0))
    }

    fn count(&mut self, recipe: &RecipeHash, step: Step, by: i16) {
        let Some(place) = Step::ALL.iter().position(|one| *one == step) else { return };
        let known = self.now.done.iter().position(|(one, _)| one == recipe);
        let known = known.unwrap_or_else(|| {
            self.now.done.push((*recipe, [0; Step::ALL.len()]));
            self.now.done.len() - 1
        });
        let done = &mut self.now.done[known].1[place];
        *done = done.saturating_add(by);
    }
}

/// The step of which an entry brings a garment one more, or throws it back by one.
fn progress(done: &Done) -> Option<(Step, i16)> {
    match done {
        Done::Opened(opened) if !opened.opening.again => Some((opened.opening.step, 1)),
        Done::Handwork { step, .. } | Done::Printed { step, .. } => Some((*step, 1)),
        Done::Trouble { step, outcome: Outcome::StepAgain, .. } => Some(((*step)?, -1)),
        _ => None,
    }
}

/// The recipe of the garment that something was done to.
fn recipe_in(done: &Done) -> Option<RecipeHash> {
    match done {
        Done::Shut { recipe, .. } => Some(*recipe),
        Done::Opened(opened) => opened.recipe,
        Done::Handwork { recipe, .. }
        | Done::Printed { recipe, .. }
        | Done::Trouble { recipe, .. } => *recipe,
        _ => None,
    }
}
