//! What a trace says of who was there, of scans, of the shelf, of places and of a lot.

use dwell::figures::units::Grams;
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::{LotRegistered, SprayerFilled};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, Which};
use rusqlite::Connection;
use serde_json::{Value, json};

use crate::bench::Bench;
use crate::sample::{bench, write};
use crate::world::{World, line, order, own, station};

fn press(world: &mut World, tag: &str, by: By, seconds: f64) {
    let (press, garment) = (PressNo(1), tag.parse().unwrap());
    world.must(Command::Shut { press, garment, by });
    world.wait(seconds);
    world.must(Command::Open { press });
    world.wait(10.0);
}

fn lot(world: &mut World, lot: &str) {
    let contents = Contents::PretreatmentFluid;
    let (lot, place) = (lot.to_owned(), "booth".to_owned());
    world.must(Command::RegisterLot(LotRegistered { lot, contents, best_before: None, place }));
}

fn fill(world: &mut World, lot: &str) {
    let (lot, grams) = (lot.to_owned(), Grams(300.0));
    world.must(Command::FillSprayer(SprayerFilled {
        lot,
        grams,
        scanned: true,
        over: None,
        fluid: None,
    }));
}

fn spray(world: &mut World, tag: &str) {
    world.must(Command::HandworkDone(Which::Tagged(tag.parse().unwrap())));
    world.wait(30.0);
}

/// A1 is printed front and back; of A2 one is stored twice and treated again from the second lot, the others are stored
/// and put out, or sent back a step.
fn journal() -> Bench {
    let mut world = World::new(station(2));
    world.must(Command::Sign("AK".into()));
    let places = vec!["front".to_owned(), "back".to_owned()];
    world.must(order(vec![OrderLine { places, ..line(1, "dark-cotton") }]));
    world.must(order(vec![line(4, "dark-cotton")]));
    lot(&mut world, "F-1");
    lot(&mut world, "F-2");
    fill(&mut world, "F-1");
    for by in [By::Scan, By::Choice] {
        press(&mut world, "A1-01", by, 15.0);
        spray(&mut world, "A1-01");
        press(&mut world, "A1-01", by, 40.0);
        world.must(Command::Printed(Which::First(1)));
        press(&mut world, "A1-01", by, 90.0);
        world.must(Command::Sign("AK".into()));
        world.must(Command::Sign("BM".into()));
    }
    for tag in ["A2-01", "A2-02", "A2-03", "A2-04"] {
        press(&mut world, tag, By::Choice, 15.0);
        spray(&mut world, tag);
        press(&mut world, tag, By::Choice, 40.0);
    }
    world.must(Command::Store(Which::All));
    world.must(Command::FlushSprayer);
    fill(&mut world, "F-2");
    press(&mut world, "A2-01", By::Choice, 5.0);
    world.must(Command::Store(Which::All));
    world.must(Command::Renew("A2-01".parse().unwrap()));
    press(&mut world, "A2-01", By::Choice, 15.0);
    spray(&mut world, "A2-01");
    press(&mut world, "A2-01", By::Choice, 40.0);
    for (tag, outcome) in [("A2-02", Outcome::Out), ("A2-03", Outcome::StepAgain)] {
        let (garment, trouble) = (tag.parse().unwrap(), Trouble::Stained);
        world.must(Command::NoteTrouble { garment, trouble, outcome });
    }
    let bench = bench();
    write(&bench, world.events);
    bench
}

