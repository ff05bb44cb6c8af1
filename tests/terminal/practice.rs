//! Practice on a board of its own: the first day, and a made-up shop whose operator strikes the keys.

use crate::bench::{Bench, recipe};
use crate::pty::Pty;

/// Reads the caution, takes in one garment whose artwork is lighter than it.
fn order_of_one(pty: &mut Pty) {
    pty.key(b"y");
    pty.wait_for("an order ");
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("1+");
    pty.wait_for("is some of the artwork lighter");
    pty.keys("1");
    pty.wait_for("yes");
    pty.keys("+");
}

/// The board of a shop that has had no order yet.
fn new_shop(bench: &Bench) -> Pty {
    let pty = Pty::board(bench);
    pty.wait_for("new here? + . 0, then 1");
    pty.wait_saved();
    pty
}

/// Asks for the first day by the sixteen keys.
fn ask(pty: &mut Pty) {
    pty.keys("+.0");
    pty.wait_for("1 first day");
    pty.key(b"1");
}

/// The same, and says that it is meant.
pub fn begin(pty: &mut Pty) {
    ask(pty);
    pty.wait_for("Leave this board for the first day?");
    pty.key(b"9");
    pty.wait_for("PRACTICE");
}

/// Leaves the practice by its own key.
pub fn go_back(pty: &mut Pty) {
    pty.key(b"q");
    pty.wait_for("Leave the practice?");
    pty.key(b"9");
    pty.wait_until("the board is no practice", |screen| {
        screen.contains("[Bench]") && !screen.contains("PRACTICE")
    });
}

/// One garment is led through by its real keys, and the station's own board comes back as it was.
#[test]
fn a_shop_that_is_new_is_led_through_one_garment() {
    let bench = Bench::new(2, 1);
    let mut pty = new_shop(&bench);
    let before = bench.past();
    begin(&mut pty);
    pty.wait_for("First day, 1 of 9: what the board asks");
    order_of_one(&mut pty);
    pty.wait_for("2 of 9: the first press");
    pty.key(b"1");
    pty.wait_for("3 of 9: the press counts");
    pty.wait_for("It calls: open the press, and strike 1");
    pty.key(b"1");
    pty.wait_for("4 of 9: the coat");
    pty.key(b"\r");
    pty.wait_for("5 of 9: drying");
    pty.key(b"1");
    pty.wait_for("6 of 9: steam");
    pty.wait_for("OPEN 1");
    pty.key(b"1");
    pty.wait_for("7 of 9: look, then print");
    pty.key(b"0");
    pty.wait_for("8 of 9: the cure");
    pty.key(b"1");
    pty.wait_for("OPEN 1");
    pty.key(b"1");
    pty.wait_for("9 of 9: done");
    go_back(&mut pty);
    pty.wait_for("new here?");
    pty.wait_for("practice: 1 garment finished, 3 times in the press, 3 of them opened in time");
    assert_eq!(bench.past(), before, "what was practised stands in the station's own journal");
}

/// A press that is shut would call nobody while the practice is on the screen.
#[test]
fn no_practice_while_a_press_is_shut() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("LOAD 1");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    ask(&mut pty);
    pty.wait_for("press 1 is shut: open it first");
    assert!(!pty.contents().contains("PRACTICE"));
}

/// A wet garment would wait unheard; what is struck in its place stays on the own board.
#[test]
fn no_practice_while_a_garment_is_wet() {
    let bench = Bench::new(2, 1);
    bench.take(1);
    let mut pty = Pty::board(&bench);
    pty.wait_for("LOAD 1");
    pty.key(b"1");
    pty.wait_for("OPEN 1");
    pty.key(b"1");
    pty.wait_for("SPRAY");
    pty.key(b"\r");
    pty.wait_for("LOAD 1");
    ask(&mut pty);
    pty.wait_for("is wet: dry it first");
    assert!(!pty.contents().contains("PRACTICE"));
}

/// A figure that was struck for a press while help stood open does not take the board away.
#[test]
fn leaving_for_the_first_day_is_asked() {
    let bench = Bench::new(2, 1);
    let mut pty = new_shop(&bench);
    ask(&mut pty);
    pty.wait_for("Leave this board for the first day?");
    pty.key(b"1");
    pty.wait_until("it stays", |screen| !screen.contains("Leave this board"));
    assert!(!pty.contents().contains("PRACTICE"));
    assert_eq!(pty.leave(), 0);
}

/// A signal ends the process, and not only the practice that stands on its screen.
#[test]
fn a_signal_ends_the_first_day_and_the_board() {
    let bench = Bench::new(2, 1);
    let mut pty = new_shop(&bench);
    begin(&mut pty);
    pty.signal(rustix::process::Signal::TERM);
    assert_eq!(pty.end_within(std::time::Duration::from_secs(20)), 0);
}

/// The last profile that read stays in force while one is half edited.
#[test]
fn the_own_board_comes_back_where_its_profile_is_half_edited() {
    let bench = Bench::new(2, 1);
    let mut pty = new_shop(&bench);
    begin(&mut pty);
    let whole = std::fs::read_to_string(bench.recipe()).unwrap();
    std::fs::write(bench.recipe(), &whole[..whole.len() / 2]).unwrap();
    go_back(&mut pty);
    pty.wait_for("PROFILE NOT READ");
    std::fs::write(bench.recipe(), whole).unwrap();
    pty.wait_for("the profiles were read again");
    assert_eq!(pty.leave(), 0);
}

