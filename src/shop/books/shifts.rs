//! Which shifts there were: what was done by hand at the bench, told apart by who opened one and by long pauses.
//!
//! The first initials open a shift, and closing it ends it. What was done before somebody signed in, late, is of that
//! shift too. Where nobody signs in, a pause of five hours ends one
//! (our own choice: longer than any meal, shorter than any night). A shift is of the day on which it began, so one
//! that runs over midnight stays whole.

use std::collections::VecDeque;
use std::time::Duration;

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::Book;
use super::entry::{Done, Entry};
use crate::shop::Shop;
use crate::shop::facts::day::Day;
use crate::shop::facts::moment::{Moment, Wall};

/// Nothing by hand for so long: what comes then is another shift.
pub const PAUSE: Duration = Duration::from_secs(5 * 3600);

/// The most shifts that are kept.
const MOST: usize = 1500;

/// A stretch of work at the bench.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Shift {
    /// The first event by hand, and its moment.
    pub first: u64,
    pub from: Moment,
    /// The last one, and its moment.
    pub last: u64,
    pub to: Moment,
    /// Whether somebody closed it.
    pub closed: bool,
}

impl Shift {
    /// The day on which it began.
    pub fn day(&self, zone: &TimeZone) -> Day {
        Day::of(self.from, zone)
    }

    /// Whether it may still be going on at `now`.
    pub fn may_run(&self, now: Moment) -> bool {
        !self.closed && now.since(self.to).span < PAUSE
    }
}

/// The shifts, oldest first: as many as a year has where three are worked a day, and some more.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Shifts {
    all: VecDeque<Shift>,
}

impl Book for Shifts {
    fn take(&mut self, entry: &Entry) {
        if !entry.by_hand {
            return;
        }
        let (seq, moment) = (entry.seq, entry.moment);
        match self.all.back_mut().filter(|shift| shift.may_run(moment)) {
            Some(shift) => {
                shift.last = seq;
                // One that happened before its key may lie before the act that was noted before it.
                if shift.to.boot != moment.boot || shift.to.up < moment.up {
                    shift.to = moment;
                }
            }
            None => {
                if self.all.len() == MOST {
                    self.all.pop_front();
                }
                let (first, last) = (seq, seq);
                self.all.push_back(Shift { first, from: moment, last, to: moment, closed: false });
            }
        }
        if let (Done::ShiftClosed, Some(shift)) = (&entry.done, self.all.back_mut()) {
            shift.closed = true;
        }
    }
}

impl Shifts {
    /// The newest one.
    pub fn last(&self) -> Option<Shift> {
        self.all.back().copied()
    }

    /// The number of the event with which the next one began.
    pub fn next_after(&self, shift: &Shift) -> Option<u64> {
        self.all.iter().map(|shift| shift.first).find(|first| *first > shift.last)
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
    /// Since when what is told of "today" is counted, by the wall clock: since the shift began that
    /// runs, else since midnight. So a night shift keeps its count.
    pub fn counted_since(&self, now: Moment) -> Wall {
        let running = self.books().shifts.last().filter(|shift| shift.may_run(now));
        let midnight = || self.today(now).begins(self.zone()).unwrap_or(now.at);
        running.map_or_else(midnight, |shift| shift.from.at)
    }
}
