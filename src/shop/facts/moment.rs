//! A moment, as the shop knows it: the wall clock for people, the boot clock for spans of time.
//!
//! Each clock has a type of its own, so that no span is ever taken between the two of them.
//! The boot clock counts through suspend and ignores corrections of the wall clock, so spans within one
//! boot are exact. Across a reboot only the wall clock is left, and the span is marked unsure.

use std::fmt;
use std::ops::Sub;
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
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

/// What one clock shows: microseconds from where it begins to count.
macro_rules! clock {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[serde(transparent)]
        pub struct $name(pub i64);

        impl $name {
            /// Before anything that was recorded.
            pub const FIRST: $name = $name(i64::MIN);
            /// After anything that will be.
            pub const LAST: $name = $name(i64::MAX);

            /// The span since `earlier`; none where that is later.
            pub fn since(self, earlier: $name) -> Duration {
                let micros = self.0.saturating_sub(earlier.0);
                Duration::from_micros(u64::try_from(micros).unwrap_or(0))
            }

            /// The moment `span` later.
            pub fn plus(self, span: Duration) -> $name {
                $name(self.0.saturating_add(i64::try_from(span.as_micros()).unwrap_or(i64::MAX)))
            }

            /// The moment `span` earlier.
            pub fn minus(self, span: Duration) -> $name {
                $name(self.0.saturating_sub(i64::try_from(span.as_micros()).unwrap_or(i64::MAX)))
            }
        }

        /// The span from the moment on the right to the one on the left; negative where that is the earlier.
        impl Sub for $name {
            type Output = SignedDuration;
            fn sub(self, other: $name) -> SignedDuration {
                SignedDuration::from_micros(self.0.saturating_sub(other.0))
            }
        }
    };
}

clock! {
    /// The wall clock: microseconds since 1970-01-01T00:00:00Z. People read it, and it may be wrong or be set.
    Wall
}

clock! {
    /// The boot clock: microseconds since the machine was started. It counts through suspend and is never set.
    Up
}

impl Wall {
    /// As a calendar has it; None beyond what one can tell.
    pub fn timestamp(self) -> Option<Timestamp> {
        Timestamp::from_microsecond(self.0).ok()
    }
}

impl From<Timestamp> for Wall {
    fn from(time: Timestamp) -> Wall {
        Wall(time.as_microsecond())
    }
}

/// A moment on both clocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moment {
    pub at: Wall,
    /// Which boot `up` counts from.
    pub boot: Boot,
    pub up: Up,
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
        const EARLIEST: Wall = Wall(1_704_067_200_000_000);
        self.at < EARLIEST
    }

    /// The time since `earlier`; never negative.
    pub fn since(self, earlier: Moment) -> Elapsed {
        let sure = self.boot == earlier.boot;
        let span = if sure { self.up.since(earlier.up) } else { self.at.since(earlier.at) };
        Elapsed { span, sure }
    }

    /// The moment `span` later, on both clocks.
    pub fn plus(self, span: Duration) -> Moment {
        Moment { at: self.at.plus(span), up: self.up.plus(span), ..self }
    }

    /// The moment `span` earlier, on both clocks.
    pub fn minus(self, span: Duration) -> Moment {
        Moment { at: self.at.minus(span), up: self.up.minus(span), ..self }
    }
}

/// A wall-clock moment as RFC 3339, in UTC.
pub fn rfc3339(at: Wall) -> String {
    at.timestamp().map_or_else(|| "unknown".to_owned(), |time| time.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(at: i64, boot: u128, up: i64) -> Moment {
        Moment { at: Wall(at), boot: Boot(boot), up: Up(up) }
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
