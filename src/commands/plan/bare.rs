//! A bare problem, for checks: no station, no journal, no clock.

use std::fmt::Display;

use super::MOST;
use crate::commands::Failure;
use crate::forecast::plan::{Dwell, Group, Kind, Millis, Phase, Problem};
use crate::forecast::workload::millis;
use crate::shop::facts::station::HandTimes;
use crate::shop::facts::words::clean;

/// All names, as they are told to whoever writes another.
const KNOWN: &str =
    "presses, operators, garments, late, late_at, load, unload, press1, press2, spray, roll, dwell";

/// What a text of names and numbers says.
struct Bare {
    presses: usize,
    operators: usize,
    garments: usize,
    /// So many more, that come later, and when.
    late: usize,
    late_at: Millis,
    load: Millis,
    unload: Millis,
    press1: Millis,
    press2: Millis,
    spray: Millis,
    roll: Millis,
    dwell: Dwell,
}

/// A bare problem as a text of names and numbers.
pub fn read(text: &str) -> Result<Problem, Failure> {
    let hands = HandTimes::default();
    let mut bare = Bare {
        presses: 1,
        operators: 1,
        garments: 0,
        late: 0,
        late_at: 0,
        load: millis(hands.load),
        unload: millis(hands.unload),
        press1: 15_000,
        press2: 40_000,
        spray: millis(hands.spray),
        roll: millis(hands.roll),
        dwell: Dwell::Unlimited,
    };
    for word in text.split_whitespace() {
        let pair = word.split_once('=');
        let (name, value) = pair
            .ok_or_else(|| wrong(format!("found \"{}\", expected name=value", clean(word, 20))))?;
        bare.set(name, value)?;
    }
    Ok(bare.problem())
}

fn wrong(what: impl Display) -> Failure {
    Failure::Input(format!("--bench: {what}"))
}

fn number(name: &str, value: &str) -> Result<f64, Failure> {
    let found = value.parse::<f64>().ok().filter(|n| (0.0..=100_000.0).contains(n));
    found.ok_or_else(|| {
        wrong(format!("{name}={}: expected a number, 0 to 100000", clean(value, 20)))
    })
}

impl Bare {
    fn set(&mut self, name: &str, value: &str) -> Result<(), Failure> {
        #[expect(clippy::cast_possible_truncation, reason = "at most 100,000 seconds")]
        let span = || number(name, value).map(|n| (n * 1000.0).round() as Millis);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 100,000")]
        let count = |most: usize| match number(name, value)? as usize {
            n if n > most => Err(wrong(format!("{name}={n}: expected at most {most}"))),
            n => Ok(n),
        };
        match name {
            "presses" => self.presses = count(MOST)?,
            "operators" => self.operators = count(MOST)?,
            "garments" => self.garments = count(2000)?,
            "late" => self.late = count(2000)?,
            "late_at" => self.late_at = span()?,
            "load" => self.load = span()?,
            "unload" => self.unload = span()?,
            "press1" => self.press1 = span()?,
            "press2" => self.press2 = span()?,
            "spray" => self.spray = span()?,
            "roll" => self.roll = span()?,
            "dwell" if value == "free" => self.dwell = Dwell::Unlimited,
            "dwell" if value == "0" => self.dwell = Dwell::None,
            "dwell" if number(name, value).is_ok() => self.dwell = Dwell::Limited(span()?),
            "dwell" => {
                return Err(wrong(
                    "dwell: expected free, or the seconds that a garment may lie in a press after its run",
                ));
            }
            _ => {
                let name = clean(name, 20);
                return Err(wrong(format!("nothing is called \"{name}\"; there are: {KNOWN}")));
            }
        }
        Ok(())
    }

    fn problem(&self) -> Problem {
        let Self { load, unload, .. } = *self;
        let machine =
            |name, run| Phase::Machine { name, group: Group::Press, load, run, unload, rest: 0 };
        let hand = |name, takes| Phase::Hand { name, takes };
        let route = vec![
            machine("press1", self.press1),
            hand("spray", self.spray),
            hand("roll", self.roll),
            machine("press2", self.press2),
        ];
        let mut later = vec![Phase::Arrival { at: self.late_at }];
        later.extend(&route);
        let mut kinds = vec![Kind::new(route, self.garments)];
        if self.late > 0 {
            kinds.push(Kind::new(later, self.late));
        }
        Problem {
            presses: self.presses,
            printers: 0,
            operators: self.operators,
            dwell: self.dwell,
            kinds,
            begun: Vec::new(),
            stands: Vec::new(),
            paces: Vec::new(),
        }
    }
}
