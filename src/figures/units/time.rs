//! Spans of time.

use std::fmt;
use std::str::FromStr;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::number::{in_plain_letters, split};
use super::{NotAQuantity, bounds, shown};

const DAY_S: f64 = 86_400.0;

/// How many seconds a unit of time has, by its name in small letters. Months and years are those of humantime,
/// which prints spans.
fn unit(name: &str) -> Option<f64> {
    Some(match name.trim_end_matches('.') {
        "ns" => 1e-9,
        "us" => 1e-6,
        "ms" => 1e-3,
        "s" | "sec" | "secs" | "second" | "seconds" => 1.0,
        "m" | "min" | "mins" | "minute" | "minutes" => 60.0,
        "h" | "hr" | "hrs" | "hour" | "hours" => 3600.0,
        "d" | "day" | "days" => DAY_S,
        "w" | "wk" | "week" | "weeks" => 7.0 * DAY_S,
        "month" | "months" => 30.44 * DAY_S,
        "y" | "yr" | "year" | "years" => 365.25 * DAY_S,
        _ => return None,
    })
}

/// A span of time: "40s", "1min 30s", "3weeks", "1,5 min".
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(try_from = "String", into = "String")]
pub struct Span(pub Duration);

impl Span {
    /// A span of whole seconds.
    pub const fn seconds(seconds: u64) -> Self {
        Self(Duration::from_secs(seconds))
    }

    /// The span in seconds, with the fraction.
    pub fn as_seconds(self) -> f64 {
        self.0.as_secs_f64()
    }

    /// Reads a text; a bare number is in seconds where `bare` says that nothing else can be meant.
    fn read_as(text: &str, bare: bool, wanted: &str) -> Result<Self, NotAQuantity> {
        let letters = in_plain_letters(text);
        let mut rest = letters.as_str();
        let mut whole = Duration::ZERO;
        loop {
            let (number, behind) = split(rest).map_err(|reason| reason.error(text, wanted))?;
            let end = behind.find(|letter: char| letter.is_ascii_digit()).unwrap_or(behind.len());
            let name = behind[..end].trim();
            let why = match (unit(&name.to_lowercase()), name) {
                _ if number < 0.0 => "which is below zero",
                (_, "M") => "where \"M\" may be minutes or months: write min",
                (_, "") if !(bare && behind.is_empty()) => "which has no unit",
                (None, name) if !name.is_empty() => {
                    let why = format!("where \"{}\" is no unit of time", shown(name));
                    return Err(NotAQuantity::because(text, &why, wanted));
                }
                (worth, _) => {
                    let part = Duration::try_from_secs_f64(number * worth.unwrap_or(1.0));
                    match part.ok().and_then(|part| whole.checked_add(part)) {
                        Some(sum) => whole = sum,
                        None => return Err(NotAQuantity::new(text, "a time under 100 years")),
                    }
                    ""
                }
            };
            if !why.is_empty() {
                return Err(NotAQuantity::because(text, why, wanted));
            }
            rest = &behind[end..];
            if rest.is_empty() {
                break;
            }
        }
        // A hundred years keep all later sums of microseconds far from overflow.
        const LONGEST: Duration = Duration::from_secs(100 * 366 * 86_400);
        if whole > LONGEST {
            return Err(NotAQuantity::new(text, "a time under 100 years"));
        }
        Ok(Self(whole))
    }
}

impl FromStr for Span {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        Self::read_as(text, false, "a time such as \"40s\" or \"1min 30s\"")
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", humantime::format_duration(self.0))
    }
}
as_text!(Span);

impl bounds::Written for Span {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        text.parse()
    }
    fn size(self) -> f64 {
        self.as_seconds()
    }
    fn in_its_unit(self, size: f64) -> String {
        Span(Duration::try_from_secs_f64(size).unwrap_or_default()).to_string()
    }
}

/// A span where a bare number can only be seconds: "31", "31s", "1min".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seconds(pub f64);

impl bounds::Written for Seconds {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        let span = Span::read_as(text, true, "seconds such as \"31\" or \"31s\"")?;
        Ok(Self(span.as_seconds()))
    }
    fn size(self) -> f64 {
        self.0
    }
    fn in_its_unit(self, size: f64) -> String {
        format!("{size} s")
    }
}

/// Whole calendar days, whatever their hours; reads "21days", "3weeks".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Days(pub u32);

impl FromStr for Days {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "whole days such as \"21days\" or \"3weeks\"";
        const DAY: u64 = 86_400;
        let span = Span::read_as(text, false, WANTED)?.0;
        let broken = || NotAQuantity::because(text, "which is no whole number of days", WANTED);
        if span.subsec_nanos() != 0 || span.as_secs() % DAY != 0 {
            return Err(broken());
        }
        u32::try_from(span.as_secs() / DAY).map(Self).map_err(|_| broken())
    }
}

impl fmt::Display for Days {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plural = if self.0 == 1 { "" } else { "s" };
        write!(f, "{}day{plural}", self.0)
    }
}
as_text!(Days);
