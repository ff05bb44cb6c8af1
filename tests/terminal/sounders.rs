//! The sounder's program: it cannot touch the terminal, and neither it nor what it starts outlives the board.

use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::bench::Bench;
use crate::pty::Pty;

/// A bench whose sounder is a script; the script may write into `$D`.
fn with_sounder(script: &str) -> (Bench, PathBuf) {
    let bench = Bench::new(2, 60);
    let notes = bench.root.path().join("notes");
    std::fs::create_dir(&notes).unwrap();
    let script = format!("D={}\n{script}", notes.display());
    bench.station_says(&format!("sounder: [\"/bin/sh\", \"-c\", {script:?}],"));
    (bench, notes)
}

/// Opens the board and has the sounder tried.
fn sounded(bench: &Bench) -> Pty {
    let mut pty = Pty::board(bench);
    pty.key(b"?");
    pty.wait_for("7 tests the sounder");
    pty.key(b"t");
    pty.wait_for("the sounder was tried");
    pty.key(b"x");
    pty
}

fn noted(pty: &Pty, notes: &Path, name: &str) -> String {
    let read = || std::fs::read_to_string(notes.join(name)).unwrap_or_default();
    pty.wait_until(name, |_| read().ends_with('\n'));
    read().trim().to_owned()
}

/// What the kernel says of a process after its name: state, parent, group, session, terminal. None where it has ended.
fn process(id: &str) -> Option<Vec<String>> {
    let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).ok()?;
    let fields = stat.rsplit_once(')')?.1.split_whitespace().map(str::to_owned);
    let fields: Vec<String> = fields.collect();
    (fields[0] != "Z").then_some(fields)
}

fn has_ended(id: &str) -> bool {
    (0..3000).any(|_| {
        std::thread::sleep(Duration::from_millis(10));
        process(id).is_none()
    })
}

const STAYS: &str = "sleep 600 & echo $! > $D/child
if echo INTRUDER > /dev/tty; then echo yes > $D/tty; else echo no > $D/tty; fi
echo $$ > $D/program
wait";

#[test]
fn it_has_no_terminal_and_ends_with_the_board_however_that_ends() {
    for killed in [true, false] {
        let (bench, notes) = with_sounder(STAYS);
        let mut pty = sounded(&bench);
        let (program, child) = (noted(&pty, &notes, "program"), noted(&pty, &notes, "child"));
        assert_eq!(noted(&pty, &notes, "tty"), "no", "it could write to the terminal");
        let fields = process(&program).expect("it runs");
        assert_eq!(fields[4], "0", "it has a terminal: {fields:?}");
        assert!(process(&child).is_some());
        if killed {
            pty.kill();
        } else {
            assert_eq!(pty.leave(), 0);
        }
        assert!(!String::from_utf8_lossy(&pty.raw()).contains("INTRUDER"));
        for id in [program, child] {
            assert!(has_ended(&id), "it outlives the board, which was killed: {killed}");
        }
    }
}

#[test]
fn what_it_started_ends_with_it() {
    let (bench, notes) = with_sounder("sleep 600 & echo $! > $D/child; exit 0");
    let mut pty = sounded(&bench);
    let child = noted(&pty, &notes, "child");
    assert!(has_ended(&child), "it goes on without the program that started it");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn one_that_does_not_run_is_said_with_its_reason() {
    let bench = Bench::new(2, 60);
    bench.station_says("sounder: [\"/nowhere/bell\"],");
    let mut pty = Pty::board(&bench);
    pty.key(b"?");
    pty.wait_for("7 tests the sounder");
    pty.key(b"t");
    // The help stands before the beginning of the message: os error 2 is "no such file or directory".
    pty.wait_for("2); the bell rings instead");
    pty.key(b"x");
    assert_eq!(pty.leave(), 0);
}
