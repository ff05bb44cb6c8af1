//! What wants somebody's hand now. Pure: worked out from the facts and the moment.
//!
//! A cycle that ends is a prompt, for it happens forty times in ten minutes; a time that is exceeded is an
//! alarm. Which of them have been quieted is the shell's to know.

use std::time::Duration;

use crate::figures::units::Span;
use crate::shop::Shop;
use crate::shop::facts::ids::{PressNo, SheetNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::shape::Phase;
use crate::shop::facts::step::{Cover, Step};
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::floor::press::{Load, Progress};
use crate::shop::floor::sheets::Sheet;

/// How much it presses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// An act is due.
    Prompt,
    /// Harm is being done, or is about to be.
    Alarm,
}

/// Something that wants an act.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Alarm {
    /// A press is to be lifted half-way, or closed after it hovered or was lifted: that passes in seconds, an opening waits.
    Shape { press: PressNo, seq: u64, lifts: bool },
    /// A press is at its target. The number is the event that shut it.
    Due { press: PressNo, seq: u64 },
    /// A press is past its longest time.
    Overdue { press: PressNo, seq: u64 },
    /// How long the press has been shut is not sure: look at it.
    Check { press: PressNo, seq: u64 },
    /// A sprayed garment has waited longer than its recipe allows.
    WetTooLong(Tag),
    /// A print has waited, wet, longer than its recipe allows.
    UncuredTooLong(Tag),
    /// A sheet wants its wipe.
    WipeDue { sheet: SheetNo, press: Option<PressNo> },
    /// A sheet is past the press by which it wanted its wipe.
    WipeOverdue { sheet: SheetNo, press: Option<PressNo> },
}

impl Alarm {
    /// How much it presses.
    pub fn level(self) -> Level {
        match self {
            Alarm::Due { .. }
            | Alarm::Shape { .. }
            | Alarm::Check { .. }
            | Alarm::WipeDue { .. } => Level::Prompt,
            Alarm::Overdue { .. }
            | Alarm::WetTooLong(_)
            | Alarm::UncuredTooLong(_)
            | Alarm::WipeOverdue { .. } => Level::Alarm,
        }
    }

    /// The press that it is about, if it is about one.
    pub fn press(self) -> Option<PressNo> {
        match self {
            Alarm::Due { press, .. }
            | Alarm::Overdue { press, .. }
            | Alarm::Shape { press, .. }
            | Alarm::Check { press, .. } => Some(press),
            Alarm::WipeDue { press, .. } | Alarm::WipeOverdue { press, .. } => press,
            Alarm::WetTooLong(_) | Alarm::UncuredTooLong(_) => None,
        }
    }
}

impl Shop {
    /// Everything that wants an act at `now`, the most pressing first.
    pub fn alarms(&self, now: Moment) -> Vec<Alarm> {
        let mut alarms: Vec<Alarm> =
            self.loads().filter_map(|(press, load)| self.alarm_of(press, load, now)).collect();
        for garment in self.wet_ones() {
            if self.wait_limit(garment).is_some_and(|limit| now.since(garment.since).span > limit) {
                alarms.push(match garment.place {
                    Place::Waiting(Step::Cure) => Alarm::UncuredTooLong(garment.tag),
                    _ => Alarm::WetTooLong(garment.tag),
                });
            }
        }
        if let Some(rule) = self.station().map(|station| station.sheet) {
            // One in a shut press cannot be wiped now, and one set aside can wait: nothing is pressed under it.
            let can_be_had = |press: PressNo| self.load(press).is_none();
            let due =
                |sheet: &&Sheet| sheet.presses >= rule.wipe_at && sheet.at.is_some_and(can_be_had);
            for sheet in self.sheets().all().filter(due) {
                let (no, press) = (sheet.no, sheet.at);
                alarms.push(if sheet.presses >= rule.wipe_by {
                    Alarm::WipeOverdue { sheet: no, press }
                } else {
                    Alarm::WipeDue { sheet: no, press }
                });
            }
        }
        alarms.sort_by_key(|alarm| (std::cmp::Reverse(alarm.level()), *alarm));
        alarms
    }

    fn alarm_of(&self, press: PressNo, load: &Load, now: Moment) -> Option<Alarm> {
        let seq = load.seq;
        if !load.elapsed(now).sure || !load.timed {
            return Some(Alarm::Check { press, seq });
        }
        let pressing = self.pressing(load)?;
        match load.progress(&pressing, now) {
            // One that opens by itself does no harm by waiting to be unloaded.
            Progress::Overdue if !self.opens_itself(press) => Some(Alarm::Overdue { press, seq }),
            Progress::Overdue | Progress::Due => Some(Alarm::Due { press, seq }),
            Progress::Running | Progress::Young => match pressing.phase(load.elapsed(now).span) {
                Phase::Lift(_) => Some(Alarm::Shape { press, seq, lifts: true }),
                Phase::Close => Some(Alarm::Shape { press, seq, lifts: false }),
                Phase::Hover(_) | Phase::Shut => None,
            },
        }
    }

