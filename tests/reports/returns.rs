//! A garment that a customer brought back: which it may be, which others are at risk, and a lot's recall.

use dwell::figures::units::Grams;
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::{LotRegistered, SprayerFilled};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::rules::command::{By, Command, Which};
use rusqlite::Connection;
use serde_json::{Value, json};

use crate::bench::Bench;
use crate::sample::{bench, write};
use crate::world::{World, line, order, station};

fn press(world: &mut World, press: u8, tag: &str, seconds: f64) {
    let (press, garment, by) = (PressNo(press), tag.parse().unwrap(), By::Choice);
    world.must(Command::Shut { press, garment, by });
    world.wait(seconds);
    world.must(Command::Open { press });
    world.wait(10.0);
}

fn fill(world: &mut World, lot: &str) {
    let (contents, place) = (Contents::PretreatmentFluid, "booth".to_owned());
    let registered = LotRegistered { lot: lot.to_owned(), contents, best_before: None, place };
    world.must(Command::RegisterLot(registered));
    let (lot, grams) = (lot.to_owned(), Grams(600.0));
    let fill = SprayerFilled { lot, grams, scanned: true, over: None, fluid: None };
    world.must(Command::FillSprayer(fill));
}

/// One garment from its blank to its cure; with its coat on the scale where grams are given.
fn made(world: &mut World, tag: &str, coat: Option<f64>, cured: (u8, f64)) {
    let garment = tag.parse().unwrap();
    press(world, 1, tag, 15.0);
    for grams in coat.iter().flat_map(|coat| [150.0, 150.0 + coat]) {
        world.must(Command::Weigh { garment, grams: Grams(grams) });
    }
    if coat.is_none() {
        world.must(Command::HandworkDone(Which::Tagged(garment)));
    }
    press(world, 1, tag, 40.0);
    world.must(Command::Printed(Which::Tagged(garment)));
    press(world, cured.0, tag, cured.1);
}

/// A1 has two M and two L, of lot F-1; A2 two S of lot F-1 and, after a flush, F-2.
fn world() -> World {
    let mut world = World::new(station(2));
    let sized = |count, mark: &str| OrderLine { mark: mark.into(), ..line(count, "dark-cotton") };
    world.must(order(vec![sized(2, "M"), sized(2, "L")]));
    world.must(order(vec![sized(2, "S")]));
    fill(&mut world, "F-1");
    made(&mut world, "A1-01", Some(22.0), (1, 100.0));
    made(&mut world, "A1-02", Some(27.0), (2, 41.0));
    made(&mut world, "A1-03", None, (2, 100.0));
    made(&mut world, "A1-04", None, (1, 100.0));
    made(&mut world, "A2-01", None, (1, 100.0));
    world.must(Command::FlushSprayer);
    fill(&mut world, "F-2");
    made(&mut world, "A2-02", None, (1, 100.0));
    world
}

fn journal() -> Bench {
    let bench = bench();
    write(&bench, world().events);
    bench
}

