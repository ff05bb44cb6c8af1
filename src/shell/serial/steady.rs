//! Whether what an instrument shows has settled: a figure that drifts is none.

use std::time::Duration;

use crate::screen::instrument::Reading;
use crate::shop::facts::moment::Up;
use crate::shop::facts::station::{Found, Shows};

/// An instrument that calls a figure steady is believed if no other one follows so soon.
const MARKED: Duration = Duration::from_millis(300);
/// What comes after so long a silence was sent by itself, not as one of many.
const SILENCE: Duration = Duration::from_secs(3);
/// So many alike that come one after another.
const ALIKE: u32 = 3;

/// How far, and for how long, a figure may move that is to be called steady where the instrument does not say so. Common
/// practice, no source.
fn stillness(shows: Shows) -> (f64, Duration) {
    match shows {
        Shows::Weight => (0.0, Duration::from_secs(1)),
        Shows::Heat => (0.5, Duration::from_secs(3)),
    }
}

/// Figures that are alike, one after another.
#[derive(Debug)]
struct Run {
    first: f64,
    text: String,
    steady: Option<bool>,
    since: Up,
    last: Up,
    lines: u32,
    /// Nothing had come for long before it.
    alone: bool,
}

/// What has come last.
#[derive(Debug)]
pub struct Settling {
    shows: Shows,
    run: Option<Run>,
    /// When anything came, or the line was opened.
    heard: Up,
}

impl Settling {
    /// Nothing yet, over a line that was opened at this moment.
    pub fn new(shows: Shows, opened: Up) -> Self {
        Self { shows, run: None, heard: opened }
    }

    /// A line says something.
    pub fn take(&mut self, found: &Found, at: Up) {
        let alone = at.since(self.heard) >= SILENCE;
        self.heard = at;
        let (far, _) = stillness(self.shows);
        match &mut self.run {
            Some(run)
                if !alone
                    && run.steady == found.steady
                    && (found.number - run.first).abs() <= far =>
            {
                run.text.clone_from(&found.text);
                run.last = at;
                run.lines += 1;
            }
            _ => {
                let (first, text, steady) = (found.number, found.text.clone(), found.steady);
                self.run = Some(Run { first, text, steady, since: at, last: at, lines: 1, alone });
            }
        }
    }

    /// Something came that says nothing: what was shown before may not be so any more.
    pub fn broke(&mut self, at: Up) {
        self.heard = at;
        self.run = None;
    }

    /// What it shows now; None once nothing has come for long.
    pub fn shown(&self, now: Up) -> Option<Reading> {
        let run = self.run.as_ref().filter(|run| now.since(run.last) < SILENCE)?;
        let (_, still) = stillness(self.shows);
        let stood = now.since(run.since);
        let steady = match run.steady {
            Some(marked) => marked && stood >= MARKED,
            None => stood >= still && (run.alone || run.lines >= ALIKE),
        };
        Some(Reading { text: run.text.clone(), steady })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(millis: i64) -> Up {
        Up(millis * 1000)
    }

    /// What is steady at a millisecond, of lines that came at theirs; the line was opened ten seconds before the first.
    fn steady(lines: &[(i64, f64, Option<bool>)], now: i64) -> Option<String> {
        let mut settling = Settling::new(Shows::Weight, at(-10_000));
        for (when, number, steady) in lines.iter().filter(|(when, _, _)| *when <= now) {
            let found = Found { text: format!("{number} g"), number: *number, steady: *steady };
            settling.take(&found, at(*when));
        }
        settling.shown(at(now)).filter(|reading| reading.steady).map(|reading| reading.text)
    }

    /// Lines so far apart.
    fn stream(apart: usize, numbers: &[f64]) -> Vec<(i64, f64, Option<bool>)> {
        (0..).step_by(apart).zip(numbers).map(|(when, number)| (when, *number, None)).collect()
    }

    fn ever(lines: &[(i64, f64, Option<bool>)], from: i64) -> Option<String> {
        (from..20_000).step_by(50).find_map(|now| steady(lines, now))
    }

    #[test]
    fn only_what_stands_still_is_steady() {
        let still = stream(200, &[9.0, 152.4, 152.4, 152.4, 152.4, 152.4, 152.4]);
        assert_eq!(steady(&still, 1200).as_deref(), Some("152.4 g"));
        assert_eq!(steady(&still, 1199), None, "not for long enough");
        assert_eq!(ever(&stream(200, &[152.4, 152.5, 152.6, 152.7, 152.8, 152.9]), 0), None);
        // A slow stream that drifts: each of its figures but the first stands for two seconds among others.
        assert_eq!(ever(&stream(2000, &[150.0, 151.0, 152.0, 153.0]), 2000), None);
        // One that is sent by a key of the scale, once.
        let once = [(0, 152.4, None)];
        assert_eq!(steady(&once, 900), None);
        assert_eq!(steady(&once, 1000).as_deref(), Some("152.4 g"));
        assert_eq!(steady(&once, 3000), None, "long past");
        let mut opened = Settling::new(Shows::Weight, at(0));
        let found = Found { text: "152.4 g".into(), number: 152.4, steady: None };
        opened.take(&found, at(200));
        assert!(!opened.shown(at(2000)).unwrap().steady, "one of many, for all that is known");
    }

    #[test]
    fn a_mark_is_believed_where_nothing_else_follows_at_once() {
        let (yes, no) = (Some(true), Some(false));
        assert_eq!(steady(&[(0, 152.4, yes)], 300).as_deref(), Some("152.4 g"));
        assert_eq!(ever(&[(0, 752.4, yes), (100, 152.4, yes)], 0).as_deref(), Some("152.4 g"));
        assert_eq!(ever(&[(0, 152.4, no), (100, 152.4, no)], 0), None);
        assert_eq!(ever(&[(0, 152.4, yes), (100, 152.5, no)], 0), None);
    }

    #[test]
    fn a_probe_may_tremble_and_not_climb() {
        let heat = |numbers: &[f64], now| {
            let mut settling = Settling::new(Shows::Heat, at(-10_000));
            for (when, number, steady) in stream(500, numbers) {
                let found = Found { text: format!("{number} C"), number, steady };
                settling.take(&found, at(when));
            }
            settling.shown(at(now)).unwrap().steady
        };
        assert!(heat(&[20.0, 171.0, 171.2, 170.8, 171.0, 171.4, 171.0, 171.1], 3500));
        assert!(!heat(&[165.0, 166.0, 167.0, 168.0, 169.0, 170.0, 170.8, 171.4], 3500));
    }
}
