//! The keypad in the real program: presses are worked from within a form, and nothing typed goes astray.

use std::time::Duration;

use crate::bench::Bench;
use crate::pty::Pty;

/// Two presses turn late while an order is typed: they are seen, and opened without leaving the form.
#[test]
fn late_presses_are_opened_from_within_an_order() {
    let bench = Bench::new(2, 1);
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    std::fs::write(bench.recipe(), recipe.replace("longest: \"120s\"", "longest: \"3s\"")).unwrap();
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.keys("12");
    pty.wait_for("shut press 2");
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("34");
    pty.wait_for("garments     34 ");
    // Both panels say so, and the row above the form, with the key that opens the first from there.
    pty.wait_until("both late", |text| {
        let row = text.lines().find(|row| row.trim_start().starts_with("OPEN 1"));
        let says = row.is_some_and(|row| row.contains("* 1") && row.contains("(+1 more)"));
        text.matches("TOO LONG").count() == 3 && says
    });
    pty.key(b"*");
    pty.wait_for("* press?");
    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01 pre-press");
    pty.wait_for("garments     34 ");
    // With NumLock off the keypad sends a cursor key for the figure.
    pty.key(b"*");
    pty.wait_for("* press?");
    pty.key(b"\x1b[B");
    pty.wait_for("opened press 2: A1-02 pre-press");
    pty.wait_for("garments     34 ");
    // A `*` held on, then a digit held on: one act, no figure.
    for _repeat in 0..20 {
        pty.burst(b"*");
        std::thread::sleep(Duration::from_millis(30));
    }
    std::thread::sleep(Duration::from_millis(100));
    pty.burst(b"-");
    pty.wait_for("undid: opened press 2");
    // A scanner that sends a star.
    pty.burst(b"*1*2");
    pty.wait_for("ignored");
    pty.key(b"*");
    pty.key(b".");
    pty.wait_for("kept for later: + 0 opens it again");
    pty.keys("+0");
    pty.wait_for("garments     34 ");
    pty.key(b"\x1b");
    pty.wait_saved();
    assert_eq!(bench.past_of("press-opened").len(), 2);
    assert!(bench.past_of("order-taken").len() == 1, "only the one that was laid in");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn the_list_is_left_by_itself_and_its_digits_do_nothing_for_a_moment() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.key(b"+");
    let list = pty.wait_for("All acts");
    for word in
        ["7 pick a garment", "8 how many", "0 new order", ". more", "presses: * then 1 to 9"]
    {
        assert!(list.contains(word), "{word}:\n{list}");
    }
    // 3 answers no question here: there is none that takes it.
    pty.key(b"3");
    pty.wait_for("that is no answer to the question");
    assert!(bench.past_of("press-shut").is_empty());
    // A machine so busy that the digit came when the moment was over has not tried this: once more.
    let ignored = (0..10).any(|_| {
        pty.key(b"+");
        pty.wait_for("All acts");
        pty.wait_for("closed after 8 s without a key");
        pty.burst(b"1");
        let acts = |text: &str| text.contains("1 ignored") || text.contains("shut press 1 on");
        let text = pty.wait_until("the digit to be ignored, or to act", acts);
        if text.contains("1 ignored") {
            return true;
        }
        pty.key(b"-");
        pty.wait_for("undid");
        false
    });
    assert!(ignored, "this machine never struck a key in time");
    assert_eq!(pty.leave(), 0);
}

/// The foot switch does what NEXT says, from within a form too; struck as NEXT changes it does nothing, and says so.
#[test]
fn the_foot_switch_does_what_next_says_unless_that_has_just_changed() {
    const F12: &[u8] = b"\x1b[24~";
    let bench = Bench::new(2, 60);
    bench.take(3);
    let mut pty = Pty::board(&bench);
    pty.wait_for("LOAD 1");
    std::thread::sleep(Duration::from_millis(900));
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("7");
    pty.burst(F12);
    pty.wait_for("shut press 1 on A1-01: pre-press");
    pty.wait_for("garments     7 ");
    // The switch is deaf to itself for a moment, as every key: only then is it NEXT that makes it wait.
    std::thread::sleep(Duration::from_millis(1200));
    pty.key(b"*");
    pty.key(b"1");
    pty.wait_for("opened press 1");
    std::thread::sleep(Duration::from_millis(150));
    pty.burst(F12);
    pty.wait_for("NEXT changed: once more");
    assert_eq!(bench.past_of("press-shut").len(), 1);
    std::thread::sleep(Duration::from_millis(1200));
    pty.burst(F12);
    // What feeds the printer goes before the next blank: it is sprayed, and then dried.
    pty.wait_for("sprayed A1-01");
    std::thread::sleep(Duration::from_millis(1200));
    pty.burst(F12);
    pty.wait_for("shut press 1 on A1-01: dry");
    pty.wait_saved();
    assert_eq!(bench.past_of("press-shut").len(), 2);
    pty.key(b"\x1b");
    assert_eq!(pty.leave(), 0);
}
