//! Times against a clock that is not the program's own: the moments at which this process sent the keys.

use std::time::{Duration, Instant};

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn the_journals_seconds_are_those_between_the_keys() {
    let bench = Bench::new(2, 3);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("blanks 2");
    let shut = pty.key(b"1");
    pty.wait_for("RUNNING");
    let shut_two = pty.key(b"2");
    std::thread::sleep(Duration::from_millis(1270));
    let opened_two = pty.key(b"2");
    pty.wait_for("OPEN PRESS 1");
    let opened = pty.key(b"1");
    pty.wait_for("opened press 1");
    pty.wait_saved();
    let recorded = bench.past_of("press-opened");
    assert_eq!((&recorded[0]["press"], &recorded[1]["press"]), (&2.into(), &1.into()));
    for (event, span) in recorded.iter().zip([opened_two - shut_two, opened - shut]) {
        let seconds = event["seconds"].as_f64().unwrap();
        let off = (seconds - span.as_secs_f64()).abs();
        assert!(off < 0.3, "recorded {seconds}, between the keys {span:?}");
    }
}

/// The seconds that the reduced layout shows for a press, and the garment in it.
pub fn shown(pty: &Pty) -> (u64, String) {
    let contents = pty.wait_for("RUNNING");
    let line = contents.lines().find(|line| line.contains("RUNNING")).unwrap();
    let words: Vec<&str> = line.split_whitespace().collect();
    let unit = words.iter().position(|word| *word == "s").unwrap();
    let tag = words.iter().find(|word| word.starts_with("A1-")).unwrap();
    (words[unit - 1].parse().unwrap(), (*tag).to_owned())
}

#[test]
fn a_press_that_runs_goes_on_after_kill_9_with_the_right_seconds() {
    let bench = Bench::new(2, 50);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("blanks 2");
    let shut = pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02: pre-press");
    pty.wait_saved();
    std::thread::sleep(Duration::from_millis(1500));
    pty.kill();
    std::thread::sleep(Duration::from_millis(1300));

    let mut again = Pty::start(&bench, &[], &[]);
    again.wait_for("[Bench]");
    again.resize(60, 12);
    let (left, tag) = shown(&again);
    let real = 50.0 - Instant::now().duration_since(shut).as_secs_f64();
    assert_eq!(tag, "A1-02");
    assert!((left as f64 - real).abs() <= 1.0, "shown {left}, by the clock of this test {real}");

    // The same press, opened after the restart, has been shut since before it.
    let opened = again.key(b"2");
    again.wait_for("opened press 2");
    again.resize(80, 24);
    again.wait_saved();
    let seconds = bench.past_of("press-opened")[0]["seconds"].as_f64().unwrap();
    let span = opened.duration_since(shut).as_secs_f64();
    assert!((seconds - span).abs() < 0.3, "recorded {seconds}, between the keys {span}");
    bench.assert_sound();
}
