//! A terminal that nobody reads, and a program that is held up: acts are saved all the same, and what became due
//! meanwhile is said once.

use std::time::{Duration, Instant};

use rustix::process::Signal;

use crate::bench::Bench;
use crate::pty::Pty;
use crate::times::{Act, assert_left};
use support::waiting::wait;

/// The board before a terminal that takes nothing more.
fn stalled(bench: &Bench) -> Pty {
    bench.take(9);
    // No plans: what they take would hide what frames do.
    let mut pty = Pty::start(bench, &[], &[("DWELL_TEST_PANIC", "plan@0")]);
    pty.wait_for("9 blanks");
    pty.set_stalled(true);
    // Whole screens, until the line is full.
    for _ in 0..6 {
        pty.key(b"\x0c");
    }
    pty
}

fn wait_for_shut(bench: &Bench, count: usize) {
    let shut = || bench.past_of("press-shut").len();
    let vain = || format!("{count} shut presses: {} are saved", shut());
    wait(vain, || (shut() >= count).then_some(()));
}

/// So many frames that nobody takes: function keys in turn, so that none is deaf yet, and not that of the Pace pane,
/// for which plans are made, nor those that act.
fn frames(pty: &mut Pty, count: usize) {
    const KEYS: [&[u8]; 8] = [
        b"\x1bOR",
        b"\x1bOS",
        b"\x1b[15~",
        b"\x1bOQ",
        b"\x1b[19~",
        b"\x1b[20~",
        b"\x1b[23~",
        b"\x1bOP",
    ];
    for key in KEYS.iter().cycle().take(count) {
        pty.burst(key);
        std::thread::sleep(Duration::from_millis(80));
    }
}

#[test]
fn a_stalled_terminal_keeps_no_act_from_being_saved_and_memory_is_flat() {
    let bench = Bench::new(9, 60);
    let mut pty = stalled(&bench);
    pty.keys("123456789");
    wait_for_shut(&bench, 9);
    frames(&mut pty, 48);
    let before = pty.resident();
    // A frame that were kept would be about twenty pages.
    frames(&mut pty, 104);
    let after = pty.resident();
    assert!(after * 10 <= before * 11, "{before} pages before, {after} after");
    // Once it is read again it shows what is; on a slow machine the last of the keys may have come too late.
    pty.set_stalled(false);
    pty.key(b"\x1bOP");
    pty.wait_until("nine that run", |contents| contents.matches("RUNNING").count() == 9);
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn a_stalled_terminal_does_not_keep_the_board_from_leaving() {
    let bench = Bench::new(9, 60);
    let mut pty = stalled(&bench);
    pty.keys("1qy");
    pty.end_within(Duration::from_secs(3));
    assert_eq!(bench.past_of("press-shut").len(), 1);
    bench.assert_sound();
}

#[test]
fn after_being_held_up_a_countdown_is_right() {
    let bench = Bench::new(2, 50);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    let shut = Act::by_key(&mut pty, b"2", "shut press 2");
    pty.signal(Signal::STOP);
    std::thread::sleep(Duration::from_secs(4));
    pty.signal(Signal::CONT);
    assert_left(&mut pty, 50.0, shut);
}

#[test]
fn what_became_due_while_it_was_held_up_is_one_bell() {
    let bench = Bench::new(4, 5);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.keys("123");
    pty.wait_for("shut press 3");
    assert_eq!(pty.bells(), 0);
    pty.signal(Signal::STOP);
    std::thread::sleep(Duration::from_secs(7));
    let goes_on = Instant::now();
    pty.signal(Signal::CONT);
    pty.wait_until("three to open", |contents| contents.matches("OPEN NOW").count() == 3);
    std::thread::sleep(Duration::from_secs(3));
    // The next sound of a prompt comes after six seconds, and so on.
    let (bells, most) = (pty.bells(), 1 + goes_on.elapsed().as_secs() / 6);
    assert!(bells >= 1 && bells as u64 <= most, "{bells} bells, at most {most}");
    pty.keys("123");
    pty.wait_for("opened press 3");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let held =
        bench.past_of("press-opened").iter().all(|event| event["seconds"].as_f64() > Some(7.0));
    assert!(held, "the seconds that it was held up count: {:?}", bench.past_of("press-opened"));
    bench.assert_sound();
}

#[test]
fn going_on_before_a_terminal_that_nobody_reads_stops_nothing() {
    let bench = Bench::new(9, 60);
    let mut pty = stalled(&bench);
    pty.signal(Signal::STOP);
    pty.signal(Signal::CONT);
    std::thread::sleep(Duration::from_millis(300));
    pty.key(b"2");
    wait_for_shut(&bench, 1);
    pty.signal(Signal::TERM);
    assert_eq!(pty.end_within(Duration::from_secs(3)), 0);
    bench.assert_sound();
}
