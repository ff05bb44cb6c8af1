//! The standard figures of a shift, worked out by hand: what breaks, early openings, rejects and the printer do to them.

use dwell::figures::units::Span;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::station::{Break, ClockTime};
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, Which};
use serde_json::Value;

use crate::sample::{bench, json, must, write};
use crate::world::{World, line, order, station};

fn shut(world: &mut World, tag: &str, seconds: f64) {
    let (press, garment) = (PressNo(1), tag.parse().unwrap());
    world.must(Command::Shut { press, garment, by: By::Choice });
    world.wait(seconds);
    world.must(Command::Open { press });
    world.wait(60.0);
}

fn trouble(world: &mut World, tag: &str, trouble: Trouble, outcome: Outcome) {
    world.must(Command::NoteTrouble { garment: tag.parse().unwrap(), trouble, outcome });
}

fn begun(breaks: Vec<Break>) -> World {
    let mut world = World::new(dwell::shop::facts::station::Station { breaks, ..station(1) });
    world.must(order(vec![line(4, "dark-cotton")]));
    world
}

fn told(world: &World) -> Value {
    let bench = bench();
    write(&bench, world.events.clone());
    json(&bench, &[])
}

fn of(report: &Value, place: &str, name: &str) -> f64 {
    report[place][name].as_f64().unwrap_or_else(|| panic!("{place} {name}: {report}"))
}

/// The world begins at 08:00; the break is from 08:10 to 08:40.
#[test]
fn a_break_is_no_planned_time() {
    let at = ClockTime("08:10".parse().unwrap());
    let breaks = vec![Break { at, lasts: Span::seconds(1800) }];
    let planned = |breaks| {
        let mut world = begun(breaks);
        shut(&mut world, "A1-01", 15.0);
        world.wait(3600.0);
        shut(&mut world, "A1-02", 15.0);
        of(&told(&world), "elements", "PBT")
    };
    assert_eq!(planned(Vec::new()) - planned(breaks), 1800.0);
}

#[test]
fn whoever_opens_early_has_beaten_no_plan_and_whoever_opens_late_is_slow() {
    let mut world = begun(Vec::new());
    shut(&mut world, "A1-01", 15.0);
    world.must(Command::HandworkDone(Which::First(1)));
    // Dried for 20 s of 40, and by another for 60.
    shut(&mut world, "A1-01", 20.0);
    let report = told(&world);
    assert_eq!(of(&report, "kpi", "effectiveness"), 1.0);
    assert_eq!(of(&report, "elements", "APT"), 35.0);
    shut(&mut world, "A1-02", 30.0);
    let report = told(&world);
    assert_eq!(of(&report, "kpi", "effectiveness"), (15.0 + 20.0 + 15.0) / 65.0);
}

#[test]
fn the_printers_troubles_count_against_quality_and_scrap_is_garments() {
    let mut world = begun(Vec::new());
    for tag in ["A1-01", "A1-02"] {
        shut(&mut world, tag, 15.0);
        world.must(Command::HandworkDone(Which::First(1)));
        shut(&mut world, tag, 40.0);
        world.must(Command::Printed(Which::First(1)));
        if tag == "A1-01" {
            shut(&mut world, tag, 105.0);
        }
    }
    assert_eq!(of(&told(&world), "kpi", "quality_ratio"), 1.0);
    // It waits for its cure, printed badly: no press ever had a trouble.
    trouble(&mut world, "A1-02", Trouble::Banding, Outcome::Out);
    let report = told(&world);
    assert_eq!((of(&report, "elements", "PQ"), of(&report, "elements", "GQ")), (5.0, 4.0));
    // One of two garments, not one of five presses.
    assert_eq!((of(&report, "elements", "SQ"), of(&report, "kpi", "scrap_ratio")), (1.0, 0.5));
}

#[test]
fn each_is_said_in_plain_words_and_no_conformity_is_claimed() {
    let mut world = begun(Vec::new());
    shut(&mut world, "A1-01", 15.0);
    let bench = bench();
    write(&bench, world.events);
    for form in ["text", "html", "json"] {
        let told = must(&bench, &["--format", form]);
        assert!(told.contains("no conformity claimed"), "{form}: {told}");
        for said in ["planned time that presses were shut", "garments that became rejects"] {
            assert!(told.contains(said), "{form}: {said}");
        }
    }
}
