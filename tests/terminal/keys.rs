//! Held keys, scans, and what falls onto the keyboard. Common practice, no source.

use std::time::Duration;

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn a_held_key_acts_once() {
    let bench = Bench::new(2, 60);
    bench.take(6);
    let mut pty = Pty::board(&bench);
    pty.wait_for("6 blanks");
    for _repeat in 0..50 {
        pty.burst(b"1");
        std::thread::sleep(Duration::from_millis(30));
    }
    pty.wait_for("RUNNING");
    // Another key, so that everything before it has been dealt with.
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02: pre-press");
    pty.wait_saved();
    let presses: Vec<_> =
        bench.past_of("press-shut").iter().map(|event| event["press"].clone()).collect();
    assert_eq!(presses, [1, 2]);
    assert!(bench.past_of("press-opened").is_empty());
}

#[test]
fn a_scan_chooses_its_garment_and_garbage_commands_nothing() {
    let bench = Bench::new(2, 60);
    bench.take(6);
    let mut pty = Pty::board(&bench);
    pty.wait_for("6 blanks");
    pty.wait_saved();
    let before = bench.past();

    pty.burst(b"125a91");
    pty.wait_for("6 keys at once: ignored");
    // A tag of another station asks whether it is taken over, and takes nothing over by itself.
    pty.burst(b"B9-99\r");
    pty.wait_for("Take B9-99 over?");
    pty.key(b"/");
    pty.wait_until("the form is left", |screen| !screen.contains("Take B9-99 over?"));
    std::thread::sleep(Duration::from_secs(1));
    assert_eq!(bench.past(), before, "neither garbage nor a scan is an act");

    pty.burst(b"A1-04\r");
    pty.wait_for("scanned A1-04");
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-04: pre-press");
    pty.wait_saved();
    let shut = bench.past_of("press-shut");
    assert_eq!(shut.len(), 1);
    assert_eq!((&shut[0]["garment"], &shut[0]["scanned"]), (&"A1-04".into(), &true.into()));
}

#[test]
fn garbage_with_other_keys_than_a_tags_commands_nothing() {
    let bench = Bench::new(2, 60);
    bench.take(6);
    let mut pty = Pty::board(&bench);
    pty.wait_for("6 blanks");
    pty.wait_saved();
    let before = bench.past().len();
    pty.burst(b"12/;.5a");
    std::thread::sleep(Duration::from_millis(500));
    let news: Vec<_> = bench.past().split_off(before);
    assert!(news.is_empty(), "{news:?}");
}

/// The keys that speak of the last garment speak of it, whatever was chosen before the last act.
#[test]
fn a_choice_lapses_with_an_act_on_another_garment() {
    let bench = Bench::new(2, 60);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.burst(b"A1-04\r");
    pty.wait_for("picked A1-04");
    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01");
    pty.wait_for("A1-04 no longer picked");
    pty.key(b".");
    pty.wait_for("What is wrong with A1-01");
    pty.key(b"\x1b");
    assert_eq!(pty.leave(), 0);
}

/// A garment on the shelf that was stepped to is printed as one that was scanned is.
#[test]
fn a_stored_garment_that_was_stepped_to_is_printed() {
    let bench = Bench::new(1, 1);
    bench.take(1);
    let mut pty = Pty::board(&bench);
    pty.wait_for("1 blanks");
    for _ in 0..2 {
        pty.key(b"1");
        pty.wait_for("OPEN 1");
        pty.key(b"1");
        pty.wait_for("opened press 1");
        pty.key(b"\r");
    }
    pty.key(b"s");
    pty.wait_for("1 shelf");
    pty.key(b"c");
    pty.wait_for("picked A1-01");
    pty.key(b"0");
    pty.wait_for("printed A1-01");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_second_start_only_looks_on() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut first = Pty::board(&bench);
    first.wait_for("2 blanks");
    first.wait_saved();
    let mut second = Pty::start(&bench, &[], &[]);
    second.wait_for("VIEW ONLY");
    second.wait_for("another board writes here");
    second.wait_for("2 blanks");
    second.key(b"1");
    second.wait_for("nothing can be changed here");
    assert!(bench.past_of("press-shut").is_empty());
    // What the first one does is seen by the second.
    first.key(b"1");
    first.wait_for("RUNNING");
    second.wait_for("RUNNING");
    assert_eq!(second.leave(), 0);
    assert!(first.runs());
}

