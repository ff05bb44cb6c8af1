//! What each press was doing when: the spans that a strip draws and that a report adds up.
//!
//! Marks are kept, and the spans are worked out when they are asked for. They lie on a line of their own, which goes by
//! the boot clock within one boot: a wall clock that jumps moves nothing.

use std::collections::BTreeMap;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::Book;
use super::entry::{Done, Entry, SheetWork};
use super::shared::Shared;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Moment;

/// A place on the line, or a length on it: microseconds.
type Line = i64;

/// How far back marks are kept.
const A_DAY: Line = 86_400_000_000;
/// The most marks of a press that are kept, however fast they come.
const MOST_KEPT: usize = 20_000;
/// At most so long before its key a sheet is taken to have been worked on: wiped or changed, swapped. From memory.
const WIPING: Line = 60_000_000;
const SWAPPING: Line = 15_000_000;

/// What a press is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Doing {
    /// Shut, up to the recipe's target.
    Running,
    /// Shut past the target: it waits to be opened.
    PastTarget,
    /// Open while a garment is taken out or laid in, for as long as the station's hand times say.
    Changing,
    /// Open otherwise.
    Idle,
    /// Open while its sheet is wiped, changed or swapped.
    SheetWork,
    OutOfUse,
}

impl Doing {
    /// Everything that a press can be doing.
    pub const ALL: [Doing; 6] = [
        Doing::Running,
        Doing::PastTarget,
        Doing::Changing,
        Doing::Idle,
        Doing::SheetWork,
        Doing::OutOfUse,
    ];

    /// The name as people read it.
    pub fn words(self) -> &'static str {
        match self {
            Doing::Running => "running",
            Doing::PastTarget => "past target",
            Doing::Changing => "changing",
            Doing::Idle => "idle",
            Doing::SheetWork => "sheet work",
            Doing::OutOfUse => "out of use",
        }
    }
}

/// A span of a press, by how long before the asked moment it began and ended; `from` is the greater.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressSpan {
    pub from: Duration,
    pub to: Duration,
    pub doing: Doing,
}

impl PressSpan {
    /// How long it lasted.
    pub fn length(&self) -> Duration {
        self.from.saturating_sub(self.to)
    }
}

/// Something that changes what a press is doing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Change {
    /// Laying the garment in took so long before.
    Shut {
        target: Line,
        opens_itself: bool,
        load: Line,
    },
    /// Taking the garment out takes so long after.
    Opened {
        unload: Line,
    },
    /// Its sheet was worked on, for at most so long before.
    Sheet(Line),
    Out,
    Back,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Mark {
    at: Line,
    change: Change,
}

/// What a press is shut on, as far as its spans go.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Load {
    shut: Line,
    target: Line,
    opens_itself: bool,
}

/// The state of a press between two marks.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
struct State {
    load: Option<Load>,
    out: bool,
    /// Since when nothing has been told of; None: since before everything.
    since: Option<Line>,
    /// Where the open stretch began with the opening of the press: how long taking the garment out takes.
    unload: Line,
}

/// The marks of a press, oldest first, and the state before them.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
struct Track {
    before: State,
    marks: Shared<Mark>,
}

/// What each press was doing over the last day.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PressSpans {
    tracks: BTreeMap<PressNo, Track>,
    /// A moment of the boot that runs, and where it lies on the line; and the latest moment so far.
    of_boot: Option<(Moment, Line)>,
    newest: Option<(Moment, Line)>,
}

impl Book for PressSpans {
    fn take(&mut self, entry: &Entry) {
        let at = self.on_line(entry.moment);
        if self.of_boot.is_none_or(|(moment, _)| moment.boot != entry.moment.boot) {
            self.of_boot = Some((entry.moment, at));
        }
        if self.newest.is_none_or(|(_, newest)| newest <= at) {
            self.newest = Some((entry.moment, at));
        }
        let (press, change) = match entry.done {
            Done::Shut { press, target, opens_itself, load, .. } => {
                let (target, load) = (length(target), length(load));
                (press, Change::Shut { target, opens_itself, load })
            }
            Done::Opened(opened) => {
                (opened.opening.press, Change::Opened { unload: length(opened.unload) })
            }
            Done::Sheet { work, press: Some(press), .. } => {
                let most = match work {
                    SheetWork::Swapped | SheetWork::Renewed => SWAPPING,
                    SheetWork::Wiped | SheetWork::Changed => WIPING,
                };
                (press, Change::Sheet(most))
            }
            Done::OutOfUse { press, .. } => (press, Change::Out),
            Done::InUse(press) => (press, Change::Back),
            _ => return,
        };
        let track = self.tracks.entry(press).or_default();
        track.marks.push_back(Mark { at, change });
        track.forget(at);
    }
}

