//! What each press was doing when: the spans that a strip draws and that a report adds up.
//!
//! Marks are kept as they were recorded, and the spans are worked out when they are asked for, so an act that is
//! taken back leaves nothing behind. They lie on a line of their own, which adds up the time between one event and
//! the next, by the boot clock within one boot: a wall clock that jumps moves nothing.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::time::Duration;

use serde::Serialize;

use super::Shop;
use super::fact::{Event, Fact, PressShut};
use super::ids::{ActNo, PressNo};
use super::moment::Moment;
use super::station::Station;
use super::trail;

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
#[derive(Debug, Clone, Copy, PartialEq)]
enum Change {
    Shut {
        target: Line,
        opens_itself: bool,
    },
    Opened,
    /// Its sheet was worked on, for at most so long before.
    Sheet(Line),
    Out,
    Back,
    /// That act was so long before its key.
    Moved {
        corrects: ActNo,
        by: Line,
    },
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Mark {
    act: ActNo,
    at: Line,
    change: Change,
}

/// What a press is shut on, as far as its spans go.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Load {
    shut: Line,
    target: Line,
    opens_itself: bool,
}

/// The state of a press between two marks.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct State {
    load: Option<Load>,
    out: bool,
    /// Since when nothing has been told of; None: since before everything.
    since: Option<Line>,
    /// Whether the open stretch began with the opening of the press, so that a garment had to be taken out.
    opened: bool,
}

/// The marks of one press, and its state before the first that is kept.
#[derive(Debug, Clone, Default)]
struct Track {
    before: State,
    marks: VecDeque<Mark>,
}

/// How long hands take to lay a garment in and to take it out.
#[derive(Debug, Clone, Copy, Default)]
struct Hands {
    load: Line,
    unload: Line,
}

/// Follows the presses, event by event, and keeps the last 24 hours.
#[derive(Debug, Clone, Default)]
pub struct PressSpans {
    tracks: BTreeMap<PressNo, Track>,
    hands: Hands,
    open_themselves: BTreeSet<PressNo>,
    /// The newest event, and where on the line it lies.
    newest: Option<(Moment, Line)>,
}

impl PressSpans {
    /// Goes by a station's profile from here on: where the history begins after the station was set.
    pub fn go_by(&mut self, station: &Station) {
        let hands = station.hands;
        self.hands = Hands { load: length(hands.load.0), unload: length(hands.unload.0) };
        let opens_itself =
            |no: &PressNo| station.press(*no).is_some_and(|press| press.opens_itself);
        self.open_themselves = station.press_numbers().filter(opens_itself).collect();
    }

    /// Takes an event that the shop has applied already, a while ago or just now.
    pub fn take(&mut self, event: &Event, shop: &Shop) {
        let at = self.on_line(event.moment);
        self.newest = Some((event.moment, at));
        let mark = match &event.fact {
            Fact::StationSet(fact) => {
                self.go_by(&fact.profile);
                None
            }
            Fact::PressShut(fact) => Some((fact.press, self.shut(fact, shop))),
            Fact::PressOpened(fact) => Some((fact.press, Change::Opened)),
            Fact::SheetWiped(fact) => fact.press.map(|press| (press, Change::Sheet(WIPING))),
            Fact::SheetChanged(fact) => fact.press.map(|press| (press, Change::Sheet(WIPING))),
            Fact::SheetSwapped(fact) => Some((fact.press, Change::Sheet(SWAPPING))),
            Fact::PressOutOfUse(fact) => Some((fact.press, Change::Out)),
            Fact::PressInUse(fact) => Some((fact.press, Change::Back)),
            Fact::TimeCorrected(fact) => fact.press.zip(fact.ago).map(|(press, ago)| {
                let by = length(Duration::try_from_secs_f64(ago).unwrap_or_default());
                (press, Change::Moved { corrects: fact.corrects, by })
            }),
            Fact::Undone(fact) => {
                for track in self.tracks.values_mut() {
                    track.marks.retain(|mark| mark.act != fact.undoes);
                }
                None
            }
            _ => None,
        };
        if let Some((press, change)) = mark {
            let track = self.tracks.entry(press).or_default();
            track.marks.push_back(Mark { act: event.act, at, change });
            track.forget(at, self.hands);
        }
    }

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
        for mark in track.placed() {
            state.change(mark, self.hands, &mut tell);
        }
        state.close(now, false, self.hands, &mut tell);
        spans
    }

    /// For how long within `span` before `now` a press did each thing, in the order of `Doing::ALL`.
    pub fn totals(&self, press: PressNo, now: Moment, span: Duration) -> [Duration; 6] {
        let spans = self.spans(press, now, span);
        Doing::ALL.map(|doing| {
            spans.iter().filter(|span| span.doing == doing).map(PressSpan::length).sum()
        })
    }

    /// How often a press was opened on a garment within `span` before `now`.
    pub fn cycles(&self, press: PressNo, now: Moment, span: Duration) -> usize {
        let begins = self.on_line(now).saturating_sub(length(span));
        let marks = self.tracks.get(&press).into_iter().flat_map(Track::placed);
        marks.filter(|mark| mark.change == Change::Opened && mark.at >= begins).count()
    }

    fn shut(&self, fact: &PressShut, shop: &Shop) -> Change {
        let recipe = shop.recipe(&fact.recipe);
        let pressing = recipe.and_then(|recipe| recipe.pressing(fact.step, fact.again));
        Change::Shut {
            target: pressing.map_or(0, |pressing| length(pressing.target.0)),
            opens_itself: self.open_themselves.contains(&fact.press),
        }
    }

    /// Where a moment lies on the line; none lies before the newest event.
    fn on_line(&self, moment: Moment) -> Line {
        self.newest
            .map_or(0, |(newest, line)| line.saturating_add(length(moment.since(newest).span)))
    }
}

