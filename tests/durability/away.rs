//! The data directory is taken away under a running board, as with a disk that comes loose: the board says so,
//! goes on, and loses nothing.

use std::fs::rename;
use std::path::PathBuf;
use std::time::Duration;

use crate::bench::Bench;
use crate::pty::Pty;

/// A board whose data directory has gone, with a press that was shut afterwards.
fn without_its_data(bench: &Bench) -> (Pty, PathBuf) {
    bench.take(4);
    let mut pty = Pty::board(bench);
    pty.wait_for("4 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    let away = bench.root.path().join("away");
    rename(bench.data(), &away).unwrap();
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02");
    let contents = pty.wait_for("NOT SAVED: 1 event;");
    assert!(contents.matches("RUNNING").count() == 2, "the timers go on:\n{contents}");
    (pty, away)
}

fn presses_shut(bench: &Bench) -> Vec<serde_json::Value> {
    bench.past_of("press-shut").iter().map(|event| event["press"].clone()).collect()
}

#[test]
fn writing_is_taken_up_again_once_the_directory_is_back() {
    let bench = Bench::new(2, 60);
    let (mut pty, away) = without_its_data(&bench);
    rename(away, bench.data()).unwrap();
    pty.wait_saved();
    pty.wait_until("the banner to go", |contents| !contents.contains("NOT SAVED"));
    assert_eq!(presses_shut(&bench), [1, 2]);
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn what_was_not_saved_at_the_end_is_taken_in_at_the_next_start() {
    let bench = Bench::new(2, 60);
    let (mut pty, away) = without_its_data(&bench);
    pty.key(b"q");
    pty.wait_for("written to a rescue file now");
    pty.key(b"y");
    assert_eq!(pty.end_within(Duration::from_secs(2)), 0);
    pty.read_to_end();
    let said = String::from_utf8_lossy(&pty.raw()).into_owned();
    assert!(said.contains("not saved in the journal: 1 event, written to"), "{said}");

    rename(away, bench.data()).unwrap();
    assert_eq!(presses_shut(&bench), [1], "so far the journal does not know");
    for _start in 0..2 {
        let mut again = Pty::board(&bench);
        let contents = again.wait_for_step("A1-02 pre");
        assert_eq!(contents.matches("RUNNING").count(), 2, "{contents}");
        again.wait_saved();
        assert_eq!(again.leave(), 0);
        assert_eq!(presses_shut(&bench), [1, 2], "taken in once");
        bench.assert_sound();
    }
}
