//! The terminal itself: taken over, given back, resized, without colour, not there.

use std::time::Duration;

use rustix::process::Signal;

use crate::bench::{Bench, station};
use crate::pty::Pty;
use crate::random::Random;

/// An end comes within this, whatever the board was doing.
const SOON: Duration = Duration::from_secs(2);

pub fn last_place(raw: &[u8], sequence: &[u8]) -> usize {
    raw.windows(sequence.len()).rposition(|window| window == sequence).unwrap_or_else(|| {
        panic!("{} never came out", String::from_utf8_lossy(&sequence[1..]));
    })
}

/// The sequences are those of xterm: 1049 is the alternate screen, 25 the cursor, 2004 bracketed paste.
/// Source: XTerm Control Sequences, DEC private modes (M).
/// Nothing comes afterwards but last words.
fn assert_given_back(pty: &Pty, words: &str) {
    let raw = pty.raw();
    for mode in ["1049", "25", "2004"] {
        let (on, off) = (format!("\x1b[?{mode}h"), format!("\x1b[?{mode}l"));
        let (on, off) = (last_place(&raw, on.as_bytes()), last_place(&raw, off.as_bytes()));
        // The cursor is shown at the end, the two others are off.
        assert_eq!(on > off, mode == "25", "mode {mode}");
    }
    let left = b"\x1b[?1049l";
    let after = String::from_utf8_lossy(&raw[last_place(&raw, left) + left.len()..]).into_owned();
    let drawn = after.contains('\x1b') || after.is_empty() != words.is_empty();
    assert!(after.starts_with(words) && !drawn, "{after:?} came afterwards");
    assert_eq!(pty.line_flags(), pty.before, "echo and lines as they were");
}

#[test]
fn leaving_gives_the_terminal_back() {
    let bench = Bench::new(2, 60);
    let mut pty = Pty::board(&bench);
    assert_ne!(pty.line_flags(), pty.before, "the board reads single keys");
    // Any other key stays.
    pty.key(b"q");
    pty.wait_for("Leave the board?");
    pty.key(b"\r");
    pty.wait_until("the question to go", |contents| !contents.contains("Leave the board?"));
    assert_eq!(pty.leave(), 0);
    assert_given_back(&pty, "");
    bench.assert_sound();
}

#[test]
fn a_signal_to_end_gives_the_terminal_back() {
    let gone = "dwell: the terminal is gone";
    for (signal, code, words) in
        [(Signal::TERM, 0, ""), (Signal::HUP, 1, gone), (Signal::INT, 0, "")]
    {
        let bench = Bench::new(2, 60);
        bench.take(2);
        let mut pty = Pty::board(&bench);
        pty.wait_for("2 blanks");
        pty.key(b"1");
        pty.wait_for("RUNNING");
        pty.signal(signal);
        assert_eq!(pty.end_within(SOON), code, "{signal:?}");
        pty.read_to_end();
        assert_given_back(&pty, words);
        assert_eq!(bench.past_of("press-shut").len(), 1, "{signal:?}");
        bench.assert_sound();
    }
}

#[test]
fn a_terminal_that_goes_away_ends_the_board() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    pty.hang_up();
    pty.end_within(SOON);
    assert_eq!(bench.past_of("press-shut").len(), 1);
    bench.assert_sound();
}

#[test]
fn no_size_ends_the_board() {
    let bench = Bench::new(6, 60);
    bench.take(6);
    let mut pty = Pty::board(&bench);
    pty.wait_for("6 blanks");
    pty.keys("12");
    pty.wait_for("shut press 2");
    pty.set_blind(true);
    let panes: [&[u8]; 7] = [b"\t", b"?", b"+", b"\x1b", b"q", b"n", b"\x1b"];
    let mut random = Random(20_261_125);
    let mut next = |below: u64| u16::try_from(random.below(below)).unwrap();
    let corners = [(1, 1), (1, 300), (300, 1), (2, 2), (39, 10), (40, 9), (72, 20), (71, 20)];
    for round in 0..1000 {
        let size = corners.get(round).copied().unwrap_or_else(|| (1 + next(220), 1 + next(70)));
        pty.resize(size.0, size.1);
        if round % 20 == 19 {
            pty.burst(panes[round / 20 % panes.len()]);
        }
        std::thread::sleep(Duration::from_millis(8));
        assert!(pty.runs(), "ended at {size:?}");
    }
    pty.key(b"\x1b");
    pty.set_blind(false);
    pty.resize(80, 24);
    pty.key(b"\x0c");
    pty.wait_for("Test bench");
    pty.key(b"\x1bOP");
    pty.wait_for("[Bench]");
    pty.wait_for_step("A1-01 pre");
}

