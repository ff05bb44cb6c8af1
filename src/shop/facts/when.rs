//! Moments as people write them: one reader for orders, plans, reports and forms.
//!
//! A text with an offset ("2026-12-04T16:00:00+09:00", or Z) is that moment, wherever the shop is; one without is by
//! the shop's own clock. A time of day by itself ("13:00") is read where it can only mean today's.

use std::fmt;
use std::str::FromStr;

use jiff::civil::{Date, DateTime, Time};
use jiff::fmt::temporal::{Pieces, PiecesOffset};
use jiff::tz::{Offset, TimeZone};
use serde::{Deserialize, Serialize};

use super::moment::{Moment, Wall};
use super::words::clean;

/// What stands behind the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Clock {
    /// Nothing: the shop's own clock.
    Shop,
    /// "Z".
    Zulu,
    Offset(Offset),
}

/// A day and a time, as a due time is written: "2026-12-04T16:00", "2026-12-04 16:00", "2026-12-04T16:00+09:00".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Due {
    written: DateTime,
    clock: Clock,
}

/// A text that is no moment.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("found {found}, expected {expected}")]
pub struct NotAMoment {
    found: String,
    expected: &'static str,
}

const DUE: &str = "a date and time such as \"2026-12-04T16:00\", or \"2026-12-04T16:00+09:00\"";
const WHEN: &str = "a date and time such as \"2026-12-04T16:00\", or today's such as \"13:00\"";
const TIME: &str = "a time of day such as \"12:00\"";

fn not(text: &str, expected: &'static str) -> NotAMoment {
    let found = match clean(text.trim(), 40) {
        text if text.is_empty() => "nothing".to_owned(),
        text => format!("\"{text}\""),
    };
    NotAMoment { found, expected }
}

/// Reads a time of day: "13:00", "13:00:30", "9:05".
///
/// # Errors
/// A text that is none.
pub fn time_of_day(text: &str) -> Result<Time, NotAMoment> {
    let wrong = || not(text, TIME);
    let parts: Vec<&str> = text.trim().split(':').collect();
    let figures = |part: &&str| part.len() <= 2 && part.bytes().all(|byte| byte.is_ascii_digit());
    if !(2..=3).contains(&parts.len()) || !parts.iter().all(figures) || parts[1].len() != 2 {
        return Err(wrong());
    }
    let number = |n: usize| parts.get(n).map_or(Ok(0), |part| part.parse::<i8>());
    let (Ok(hour), Ok(minute), Ok(second)) = (number(0), number(1), number(2)) else {
        return Err(wrong());
    };
    Time::new(hour, minute, second, 0).map_err(|_| wrong())
}

impl FromStr for Due {
    type Err = NotAMoment;
    fn from_str(text: &str) -> Result<Self, NotAMoment> {
        let wrong = || not(text, DUE);
        let pieces = Pieces::parse(text.trim()).map_err(|_| wrong())?;
        let time = pieces.time().filter(|_| pieces.time_zone_annotation().is_none());
        let clock = match pieces.offset() {
            None => Clock::Shop,
            Some(PiecesOffset::Zulu) => Clock::Zulu,
            Some(offset) => Clock::Offset(offset.to_numeric_offset()),
        };
        Ok(Self { written: pieces.date().to_datetime(time.ok_or_else(wrong)?), clock })
    }
}

impl TryFrom<String> for Due {
    type Error = NotAMoment;
    fn try_from(text: String) -> Result<Self, NotAMoment> {
        text.parse()
    }
}

impl From<Due> for String {
    fn from(due: Due) -> String {
        due.to_string()
    }
}

impl NotAMoment {
    /// A text that is not what was expected.
    pub(super) fn new(text: &str, expected: &'static str) -> Self {
        not(text, expected)
    }
}

impl Due {
    /// A day and a time by the shop's own clock.
    pub fn by_shop(written: DateTime) -> Self {
        Self { written, clock: Clock::Shop }
    }

    /// The moment on the wall clock, `zone` being the shop's; None beyond what a clock can tell.
    pub fn at(self, zone: &TimeZone) -> Option<Wall> {
        let moment = match self.clock {
            Clock::Shop => self.written.to_zoned_datetime(zone.clone()).ok()?.timestamp(),
            Clock::Zulu => Offset::UTC.to_timestamp(self.written).ok()?,
            Clock::Offset(offset) => offset.to_timestamp(self.written).ok()?,
        };
        Some(moment.into())
    }

