//! A panic in one part of the program, provoked through the hook that only a debug build has: what the terminal,
//! the log, the exit and the journal are like afterwards.
#![cfg(debug_assertions)]

use std::time::Duration;

use crate::bench::Bench;
use crate::pty::Pty;
use crate::screen::last_place;

const SOON: Duration = Duration::from_secs(3);

/// A bench with two garments, the first of which was saved in press 1, and how many events that made.
fn with_one_shut() -> (Bench, usize) {
    let bench = Bench::new(2, 60);
    bench.take(3);
    let mut pty = Pty::board(&bench);
    pty.wait_for("3 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let events = bench.past().len();
    (bench, events)
}

/// The board with a panic to come once that event has happened.
fn doomed(bench: &Bench, place: &str, event: usize) -> Pty {
    let asked = format!("{place}@{event}");
    let pty = Pty::start(bench, &[], &[("DWELL_TEST_PANIC", &asked)]);
    pty.wait_for("[Bench]");
    pty.wait_for_step("A1-01 pre");
    pty
}

fn log(bench: &Bench) -> String {
    std::fs::read_to_string(bench.data().join("log")).unwrap()
}

/// The next start shows both presses shut, and the journal is whole.
fn assert_both_shut_at_restart(bench: &Bench) {
    let mut again = Pty::board(bench);
    let contents = again.wait_for_step("A1-02 pre");
    assert_eq!(contents.matches("RUNNING").count(), 2, "{contents}");
    again.wait_saved();
    assert_eq!(again.leave(), 0);
    assert_eq!(bench.past_of("press-shut").len(), 2);
    bench.assert_sound();
}

#[test]
fn a_panic_in_drawing_gives_the_terminal_back_and_loses_no_act() {
    // In the loop that makes the frame, and in the thread that writes it out.
    let (bench, events) = with_one_shut();
    let mut pty = doomed(&bench, "draw", events + 1);
    pty.key(b"2");
    assert_eq!(pty.end_within(SOON), 1);
    pty.read_to_end();
    assert_given_back(&pty, "draw");
    assert!(log(&bench).contains("a test asked for a panic in draw"), "{}", log(&bench));
    assert_both_shut_at_restart(&bench);
}

#[test]
fn a_panic_in_the_thread_that_writes_to_the_terminal_is_an_end_in_order_too() {
    let bench = Bench::new(2, 60);
    bench.take(3);
    // Its events are frames: some come before the keys do, a clock that ticks brings the others.
    let mut pty = Pty::start(&bench, &[], &[("DWELL_TEST_PANIC", "paint@12")]);
    pty.wait_for("3 blanks");
    pty.keys("12");
    assert_eq!(pty.end_within(Duration::from_secs(20)), 1);
    pty.read_to_end();
    assert_given_back(&pty, "paint");
    assert!(log(&bench).contains("a test asked for a panic in paint"), "{}", log(&bench));
    assert_both_shut_at_restart(&bench);
}

/// The sequences are those of xterm (M): 1049 the alternate screen, 25 the cursor, 2004 bracketed paste.
fn assert_given_back(pty: &Pty, place: &str) {
    let raw = pty.raw();
    let at = |text: &str| last_place(&raw, text.as_bytes());
    let left = at("\x1b[?1049l");
    assert!(left > at("\x1b[?1049h") && at("\x1b[?2004l") > at("\x1b[?2004h"));
    assert!(at("\x1b[?25h") > at("\x1b[?25l"));
    assert!(at(&format!("panic in {place}")) > left, "it is told where it can be read");
    assert!(at("what was saved is saved") > left);
    assert!(!raw[left + 8..].contains(&0x1b), "something was drawn afterwards");
    assert_eq!(pty.line_flags(), pty.before, "echo and lines as they were");
}

#[test]
fn a_panic_in_planning_is_no_matter_of_the_board() {
    let (bench, events) = with_one_shut();
    let mut pty = doomed(&bench, "plan", events);
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02");
    pty.wait_saved();
    // Planning is asked for again and again, and the board goes on.
    pty.key(b"\x1bOQ");
    pty.wait_for("[Pace]");
    pty.key(b"\x1bOP");
    pty.wait_for("[Bench]");
    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01");
    pty.wait_saved();
    let raw = String::from_utf8_lossy(&pty.raw()).into_owned();
    assert!(!raw.contains("\x1b[?1049l"), "the terminal stayed the board's");
    assert!(!raw.contains("panic"), "nothing was written over the screen");
    assert_eq!(pty.leave(), 0);
    let told = log(&bench).matches("a test asked for a panic in plan").count();
    assert!(told >= 2, "planned {told} times:\n{}", log(&bench));
    assert_eq!(bench.past_of("press-opened").len(), 1);
    bench.assert_sound();
}

#[test]
fn a_panic_over_an_artwork_or_a_story_is_said_where_it_was_asked_for() {
    let (bench, events) = with_one_shut();
    let mut pty = doomed(&bench, "story", events);
    pty.key(b"l");
    pty.wait_for("Look up a garment");
    for letter in "A1-01".bytes() {
        pty.burst(&[letter]);
    }
    pty.key(b"+");
    pty.wait_for("the story of A1-01: it ended by a panic");
    assert_eq!(pty.leave(), 0);

    let art = bench.root.path().join("a.png");
    image::RgbaImage::from_pixel(8, 8, image::Rgba([250, 250, 250, 255])).save(&art).unwrap();
    let mut pty = doomed(&bench, "artwork", events);
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("3");
    for _ in 0..5 {
        pty.key(b"\t");
    }
    pty.wait_for("its file;");
    pty.burst(art.to_str().unwrap().as_bytes());
    pty.key(b"\t");
    pty.wait_for("it ended by a panic");
    // The board goes on, and the order can be taken without the picture's word.
    pty.key(b"\x1b");
    pty.wait_until("the form to go", |contents| !contents.contains("A new order"));
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02");
    pty.wait_saved();
    let raw = String::from_utf8_lossy(&pty.raw()).into_owned();
    assert!(!raw.contains("\x1b[?1049l"), "the terminal stayed the board's");
    assert_eq!(pty.leave(), 0);
    for place in ["story", "artwork"] {
        assert!(log(&bench).contains(&format!("panic in {place}")), "{}", log(&bench));
    }
    bench.assert_sound();
}

#[test]
fn a_panic_in_writing_is_said_and_what_it_kept_back_is_taken_in_at_the_next_start() {
    for place in ["journal", "journal-thread"] {
        let (bench, events) = with_one_shut();
        let mut pty = doomed(&bench, place, events + 1);
        pty.key(b"2");
        let contents = pty.wait_for("NOT SAVED: 1 event;");
        assert!(contents.contains("panic"), "{place}: the reason:\n{contents}");
        assert_eq!(contents.matches("RUNNING").count(), 2, "the timers go on:\n{contents}");
        // It goes on taking acts, and counts them.
        pty.key(b"1");
        pty.wait_for("opened press 1: A1-01");
        pty.wait_for("NOT SAVED: 2 events;");
        // Nobody else can take the journal over meanwhile: what waits is still to go into it.
        let mut second = Pty::start(&bench, &[], &[]);
        second.wait_for("this is a view");
        assert_eq!(second.leave(), 0);

        pty.key(b"q");
        pty.wait_for("written to a rescue file now");
        pty.key(b"y");
        assert_eq!(pty.end_within(SOON), 0, "{place}");
        pty.read_to_end();
        let said = String::from_utf8_lossy(&pty.raw()).into_owned();
        assert!(said.contains("not saved in the journal: 2 events, written to"), "{said}");
        assert!(log(&bench).contains(&format!("panic in {place}")), "{}", log(&bench));
        assert_eq!(bench.past().len(), events, "{place}: so far the journal does not know");

        let mut again = Pty::board(&bench);
        again.wait_for_step("A1-02 pre");
        again.wait_saved();
        assert_eq!(again.leave(), 0);
        assert_eq!(bench.past().len(), events + 2, "{place}: taken in, once");
        assert_eq!(bench.past_of("press-opened").len(), 1);
        bench.assert_sound();
    }
}

#[test]
fn writing_resumes_after_one_panic() {
    let (bench, events) = with_one_shut();
    let asked = format!("journal@{},once", events + 1);
    let mut pty = Pty::start(&bench, &[], &[("DWELL_TEST_PANIC", &asked)]);
    pty.wait_for_step("A1-01 pre");
    pty.key(b"2");
    // It may be right again before anybody has looked: what was drawn meanwhile counts.
    let was_drawn = || String::from_utf8_lossy(&pty.raw()).contains("NOT SAVED: 1 event;");
    pty.wait_until("NOT SAVED", |_| was_drawn());
    pty.wait_saved();
    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01");
    pty.wait_saved();
    assert_eq!(log(&bench).matches("panic in journal").count(), 1, "{}", log(&bench));
    assert_eq!(bench.past().len(), events + 2, "none twice");
    pty.kill();
    bench.assert_sound();
}