#[test]
fn a_scan_and_a_weight_edit_no_field_that_did_not_ask_for_them() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("12");
    pty.wait_for("garments     12 ");
    for burst in [&b"A1-02\r"[..], b"152.4 g\r"] {
        pty.burst(burst);
        pty.wait_for("no field here asks for it");
        pty.wait_for("garments     12 ");
        pty.wait_for("  how many");
    }
    // Neither is any other field, such as the name, where letters are typed.
    for _ in 0..3 {
        pty.key(b"\r");
    }
    pty.wait_for("name         Order 1 ");
    std::thread::sleep(Duration::from_millis(200));
    pty.burst(b"A1-03\r");
    pty.wait_for("\"A1-03\" was scanned: no field here asks for it");
    pty.wait_for("name         Order 1 ");
    pty.key(b"\x1b");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_scan_fills_in_the_field_that_asks_for_a_tag() {
    let bench = Bench::new(1, 60);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.key(b"l");
    pty.wait_for("Look up a garment");
    pty.burst(b"A1-02\r");
    pty.wait_for("garment      A1-02");
    pty.wait_for("1 to 6, then +");
    pty.key(b"+");
    pty.wait_for("A1-02: waits for pre-press");
    assert_eq!(pty.leave(), 0);
}

/// The draft that it opens is whole: the same key held on once took it in.
#[test]
fn a_key_held_on_beyond_the_form_that_it_opens_takes_nothing_in() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    pty.keys("+0");
    pty.wait_for("A new order");
    for key in [&b"3"[..], b"\r", b"\r", b"1", b"\x1b"] {
        pty.key(key);
    }
    pty.wait_for("kept for later");
    std::thread::sleep(Duration::from_millis(800));
    let f6 = b"\x1b[17~";
    pty.burst(f6);
    std::thread::sleep(Duration::from_millis(500));
    for _repeat in 0..50 {
        pty.burst(f6);
        std::thread::sleep(Duration::from_millis(30));
    }
    pty.wait_for("kept from before");
    assert!(bench.past_of("order-taken").is_empty());
    pty.key(b"\t");
    pty.key(b"+");
    pty.wait_for("3 blanks");
    pty.wait_saved();
    assert_eq!(bench.past_of("order-taken").len(), 1);
    assert_eq!(pty.leave(), 0);
}

/// The figures that were meant for a form that could not be opened once shut presses.
#[test]
fn what_is_typed_after_a_refused_key_lands_nowhere() {
    let bench = Bench::new(2, 60);
    let mut pty = Pty::board(&bench);
    for (key, reason) in [(&b"m"[..], "nothing to weigh"), (b"t", "nothing to correct")] {
        pty.key(key);
        pty.wait_for(reason);
        pty.keys("12");
        let screen = pty.wait_for(reason);
        assert!(screen.contains("Enter closes this"), "{screen}");
        pty.key(b"\x1b");
        pty.wait_until("the form is closed", |screen| !screen.contains("closes this"));
    }
    // With something there to shut, the same figures shut nothing.
    bench.take(2);
    pty.wait_for("2 blanks");
    pty.wait_saved();
    let before = bench.past();
    pty.key(b".");
    pty.wait_for("no garment has been handled");
    pty.keys("12");
    std::thread::sleep(Duration::from_millis(300));
    assert_eq!(bench.past(), before);
    pty.key(b"\x1b");
    assert_eq!(pty.leave(), 0);
}
