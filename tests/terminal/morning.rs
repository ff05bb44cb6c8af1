//! Before the first garment: the list by keys, presses that heat and soak, and a press that settles.

use crate::bench::Bench;
use crate::pty::Pty;

fn bench() -> Bench {
    let bench = Bench::new(1, 1);
    bench.station_says(
        "morning: [PressesOn, WhiteAgitated, NozzleCheck, Humidity, FirstSample], soak: \"1h\",",
    );
    bench
}

/// The list is there by keys of the keypad alone, each line by a key of its own; a press that was said to be on is not
/// offered until it has soaked, and is used all the same where a garment is chosen for it.
#[test]
fn the_mornings_list_is_gone_through_by_the_keypad_and_stops_nobody() {
    let bench = bench();
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("LOAD 1");
    pty.wait_for("morning list: 4 open, + . 5");
    pty.key(b"+");
    pty.wait_for("All acts");
    pty.key(b".");
    pty.wait_for("5 morning");
    pty.key(b"5");
    let list = pty.wait_for("Before the first garment");
    assert!(!list.contains("platens probed"), "the profile does not ask for it: {list}");
    pty.key(b"1");
    pty.wait_for("1 heating, 15 min");
    pty.key(b"2");
    pty.wait_for("1 soaking, 60 min");
    pty.key(b"4");
    pty.wait_for("white ink agitated            done");
    pty.key(b"-");
    pty.wait_for("which line?");
    pty.key(b"5");
    pty.wait_for("nozzle check                  skipped");
    pty.key(b"6");
    pty.wait_for("per cent, then Enter");
    pty.keys("300");
    pty.key(b"\r");
    pty.wait_for("expected 0 to 100 %");
    pty.keys("54");
    pty.key(b"\r");
    pty.wait_for("room humidity                 54 %");
    pty.key(b"/");
    let soaks = pty.wait_for("WAIT 1");
    assert!(!soaks.contains("morning list"), "all of it is said: {soaks}");
    pty.wait_for("press 1 is soaking: 60 min left");
    pty.key(b"1");
    pty.wait_for("chooses all the same");
    pty.key(b"c");
    pty.wait_for("your choice");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01: pre-press, not soaked or settled");
    pty.wait_saved();
    let said: Vec<String> =
        bench.past_of("morning-said").iter().map(|one| one["check"].to_string()).collect();
    assert_eq!(said, ["\"PressesOn\"", "\"WhiteAgitated\"", "\"NozzleCheck\"", "\"Humidity\""]);
    assert_eq!(bench.past_of("press-shut")[0]["unsettled"], true);
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

/// A press that was only turned is counted down, its both heats are said, and a restart goes on counting.
#[test]
fn a_press_that_was_turned_is_counted_down() {
    let bench = Bench::new(1, 1);
    let text = std::fs::read_to_string(bench.recipe()).unwrap();
    std::fs::write(bench.recipe(), text.replacen("340 F", "310 F", 1)).unwrap();
    bench.take(1);
    let mut pty = Pty::board(&bench);
    pty.wait_for("SET 1");
    pty.wait_for("press 1 to 310 F medium, for A1-01; it is set to 340 F");
    pty.key(b"d");
    pty.wait_for("counted down, about 6 min");
    pty.key(b"-");
    pty.wait_for("press 1 turned to 310 F, settling");
    pty.wait_for("WAIT 1");
    pty.wait_for("press 1 is settling: 6 min left");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let mut pty = Pty::board(&bench);
    pty.wait_for("press 1 is settling:");
    pty.key(b"d");
    pty.wait_for("A press was set");
    pty.key(b"+");
    pty.wait_for("press 1 set to 310 F, medium");
    pty.wait_for("LOAD 1");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}
