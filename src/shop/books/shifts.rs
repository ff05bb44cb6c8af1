//! Which shifts there were: what was done by hand at the bench, told apart by who opened one and by long pauses.
//!
//! The first initials open a shift, and closing it ends it. What was done before somebody signed in, late, is of that
//! shift too. Where nobody signs in, a pause of five hours ends one
//! (our own choice: longer than any meal, shorter than any night). A shift is of the day on which it began, so one
//! that runs over midnight stays whole; a day's first shift is known by the day, the others by their number behind it.

use std::collections::VecDeque;
use std::fmt;
use std::str::FromStr;
use std::time::Duration;

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::Book;
use super::entry::{Done, Entry};
use crate::shop::Shop;
use crate::shop::facts::calendar::Calendar;
use crate::shop::facts::day::Day;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::words::clean;

/// Nothing by hand for so long: what comes then is another shift.
pub const PAUSE: Duration = Duration::from_secs(5 * 3600);

/// The most shifts that are kept.
const MOST: usize = 1500;

/// A stretch of work at the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shift {
    /// The first event by hand, and its moment.
    pub first: u64,
    pub from: Moment,
    /// The last one, and its moment.
    pub last: u64,
    pub to: Moment,
    /// Whether somebody closed it.
    pub closed: bool,
    /// Initials of everybody who was there, in the order in which they came.
    pub people: Vec<String>,
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

/// What people call a shift: "2026-12-04", "2026-12-04/2", "2026-12-04/AK", "AK".
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ShiftName {
    Of(Day, Which),
    /// The newest one of somebody, by initials.
    Newest(String),
}

/// Which of a day's shifts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    /// From 1 on.
    Number(usize),
    /// The day's last one of somebody, by initials.
    By(String),
}

/// A text that names no shift.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "found \"{0}\", expected a shift by its day (\"2026-12-04\"), by its number on that day (\"2026-12-04/2\") or by initials (\"2026-12-04/AK\", or \"AK\" for the newest)"
)]
pub struct NoShiftName(String);

impl FromStr for ShiftName {
    type Err = NoShiftName;
    fn from_str(text: &str) -> Result<Self, NoShiftName> {
        let wrong = || NoShiftName(clean(text, 30));
        let initials = |text: &str| {
            let fits = (1..=4).contains(&text.chars().count())
                && text.chars().all(char::is_alphanumeric)
                && !text.chars().all(|letter| letter.is_ascii_digit());
            fits.then(|| text.to_uppercase())
        };
        let text = text.trim();
        let Some((day, which)) = text.split_once('/') else {
            let of_day = text.parse().ok().map(|day| ShiftName::Of(day, Which::Number(1)));
            return of_day.or_else(|| initials(text).map(ShiftName::Newest)).ok_or_else(wrong);
        };
        let day = day.parse().map_err(|_| wrong())?;
        let number = which.parse().ok().filter(|number| *number > 0).map(Which::Number);
        let which = number.or_else(|| initials(which).map(Which::By)).ok_or_else(wrong)?;
        Ok(ShiftName::Of(day, which))
    }
}

impl fmt::Display for ShiftName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ShiftName::Of(day, Which::Number(1)) => day.fmt(f),
            ShiftName::Of(day, Which::Number(number)) => f.pad(&format!("{day}/{number}")),
            ShiftName::Of(day, Which::By(who)) => f.pad(&format!("{day}/{who}")),
            ShiftName::Newest(who) => f.pad(who),
        }
    }
}

/// The shifts, oldest first: as many as a year has where three are worked a day, and some more.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Shifts {
    all: VecDeque<Shift>,
    /// Who is there.
    here: Vec<String>,
}

impl Book for Shifts {
    fn take(&mut self, entry: &Entry) {
        match &entry.done {
            Done::SignedIn { who, .. } => self.here.push(who.clone()),
            Done::SignedOut(who) => self.here.retain(|one| one != who),
            _ => {}
        }
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
                let (closed, people) = (false, Vec::new());
                self.all.push_back(Shift { first, from: moment, last, to: moment, closed, people });
            }
        }
        let Some(shift) = self.all.back_mut() else { return };
        for who in &self.here {
            if !shift.people.contains(who) {
                shift.people.push(who.clone());
            }
        }
        if entry.done == Done::ShiftClosed {
            shift.closed = true;
            self.here.clear();
        }
    }
}

