//! The report in money and in plain words, worked out by hand: two garments are finished and one is spoiled after its print,
//! on one press, by the shipped recipe (15, 40 and 105 s) and the station's hand times (12 s of hands around a press, 33 s
//! of spray and roll, 24 s at the printer, where the recipe's print takes 240 s, 264 with loading and unloading).

use std::sync::Arc;

use dwell::figures::units::Grams;
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::{LotRegistered, SprayerFilled};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::station::{Costs, Station};
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, Which};
use serde_json::Value;

use crate::bench::Bench;
use crate::sample::{bench, json, must, write};
use crate::world::{World, line, order, station};

fn priced() -> Costs {
    let price = |text: &str| Some(text.parse().unwrap());
    Costs {
        blank: price("3.20"),
        fluid_kg: price("24"),
        hour: price("22"),
        print: price("0.90"),
        sale: price("18"),
        ..Costs::default()
    }
}

fn with(costs: Costs) -> Station {
    Station { costs, money: "EUR".to_owned(), ..station(1) }
}

fn shut(world: &mut World, tag: &str, seconds: f64) {
    let (press, garment) = (PressNo(1), tag.parse().unwrap());
    world.must(Command::Shut { press, garment, by: By::Choice });
    world.wait(seconds);
    world.must(Command::Open { press });
    world.wait(20.0);
}

fn fill(world: &mut World) {
    let lot = "F-118".to_owned();
    let contents = Contents::PretreatmentFluid;
    let place = "shelf".to_owned();
    world.must(Command::RegisterLot(LotRegistered {
        lot: lot.clone(),
        contents,
        best_before: None,
        place,
    }));
    let grams = Grams(400.0);
    world.must(Command::FillSprayer(SprayerFilled {
        lot,
        grams,
        scanned: true,
        over: None,
        fluid: None,
    }));
}

fn worked(costs: Costs, fills: bool) -> World {
    let mut world = World::new(with(costs));
    world.must(Command::Sign("AK".into()));
    if fills {
        fill(&mut world);
    }
    world.must(order(vec![line(3, "dark-cotton")]));
    for tag in ["A1-01", "A1-02", "A1-03"] {
        shut(&mut world, tag, 15.0);
        world.must(Command::HandworkDone(Which::First(1)));
        shut(&mut world, tag, 40.0);
        world.wait(200.0);
        world.must(Command::Printed(Which::First(1)));
        if tag == "A1-02" {
            let (trouble, outcome) = (Trouble::Smear, Outcome::Out);
            world.must(Command::NoteTrouble { garment: tag.parse().unwrap(), trouble, outcome });
            continue;
        }
        shut(&mut world, tag, 105.0);
    }
    world.wait(100.0);
    world.must(Command::CloseShift);
    world
}

fn told(world: World) -> Bench {
    let bench = bench();
    write(&bench, world.events);
    bench
}

fn near(found: &Value, expected: f64) {
    let number = found.as_f64().unwrap_or_else(|| panic!("{found} is no number"));
    assert!((number - expected).abs() < 1e-6, "{number}, not {expected}");
}

#[test]
fn what_was_used_and_spoiled_is_told_in_money_as_by_hand() {
    let bench = told(worked(priced(), true));
    let report = json(&bench, &[]);
    let used = &report["used"];
    for (name, count) in
        [("blanks", 3.0), ("prints", 3.0), ("sprays", 3.0), ("unknown_sprays", 0.0)]
    {
        near(&used[name], count);
    }
    let fluid: f64 = bench
        .past_of("handwork-done")
        .iter()
        .map(|event| {
            event["used"].as_str().unwrap().split(' ').next().unwrap().parse::<f64>().unwrap()
        })
        .sum();
    assert!(fluid > 30.0);
    near(&used["fluid_g"], fluid);
    near(&report["fluid"]["each_g"], fluid / 3.0);
    // The spoiled one: a blank, a print, a third of the fluid, and 12 + 33 + 12 + 24 s of hands.
    let loss = &report["losses"][0];
    assert_eq!((&loss["cause"], &loss["out"]), (&"smear".into(), &1.into()));
    let spoiled = 3.2 + 0.9 + fluid / 3.0 / 1000.0 * 24.0 + 81.0 / 3600.0 * 22.0;
    near(&loss["cost"], spoiled);
    near(&report["bill"]["spoiled"]["cost"], spoiled);
    // All of it: three blanks, three prints, the fluid, and the hours that AK was signed in.
    let hours = report["people"][0]["hours"].as_f64().unwrap();
    near(&report["shift"]["hours"], hours);
    let material = 3.0 * 3.2 + 3.0 * 0.9 + fluid / 1000.0 * 24.0;
    near(&report["bill"]["cost"]["cost"], material + hours * 22.0);
    near(&report["bill"]["per_garment"], (material + hours * 22.0) / 2.0);
    // The order's own: hands by its acts, 8 times a press, three sprays, three prints.
    let hands = (8.0 * 12.0 + 3.0 * 33.0 + 3.0 * 24.0) / 3600.0 * 22.0;
    near(&report["orders"][0]["cost"], material + hands);
    near(&report["orders"][0]["cost_per_garment"], (material + hands) / 2.0);
    // The printer printed for 3 x 264 s, and is what held them up.
    let held = &report["held_back"];
    assert_eq!(held["what"], "printers");
    near(&held["busy_hours"], 3.0 * 264.0 / 3600.0);
    let an_hour = 2.0 / (3.0 * 264.0 / 3600.0);
    near(&held["garments_an_hour"], an_hour);
    near(&report["bill"]["hour_worth"], an_hour * (18.0 - material / 2.0));
}

