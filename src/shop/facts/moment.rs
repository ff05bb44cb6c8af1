//! A moment, as the shop knows it: the wall clock for people, the boot clock for spans of time.
//!
//! The boot clock counts through suspend and ignores corrections of the wall clock, so spans within one
//! boot are exact. Across a reboot only the wall clock is left, and the span is marked unsure.

use std::fmt;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::figures::written::written;

/// One run of the machine from power-on to power-off, by the random number that the kernel gives it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Boot(pub u128);

impl Boot {
    /// The boot of every made-up shift: marks its journal as no real one.
    pub const MADE_UP: Boot = Boot(u128::from_be_bytes(*b"a made-up shift "));
}

written!(Boot, u128, |boot| boot.0, Boot);

impl TryFrom<String> for Boot {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let digits: String = text.chars().filter(|c| *c != '-').collect();
        u128::from_str_radix(&digits, 16)
            .map(Self)
            .map_err(|_| format!("found \"{text}\", expected the number of a boot in hexadecimal"))
    }
}

impl From<Boot> for String {
    fn from(boot: Boot) -> String {
        boot.to_string()
    }
}

impl fmt::Display for Boot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

/// A moment on both clocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moment {
    /// Wall clock, microseconds since 1970-01-01T00:00:00Z.
    pub at: i64,
    /// Which boot `up` counts from.
    pub boot: Boot,
    /// Boot clock, microseconds.
    pub up: i64,
}

/// How much time lies between two moments, and whether one clock saw both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Elapsed {
    pub span: Duration,
    /// False across a reboot, where only the wall clock could be asked.
    pub sure: bool,
}

impl Elapsed {
    /// The span in seconds, with the fraction.
    pub fn seconds(self) -> f64 {
        self.span.as_secs_f64()
    }
}

impl Moment {
    /// Whether its wall clock is plainly wrong: no machine that runs this has an honest clock before 2024.
    pub fn is_before_any_clock(self) -> bool {
        /// 2024-01-01.
        const EARLIEST_US: i64 = 1_704_067_200_000_000;
        self.at < EARLIEST_US
    }

    /// The time since `earlier`; never negative.
    pub fn since(self, earlier: Moment) -> Elapsed {
        let sure = self.boot == earlier.boot;
        let micros = if sure {
            self.up.saturating_sub(earlier.up)
        } else {
            self.at.saturating_sub(earlier.at)
        };
        let span = Duration::from_micros(u64::try_from(micros).unwrap_or(0));
        Elapsed { span, sure }
    }

    /// The moment `span` later, on both clocks.
    pub fn plus(self, span: Duration) -> Moment {
        let micros = i64::try_from(span.as_micros()).unwrap_or(i64::MAX);
        Moment { at: self.at.saturating_add(micros), up: self.up.saturating_add(micros), ..self }
    }

    /// The moment `span` earlier, on both clocks.
    pub fn minus(self, span: Duration) -> Moment {
        let micros = i64::try_from(span.as_micros()).unwrap_or(i64::MAX);
        Moment { at: self.at.saturating_sub(micros), up: self.up.saturating_sub(micros), ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(at: i64, boot: u128, up: i64) -> Moment {
        Moment { at, boot: Boot(boot), up }
    }

    #[test]
    fn a_corrected_wall_clock_changes_no_span_within_a_boot() {
        let shut = moment(1_000_000_000, 1, 5_000_000);
        let open = moment(-77, 1, 45_000_000);
        assert_eq!(open.since(shut), Elapsed { span: Duration::from_secs(40), sure: true });
    }

    #[test]
    fn across_a_reboot_the_wall_clock_serves_and_is_not_sure() {
        let shut = moment(1_000_000, 1, 500_000_000);
        let open = moment(61_000_000, 2, 3_000_000);
        assert_eq!(open.since(shut), Elapsed { span: Duration::from_secs(60), sure: false });
        assert_eq!(shut.since(open).span, Duration::ZERO);
    }
}