    fn wet_ones(&self) -> impl Iterator<Item = &Garment> {
        self.floor().waiting(Step::Dry).chain(self.floor().waiting(Step::Cure))
    }

    /// How long a wet garment may wait where it is; None for one that is not wet.
    pub fn wait_limit(&self, garment: &Garment) -> Option<Duration> {
        let (_, recipe) = self.recipe_of(garment)?;
        let limit: Span = match garment.place {
            Place::Waiting(Step::Dry) => recipe.wet_limit(self.station()?.wet_garments),
            Place::Waiting(Step::Cure) => recipe.print_wet_at_most,
            _ => return None,
        };
        Some(limit.0)
    }

    /// How long until an alarm comes or changes by itself; None while nothing runs.
    pub fn next_deadline(&self, now: Moment) -> Option<Duration> {
        let mut limits: Vec<Duration> = Vec::new();
        for (_, load) in self.loads().filter(|(_, load)| load.timed) {
            let Some(pressing) = self.pressing(load) else { continue };
            let span = load.elapsed(now).span;
            let marks = [Some(pressing.shortest), Some(pressing.target), Some(pressing.longest)];
            let marks = marks.into_iter().chain([pressing.steam_gone_by]).flatten();
            limits.extend(marks.filter_map(|mark| until(mark.0, span)));
            limits.extend(pressing.turns().filter_map(|turn| until(turn, span)));
        }
        for garment in self.wet_ones() {
            let span = now.since(garment.since).span;
            limits.extend(self.wait_limit(garment).and_then(|limit| until(limit, span)));
        }
        limits.extend(self.readies(now));
        limits.into_iter().min()
    }

    /// The sheet that most wants a wipe among those that can be had: at open presses, or set aside.
    pub fn sheet_to_clean(&self) -> Option<SheetNo> {
        let shut = |press| self.load(press).is_some();
        self.sheets()
            .all()
            .filter(|sheet| sheet.presses > 0 && !sheet.at.is_some_and(shut))
            .max_by_key(|sheet| (sheet.presses, std::cmp::Reverse(sheet.no)))
            .map(|sheet| sheet.no)
    }

    /// The PTFE sheets that can be thrown away, those of open presses, the likeliest first: a worn one, one that dries
    /// before one that cures, and the one of the press that dries `next` before the others.
    pub fn sheets_to_renew(&self, next: Option<PressNo>) -> Vec<&Sheet> {
        let open = |press| self.load(press).is_none();
        let mut found: Vec<&Sheet> = self
            .sheets()
            .all()
            .filter(|sheet| sheet.kind == Cover::PtfeSheet && sheet.at.is_some_and(open))
            .collect();
        found.sort_by_key(|sheet| {
            let is_next = next.is_some() && sheet.at == next;
            (!self.is_worn(sheet), sheet.covers != Step::Dry, !is_next, sheet.no)
        });
        found
    }

    /// Whether a PTFE sheet has seen as many presses as it lasts; never of one whose age nobody knows.
    pub fn is_worn(&self, sheet: &Sheet) -> bool {
        let lasts = self.station().map(|station| station.sheet.life);
        sheet.kind == Cover::PtfeSheet
            && sheet.life.zip(lasts).is_some_and(|(life, lasts)| life >= lasts)
    }

    /// The open press whose PTFE sheet has seen most, for a swap.
    pub fn press_to_swap(&self) -> Option<PressNo> {
        self.sheets()
            .all()
            .filter(|sheet| sheet.presses > 0 && sheet.kind == Cover::PtfeSheet)
            .filter(|sheet| sheet.at.is_some_and(|press| self.load(press).is_none()))
            .max_by_key(|sheet| (sheet.presses, std::cmp::Reverse(sheet.no)))
            .and_then(|sheet| sheet.at)
    }

    /// The drying press whose steam would be noted now: the one that has been shut longest.
    pub fn steaming(&self) -> Option<PressNo> {
        let drying =
            self.loads().filter(|(_, load)| load.step == Step::Dry && load.steam.is_none());
        let wanted = |load: &Load| self.steam_is_wanted(load);
        drying.min_by_key(|(_, load)| (!wanted(load), load.seq)).map(|(press, _)| press)
    }
}

/// The time left until a mark, plus a hair: at the mark itself "longer than" is not yet true.
fn until(mark: Duration, span: Duration) -> Option<Duration> {
    const HAIR: Duration = Duration::from_millis(1);
    mark.checked_sub(span).map(|left| left + HAIR)
}