impl Shifts {
    /// All of them, oldest first.
    pub fn all(&self) -> impl DoubleEndedIterator<Item = &Shift> {
        self.all.iter()
    }

    /// Who is at the bench, in the order in which they came.
    pub fn here(&self) -> &[String] {
        &self.here
    }

    /// The newest one.
    pub fn last(&self) -> Option<Shift> {
        self.all.back().cloned()
    }

    /// The number of the event with which the newest one began; 0 before the first.
    pub fn last_first(&self) -> u64 {
        self.all.back().map_or(0, |shift| shift.first)
    }

    /// The number of the event with which the next one began.
    pub fn next_after(&self, shift: &Shift) -> Option<u64> {
        self.all.iter().map(|shift| shift.first).find(|first| *first > shift.last)
    }

    /// The shifts that began on a day, in order.
    pub fn of(&self, day: Day, zone: &TimeZone) -> Vec<&Shift> {
        self.all.iter().filter(|shift| shift.day(zone) == day).collect()
    }

    /// The shift that a name means: the newest one of somebody, or one of a day.
    pub fn named(&self, name: &ShiftName, zone: &TimeZone) -> Option<&Shift> {
        let of = |who: &str, shift: &Shift| shift.people.iter().any(|one| one == who);
        match name {
            ShiftName::Of(day, Which::Number(number)) => {
                self.of(*day, zone).into_iter().nth(number.checked_sub(1)?)
            }
            ShiftName::Of(day, Which::By(who)) => {
                self.of(*day, zone).into_iter().rfind(|shift| of(who, shift))
            }
            ShiftName::Newest(who) => self.all.iter().rfind(|shift| of(who, shift)),
        }
    }

    /// What a shift is known by, and how many began on its day.
    pub fn name_of(&self, shift: &Shift, zone: &TimeZone) -> (ShiftName, usize) {
        let day = shift.day(zone);
        let that_day = self.of(day, zone);
        let place = that_day.iter().position(|one| one.first == shift.first).unwrap_or(0);
        (ShiftName::Of(day, Which::Number(place + 1)), that_day.len())
    }

    /// The first shift that began on a day or after it, and the last that began on another day or before it.
    pub fn between(&self, from: Day, to: Day, zone: &TimeZone) -> Option<(&Shift, &Shift)> {
        let mut within = self.all.iter().filter(|shift| {
            let day = shift.day(zone);
            from <= day && day <= to
        });
        let first = within.next()?;
        Some((first, within.next_back().unwrap_or(first)))
    }

    /// The days on which shifts began, oldest first, each once.
    pub fn days(&self, zone: &TimeZone) -> Vec<Day> {
        let mut days: Vec<Day> = self.all.iter().map(|shift| shift.day(zone)).collect();
        days.dedup();
        days
    }
}

impl Shop {
    /// Seconds of these stretches in which the station's profile lets nobody work.
    pub fn rest_within(&self, stretches: &[(Wall, Wall)]) -> f64 {
        let Some(station) = self.station() else { return 0.0 };
        let calendar = Calendar::of(station, self.zone().clone());
        // Not a bare sum: that of nothing is -0.
        stretches.iter().fold(0.0, |sum, (from, to)| sum + calendar.rest_between(*from, *to))
    }

    /// Since when what is told of "today" is counted, by the wall clock: since the shift began that
    /// runs, else since midnight. So a night shift keeps its count.
    pub fn counted_since(&self, now: Moment) -> Wall {
        let running = self.books().shifts.last().filter(|shift| shift.may_run(now));
        let midnight = || self.today(now).begins(self.zone()).unwrap_or(now.at);
        running.map_or_else(midnight, |shift| shift.from.at)
    }
}