fn asked(bench: &Bench, arguments: &[&str]) -> Value {
    let ran = bench.run(&[arguments, &["--json"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    serde_json::from_str(&ran.out).unwrap()
}

fn tags(of: &Value) -> Vec<&str> {
    of.as_array().unwrap().iter().map(|one| one["tag"].as_str().unwrap()).collect()
}

#[test]
fn a_return_by_order_and_size_names_what_it_may_be_and_what_is_at_risk() {
    let bench = journal();
    let told = bench.run(&["wash", "--order", "a1", "--size", "m", "--returned", "--look"]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    for words in [
        "came back: A1 Harbour choir, taken 2026-03-02, size m",
        "it may be one of 2 garments",
        "lot F-1, dried 40 s in press 1",
        "cured 41 s in press 2",
        "OUTSIDE: cured 41 s of 90",
        "at risk: all others of this order, 2",
        "A1-03    L    not weighed: cured in press 2 within a day, lot F-1",
        "elsewhere: 1 garment of 1 other order have lot F-1: dwell trace --lot F-1",
        "only looked up: nothing is recorded",
    ] {
        assert!(told.out.contains(words), "{words}: {}", told.out);
    }
    let looked = ["wash", "--order", "A1", "--size", "M", "--returned", "--look"];
    let found = asked(&bench, &looked);
    // A measured fault goes first.
    assert_eq!(tags(&found["candidates"]), ["A1-02", "A1-01"]);
    assert_eq!(tags(&found["at_risk"]), ["A1-03", "A1-04"]);
    assert_eq!((&found["id"], &found["returned"]["tag"]), (&Value::Null, &Value::Null));
    assert!(!bench.data().join("inbox").exists(), "nothing is recorded");
    // By its tag it is that one, and what is known of it goes with it.
    let found = asked(&bench, &["wash", "A1-01", "--returned", "--cycles", "3", "--grade", "2"]);
    assert_eq!(tags(&found["candidates"]), ["A1-01"]);
    assert_eq!(found["returned"]["size"], "M");
    let laid = std::fs::read_dir(bench.data().join("inbox")).unwrap().next().unwrap().unwrap();
    let laid: Value = serde_json::from_slice(&std::fs::read(laid.path()).unwrap()).unwrap();
    assert_eq!((&laid["garment"], &laid["recipe"]), (&"A1-01".into(), &"dark-cotton".into()));
    assert!(laid["coat"].is_string() || laid["coat"].is_number(), "{laid}");
}

#[test]
fn a_return_that_cannot_be_is_refused_with_what_there_is() {
    let bench = journal();
    for (arguments, words) in [
        (vec!["--order", "A9"], "no order 9 is known here"),
        (vec!["--order", "harbour choir"], "several orders are called"),
        (vec!["--order", "nobody"], "no order is called \"nobody\""),
        (vec!["--order", "A1", "--size", "XL"], "has size XL; there are: L, M"),
        (vec!["A1-09"], "no finished garment A1-09 is known here"),
        // Another station's order of the same number is another order.
        (vec!["--order", "B1"], "B1 is station B's order: its board knows what it made"),
        (vec!["B1-01"], "B1 is station B's order: its board knows what it made"),
    ] {
        let ran = bench.run(&[&["wash"], &arguments[..], &["--returned"]].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(words), "{arguments:?}: {}", ran.err);
    }
    let ran = bench.run(&["wash", "A1-01", "--cycles", "5", "--grade", "2"]);
    assert!(ran.code == 2 && ran.err.contains("or add --returned"), "{}", ran.err);
}

#[test]
fn a_lot_lists_orders_dates_and_places_first_and_its_recall_is_a_table() {
    let mut world = world();
    let mut said = dwell::shop::facts::fact::Returned::of(
        dwell::shop::facts::ids::OrderNo(1),
        None,
        Default::default(),
    );
    said.size = "L".into();
    world.must(Command::NoteReturn(said.clone()));
    said.garment = Some("A1-02".parse().unwrap());
    world.must(Command::NoteReturn(said));
    let bench = bench();
    write(&bench, world.events);
    let told = bench.run(&["trace", "--lot", "F-1"]).out;
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines[0], "lot F-1: 5 garments of 2 orders");
    let first = "  A1 Harbour choir, taken 2026-03-02, finished 2026-03-02: 4 garments, 4 finished";
    assert_eq!(lines[1], format!("{first}; CAME BACK size L: washed out"));
    assert!(lines[2].starts_with("  A2 Harbour choir"), "{told}");
    assert!(told.contains("CAME BACK: washed out"), "{told}");
    let lot = asked(&bench, &["trace", "--lot", "F-1"]);
    assert_eq!(lot["orders"][0]["places"], json!({ "finished": 4 }));
    assert_eq!(lot["orders"][0]["returns"][0]["size"], "L");
    assert_eq!(lot["garments"][1]["returns"][0]["complaint"], "washed-out");
    assert_eq!(lot["garments"][1]["cured"]["seconds"], 41.0);
    let table = bench.run(&["trace", "--lot", "F-1", "--csv"]);
    assert_eq!((table.code, table.err.as_str()), (0, ""));
    let mut rows = csv::Reader::from_reader(table.out.as_bytes());
    let head: Vec<String> = rows.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(head[..5], ["order", "name", "taken", "finished", "tag"]);
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 5);
    let cell = |row: usize, name: &str| {
        rows[row][head.iter().position(|one| one == name).unwrap()].to_owned()
    };
    assert_eq!((cell(1, "tag"), cell(1, "cure_s")), ("A1-02".into(), "41.0".into()));
    assert_eq!(
        (cell(1, "returned"), cell(1, "outside")),
        ("washed out".into(), "cured 41 s of 90".into())
    );
    assert_eq!((cell(4, "order"), cell(4, "size")), ("A2".into(), "S".into()));
    let database = Connection::open(bench.data().join("journal.sqlite")).unwrap();
    let count = "SELECT count(*) FROM returns WHERE complaint = 'washed-out' AND order_no = 1";
    let count: i64 = database.query_row(count, [], |row| row.get(0)).unwrap();
    assert_eq!(count, 2);
}

/// What the journal holds is what a file of the same garments says: the same samples, the same bias.
#[test]
fn a_window_is_asked_of_ordinary_work_washes_and_returns() {
    let mut world = world();
    world.must(Command::SampleForWash("A1-02".parse().unwrap()));
    world.must(Command::NoteWash(dwell::shop::facts::fact::Washed {
        garment: "A1-02".parse().unwrap(),
        cycles: 9,
        grade: "4-5".parse().unwrap(),
        delta_e: None,
        file: None,
    }));
    let tag = Some("A1-01".parse().unwrap());
    let order = dwell::shop::facts::ids::OrderNo(1);
    world.must(Command::NoteReturn(dwell::shop::facts::fact::Returned::of(
        order,
        tag,
        Default::default(),
    )));
    let bench = bench();
    write(&bench, world.events);
    let ask = ["trial", "--recipe", "dark-cotton"];
    let told = bench.run(&ask);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    for words in [
        "journal of   dark-cotton: 3 garments weighed and seen, 2 washed",
        "2 of ordinary work at half weight",
        "1 returned at half weight: only what fails comes back",
    ] {
        assert!(told.out.contains(words), "{words}: {}", told.out);
    }
    let said = asked(&bench, &ask);
    let coats: Vec<f64> = bench
        .past_of("coat-weighed")
        .iter()
        .map(|one| one["coat"].as_str().unwrap().trim_end_matches(" g/m2").parse().unwrap())
        .collect();
    let rows = format!(
        "aimed,coat,white,wash,from\n,{0},yes,,work\n,{0},,no,return\n,{1},yes,yes,work\n",
        coats[0], coats[1]
    );
    let file = bench.root.path().join("same.csv");
    std::fs::write(&file, rows).unwrap();
    let window = dwell::shell::profiles::load(None).unwrap().recipes["dark-cotton"].coat;
    let (low, high) = (window.low.to_string(), window.high.to_string());
    let file = asked(&bench, &["trial", file.to_str().unwrap(), "--low", &low, "--high", &high]);
    assert_eq!(said, file);
    // Another lot has none, and a recipe that is none is named.
    let none = bench.run(&["trial", "--recipe", "dark-cotton", "--lot", "F-2"]);
    assert!(none.code == 2 && none.err.contains("no garment of it was weighed"), "{}", none.err);
    let none = bench.run(&["trial", "--recipe", "nothing"]);
    assert!(none.code == 2 && none.err.contains("there is no recipe \"nothing\""), "{}", none.err);
}

#[test]
fn a_return_costs_what_the_profile_has_prices_for() {
    let mut profile = station(2);
    profile.costs.refund = Some("25".parse().unwrap());
    profile.costs.blank = Some("3.20".parse().unwrap());
    profile.money = "EUR".into();
    let mut world = world();
    world.must(Command::SetStation(std::sync::Arc::new(profile)));
    let bench = bench();
    write(&bench, world.events);
    let look = ["wash", "--order", "A1", "--size", "M", "--returned", "--look"];
    let told = bench.run(&look).out;
    let words = "cost: refund 25.00 EUR, another one 3.20 EUR (no price: print, fluid), hands and presses left out; up to \
                 50.00 EUR if all 2 at risk come back";
    assert!(told.contains(words), "{told}");
    assert_eq!(asked(&bench, &look)["cost"]["no_price"], json!(["print", "fluid"]));
}
