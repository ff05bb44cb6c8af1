//! The only file that reads the clocks.

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use rustix::time::{ClockId, clock_gettime};

use crate::shop::facts::moment::{Boot, Moment, Up, Wall};

/// Where the kernel keeps the number of this boot.
const BOOT_ID: &str = "/proc/sys/kernel/random/boot_id";

/// The boot clock: it counts through suspend and ignores corrections of the wall clock.
pub fn up() -> Up {
    let time = clock_gettime(ClockId::Boottime);
    Up(time.tv_sec.saturating_mul(1_000_000).saturating_add(time.tv_nsec / 1000))
}

/// The wall clock.
fn wall() -> Wall {
    tests_wall().unwrap_or_else(machines_wall)
}

/// The wall clock that a test has set, which goes on with the boot clock: see `DWELL_TEST_WALL` in tests/README.md.
#[cfg(debug_assertions)]
fn tests_wall() -> Option<Wall> {
    use std::sync::OnceLock;
    static AHEAD: OnceLock<Option<i64>> = OnceLock::new();
    let ahead = AHEAD.get_or_init(|| {
        let asked = std::env::var("DWELL_TEST_WALL").ok()?;
        // Without words a test would go by the machine's clock and never know.
        Some(ahead_of_boot(&asked).unwrap_or_else(|| panic!("DWELL_TEST_WALL={asked}: no moment")))
    });
    ahead.map(|ahead| Wall(up().0.saturating_add(ahead)))
}

/// How far the wall clock of `MOMENT[@UP]` is ahead of the boot clock, in microseconds.
#[cfg(debug_assertions)]
fn ahead_of_boot(asked: &str) -> Option<i64> {
    let (moment, then) = match asked.split_once('@') {
        Some((moment, then)) => (moment, then.parse().ok()?),
        None => (asked, up().0),
    };
    Some(moment.parse::<jiff::Timestamp>().ok()?.as_microsecond().saturating_sub(then))
}

/// Nothing in a program that is built for use.
#[cfg(not(debug_assertions))]
fn tests_wall() -> Option<Wall> {
    None
}

fn machines_wall() -> Wall {
    match SystemTime::now().duration_since(UNIX_EPOCH) {
        Ok(span) => Wall(0).plus(span),
        Err(before) => Wall(0).minus(before.duration()),
    }
}

/// A clock: the machine's own, or one that runs a made-up shift at another speed.
#[derive(Debug, Clone, PartialEq)]
pub enum Clock {
    Machine { boot: Boot },
    MadeUp(MadeUp),
}

/// A made-up clock: it stood at `base` when the machine's boot clock stood at `started`.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeUp {
    base: Moment,
    started: Up,
    speed: f64,
    paused: bool,
}

impl Clock {
    /// The machine's own clocks. Where the kernel tells no boot number, each start counts as a boot.
    pub fn machine() -> Self {
        let text = std::fs::read_to_string(BOOT_ID).unwrap_or_default();
        let boot = Boot::try_from(text.trim().to_owned());
        Self::Machine { boot: boot.unwrap_or(Boot(u128::from(wall().0.unsigned_abs()))) }
    }

    /// A clock that stands at `base` now and runs `speed` times as fast as the machine's.
    pub fn made_up(base: Moment, speed: f64) -> Self {
        Self::MadeUp(MadeUp { base, started: up(), speed, paused: false })
    }

    /// A clock that stands.
    pub fn standing(at: Moment) -> Self {
        Self::MadeUp(MadeUp { base: at, started: up(), speed: 1.0, paused: true })
    }

    /// The present moment.
    pub fn now(&self) -> Moment {
        self.at_up(up())
    }

    /// The moment at which the machine's boot clock stood at `then`, which was a short while ago.
    pub fn at_up(&self, then: Up) -> Moment {
        match self {
            Clock::Machine { boot } => {
                Moment { at: wall().minus(up().since(then)), boot: *boot, up: then }
            }
            Clock::MadeUp(clock) if clock.paused => clock.base,
            Clock::MadeUp(clock) => clock.base.plus(then.since(clock.started).mul_f64(clock.speed)),
        }
    }

    /// How long the machine has to wait for `span` of this clock to pass; None while it stands still.
    pub fn wait(&self, span: Duration) -> Option<Duration> {
        match self {
            Clock::Machine { .. } => Some(span),
            Clock::MadeUp(clock) if clock.paused => None,
            Clock::MadeUp(clock) => Some(span.div_f64(clock.speed)),
        }
    }

    /// A made-up clock as a text, of one length whatever it says; None for the machine's own.
    pub fn as_text(&self) -> Option<String> {
        let Clock::MadeUp(MadeUp { base, started, speed, paused }) = self else { return None };
        let (at, up, started, paused) = (base.at.0, base.up.0, started.0, u8::from(*paused));
        Some(format!("{at:>20} {up:>20} {started:>20} {speed:>24} {paused}\n"))
    }

    /// The clock that was written so; None where the text is not whole.
    pub fn from_text(text: &str) -> Option<Self> {
        let words: Vec<&str> = text.strip_suffix('\n')?.split_whitespace().collect();
        let [at, up, started, speed, paused] = words[..] else { return None };
        let (at, up) = (Wall(at.parse().ok()?), Up(up.parse().ok()?));
        let base = Moment { at, boot: Boot::MADE_UP, up };
        let started = Up(started.parse().ok()?);
        let speed = speed.parse().ok().filter(|speed: &f64| speed.is_finite() && *speed > 0.0)?;
        let paused = match paused {
            "0" => false,
            "1" => true,
            _ => return None,
        };
        Some(Self::MadeUp(MadeUp { base, started, speed, paused }))
    }

    /// Changes the speed of a made-up clock, or stops it.
    pub fn set(&mut self, speed: f64, paused: bool) {
        let base = self.now();
        if let Clock::MadeUp(clock) = self {
            *clock = MadeUp { base, started: up(), speed, paused };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_made_up_clock_reads_back_as_it_was_and_half_of_it_does_not() {
        let base = Moment { at: Wall(1_772_438_400_000_000), boot: Boot::MADE_UP, up: Up(7) };
        let mut clock = Clock::made_up(base, 0.1);
        for paused in [false, true] {
            clock.set(2.0 / 3.0, paused);
            let text = clock.as_text().unwrap();
            assert_eq!(Clock::from_text(&text), Some(clock.clone()), "{text}");
            for length in 0..text.len() {
                assert_eq!(Clock::from_text(&text[..length]), None, "{length} bytes of it");
            }
        }
        assert_eq!(Clock::machine().as_text(), None);
    }
}
