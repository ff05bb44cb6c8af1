//! A bare problem, for checks: no station, no journal, no clock.

use super::MOST;
use crate::commands::Failure;
use crate::forecast::plan::{Dwell, Group, Kind, Phase, Problem};
use crate::forecast::workload::millis;
use crate::shop::facts::station::HandTimes;

/// A bare problem as a text of names and numbers.
pub fn read(text: &str) -> Result<Problem, Failure> {
    const KNOWN: &str = "presses, operators, garments, late, late_at, load, unload, press1, press2, spray, roll, dwell";
    let wrong = |what: String| Failure::Input(format!("--bench: {what}"));
    let mut problem = Problem {
        presses: 1,
        printers: 0,
        operators: 1,
        dwell: Dwell::Unlimited,
        kinds: Vec::new(),
        begun: Vec::new(),
        stands: Vec::new(),
        paces: Vec::new(),
    };
    let (mut late, mut late_at) = (0usize, 0);
    let hands = HandTimes::default();
    let (mut garments, mut load, mut unload) = (0usize, millis(hands.load), millis(hands.unload));
    let (mut press1, mut press2) = (15_000, 40_000);
    let (mut spray, mut roll) = (millis(hands.spray), millis(hands.roll));
    for word in text.split_whitespace() {
        let (name, value) = word.split_once('=').ok_or_else(|| {
            wrong(format!(
                "found \"{}\", expected name=value",
                crate::shop::facts::words::clean(word, 20)
            ))
        })?;
        let number = || -> Result<f64, Failure> {
            let found = value.parse::<f64>().ok().filter(|n| (0.0..=100_000.0).contains(n));
            found.ok_or_else(|| {
                wrong(format!(
                    "{name}={}: expected a number, 0 to 100000",
                    crate::shop::facts::words::clean(value, 20)
                ))
            })
        };
        #[expect(clippy::cast_possible_truncation, reason = "at most 100,000 seconds")]
        let span = || number().map(|n| (n * 1000.0).round() as i64);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 100,000")]
        let count = |most: usize| -> Result<usize, Failure> {
            let n = number()? as usize;
            if n > most {
                Err(wrong(format!("{name}={n}: expected at most {most}")))
            } else {
                Ok(n)
            }
        };
        match name {
            "presses" => problem.presses = count(MOST)?,
            "operators" => problem.operators = count(MOST)?,
            "garments" => garments = count(2000)?,
            // So many more, that come later.
            "late" => late = count(2000)?,
            "late_at" => late_at = span()?,
            "load" => load = span()?,
            "unload" => unload = span()?,
            "press1" => press1 = span()?,
            "press2" => press2 = span()?,
            "spray" => spray = span()?,
            "roll" => roll = span()?,
            "dwell" if value == "free" => problem.dwell = Dwell::Unlimited,
            "dwell" if value == "0" => problem.dwell = Dwell::None,
            "dwell" if number().is_ok() => problem.dwell = Dwell::Limited(span()?),
            "dwell" => return Err(wrong("dwell: expected free, or the seconds that a garment may lie in a press after its run".into())),
            _ => {
                let name = crate::shop::facts::words::clean(name, 20);
                return Err(wrong(format!("nothing is called \"{name}\"; there are: {KNOWN}")));
            }
        }
    }
    let rest = 0;
    let machine = |name, run| Phase::Machine { name, group: Group::Press, load, run, unload, rest };
    let hand = |name, takes| Phase::Hand { name, takes };
    let route = vec![
        machine("press1", press1),
        hand("spray", spray),
        hand("roll", roll),
        machine("press2", press2),
    ];
    let mut later = vec![Phase::Arrival { at: late_at }];
    later.extend(&route);
    problem.kinds.push(Kind::new(route, garments));
    if late > 0 {
        problem.kinds.push(Kind::new(later, late));
    }
    Ok(problem)
}
