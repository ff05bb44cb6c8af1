//! The machine itself is started again while presses are shut: a journal of another boot, which no clock of this
//! one can measure from.

use std::time::Duration;

use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer};
use dwell::shell::private;
use dwell::shop::facts::moment::Boot;

use crate::bench::Bench;
use crate::pty::Pty;

/// Puts the journal of another boot in place of a bench's own: the same events, so many seconds of the wall clock
/// later, with a boot clock that had run for long.
fn reboot(bench: &Bench, later_s: i64) {
    let mut events = Vec::new();
    let reader = Reader::open(&bench.data()).unwrap().unwrap();
    reader.events_after(0, |event| events.push(event)).unwrap();
    drop(reader);
    for event in &mut events {
        event.moment.boot = Boot(77);
        event.moment.up.0 += 9_000_000_000_000;
        event.moment.at.0 += later_s * 1_000_000;
    }
    let last = events.last().unwrap().seq;
    let (other, away) = (bench.root.path().join("other"), bench.root.path().join("away"));
    private::directory(&other).unwrap();
    let writer = Writer::open(&other, Lock::take(&other).unwrap()).unwrap();
    writer.write(events);
    assert_eq!(writer.close(Duration::from_secs(20)).upto, last);
    std::fs::rename(bench.data(), away).unwrap();
    std::fs::rename(other, bench.data()).unwrap();
}

/// A bench with two presses shut when the machine went down.
fn with_two_shut() -> Bench {
    let bench = Bench::new(3, 100);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.keys("12");
    pty.wait_for("shut press 2 on A1-02");
    pty.wait_saved();
    pty.kill();
    bench
}

/// How many presses say CHECK; the line below them that names the first is not one.
fn checks(contents: &str) -> usize {
    ["CHECK 1", "CHECK 2"]
        .iter()
        .fold(contents.to_owned(), |text, next| text.replace(next, ""))
        .matches("CHECK")
        .count()
}

#[test]
fn across_a_reboot_a_press_says_check_and_is_not_timed() {
    let bench = with_two_shut();
    reboot(&bench, 0);
    let mut pty = Pty::board(&bench);
    let contents = pty.wait_for_step("A1-02 pre");
    assert_eq!(checks(&contents), 2, "{contents}");
    assert!(!contents.contains("RUNNING") && !contents.contains("CLOCK IS WRONG"), "{contents}");
    // Both are said in one sound.
    std::thread::sleep(Duration::from_secs(2));
    assert_eq!(pty.bells(), 1);

    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01 pre-press, not timed, over a restart");
    pty.key(b"3");
    let contents = pty.wait_for("shut press 3 on");
    assert_eq!(contents.matches("RUNNING").count(), 1, "what begins now is timed:\n{contents}");
    pty.wait_saved();
    let opened = bench.past_of("press-opened");
    assert_eq!(opened[0]["seconds"], serde_json::Value::Null, "{opened:?}");
    assert_eq!(
        (&opened[0]["timing"], &opened[0]["over_restart"]),
        (&"not-timed".into(), &true.into())
    );
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn a_clock_that_a_reboot_has_set_back_is_said_and_stays_in_doubt() {
    let bench = with_two_shut();
    // The journal is two years ahead of this machine's clock: as after a flat battery.
    reboot(&bench, 2 * 365 * 86_400);
    let mut pty = Pty::board(&bench);
    pty.wait_for("THE CLOCK IS WRONG");
    let contents = pty.contents();
    assert_eq!(checks(&contents), 2, "{contents}");
    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01 pre-press, not timed, over a restart");
    // What is timed in this boot is timed right, and the doubt does not go with the first event.
    pty.key(b"3");
    let contents = pty.wait_for("RUNNING");
    assert!(contents.contains("THE CLOCK IS WRONG"), "{contents}");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    // Events keep their order by number, whatever the clock says.
    let seqs: Vec<u64> = bench.past().iter().map(|event| event["seq"].as_u64().unwrap()).collect();
    assert!(seqs.iter().zip(1..).all(|(seq, n)| *seq == n), "{seqs:?}");
    bench.assert_sound();
}