/// A terminal may claim any size: at most a wall of screens is drawn, and an act comes as soon as ever.
#[test]
fn a_window_without_bounds_holds_up_no_act() {
    for (columns, rows) in [(u16::MAX, u16::MAX), (8_000, 4_000)] {
        let bench = Bench::new(2, 60);
        bench.take(2);
        let mut pty = Pty::board(&bench);
        pty.wait_for("2 blanks");
        pty.set_blind(true);
        pty.resize(columns, rows);
        std::thread::sleep(Duration::from_millis(200));
        pty.key(b"1");
        pty.wait_until("the act", |_| bench.past_of("press-shut").len() == 1);
        assert!(pty.resident() < 16_000, "{} pages", pty.resident());
        // What was drawn for the large window is let pass before the small one is looked at.
        pty.resize(80, 24);
        std::thread::sleep(Duration::from_millis(500));
        pty.set_blind(false);
        pty.resize(80, 24);
        pty.key(b"\x0c");
        pty.key(b"\x1bOP");
        pty.wait_for("RUNNING");
        assert_eq!(pty.leave(), 0);
    }
}

#[test]
fn a_profile_that_is_taken_away_for_a_moment_stays_in_force() {
    let bench = Bench::new(3, 60);
    bench.take(3);
    let mut pty = Pty::board(&bench);
    pty.wait_for("3 blanks");
    let away = bench.root.path().join("station.away");
    std::fs::rename(bench.station(), &away).unwrap();
    pty.wait_for("PROFILE NOT READ, the last good one stays: station.ron: it is gone");
    pty.key(b"3");
    pty.wait_for("shut press 3");
    std::fs::rename(&away, bench.station()).unwrap();
    pty.wait_until("the banner to go", |contents| !contents.contains("PROFILE NOT READ"));
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    assert_eq!(bench.past_of("station-set").len(), 1, "nothing else was ever in force");
}

#[test]
fn a_profile_edited_badly_leaves_the_last_good_one_in_force() {
    let bench = Bench::new(2, 60);
    let mut pty = Pty::board(&bench);
    pty.wait_for("Test bench");
    let bad = station("South bench", 3).replace("wipe_at: 10", "wipe_at: ten");
    std::fs::write(bench.station(), bad).unwrap();
    let contents = pty.wait_for("PROFILE NOT READ");
    assert!(contents.contains("station.ron:4:"), "file and line:\n{contents}");
    assert!(contents.contains("Test bench") && contents.contains("2 Press 2"), "{contents}");
    pty.key(b"1");
    pty.wait_for("nothing waits for press 1");

    std::fs::write(bench.station(), station("South bench", 3)).unwrap();
    pty.wait_for("South bench");
    pty.wait_for("3 Press 3");
    pty.wait_until("the banner to go", |contents| !contents.contains("PROFILE NOT READ"));

    let senseless = crate::bench::recipe(60).replace("340 F", "900 F");
    std::fs::write(bench.recipe(), senseless).unwrap();
    pty.wait_for("PROFILE NOT READ");
    pty.wait_for("quick.ron:4:");
    assert_eq!(pty.leave(), 0);
}

/// The parameters of every SGR sequence (ECMA-48, 8.3.117) that came out.
fn sgr(raw: &[u8]) -> Vec<Vec<u16>> {
    let text = String::from_utf8_lossy(raw);
    let sequences = text.split("\x1b[").skip(1).filter_map(|rest| {
        let (parameters, _) =
            rest.split_once(|letter: char| !(letter.is_ascii_digit() || letter == ';'))?;
        rest[parameters.len()..].starts_with('m').then(|| parameters.to_owned())
    });
    sequences
        .map(|parameters| parameters.split(';').map(|n| n.parse().unwrap_or(0)).collect())
        .collect()
}

/// What a sequence says of colour, and whether it asks for the negative image.
fn says(parameters: &[u16]) -> (bool, bool) {
    // After 38 and 48 come the numbers of the colour itself: a 7 there is no negative image.
    let colour = parameters.iter().position(|parameter| is_colour(*parameter));
    (colour.is_some(), parameters[..colour.unwrap_or(parameters.len())].contains(&7))
}

fn is_colour(parameter: u16) -> bool {
    matches!(parameter, 30..=38 | 40..=48 | 90..=97 | 100..=107)
}

#[test]
fn without_colour_the_board_speaks_in_reverse() {
    for (no_colour, expected) in [("1", false), ("", true)] {
        let bench = Bench::new(2, 1);
        bench.take(2);
        let mut pty = Pty::start(&bench, &[], &[("NO_COLOR", no_colour)]);
        pty.wait_for("2 blanks");
        pty.key(b"1");
        pty.wait_for("OPEN NOW");
        pty.key(b"?");
        pty.wait_for("no safety device");
        let said: Vec<(bool, bool)> = sgr(&pty.raw()).iter().map(|codes| says(codes)).collect();
        let coloured = said.iter().any(|(colour, _)| *colour);
        assert_eq!(coloured, expected, "NO_COLOR={no_colour:?}");
        // 7 is the negative image of ECMA-48.
        let reversed = said.iter().any(|(_, negative)| *negative);
        assert_eq!(reversed, !expected, "NO_COLOR={no_colour:?}");
    }
}

#[test]
fn without_a_terminal_the_board_says_so() {
    let bench = Bench::new(2, 60);
    for arguments in [&[][..], &["watch"], &["rehearse"]] {
        let ran = bench.run(arguments);
        assert_eq!(ran.code, 2, "{arguments:?}: {}", ran.err);
        assert!(ran.err.contains("needs a terminal"), "{arguments:?}: {}", ran.err);
        assert!(!ran.out.contains('\x1b') && !ran.err.contains('\x1b'), "{arguments:?}");
    }
}
