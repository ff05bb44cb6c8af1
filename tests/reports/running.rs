//! The report of a shift that goes on: the board runs in a terminal, a press is shut, another process asks.

use serde_json::Value;

use crate::bench::Bench;
use crate::pty::Pty;
use crate::sample::json;

#[test]
fn a_shift_that_runs_is_told_up_to_now_while_the_board_writes() {
    let bench = Bench::new(2, 60);
    let mut pty = Pty::board(&bench);
    bench.take(3);
    pty.wait_for("3 blanks");
    // Somebody works here: what is undone leaves no trace, not even of a shift.
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02: pre-press");
    pty.wait_saved();
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01: pre-press");
    pty.wait_saved();
    let first = json(&bench, &[]);
    assert_eq!(first["shift"]["running"], true);
    let last = |report: &Value| report["presses"][0]["spans"].as_array().unwrap().last().cloned();
    assert_eq!(last(&first).unwrap()["doing"], "running", "{first}");
    assert_eq!(last(&first).unwrap()["to"], first["shift"]["to"]);
    // It works on while nobody touches a key, and what is undone is not told of.
    let second = json(&bench, &[]);
    let minutes = |report: &Value| report["presses"][0]["running_minutes"].as_f64().unwrap();
    assert!(minutes(&second) > minutes(&first), "{first} {second}");
    pty.key(b"-");
    pty.wait_for("undid: shut press 1");
    pty.wait_saved();
    let undone = json(&bench, &[]);
    assert_eq!((minutes(&undone), &undone["presses"][0]["cycles"]), (0.0, &0.into()), "{undone}");
    assert_eq!(undone["orders"][0]["left"], 3);
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}