impl PressSpans {
    /// What a press was doing within `span` before `now`, oldest first, without gaps. All idle where nothing is
    /// known of it.
    pub fn spans(&self, press: PressNo, now: Moment, span: Duration) -> Vec<PressSpan> {
        let mut spans: Vec<PressSpan> = Vec::new();
        let now = self.on_line(now);
        let begins = now.saturating_sub(length(span));
        let mut told = begins;
        let mut tell = |from: Line, to: Line, doing: Doing| {
            // A corrected moment may lie before what was told already: each moment is told of once.
            let (from, to) = (from.max(told), to.min(now));
            if from >= to {
                return;
            }
            told = to;
            let [from, to] = [from, to].map(|at| back(now - at));
            match spans.last_mut() {
                Some(last) if last.doing == doing => last.to = to,
                _ => spans.push(PressSpan { from, to, doing }),
            }
        };
        let nothing = Track::default();
        let track = self.tracks.get(&press).unwrap_or(&nothing);
        let mut state = track.before;
        state.since.get_or_insert(begins);
        for mark in track.marks.iter() {
            state.change(*mark, &mut tell);
        }
        state.close(now, 0, &mut tell);
        spans
    }

    /// For how long within `span` before `now` a press did each thing, in the order of `Doing::ALL`.
    pub fn totals(&self, press: PressNo, now: Moment, span: Duration) -> [Duration; 6] {
        let spans = self.spans(press, now, span);
        Doing::ALL.map(|doing| {
            spans.iter().filter(|span| span.doing == doing).map(PressSpan::length).sum()
        })
    }

    /// Every press of which something is known.
    pub fn presses(&self) -> impl Iterator<Item = PressNo> {
        self.tracks.keys().copied()
    }

    /// How often a press was opened on a garment within `span` before `now`.
    pub fn cycles(&self, press: PressNo, now: Moment, span: Duration) -> usize {
        let begins = self.on_line(now).saturating_sub(length(span));
        let marks = self.tracks.get(&press).into_iter().flat_map(|track| track.marks.iter());
        let opened = |mark: &&Mark| matches!(mark.change, Change::Opened { .. });
        marks.filter(opened).filter(|mark| mark.at >= begins).count()
    }

    /// Where a moment lies on the line: within the boot that runs by the boot clock, else behind what came before.
    fn on_line(&self, moment: Moment) -> Line {
        match (self.of_boot, self.newest) {
            (Some((first, line)), _) if first.boot == moment.boot => {
                line.saturating_add(length(moment.up.since(first.up)))
            }
            (_, Some((newest, line))) => line.saturating_add(length(moment.since(newest).span)),
            _ => 0,
        }
    }
}

fn length(span: Duration) -> Line {
    Line::try_from(span.as_micros()).unwrap_or(Line::MAX)
}

fn back(line: Line) -> Duration {
    Duration::from_micros(line.max(0).unsigned_abs())
}

impl Track {
    /// Folds marks that are old into the state before them.
    fn forget(&mut self, now: Line) {
        let old = |mark: &Mark| now - mark.at > A_DAY;
        while self.marks.len() > MOST_KEPT || self.marks.front().is_some_and(old) {
            let Some(mark) = self.marks.pop_front() else { return };
            self.before.change(mark, &mut |_, _, _| {});
        }
    }
}

impl State {
    fn change(&mut self, mark: Mark, tell: &mut impl FnMut(Line, Line, Doing)) {
        let Mark { at, change, .. } = mark;
        match change {
            Change::Shut { target, opens_itself, load } => {
                self.close(at, load, tell);
                self.load = Some(Load { shut: at, target, opens_itself });
            }
            Change::Opened { unload } => {
                self.close(at, 0, tell);
                self.load = None;
                self.unload = unload;
            }
            Change::Sheet(most) if self.load.is_none() && !self.out => {
                let from = self.since.unwrap_or(at).max(at - most);
                self.close(from, 0, tell);
                tell(from, at, Doing::SheetWork);
                self.since = Some(at);
            }
            Change::Out | Change::Back => {
                if self.load.is_none() {
                    self.close(at, 0, tell);
                }
                self.out = change == Change::Out;
            }
            Change::Sheet(_) => {}
        }
    }

    /// Tells what the press did until `at`; where it is shut on a garment then, laying that in took `load`.
    fn close(&mut self, at: Line, load: Line, tell: &mut impl FnMut(Line, Line, Doing)) {
        let since = self.since.unwrap_or(at);
        match self.load {
            Some(load) => {
                let target = load.shut.saturating_add(load.target).min(at);
                tell(load.shut, target, Doing::Running);
                // One that opens by itself stands open: the unloading that it waits for comes after its key.
                let then = if load.opens_itself { Doing::Idle } else { Doing::PastTarget };
                tell(target, at, then);
            }
            None if self.out => tell(since, at, Doing::OutOfUse),
            None => {
                // Taking out comes first, laying in last, and between them it is idle.
                let unloaded = (since + self.unload).min(at);
                let loads = (at - load).max(unloaded);
                tell(since, unloaded, Doing::Changing);
                tell(unloaded, loads, Doing::Idle);
                tell(loads, at, Doing::Changing);
            }
        }
        self.since = Some(at);
        self.unload = 0;
    }
}