#[test]
fn a_missing_price_is_no_zero_in_any_form() {
    let report = json(&told(worked(Costs::default(), true)), &[]);
    assert!(report["bill"].is_null() && report["losses"][0]["cost"].is_null());
    let text = must(&told(worked(Costs::default(), true)), &[]);
    assert!(text.contains("No price: station.ron has none."), "{text}");
    assert!(!text.contains("0.00"), "{text}");
    // One is missing: what it would be part of says so, and what is known is told as the least.
    let bench = told(worked(Costs { blank: None, ..priced() }, true));
    let report = json(&bench, &[]);
    let loss = &report["losses"][0];
    assert!(loss["cost"].is_null());
    assert_eq!(loss["no_price"], Value::from(vec!["blank"]));
    assert!(loss["at_least"].as_f64().unwrap() > 1.0);
    assert!(report["bill"]["per_garment"].is_null());
    let text = must(&bench, &[]);
    assert!(text.contains("no price: blank"), "{text}");
    // No fill was recorded, so nobody knows how much fluid it was: a price for a kilogram does not help.
    let report = json(&told(worked(priced(), false)), &[]);
    assert_eq!(report["losses"][0]["no_price"], Value::from(vec!["fluid_kg"]));
    assert!(report["fluid"]["each_g"].is_null());
    // Without a sale an hour is told in garments alone.
    let bench = told(worked(Costs { sale: None, ..priced() }, true));
    assert!(json(&bench, &[])["bill"]["hour_worth"].is_null());
    assert!(must(&bench, &[]).contains("(no price of a sale)"));
}

/// Prices of today, not those of the shift: they were put into the profile after it.
#[test]
fn money_goes_by_the_prices_of_the_day_on_which_it_is_read() {
    let mut world = worked(Costs::default(), true);
    world.wait(3.0 * 86_400.0);
    world.must(Command::SetStation(Arc::new(with(priced()))));
    let bench = told(world);
    let report = json(&bench, &[]);
    assert!(report["bill"]["cost"]["cost"].as_f64().unwrap() > 10.0);
    assert!(must(&bench, &[]).contains("Counted now, by today's prices"));
}

#[test]
fn the_first_half_page_says_what_to_do() {
    let bench = told(worked(priced(), true));
    let text = must(&bench, &[]);
    let half: Vec<&str> = text.lines().take(30).collect();
    let half = half.join(" ").split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "WHAT TO DO The printer held the work back: at work 0.2 of 0.3 h (64 %)",
        "An hour of it is worth 9.1 garments, ",
        "What cost most: smear, 1 garment, 1 reject, 2.3 min, ",
        "Do: set the printer platen's height",
        "Next time: never let a printer wait.",
    ] {
        assert!(half.contains(said), "{said}: {text}");
    }
}

/// What people read is the same in text, page and JSON, word by word, since it is one list.
#[test]
fn every_sentence_stands_in_all_forms() {
    let bench = told(worked(priced(), true));
    let report = json(&bench, &[]);
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = flat(must(&bench, &[]));
    let page = must(&bench, &["--format", "html"]);
    let page = flat(
        crate::markup::parts(&page)
            .iter()
            .map(|part| match part {
                crate::markup::Part::Text(text) => format!("{text} "),
                crate::markup::Part::Tag(..) => String::new(),
            })
            .collect(),
    );
    let mut seen = 0;
    for section in report["sections"].as_array().unwrap() {
        for part in section["parts"].as_array().unwrap() {
            let says = part["says"].as_array().into_iter().flatten().chain(part.get("explains"));
            for said in says.map(|said| flat(said.as_str().unwrap().to_owned())) {
                assert!(text.contains(&said), "text: {said}");
                assert!(page.contains(&said), "page: {said}");
                seen += 1;
            }
        }
    }
    assert!(seen > 15, "{seen}");
}
