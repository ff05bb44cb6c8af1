//! Days of the shop's calendar. A shelf day is a calendar day, whether it has 23, 24 or 25 hours.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use serde::{Deserialize, Serialize};

use super::moment::{Moment, Wall};
use super::words::clean;
use crate::figures::units::Days;

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
        let stamp = moment.at.timestamp().unwrap_or(Timestamp::UNIX_EPOCH);
        Day(stamp.to_zoned_datetime(zone.clone()).date())
    }

    /// The wall-clock moment at which it begins in a zone; None beyond what a clock can tell.
    pub fn begins(self, zone: &TimeZone) -> Option<Wall> {
        let midnight = self.0.at(0, 0, 0, 0).to_zoned_datetime(zone.clone());
        Some(midnight.ok()?.timestamp().into())
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

/// A time zone that is UTC until somebody has said otherwise.
#[derive(Debug, Clone)]
pub(in crate::shop) struct Zone(pub(in crate::shop) TimeZone);

impl Default for Zone {
    fn default() -> Self {
        Self(TimeZone::UTC)
    }
}