/// Where nothing can be practised the own board says so.
#[test]
fn the_own_board_comes_back_where_there_is_no_room_to_practise() {
    let bench = Bench::new(2, 1);
    let nowhere = bench.root.path().join("nowhere");
    let environment = [("TMPDIR", nowhere.to_str().unwrap())];
    let mut pty = Pty::start(&bench, &[], &environment);
    pty.wait_for("new here? + . 0, then 1");
    pty.wait_saved();
    ask(&mut pty);
    pty.wait_for("Leave this board for the first day?");
    pty.key(b"9");
    pty.wait_for("no first day: ");
    assert_eq!(pty.leave(), 0);
}

/// The shop is made up, the keys are the newcomer's: what was opened early is said at the end.
#[test]
fn a_newcomers_shift_ends_with_what_was_early() {
    let bench = Bench::new(2, 60);
    let slow = recipe(60).replace("prepress: (shortest: \"1s\"", "prepress: (shortest: \"50s\"");
    assert_ne!(slow, recipe(60));
    std::fs::write(bench.recipe(), slow).unwrap();
    let mut pty = Pty::start(&bench, &["rehearse", "--me", "--garments", "2"], &[]);
    pty.wait_for("PRACTICE");
    pty.wait_for("LOAD 1");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    pty.key(b"1");
    pty.wait_for("early");
    pty.key(b"q");
    pty.wait_for("Leave the practice?");
    pty.key(b"9");
    // Before the board goes, what it means is on the screen: it is gone from a terminal that nobody has.
    pty.wait_for("What went otherwise");
    pty.wait_for("pre-press: opened early, after");
    pty.wait_for("Moisture is left in the cloth");
    assert!(pty.contents().contains("PRACTICE"), "{}", pty.contents());
    pty.key(b"\r");
    pty.wait_for("practice: 0 garments finished, 1 time in the press, 0 of them opened in time");
    pty.wait_for("pre-press: opened early, after");
    pty.wait_for("Wait until OPEN is called.");
}

/// The newcomer's first garment: what she did early is on the screen, and her own board says it in short.
#[test]
fn the_first_day_ends_with_what_was_early_and_what_it_means() {
    let bench = Bench::new(2, 60);
    let slow = recipe(60).replace("prepress: (shortest: \"1s\"", "prepress: (shortest: \"50s\"");
    std::fs::write(bench.recipe(), slow).unwrap();
    let mut pty = new_shop(&bench);
    begin(&mut pty);
    order_of_one(&mut pty);
    pty.wait_for("2 of 9: the first press");
    pty.key(b"1");
    pty.wait_for("3 of 9: the press counts");
    pty.key(b"1");
    pty.wait_for("4 of 9: the coat");
    pty.key(b"q");
    pty.wait_for("Leave the practice?");
    pty.key(b"9");
    pty.wait_for("A1-01 pre-press: opened early, after");
    pty.wait_for("Moisture is left in the cloth");
    pty.wait_for("1 to 1 of 1");
    // Another key stays: it may have been meant for a press.
    pty.key(b"1");
    pty.wait_for("Enter leaves the practice");
    pty.key(b"\r");
    pty.wait_for("new here?");
    pty.wait_for("practice: 0 garments finished, 1 time in the press");
    pty.wait_for("opened early, after");
}

/// What came to more than a page is turned, and nothing of it is left out.
#[test]
fn what_went_otherwise_is_turned_page_by_page() {
    let bench = Bench::new(1, 60);
    let slow = recipe(60).replace("shortest: \"1s\"", "shortest: \"50s\"");
    std::fs::write(bench.recipe(), slow).unwrap();
    let mut pty = Pty::start(&bench, &["rehearse", "--me", "--garments", "9"], &[]);
    pty.wait_for("PRACTICE");
    for _ in 1..=9 {
        pty.wait_for("LOAD 1");
        pty.key(b"1");
        pty.wait_for("RUNNING");
        pty.key(b"1");
        pty.wait_until("the press is open", |screen| !screen.contains("RUNNING"));
    }
    pty.key(b"q");
    pty.wait_for("Leave the practice?");
    pty.key(b"9");
    pty.wait_for("A1-01 pre-press: opened early");
    pty.wait_for(" of 9");
    pty.key(b"\r");
    pty.wait_for(" to 9 of 9");
    pty.wait_for("Enter leaves the practice");
}

/// Nobody timed it well, and it was said afterwards when it was: then it was not late.
#[test]
fn an_opening_that_was_set_right_is_not_told_as_late() {
    let bench = Bench::new(2, 2);
    let short = recipe(2).replace("longest: \"120s\"", "longest: \"6s\"");
    assert_ne!(short, recipe(2));
    std::fs::write(bench.recipe(), short).unwrap();
    // A made-up shift begins at eight, and its hours are those of no zone.
    let own = std::fs::read_to_string(bench.station()).unwrap();
    let (before, after) = own.split_once("time_zone: \"").unwrap();
    let rest = after.split_once('"').unwrap().1;
    std::fs::write(bench.station(), format!("{before}time_zone: \"Etc/GMT-9\"{rest}")).unwrap();
    let mut pty = Pty::start(&bench, &["rehearse", "--me", "--garments", "1"], &[]);
    pty.wait_for("PRACTICE  08:0");
    pty.wait_for("LOAD 1");
    pty.key(b"1");
    pty.wait_for("TOO LONG");
    pty.key(b"1");
    pty.wait_for("late");
    pty.key(b"t");
    pty.wait_for("When was it really?");
    pty.keys("4\r");
    pty.wait_until("it is set right", |screen| !screen.contains("When was it really?"));
    pty.key(b"q");
    pty.wait_for("Leave the practice?");
    pty.key(b"9");
    pty.wait_for("practice: 0 garments finished, 1 time in the press, 1 of them opened in time");
    pty.wait_for("nothing early, nothing late");
}
