//! Days of the shop's calendar. A shelf day is a calendar day, whether it has 23, 24 or 25 hours.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use serde::{Deserialize, Serialize};

use super::moment::{Boot, Moment};
use super::words::clean;
use crate::figures::units::Days;
use crate::shop::Shop;

/// A day: "2026-12-04".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day(pub Date);

/// A text that is no day.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("found \"{0}\", expected a day such as \"2026-12-04\"")]
pub struct NotADay(String);

impl FromStr for Day {
    type Err = NotADay;
    fn from_str(text: &str) -> Result<Self, NotADay> {
        // Strictly the ten characters: a date with a time behind it is not a day.
        let text = text.trim();
        let date = Some(text).filter(|text| text.len() == 10).and_then(|text| text.parse().ok());
        date.map(Self).ok_or_else(|| NotADay(clean(text, 20)))
    }
}

impl TryFrom<String> for Day {
    type Error = NotADay;
    fn try_from(text: String) -> Result<Self, NotADay> {
        text.parse()
    }
}

impl From<Day> for String {
    fn from(day: Day) -> String {
        day.to_string()
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0.strftime("%Y-%m-%d").to_string())
    }
}

impl Day {
    /// The day of a moment in a zone.
    pub fn of(moment: Moment, zone: &TimeZone) -> Day {
        let stamp = Timestamp::from_microsecond(moment.at).unwrap_or(Timestamp::UNIX_EPOCH);
        Day(stamp.to_zoned_datetime(zone.clone()).date())
    }

    /// The wall-clock moment at which it begins in a zone, in microseconds; None beyond what a clock can tell.
    pub fn begins(self, zone: &TimeZone) -> Option<i64> {
        let midnight = self.0.at(0, 0, 0, 0).to_zoned_datetime(zone.clone());
        Some(midnight.ok()?.timestamp().as_microsecond())
    }

    /// So many calendar days later.
    pub fn plus(self, days: Days) -> Day {
        Day(self.0.saturating_add(i64::from(days.0).days()))
    }

    /// How many days lie between this one and a later one; negative where it is earlier.
    pub fn until(self, later: Day) -> i32 {
        self.0.until(later.0).map_or(0, |span| span.get_days())
    }
}

impl Shop {
    /// The shop's own time zone, as the shell has found it; UTC until then.
    pub fn zone(&self) -> &TimeZone {
        &self.zone.0
    }

    /// Says in which zone the shop lies. No fact: the profile that names it is one.
    pub fn set_zone(&mut self, zone: TimeZone) {
        self.zone = Zone(zone);
    }

    /// The day of the shop's calendar.
    pub fn today(&self, now: Moment) -> Day {
        Day::of(now, self.zone())
    }

    /// Whether the wall clock is plainly wrong: before any honest machine's, or before what was recorded already.
    /// One that has gone back stays in doubt until it has caught up, or the machine has been started again: after
    /// a flat battery the first event would otherwise be the only one in doubt.
    pub fn clock_is_wrong(&self, now: Moment) -> bool {
        const SLACK_US: i64 = 120_000_000;
        now.is_before_any_clock() || now.at.saturating_add(SLACK_US) < self.reached(now.boot)
    }

    /// How far the wall clock has come, as a moment of this boot must find it.
    fn reached(&self, boot: Boot) -> i64 {
        match self.newest {
            Some(newest) if newest.boot == boot => self.furthest.max(newest.at),
            Some(newest) => newest.at,
            None => i64::MIN,
        }
    }

    /// Takes note of the moment of an event.
    pub(in crate::shop) fn note_moment(&mut self, moment: Moment) {
        self.furthest = self.reached(moment.boot).max(moment.at);
        self.newest = Some(moment);
    }
}

/// A time zone that is UTC until somebody has said otherwise.
#[derive(Debug, Clone)]
pub(in crate::shop) struct Zone(TimeZone);

impl Default for Zone {
    fn default() -> Self {
        Self(TimeZone::UTC)
    }
}
