//! Which shifts there were: what was done by hand at the bench, told apart by who opened one and by long pauses.
//!
//! The first initials open a shift, and closing it ends it. Where nobody signs in, a pause of five hours ends one
//! (our own choice: longer than any meal, shorter than any night). A shift is of the day on which it began, so one
//! that runs over midnight stays whole.

use std::time::Duration;

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::Shop;
use super::day::Day;
use super::fact::{Event, Fact};
use super::ids::ActNo;
use super::moment::Moment;

/// Nothing by hand for so long: what comes then is another shift.
pub const PAUSE: Duration = Duration::from_secs(5 * 3600);

/// A stretch of work at the bench.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Shift {
    /// The first event by hand, and its moment.
    pub first: u64,
    pub from: Moment,
    /// The last one, and its moment.
    pub last: u64,
    pub to: Moment,
    /// The act that closed it, if somebody did.
    pub closed: Option<ActNo>,
}

impl Shift {
    /// The day on which it began.
    pub fn day(&self, zone: &TimeZone) -> Day {
        Day::of(self.from, zone)
    }

    /// Whether it may still be going on at `now`.
    pub fn may_run(&self, now: Moment) -> bool {
        self.closed.is_none() && now.since(self.to).span < PAUSE
    }
}

/// Finds the shifts, event by event.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Shifts {
    all: Vec<Shift>,
}

impl Shifts {
    /// Takes the next event.
    pub fn take(&mut self, event: &Event) {
        if !event.fact.is_by_hand() && !matches!(event.fact, Fact::Undone(_)) {
            return;
        }
        let opens = matches!(&event.fact, Fact::SignedIn(fact) if fact.opens_shift);
        let (seq, moment) = (event.seq, event.moment);
        if let (Fact::Undone(fact), Some(shift)) = (&event.fact, self.all.last_mut()) {
            shift.closed.take_if(|act| *act == fact.undoes);
        }
        let goes_on = |shift: &&mut Shift| !opens && shift.may_run(moment);
        match self.all.last_mut().filter(goes_on) {
            Some(shift) => (shift.last, shift.to) = (seq, moment),
            None => self.all.push(Shift {
                first: seq,
                from: moment,
                last: seq,
                to: moment,
                closed: None,
            }),
        }
        if let (Fact::ShiftClosed(_), Some(shift)) = (&event.fact, self.all.last_mut()) {
            shift.closed = Some(event.act);
        }
    }

    /// The same, where only the newest one is wanted.
    pub(super) fn follow(&mut self, event: &Event) {
        self.take(event);
        let old = self.all.len().saturating_sub(1);
        self.all.drain(..old);
    }

    /// The newest one.
    pub fn last(&self) -> Option<Shift> {
        self.all.last().copied()
    }

    /// All that began on a day, told as one.
    pub fn of(&self, day: Day, zone: &TimeZone) -> Option<Shift> {
        let mut that_day = self.all.iter().filter(|shift| shift.day(zone) == day);
        let first = *that_day.next()?;
        let last = that_day.next_back().copied().unwrap_or(first);
        Some(Shift { first: first.first, from: first.from, ..last })
    }

    /// The days on which shifts began, oldest first, each once.
    pub fn days(&self, zone: &TimeZone) -> Vec<Day> {
        let mut days: Vec<Day> = self.all.iter().map(|shift| shift.day(zone)).collect();
        days.dedup();
        days
    }
}

impl Shop {
    /// Since when what is told of "today" is counted, by the wall clock in microseconds: since the shift began that
    /// runs, else since midnight. So a night shift keeps its count.
    pub fn counted_since(&self, now: Moment) -> i64 {
        let running = self.shifts.last().filter(|shift| shift.may_run(now));
        let midnight = || self.today(now).begins(self.zone()).unwrap_or(now.at);
        running.map_or_else(midnight, |shift| shift.from.at)
    }
}