fn asked(bench: &Bench, arguments: &[&str]) -> Value {
    let ran = bench.run(&[arguments, &["--json"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    serde_json::from_str(&ran.out).unwrap()
}

fn text(bench: &Bench, arguments: &[&str]) -> String {
    let ran = bench.run(arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    ran.out
}

/// A field of each press of a garment, in order.
fn of_cycles(story: &Value, field: &str) -> Vec<Value> {
    story["cycles"].as_array().unwrap().iter().map(|cycle| cycle[field].clone()).collect()
}

#[test]
fn each_round_says_its_place_each_press_its_scan_and_each_act_who_was_there() {
    let bench = journal();
    let story = asked(&bench, &["trace", "A1-01"]);
    assert_eq!(story["places"], json!(["front", "back"]));
    let rounds = ["front", "front", "front", "back", "back", "back"];
    assert_eq!(of_cycles(&story, "place"), rounds);
    assert_eq!(of_cycles(&story, "scanned"), [true, true, true, false, false, false]);
    assert_eq!(story["identity"], "partly scanned");
    let there: Vec<Value> =
        of_cycles(&story, "people").iter().map(|people| people["shut"].clone()).collect();
    assert_eq!(there[..2], [json!(["AK"]), json!(["AK"])]);
    assert_eq!(there[4..], [json!(["BM"]), json!(["BM"])]);
    let told = text(&bench, &["trace", "A1-01"]);
    for words in [
        "printed at: front, back",
        "tag scanned at 3 of 6 presses",
        "shut press 1 on A1-01 front: dry, tag scanned",
        "shut press 1 on A1-01 back: dry, tag assumed",
        "sprayed A1-01 back, not weighed, lot F-1 [BM]",
        "printed A1-01 front [AK]",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    // An order with one place has nothing to say of it.
    let story = asked(&bench, &["trace", "A2-01"]);
    assert_eq!((&story["identity"], &story["round"]), (&"assumed".into(), &Value::Null));
    assert!(text(&bench, &["past"]).contains("opened press 1: A1-01 back cure after 90 s"));
}

#[test]
fn every_stay_on_the_shelf_is_told_with_its_days() {
    let bench = journal();
    let story = asked(&bench, &["trace", "A2-01"]);
    let stays = story["stays"].as_array().unwrap();
    assert_eq!((stays.len(), &story["shelf"]), (2, &Value::Null), "treated again: it lies nowhere");
    for stay in stays {
        assert_eq!((&stay["stack"], &stay["last_day"]), (&"1".into(), &"2026-04-01".into()));
        assert!(!stay["taken"].is_null(), "{stay}");
    }
    let told = text(&bench, &["trace", "A2-01"]);
    assert_eq!(told.matches("; good until 2026-03-23, last day 2026-04-01").count(), 2, "{told}");
    let last = asked(&bench, &["trace", "A2-04"]);
    assert_eq!((&last["stays"][0]["taken"], &last["shelf"]["stack"]), (&Value::Null, &"1".into()));
}

#[test]
fn a_lot_says_why_a_garment_is_listed_that_carries_another() {
    let bench = journal();
    for written in ["F-1", "f-1"] {
        let told = text(&bench, &["trace", "--lot", written]);
        assert!(told.starts_with("lot F-1: 5 garments"), "{told}");
        let of = |tag: &str| told.lines().find(|line| line.contains(tag)).unwrap().to_owned();
        assert!(of("A2-01").ends_with("sprayed with it, then treated again with F-2"), "{told}");
        assert!(
            of("A1-01").ends_with("front sprayed with it, then back sprayed with it"),
            "{told}"
        );
        assert!(of("A2-04").contains("on the shelf, stack 1"), "{told}");
    }
    let lot = asked(&bench, &["trace", "--lot", "f-2"]);
    assert_eq!(lot["lot"], "F-2");
    let lot = asked(&bench, &["trace", "--lot", "F-1"]);
    let again: Vec<&Value> = lot["garments"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|garment| garment["treated_again"] == true)
        .map(|garment| &garment["tag"])
        .collect();
    assert_eq!(again, ["A2-01"]);
    let ran = bench.run(&["trace", "--lot", "F-9"]);
    assert!(ran.code == 2 && ran.err.contains("registered last: F-1, F-2"), "{}", ran.err);
}

#[test]
fn what_cannot_be_asked_of_a_press_is_refused() {
    let bench = journal();
    for (arguments, words) in [
        (vec!["trace", "--press", "77"], "expected the number of a press, 1 to 9"),
        (vec!["trace", "--press", "7"], "no press 7 is known here; there are: 1, 2"),
        (
            vec!["trace", "--press", "1", "--from", "2026-03-09", "--to", "2026-03-02"],
            "--from 2026-03-09 is after --to 2026-03-02",
        ),
        (vec!["trace", "A1-01", "--from", "2026-03-02"], "--from and --to go with --press"),
        (vec!["trace", "--lot", "F-1", "--to", "2026-03-02"], "--from and --to go with --press"),
    ] {
        let ran = bench.run(&arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(words), "{arguments:?}: {}", ran.err);
    }
    let told = text(&bench, &["trace", "--press", "2"]);
    assert_eq!(told, "press 2 was not shut in that time\n");
}

#[test]
fn the_view_of_the_shelf_holds_what_lies_there() {
    let bench = journal();
    let database = Connection::open(bench.data().join("journal.sqlite")).unwrap();
    let mut statement = database.prepare("SELECT tag FROM shelf ORDER BY tag").unwrap();
    let there: Vec<String> =
        statement.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    assert_eq!(there, ["A2-04"]);
    let listed = asked(&bench, &["shelf"]);
    assert_eq!(listed.as_array().unwrap().len(), 1);
    assert_eq!((&listed[0]["tag"], &listed[0]["position"]), (&"A2-04".into(), &1.into()));
}

/// A blank that went back with its order, and one that had been pressed before: both are found.
#[test]
fn a_blank_that_went_back_is_traced() {
    use dwell::shop::facts::fact::Leaves;
    let mut world = World::new(station(1));
    world.must(order(vec![line(3, "dark-cotton")]));
    press(&mut world, "A1-01", By::Choice, 15.0);
    let (order, leaves) = (own(1), Leaves::Shelf);
    world.must(Command::CancelOrder { order, fewer: None, leaves });
    let bench = bench();
    write(&bench, world.events);
    for tag in ["A1-01", "A1-03"] {
        let told = text(&bench, &["trace", tag]);
        assert!(told.contains("back with the blanks"), "{told}");
        assert!(told.contains("order 1 cancelled"), "{told}");
        assert!(asked(&bench, &["trace", tag]).is_object(), "{tag}");
    }
    assert_eq!(bench.run(&["trace", "A1-04"]).code, 2);
}
