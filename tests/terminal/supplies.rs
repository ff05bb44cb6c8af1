//! Stacks, bottles, people and wash samples, by keys alone. Common practice, no source.

use crate::bench::{Bench, order};
use crate::pty::Pty;

/// Fills in a bottle's label, and registers it.
fn register(pty: &mut Pty, lot: &str, contents: &str, place: &str) {
    label(pty, lot, contents, place);
    pty.wait_until("closed", |text| !text.contains("A bottle's label"));
}

/// Fills in a bottle's label.
fn label(pty: &mut Pty, lot: &str, contents: &str, place: &str) {
    pty.key(b"j");
    pty.wait_for("A bottle's label");
    pty.burst(lot.as_bytes());
    pty.key(b"\t");
    pty.keys(contents);
    pty.key(b"\t");
    pty.key(b"\t");
    pty.burst(place.as_bytes());
    pty.key(b"+");
}

/// Begins to fill from a lot.
fn fill_from(pty: &mut Pty, lot: &str) {
    pty.key(b"i");
    pty.wait_for("Filling the sprayer");
    pty.burst(lot.as_bytes());
    pty.key(b"\r");
}

#[test]
fn an_ink_bottle_never_gets_into_the_sprayer() {
    let bench = Bench::new(1, 60);
    bench.take(3);
    let mut pty = Pty::board(&bench);
    pty.wait_for("3 blanks");
    fill_from(&mut pty, "W-31");
    pty.wait_for("lot W-31 is not registered: do not fill");
    pty.key(b"\x1b");
    register(&mut pty, "W-31", "2", "cellar");
    label(&mut pty, "F-118", "1", "cellar");
    pty.wait_for("ink stands in \"cellar\"");
    // What was typed is still there, and the cursor on what was wrong: a word takes its place.
    pty.wait_for("F-118");
    pty.burst(b"booth");
    pty.key(b"+");
    pty.wait_for("lot F-118: pretreatment fluid");
    fill_from(&mut pty, "W-31");
    pty.wait_for("STOP: lot W-31 is ink, not pretreatment fluid");
    // The next bottle's code takes the place of the wrong one.
    pty.burst(b"F-118\r");
    // One key through the whole checklist fills nothing: each step has its own.
    pty.wait_for("PRETREATMENT FLUID?  7 it does");
    pty.key(b"\r");
    pty.wait_for("its own key answers it");
    pty.key(b"p");
    pty.key(b"k");
    pty.wait_for("filled in, then +");
    pty.burst(b"400");
    pty.key(b"+");
    pty.wait_for("sprayer filled: 400 g of lot F-118");
    pty.wait_saved();
    let fills = bench.past_of("sprayer-filled");
    assert_eq!(fills.len(), 1);
    assert_eq!((&fills[0]["lot"], &fills[0]["scanned"]), (&"F-118".into(), &true.into()));
    pty.key(b"\x1bOR");
    pty.wait_for("400 g");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn a_shift_is_opened_asked_about_and_closed() {
    let bench = Bench::new(1, 60);
    bench.take(1);
    let mut pty = Pty::board(&bench);
    pty.wait_for("1 blanks");
    // The caution goes before every other question.
    pty.wait_for("No safety device");
    pty.key(b"y");
    pty.key(b"b");
    pty.wait_for("Who is at the bench?");
    pty.keys("ak");
    pty.key(b"\r");
    pty.wait_for("Does the fan at the spray booth run?");
    // No question stands between a press key and the press.
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.key(b"y");
    pty.wait_for("the fan runs");
    pty.key(b"b");
    pty.wait_for("at the bench: AK");
    pty.key(b"+");
    pty.wait_for("press 1 is shut on A1-01");
    pty.key(b"y");
    pty.wait_for("shift closed; left: press 1 is shut on A1-01");
    pty.wait_saved();
    assert_eq!(bench.past_of("shift-closed")[0]["who"], serde_json::json!(["AK"]));
    assert_eq!(pty.leave(), 0);
}

/// Brings the first garment to its end at press 1.
fn finish_the_first(pty: &mut Pty) {
    let press = |pty: &mut Pty| {
        pty.key(b"1");
        pty.wait_for("OPEN 1");
        pty.key(b"1");
        pty.wait_until("open", |text| text.contains("opened press 1"));
    };
    press(pty);
    pty.key(b"\r");
    pty.wait_for("sprayed A1-01");
    press(pty);
    pty.key(b"0");
    pty.wait_for("printed A1-01");
    press(pty);
}

/// A garment is kept for the wash, its result comes by a command while the board runs, and its story is read on
/// the board.
#[test]
fn a_wash_result_comes_in_by_a_command_and_a_story_by_keys() {
    let bench = Bench::new(1, 1);
    bench.take(1);
    let mut pty = Pty::board(&bench);
    pty.wait_for("1 blanks");
    finish_the_first(&mut pty);
    pty.key(b"l");
    pty.wait_for("Look up a garment");
    pty.burst(b"A1-01");
    pty.key(b"\r");
    pty.keys("3");
    pty.key(b"+");
    pty.wait_for("A1-01 is a wash sample");
    pty.wait_saved();
    let ran =
        bench.run(&["wash", "A1-01", "--cycles", "5", "--before", "50,0,0", "--after", "51.7,0,0"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("grade 4 (dE*ab 1.70)"), "{}", ran.out);
    pty.wait_for("A1-01 washed 5 times: grade 4");
    pty.wait_saved();
    pty.key(b"l");
    pty.wait_for("Look up a garment");
    pty.burst(b"A1-01");
    pty.key(b"+");
    pty.wait_for("A1-01: finished");
    pty.wait_for("tag assumed from the queue");
    pty.key(b"\x1b");
    pty.wait_for("newest first");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

/// One garment is finished, and its order's number is typed for what came back.
fn return_the_first(pty: &mut Pty) {
    finish_the_first(pty);
    pty.wait_saved();
    pty.key(b".");
    pty.wait_for("What is wrong");
    pty.key(b"\r");
    pty.wait_for("Look up a garment");
    pty.keys("1");
    pty.key(b"\r");
    pty.keys("4");
    pty.key(b"+");
    pty.wait_for("A customer brought it back");
}

/// A customer has a shirt without its tag: the order is typed at the sixteen keys, and the board shows which one it is.
#[test]
fn a_return_is_entered_by_its_order_and_its_candidates_are_shown() {
    let bench = Bench::new(1, 1);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    return_the_first(&mut pty);
    pty.wait_for("Harbour choir: 1 garment may be meant");
    pty.key(b"\r");
    pty.wait_for("3 something else");
    pty.keys("1");
    pty.key(b"\r");
    pty.keys("7");
    pty.key(b"+");
    pty.wait_for("came back: A1 Harbour choir");
    pty.wait_for("it is 1 garment");
    pty.wait_saved();
    let back = &bench.past_of("returned")[0];
    assert_eq!((&back["garment"], &back["cycles"]), (&"A1-01".into(), &7.into()));
    // By a command while the board runs: it comes in by the inbox, and stays where the act before is taken back.
    let ran = bench.run(&["wash", "A1-01", "--returned", "--complaint", "mark"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    pty.wait_for("A1-01 came back: fluid or press mark");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

/// What came back is made again by one figure more: all else is as its own order had it, and both name each other.
#[test]
fn another_is_made_of_what_came_back() {
    let bench = Bench::new(1, 1);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    return_the_first(&mut pty);
    pty.key(b"\r");
    pty.wait_for("4 make another");
    pty.keys("4");
    pty.wait_for("washed out, make another");
    pty.key(b"+");
    pty.wait_for("came back: A1 Harbour choir");
    pty.wait_saved();
    let taken = &bench.past_of("order-taken")[1];
    assert_eq!(taken["form"]["name"], "Again: Harbour choir");
    let line = &taken["form"]["lines"][0];
    assert_eq!((&line["count"], &line["remakes"]), (&1.into(), &"A1-01".into()), "{line}");
    assert_eq!(line["recipe"], "quick");
    // A garment that was lost in the shop is made again from the look-up.
    pty.key(b"\x1b");
    pty.key(b".");
    pty.wait_for("What is wrong");
    pty.key(b"\r");
    pty.wait_for("Look up a garment");
    pty.burst(b"1-02");
    pty.wait_for("1-02");
    pty.key(b"\r");
    pty.keys("5");
    pty.key(b"+");
    pty.wait_for("order 3 \"Again: Harbour choir\" taken in: 1 garment, to make A1-02 again");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let traced = bench.run(&["trace", "A1-01"]);
    assert!(
        traced.out.contains("made again: A2 Again: Harbour choir, for A1-01"),
        "{}",
        traced.out
    );
    let traced = bench.run(&["trace", "A2-01"]);
    assert!(traced.out.contains("makes A1-01 again"), "{}", traced.out);
    let back = bench.run(&["wash", "A1-01", "--returned", "--look"]);
    assert!(back.out.contains("made again: A2 Again: Harbour choir, for A1-01"), "{}", back.out);
    let report = bench.run(&["report"]);
    assert!(report.out.contains("Again: Harbour choir (A1-01)"), "{}", report.out);
    // An order that was never taken is not made again.
    let path = bench.root.path().join("again.ron");
    let again = order(1).replace("underbase: true", "underbase: true, remakes: \"A9-01\"");
    std::fs::write(&path, again).unwrap();
    assert_eq!(bench.run(&["take", path.to_str().unwrap()]).code, 0);
    let mut pty = Pty::board(&bench);
    pty.wait_for("there is no order 9");
    assert_eq!(pty.leave(), 0);
}

/// A thread of its own plans what is under way; the Pace screen says when it is ready.
#[test]
fn the_pace_screen_says_when_it_will_be_ready() {
    let bench = Bench::new(2, 20);
    bench.take(6);
    let mut pty = Pty::board(&bench);
    pty.wait_for("6 blanks");
    pty.key(b"\x1bOQ");
    pty.wait_for("READY ");
    pty.wait_for("held back by the printer");
    pty.wait_for("one more printer would save");
    assert_eq!(pty.leave(), 0);
}

/// A fill asks what fluid it is, one row each; each may be left out, and the next fill offers what was answered last. Only
/// another fluid than the next recipe's is spoken of; the trace and the report have it where they have the lot.
#[test]
fn a_fluid_has_a_kind_a_dilution_and_a_day() {
    let bench = Bench::new(1, 1);
    let text = std::fs::read_to_string(bench.recipe()).unwrap();
    let text = text.replacen("coat: (", "fluid_kind: Some(Dark), dilution: \"1:1\", coat: (", 1);
    std::fs::write(bench.recipe(), text).unwrap();
    bench.take(1);
    let mut pty = Pty::board(&bench);
    pty.wait_for("1 blanks");
    register(&mut pty, "F-118", "1", "booth");
    let fill = |pty: &mut Pty| {
        fill_from(pty, "F-118");
        pty.wait_for("PRETREATMENT FLUID?  7 it does");
        pty.keys("79");
        pty.wait_for("filled in, then +");
    };
    fill(&mut pty);
    pty.keys("300");
    pty.key(b"\r");
    pty.wait_for("1 dark 2 light 3 polyester");
    pty.keys("2");
    pty.wait_for("fluid        light");
    pty.key(b"\r");
    // A dilution that is none is refused where it stands, and the rest is kept.
    pty.keys("12");
    pty.key(b"+");
    pty.wait_for("expected parts of fluid and of water");
    pty.keys("1-1");
    pty.key(b"\r");
    pty.key(b".");
    pty.wait_for("Choose: mixed on");
    pty.keys("2");
    pty.wait_for("mixed on     20");
    pty.key(b"+");
    pty.wait_for("sprayer filled: 300 g of lot F-118, light fluid, thinned 1:1, mixed 20");
    let press = |pty: &mut Pty, opened: &str| {
        pty.key(b"1");
        pty.wait_for("OPEN 1");
        pty.key(b"1");
        pty.wait_for(opened);
    };
    press(&mut pty, "opened press 1: A1-01 pre-press");
    pty.wait_for("the sprayer holds light fluid");
    // The last answer is offered again: a fill of the same takes no key more than before.
    pty.key(b"a");
    pty.wait_for("sprayer emptied and flushed");
    fill(&mut pty);
    pty.wait_for("fluid        light");
    pty.keys("200");
    pty.key(b"\r");
    pty.keys("1");
    pty.key(b"+");
    pty.wait_for("200 g of lot F-118, dark fluid, thinned 1:1, mixed 20");
    pty.wait_until("right", |text| !text.contains("the sprayer holds"));
    pty.key(b"\r");
    pty.wait_for("sprayed A1-01");
    pty.wait_saved();
    pty.key(b"\x1bOR");
    pty.wait_for("dark fluid, thinned 1:1");
    assert_eq!(pty.leave(), 0);
    let fills = bench.past_of("sprayer-filled");
    assert_eq!(fills.len(), 2);
    assert_eq!(
        (&fills[1]["fluid"]["kind"], &fills[1]["fluid"]["dilution"]),
        (&"Dark".into(), &"1:1".into())
    );
    let trace = bench.run(&["trace", "A1-01", "--json"]);
    let trace: serde_json::Value = serde_json::from_str(&trace.out).unwrap();
    assert_eq!(trace["fluids"][0]["kind"], "Dark", "{trace}");
    let report = bench.run(&["report"]);
    assert!(report.out.contains("of lot F-118, light fluid, thinned 1:1"), "{}", report.out);
    bench.assert_sound();
}
