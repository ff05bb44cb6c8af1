//! Bytes that are no keys, halves of keys, and keys that nobody could read in time: none acts, each is named, and the
//! next key is the key that it is.

use std::io::Write;
use std::time::Duration;

use portable_pty::{PtySize, native_pty_system};
use rustix::process::Signal;

use crate::bench::Bench;
use crate::pty::Pty;
use support::program::dwell;
use support::waiting::wait_within;

fn board(presses: usize) -> (Bench, Pty) {
    let bench = Bench::new(presses, 60);
    bench.take(6);
    let pty = Pty::board(&bench);
    pty.wait_for("6 blanks");
    pty.wait_saved();
    (bench, pty)
}

fn pause(ms: u64) {
    std::thread::sleep(Duration::from_millis(ms));
}

/// Hundredths of a second of a processor that the program takes in a while: proc_pid_stat(5), utime and stime.
fn worked(pty: &Pty, ms: u64) -> u64 {
    let ticks = || -> u64 {
        let stat = std::fs::read_to_string(format!("/proc/{}/stat", pty.id())).unwrap();
        let (_, fields) = stat.rsplit_once(')').unwrap();
        fields.split_whitespace().skip(11).take(2).map(|n| n.parse::<u64>().unwrap()).sum()
    };
    let before = ticks();
    pause(ms);
    ticks() - before
}

fn shut(bench: &Bench) -> Vec<String> {
    bench.past_of("press-shut").iter().map(|event| event["press"].to_string()).collect()
}

#[test]
fn a_heap_of_bytes_leaves_no_thread_busy_and_no_key_behind() {
    let (bench, mut pty) = board(2);
    let at_rest = worked(&pty, 2000);
    // Without the marks of a paste, as from a terminal that has none.
    for _ in 0..3 {
        pty.burst(&[b'x'; 1500]);
        pause(30);
    }
    pty.wait_for("keys at once: ignored");
    pause(200);
    let after = worked(&pty, 2000);
    assert!(after <= at_rest * 3 + 20, "{after} ticks after the heap, {at_rest} at rest before");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02");
    pty.wait_saved();
    assert_eq!(shut(&bench), ["1", "2"]);
}

#[test]
fn half_a_sequence_swallows_no_digit() {
    let (bench, mut pty) = board(2);
    pty.burst(b"\x1b[1;5");
    pause(120);
    pty.keys("12");
    pty.wait_for("shut press 2 on A1-02");
    pty.wait_saved();
    assert_eq!(shut(&bench), ["1", "2"]);
}

#[test]
fn a_stray_beginning_of_a_paste_is_over_after_a_second_and_says_so() {
    let (bench, mut pty) = board(2);
    pty.burst(b"\x1b[200~");
    pty.wait_for("a paste that never ended");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    assert_eq!(shut(&bench), ["1"]);
}

/// Where a scanner sends a prefix no key waits to see whether it is a scan's, so these bytes once shut a press.
#[test]
fn a_terminals_late_replies_act_on_nothing() {
    for prefix in [None, Some('~')] {
        let bench = Bench::new(9, 60);
        let station = std::fs::read_to_string(bench.station()).unwrap();
        let with = format!("scanner_prefix: {prefix:?},\n    sheet:");
        std::fs::write(bench.station(), station.replacen("sheet:", &with, 1)).unwrap();
        bench.take(9);
        let mut pty = Pty::board(&bench);
        pty.wait_for("9 blanks");
        pty.wait_saved();
        let before = bench.past();
        for reply in
            ["\x1b]11;rgb:1616/1818/1d1d\x1b\\", "\x1b[12;41R", "\x1b[?62;22c", "\x1b[49;1u"]
        {
            pty.burst(reply.as_bytes());
            pause(150);
        }
        // Over a slow line.
        for piece in ["\x1b]11;rgb:16", "16/1818/", "1d1d\x07"] {
            pty.burst(piece.as_bytes());
            pause(150);
        }
        assert_eq!(bench.past(), before, "{prefix:?}:\n{}", pty.contents());
        pty.key(b"1");
        pty.wait_for("shut press 1 on A1-01");
        assert_eq!(pty.leave(), 0);
    }
}

/// Nobody can say what they were struck for: the press may have been opened by then.
#[test]
fn keys_struck_while_the_program_was_stopped_are_named_and_not_done() {
    let (bench, mut pty) = board(2);
    pty.signal(Signal::STOP);
    pause(300);
    pty.burst(b"1");
    pause(1200);
    pty.signal(Signal::CONT);
    pty.wait_for("pressed while the board stood still, so not done: 1");
    pause(800);
    pty.key(b"2");
    pty.wait_for("shut press 2");
    pty.wait_saved();
    assert_eq!(shut(&bench), ["2"]);
}

