//! A measured fault is named at the printer before it costs ink, by keys alone.

use std::fs;

use crate::bench::{Bench, recipe};
use crate::pty::Pty;

/// Through pre-press and spray, and far too short a time in the dryer.
fn dried_too_short(bench: &Bench) -> Pty {
    let slow = recipe(1).replace(
        "dry: (shortest: \"1s\", target: \"1s\"",
        "dry: (shortest: \"35s\", target: \"40s\"",
    );
    assert!(slow.contains("40s"), "{slow}");
    fs::write(bench.recipe(), slow).unwrap();
    bench.take(1);
    let mut pty = Pty::board(bench);
    pty.wait_for("1 blanks");
    pty.key(b"1");
    pty.wait_for("OPEN 1");
    pty.key(b"1");
    pty.wait_for("1 spray");
    pty.key(b"\r");
    pty.wait_for("sprayed A1-01");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    pty.key(b"1");
    pty.wait_for("1 print");
    // At the usual size, on a row beside the act.
    pty.wait_for("s of 35");
    pty.wait_for("prints anyway");
    pty
}

#[test]
fn what_was_dried_too_short_is_named_and_dried_again() {
    let bench = Bench::new(1, 1);
    let mut pty = dried_too_short(&bench);
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01: dry again");
    assert_eq!(pty.leave(), 0);
    assert!(bench.past_of("printed").is_empty() && bench.past_of("held-shown").is_empty());
}

#[test]
fn it_is_printed_anyway_and_the_act_says_what_was_shown() {
    let bench = Bench::new(1, 1);
    let mut pty = dried_too_short(&bench);
    pty.key(b"0");
    pty.wait_for("printed A1-01");
    pty.wait_until("no longer named", |text| !text.contains("prints anyway"));
    pty.wait_saved();
    let (printed, shown) = (bench.past_of("printed"), bench.past_of("held-shown"));
    assert_eq!(printed[0]["act"], shown[0]["act"]);
    assert_eq!(shown[0]["faults"][0]["kind"], "dried-short");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}
