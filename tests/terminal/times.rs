//! Times against a clock that is not the program's own. An act happened between the moment at which this process sent
//! its key and the one at which it saw what came of it, so a span lies between two that are known here, however much
//! else the machine has to do.

use std::ops::RangeInclusive;
use std::time::{Duration, Instant};

use crate::bench::Bench;
use crate::pty::Pty;

/// What a figure may be off by that is told in whole tenths or read a clock's tick later.
const ROUNDED: f64 = 0.1;

/// An act of which is known when it happened at the earliest and at the latest.
#[derive(Debug, Clone, Copy)]
pub struct Act {
    earliest: Instant,
    latest: Instant,
}

impl Act {
    /// Strikes a key and waits for what comes of it.
    pub fn by_key(pty: &mut Pty, key: &[u8], then: &str) -> Self {
        let earliest = pty.key(key);
        pty.wait_for(then);
        Self { earliest, latest: Instant::now() }
    }

    /// The seconds from another act to this one.
    fn since(self, other: Self) -> RangeInclusive<f64> {
        let least = self.earliest.saturating_duration_since(other.latest).as_secs_f64();
        least - ROUNDED..=(self.latest - other.earliest).as_secs_f64() + ROUNDED
    }
}

/// The seconds that the reduced layout shows for a press of which `target` are to pass since `shut`: it is asked for
/// by a new size, so that its frame is of now.
#[track_caller]
pub fn assert_left(pty: &mut Pty, target: f64, shut: Act) -> String {
    let earliest = Instant::now();
    pty.resize(60, 12);
    let (left, tag) = shown(pty);
    let now = Act { earliest, latest: Instant::now() };
    let passed = target - left as f64;
    // A second is shown until it is over, or from its middle on.
    let (from, to) = now.since(shut).into_inner();
    assert!((from - 1.0..=to + 1.0).contains(&passed), "shown {left}: {from} to {to} s since");
    tag
}

/// The seconds that the reduced layout shows for a press, and the garment in it.
fn shown(pty: &Pty) -> (u64, String) {
    let contents = pty.wait_for("RUNNING");
    let line = contents.lines().find(|line| line.contains("RUNNING")).unwrap();
    let words: Vec<&str> = line.split_whitespace().collect();
    let unit = words.iter().position(|word| *word == "s").unwrap();
    let tag = words.iter().find(|word| word.starts_with("A1-")).unwrap();
    (words[unit - 1].parse().unwrap(), (*tag).to_owned())
}

#[test]
fn the_journals_seconds_are_those_between_the_keys() {
    let bench = Bench::new(2, 3);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    let shut = Act::by_key(&mut pty, b"1", "shut press 1");
    let shut_two = Act::by_key(&mut pty, b"2", "shut press 2");
    std::thread::sleep(Duration::from_millis(1270));
    let opened_two = Act::by_key(&mut pty, b"2", "opened press 2");
    pty.wait_for("OPEN 1");
    let opened = Act::by_key(&mut pty, b"1", "opened press 1");
    pty.wait_saved();
    let recorded = bench.past_of("press-opened");
    assert_eq!((&recorded[0]["press"], &recorded[1]["press"]), (&2.into(), &1.into()));
    for (event, span) in recorded.iter().zip([opened_two.since(shut_two), opened.since(shut)]) {
        let seconds = event["seconds"].as_f64().unwrap();
        assert!(span.contains(&seconds), "recorded {seconds}, between the keys {span:?}");
    }
}

#[test]
fn a_press_that_runs_goes_on_after_kill_9_with_the_right_seconds() {
    let bench = Bench::new(2, 50);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    let shut = Act::by_key(&mut pty, b"2", "shut press 2 on A1-02: pre-press");
    pty.wait_saved();
    std::thread::sleep(Duration::from_millis(1500));
    pty.kill();
    std::thread::sleep(Duration::from_millis(1300));

    let mut again = Pty::start(&bench, &[], &[]);
    again.wait_for("[Bench]");
    assert_eq!(assert_left(&mut again, 50.0, shut), "A1-02");

    // The same press, opened after the restart, has been shut since before it.
    again.resize(80, 24);
    again.wait_for("[Bench]");
    let opened = Act::by_key(&mut again, b"2", "opened press 2");
    again.wait_saved();
    let seconds = bench.past_of("press-opened")[0]["seconds"].as_f64().unwrap();
    let span = opened.since(shut);
    assert!(span.contains(&seconds), "recorded {seconds}, between the keys {span:?}");
    bench.assert_sound();
}