/// A moment's stop is none that anybody would notice.
#[test]
fn a_key_struck_while_the_program_was_stopped_for_a_moment_counts() {
    let (bench, mut pty) = board(2);
    pause(300);
    pty.signal(Signal::STOP);
    pty.burst(b"1");
    pause(150);
    pty.signal(Signal::CONT);
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    assert_eq!(shut(&bench), ["1"]);
}

/// The Linux console and the others differ in what the 5 of a keypad sends without NumLock.
#[test]
fn without_num_lock_the_keypads_five_is_the_fifth_press() {
    for five in ["\x1b[G", "\x1b[E", "\x1bOE", "\x1bOu"] {
        let (_bench, mut pty) = board(5);
        pty.key(five.as_bytes());
        pty.wait_for("shut press 5");
    }
}

/// How often the whole screen was begun anew (ECMA-48, 8.3.39: erase in page, all of it).
fn begun_anew(pty: &Pty) -> usize {
    pty.raw().windows(4).filter(|bytes| bytes == b"\x1b[2J").count()
}

/// Once a minute it is drawn anew by itself: what is waited for here comes sooner.
#[test]
fn the_key_to_repaint_draws_the_whole_screen_at_once_wherever_one_is() {
    const SOONER: Duration = Duration::from_secs(4);
    let (_bench, mut pty) = board(2);
    for (key, shows) in [
        ("", "6 blanks"),
        ("+0", "A new order"),
        ("\x1b?", "Help: 3 and 9"),
        ("\x1bq", "Leave the board?"),
    ] {
        pty.keys(key);
        pty.wait_for(shows);
        let before = begun_anew(&pty);
        pty.key(b"\x0c");
        let vain = || format!("a repaint over {shows:?}:\n{}", pty.contents());
        wait_within(SOONER, vain, || (begun_anew(&pty) > before).then_some(()));
        pty.wait_for(shows);
    }
}

/// A signal between the bytes of one key breaks off the wait for the rest, not the key: whatever comes of it, no part
/// of it acts, and the next key is the key that it is.
#[test]
fn a_signal_in_the_middle_of_a_key_leaves_no_part_of_it_behind() {
    // A machine so busy that a key's second half went out too late has not tried this: once more, from the beginning.
    let tried = (0..10).find_map(|_| signals_in_keys());
    assert!(tried.is_some(), "this machine never gave both halves of a key in time");
}

/// Half a key, a signal, the other half, many times over; None where a half was sent so late that it may be a key of
/// its own.
fn signals_in_keys() -> Option<()> {
    let (bench, mut pty) = board(9);
    let before = bench.past();
    for (n, (begin, rest)) in [("\x1b[1", "1~"), ("\x1b[", "A"), ("\x1bO", "P"), ("\x1b[1;", "5D")]
        .into_iter()
        .cycle()
        .take(16)
        .enumerate()
    {
        let signal = if n % 2 == 0 { Signal::WINCH } else { Signal::CONT };
        let began = pty.burst(begin.as_bytes());
        pty.signal(signal);
        pause(3);
        pty.signal(signal);
        let ended = pty.burst(rest.as_bytes());
        if ended.duration_since(began) > Duration::from_millis(40) {
            return None;
        }
        pause(100);
    }
    assert_eq!(bench.past(), before, "{}", pty.contents());
    pty.keys("\x1b");
    pty.key(b"4");
    pty.wait_for("shut press 4");
    pty.wait_saved();
    assert_eq!(shut(&bench), ["4"]);
    Some(())
}

/// A board without its keyboard serves nobody, and nobody asked it to end: whoever keeps it running is told so.
#[test]
fn a_board_that_loses_its_keyboard_ends_with_a_word_and_not_with_zero() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let keyboard = native_pty_system().openpty(PtySize::default()).unwrap();
    let script = format!("exec \"$0\" < {}", keyboard.master.tty_name().unwrap().display());
    let mut pty = Pty::of(&bench, "/bin/sh", &["-c", &script, dwell()], &[]);
    pty.wait_for("2 blanks");
    let mut writer = keyboard.master.take_writer().unwrap();
    writer.write_all(b"1").unwrap();
    pty.wait_for("shut press 1");
    drop((writer, keyboard));
    assert_eq!(pty.end_within(Duration::from_secs(10)), 1);
    pty.read_to_end();
    assert!(pty.contents().contains("the terminal is gone"), "{}", pty.contents());
    assert_eq!(shut(&bench), ["1"]);
    bench.assert_sound();
}