fn length(span: Duration) -> Line {
    Line::try_from(span.as_micros()).unwrap_or(Line::MAX)
}

fn back(line: Line) -> Duration {
    Duration::from_micros(line.max(0).unsigned_abs())
}

impl Track {
    /// The marks where they belong: what was corrected is moved.
    fn placed(&self) -> impl Iterator<Item = Mark> {
        let moved: Vec<(ActNo, Line)> = self
            .marks
            .iter()
            .filter_map(|mark| match mark.change {
                Change::Moved { corrects, by } => Some((corrects, by)),
                _ => None,
            })
            .collect();
        self.marks.iter().map(move |mark| {
            let by = moved.iter().rev().find(|(act, _)| *act == mark.act).map_or(0, |(_, by)| *by);
            Mark { at: mark.at.saturating_sub(by), ..*mark }
        })
    }

    /// Folds marks into the state before them that are old, and too many acts ago to be undone.
    fn forget(&mut self, now: Line, hands: Hands) {
        let old = |mark: &Mark| now - mark.at > A_DAY;
        while self.marks.len() > MOST_KEPT
            || self.marks.len() > trail::DEPTH && self.marks.front().is_some_and(old)
        {
            let Some(mark) = self.marks.pop_front() else { return };
            self.before.change(mark, hands, &mut |_, _, _| {});
        }
    }
}

impl State {
    fn change(&mut self, mark: Mark, hands: Hands, tell: &mut impl FnMut(Line, Line, Doing)) {
        let Mark { at, change, .. } = mark;
        match change {
            Change::Shut { target, opens_itself } => {
                self.close(at, true, hands, tell);
                self.load = Some(Load { shut: at, target, opens_itself });
            }
            Change::Opened => {
                self.close(at, false, hands, tell);
                self.load = None;
                self.opened = true;
            }
            Change::Sheet(most) if self.load.is_none() && !self.out => {
                let from = self.since.unwrap_or(at).max(at - most);
                self.close(from, false, hands, tell);
                tell(from, at, Doing::SheetWork);
                self.since = Some(at);
            }
            Change::Out | Change::Back => {
                if self.load.is_none() {
                    self.close(at, false, hands, tell);
                }
                self.out = change == Change::Out;
            }
            Change::Sheet(_) | Change::Moved { .. } => {}
        }
    }

    /// Tells what the press did until `at`; `shuts` where it is shut on a garment then, which had to be laid in.
    fn close(
        &mut self,
        at: Line,
        shuts: bool,
        hands: Hands,
        tell: &mut impl FnMut(Line, Line, Doing),
    ) {
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
                let unloaded = if self.opened { (since + hands.unload).min(at) } else { since };
                let loads = if shuts { (at - hands.load).max(unloaded) } else { at };
                tell(since, unloaded, Doing::Changing);
                tell(unloaded, loads, Doing::Idle);
                tell(loads, at, Doing::Changing);
            }
        }
        self.since = Some(at);
        self.opened = false;
    }
}
