//! What the nightly check and copy came to is seen on the board, and that one was left out.

use std::fs;

use crate::bench::Bench;
use crate::pty::Pty;

fn board(bench: &Bench, environment: &[(&str, &str)]) -> Pty {
    let pty = Pty::start(bench, &[], environment);
    pty.wait_for("[Bench]");
    pty
}

#[test]
fn a_copy_that_is_made_fails_or_is_left_out_is_said() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = board(&bench, &[("DWELL_NIGHTLY", "yes")]);
    pty.wait_for("2 blanks");
    pty.wait_for("NO NIGHTLY COPY YET");
    let stick = bench.root.path().join("stick");
    let night = || bench.run(&["nightly", stick.to_str().unwrap()]);
    // The stick is not there: the command fails, and the board says why.
    let failed = night();
    assert_ne!(failed.code, 0);
    pty.wait_for("NIGHTLY COPY FAILED");
    fs::create_dir(&stick).unwrap();
    let copied = night();
    assert_eq!((copied.code, copied.err.as_str()), (0, ""));
    pty.wait_until("nothing is wrong any more", |screen| !screen.contains("NIGHTLY"));
    pty.key(b"\x1b[15~");
    pty.wait_for("checked and copied");
    pty.key(b"\x1bOP");
    pty.wait_for("[Bench]");
    let copies: Vec<_> = fs::read_dir(&stick).unwrap().map(|entry| entry.unwrap().path()).collect();
    let [copy] = &copies[..] else { panic!("{copies:?}") };
    assert!(copied.out.contains(copy.to_str().unwrap()), "{}", copied.out);
    // The copy is a journal: it is restored elsewhere, and is whole.
    let other = Bench::new(2, 60);
    let restored = other.run(&["restore", copy.to_str().unwrap()]);
    assert_eq!((restored.code, restored.err.as_str()), (0, ""));
    other.assert_sound();
    // Three days later by the note's own figure.
    let note = bench.data().join("nightly.json");
    let text = fs::read_to_string(&note).unwrap();
    let mut told: serde_json::Value = serde_json::from_str(&text).unwrap();
    let at = told["at"].as_i64().unwrap();
    told["at"] = (at - 3 * 86_400_000_000).into();
    fs::write(&note, told.to_string()).unwrap();
    pty.wait_for("NO NIGHTLY COPY since");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn where_no_job_is_set_up_nothing_is_said_of_one() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = board(&bench, &[]);
    pty.wait_for("2 blanks");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    std::thread::sleep(std::time::Duration::from_millis(1200));
    assert!(!pty.contents().contains("NIGHTLY"), "{}", pty.contents());
    assert_eq!(pty.leave(), 0);
}