    /// Its day, as written.
    pub fn date(self) -> Date {
        self.written.date()
    }
}

/// As it was written: with its offset, and with seconds where it has some.
impl fmt::Display for Due {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.written.strftime("%Y-%m-%dT%H:%M"))?;
        match (self.written.second(), self.written.subsec_nanosecond()) {
            (0, 0) => {}
            (_, 0) => write!(f, "{}", self.written.strftime(":%S"))?,
            _ => write!(f, "{}", self.written.strftime(":%S%.f"))?,
        }
        match self.clock {
            Clock::Shop => Ok(()),
            Clock::Zulu => write!(f, "Z"),
            Clock::Offset(offset) => {
                let seconds = offset.seconds().unsigned_abs();
                let sign = if offset.is_negative() { '-' } else { '+' };
                write!(f, "{sign}{:02}:{:02}", seconds / 3600, seconds / 60 % 60)?;
                if seconds % 60 == 0 { Ok(()) } else { write!(f, ":{:02}", seconds % 60) }
            }
        }
    }
}

/// A moment that somebody names beside the present one: a day and a time, or a time of today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    At(Due),
    Today(Time),
}

impl FromStr for When {
    type Err = NotAMoment;
    fn from_str(text: &str) -> Result<Self, NotAMoment> {
        if let Ok(time) = time_of_day(text) {
            return Ok(When::Today(time));
        }
        text.parse().map(When::At).map_err(|_| not(text, WHEN))
    }
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            When::At(due) => due.fmt(f),
            When::Today(time) => write!(f, "{}", time.strftime("%H:%M")),
        }
    }
}

impl When {
    /// The moment on the wall clock; None beyond what a clock can tell.
    pub fn at(self, now: Moment, zone: &TimeZone) -> Option<Wall> {
        match self {
            When::At(due) => due.at(zone),
            When::Today(time) => {
                let today = now.at.timestamp()?.to_zoned_datetime(zone.clone());
                let at = today.date().to_datetime(time).to_zoned_datetime(zone.clone()).ok()?;
                Some(at.timestamp().into())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str, zone: &TimeZone) -> String {
        let at = text.parse::<Due>().unwrap().at(zone).unwrap();
        at.timestamp().unwrap().to_string()
    }

    #[test]
    fn a_moment_with_an_offset_is_that_moment_and_stays_as_it_was_written() {
        let zone = TimeZone::fixed(Offset::constant(2));
        for (text, wanted) in [
            ("2026-12-04T16:00", "2026-12-04T14:00:00Z"),
            ("2026-12-04 16:00", "2026-12-04T14:00:00Z"),
            ("2026-12-04T16:00:00+09:00", "2026-12-04T07:00:00Z"),
            ("2026-12-04T16:00Z", "2026-12-04T16:00:00Z"),
            ("2026-12-04T16:00:30-05:30", "2026-12-04T21:30:30Z"),
        ] {
            assert_eq!(utc(text, &zone), wanted, "{text}");
            let due: Due = text.parse().unwrap();
            assert_eq!(due.to_string().parse(), Ok(due), "{text} reads back");
        }
        assert_eq!(
            "2026-12-04T16:00:00+09:00".parse::<Due>().unwrap().to_string(),
            "2026-12-04T16:00+09:00"
        );
        assert_eq!("2026-12-04T16:00Z".parse::<Due>().unwrap().to_string(), "2026-12-04T16:00Z");
    }

    #[test]
    fn what_is_no_moment_is_refused() {
        for text in
            ["", "soon", "2026-12-04", "13:00", "2026-13-04T16:00", "2026-12-04T16:00[Asia/Tokyo]"]
        {
            assert!(text.parse::<Due>().is_err(), "{text:?}");
        }
        for text in
            ["", "25:00", "13", "1300", "13:0", "13:60", "-1:00", "13:00:00:00", "13:00 tomorrow"]
        {
            assert!(text.parse::<When>().is_err(), "{text:?}");
        }
        assert!("".parse::<Due>().unwrap_err().to_string().starts_with("found nothing, expected"));
        assert_eq!("9:05".parse::<When>().unwrap().to_string(), "09:05");
    }
}
