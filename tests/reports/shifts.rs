//! Which shifts a journal holds: by initials, by long pauses, over midnight.

use dwell::shop::books::shifts::Shifts;
use dwell::shop::facts::day::Day;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::rules::command::{By, Command};
use jiff::tz::TimeZone;

use serde_json::Value;

use crate::bench::Bench;
use crate::sample::{json, write};
use crate::world::{World, line, order, station};

fn found(world: &World) -> Shifts {
    world.shop.books().shifts.clone()
}

fn days(world: &World) -> Vec<String> {
    found(world).days(&TimeZone::UTC).iter().map(Day::to_string).collect()
}

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn press(world: &mut World, tag: &str) {
    let press = PressNo(1);
    world.must(Command::Shut { press, garment: tag.parse().unwrap(), by: By::Scan });
    world.wait(20.0);
    world.must(Command::Open { press });
}

#[test]
fn profiles_alone_are_no_shift() {
    let world = World::new(station(1));
    assert!(!world.events.is_empty());
    assert_eq!(found(&world).last(), None);
}

#[test]
fn a_pause_of_five_hours_ends_a_shift_and_a_meal_does_not() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(4, "dark-cotton")]));
    press(&mut world, "A1-01");
    world.wait(3600.0);
    press(&mut world, "A1-02");
    world.wait(15.0 * 3600.0);
    let next = world.events.len() as u64 + 1;
    press(&mut world, "A1-03");
    let shifts = found(&world);
    assert_eq!(days(&world), ["2026-03-02", "2026-03-03"]);
    let first = shifts.of(day("2026-03-02"), &TimeZone::UTC)[0];
    assert_eq!(first.last + 1, next);
    assert_eq!(shifts.last().unwrap().first, next);
    assert!(shifts.of(day("2026-03-04"), &TimeZone::UTC).is_empty());
}

#[test]
fn one_that_runs_over_midnight_is_of_the_day_on_which_it_began() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(4, "dark-cotton")]));
    world.wait(14.0 * 3600.0);
    world.must(Command::Sign("AK".into()));
    let from = world.now;
    press(&mut world, "A1-01");
    world.wait(4.5 * 3600.0);
    press(&mut world, "A1-02");
    world.must(Command::CloseShift);
    let (shifts, to) = (found(&world), world.now);
    let last = shifts.last().unwrap();
    assert_eq!((last.from, last.to, last.day(&TimeZone::UTC)), (from, to, day("2026-03-02")));
    // Taken in at eight that morning, long before: another shift of the same day, with a name of its own.
    let both = shifts.of(day("2026-03-02"), &TimeZone::UTC);
    assert_eq!((both.len(), both[1]), (2, &last));
    assert_eq!(shifts.name_of(&last, &TimeZone::UTC).0.to_string(), "2026-03-02/2");
}

/// Initials that come late hide nothing: what was done before belongs to the shift, and to its report.
#[test]
fn what_was_done_before_late_initials_is_of_their_shift() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(4, "dark-cotton")]));
    let from = world.now;
    press(&mut world, "A1-01");
    world.wait(3600.0);
    world.must(Command::Sign("AK".into()));
    press(&mut world, "A1-02");
    let last = found(&world).last().unwrap();
    assert_eq!((last.from, days(&world).len()), (from, 1));
    world.must(Command::CloseShift);
    world.wait(60.0);
    world.must(Command::Sign("BM".into()));
    assert_eq!(found(&world).last().unwrap().from, world.now);
}

#[test]
fn closing_ends_a_shift_and_undoing_that_goes_on_with_it() {
    let mut world = World::new(station(1));
    world.must(Command::Sign("AK".into()));
    world.must(order(vec![line(4, "dark-cotton")]));
    world.must(Command::CloseShift);
    world.wait(60.0);
    world.must(Command::Undo);
    press(&mut world, "A1-01");
    assert_eq!(
        found(&world).last().unwrap().first,
        world.events.iter().find(|e| e.fact.kind() == "signed-in").unwrap().seq
    );
    world.must(Command::CloseShift);
    world.wait(60.0);
    world.must(Command::Sign("BM".into()));
    let shifts = found(&world);
    assert_eq!(shifts.last().unwrap().from, world.now);
    assert_eq!(days(&world).len(), 1, "of one day");
}

/// That the fan was said not to run stands in the report, and when somebody said that it runs.
#[test]
fn a_fan_that_did_not_run_stands_in_the_report() {
    let mut world = World::new(station(1));
    world.must(Command::Sign("AK".into()));
    world.must(Command::SayFan(Some(false)));
    world.must(order(vec![line(4, "dark-cotton")]));
    press(&mut world, "A1-01");
    let told = |world: &World| {
        let bench = crate::sample::bench();
        crate::sample::write(&bench, world.events.clone());
        crate::sample::must(&bench, &["--format", "json"])
    };
    let report = told(&world);
    assert!(report.contains("THE FAN DID NOT RUN, as was said at 08:00: nobody"), "{report}");
    world.wait(600.0);
    world.must(Command::SayFan(Some(true)));
    press(&mut world, "A1-02");
    let report = told(&world);
    assert!(report.contains("as was said at 08:00: until 08:10"), "{report}");
}

/// Two shifts on Monday and one on Tuesday, each closed.
fn three_shifts() -> World {
    let mut world = World::new(station(1));
    for (who, tags, then) in [
        ("AK", ["A1-01", "A1-02"], 1.0),
        ("BM", ["A1-03", "A1-04"], 20.0),
        ("AK", ["A1-05", "A1-06"], 1.0),
    ] {
        world.must(Command::Sign(who.into()));
        if tags[0] == "A1-01" {
            world.must(order(vec![line(8, "dark-cotton")]));
        }
        tags.iter().for_each(|tag| press(&mut world, tag));
        world.must(Command::CloseShift);
        world.wait(then * 3600.0);
    }
    world
}

fn bench_of(world: &World) -> Bench {
    let bench = crate::sample::bench();
    write(&bench, world.events.clone());
    bench
}

#[test]
fn each_shift_of_a_day_is_reached_by_its_number_and_by_initials() {
    let bench = bench_of(&three_shifts());
    for (name, people, known) in [
        ("2026-03-02", "AK", "2026-03-02"),
        ("2026-03-02/1", "AK", "2026-03-02"),
        ("2026-03-02/2", "BM", "2026-03-02/2"),
        ("2026-03-02/bm", "BM", "2026-03-02/2"),
        ("BM", "BM", "2026-03-02/2"),
        ("ak", "AK", "2026-03-03"),
    ] {
        let report = json(&bench, &["--shift", name]);
        assert_eq!(report["shift"]["people"], Value::from(vec![people]), "{name}");
        assert_eq!(report["shift"]["name"], known, "{name}");
        assert_eq!(report["presses"][0]["cycles"], 2, "{name}");
        let pace = bench.run(&["pace", "--json", "--shift", name]);
        let pace: Value = serde_json::from_str(&pace.out).unwrap();
        assert_eq!(pace["elements"], report["elements"], "{name}");
    }
    let text = crate::sample::must(&bench, &["--shift", "2026-03-02/2"]);
    assert!(text.contains("2026-03-02/2, 09:00") || text.contains("one of 2 shifts"), "{text}");
    for (name, says) in [
        ("2026-03-02/3", "on that day there are 2026-03-02 (AK), 2026-03-02/2 (BM)"),
        ("2026-03-02/XY", "no shift is called 2026-03-02/XY"),
        ("XY", "nobody signed in as XY; initials that have: AK, BM"),
        ("2026-03-02/0", "expected a shift by its day"),
        ("2026-03-02/", "expected a shift by its day"),
    ] {
        let ran = crate::sample::report(&bench, &["--shift", name]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{name}");
        assert!(ran.err.contains(says), "{name}: {}", ran.err);
    }
}

#[test]
fn a_range_of_days_is_the_sum_of_its_shifts() {
    let bench = bench_of(&three_shifts());
    let sum = |names: &[&str], place: &str, field: &str| -> f64 {
        let of = |name: &&str| json(&bench, &["--shift", name])[place][field].as_f64().unwrap();
        names.iter().map(of).sum()
    };
    let all = ["2026-03-02", "2026-03-02/2", "2026-03-03"];
    for (arguments, names) in [
        (&["--from", "2026-03-02", "--to", "2026-03-02"][..], &all[..2]),
        (&["--from", "2026-03-02"], &all[..]),
        (&["--to", "2026-03-03"], &all[..]),
        (&["--from", "2026-03-03", "--to", "2026-03-09"], &all[2..]),
    ] {
        let range = json(&bench, arguments);
        assert_eq!(range["shift"]["shifts"], names.len(), "{arguments:?}");
        for (place, field) in
            [("shift", "hours"), ("elements", "APT"), ("elements", "PQ"), ("elements", "PBT")]
        {
            let (found, parts) = (range[place][field].as_f64().unwrap(), sum(names, place, field));
            // The planned time of a shift begins with its first press, that of several goes on from there.
            let slack = if field == "PBT" { 5.0 } else { 1e-9 };
            assert!((found - parts).abs() <= slack, "{arguments:?} {field}: {found}, not {parts}");
        }
        let minutes = |report: &Value| -> f64 {
            ["running", "past_target", "changing", "idle", "sheet", "out_of_use"]
                .map(|kind| report["presses"][0][format!("{kind}_minutes")].as_f64().unwrap())
                .iter()
                .sum()
        };
        let hours = range["shift"]["hours"].as_f64().unwrap();
        assert!((minutes(&range) - hours * 60.0).abs() < 1e-6, "nights are not idle hours");
        let people: f64 = range["people"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["hours"].as_f64().unwrap())
            .sum();
        assert!((people - hours).abs() < 1e-6, "nobody is there at night: {people}, {hours}");
        for form in ["text", "csv", "html"] {
            crate::sample::must(&bench, &[arguments, &["--format", form]].concat());
        }
    }
    let ran = crate::sample::report(&bench, &["--from", "2026-03-04"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("shifts began on 2026-03-03, 2026-03-02"), "{}", ran.err);
    let ran = crate::sample::report(&bench, &["--from", "2026-03-03", "--to", "2026-03-02"]);
    assert!(ran.code == 2 && ran.err.contains("the earlier day first"), "{}", ran.err);
}

/// An opening of the first shift is corrected in the second one: both say so, and the range counts what the shifts do.
#[test]
fn what_is_corrected_after_a_shift_has_ended_is_said_in_both() {
    let mut world = World::new(station(1));
    world.must(Command::Sign("AK".into()));
    world.must(order(vec![line(4, "dark-cotton")]));
    press(&mut world, "A1-01");
    let before = json(&bench_of(&world), &["--shift", "2026-03-02"]);
    world.wait(6.0 * 3600.0);
    // The first thing that the next one does: that belongs to the shift that was, and is no shift of its own.
    world.must(Command::Undo);
    world.wait(60.0);
    world.must(Command::Open { press: PressNo(1) });
    press(&mut world, "A1-02");
    let bench = bench_of(&world);
    let first = json(&bench, &["--shift", "2026-03-02"]);
    let second = json(&bench, &["--shift", "2026-03-02/2"]);
    assert_eq!((&before["elements"]["PQ"], &first["elements"]["PQ"]), (&1.0.into(), &0.0.into()));
    assert_eq!(second["elements"]["PQ"], 2.0);
    let says = |report: &Value, said: &str| report["notes"].to_string().contains(said);
    assert!(says(&first, "After this had ended, on 2026-03-02 at 14:00"), "{}", first["notes"]);
    assert!(says(&first, "opened press 1: A1-01 pre-press after 20 s"), "{}", first["notes"]);
    assert!(says(&first, "was taken back"), "{}", first["notes"]);
    assert!(says(&second, "of an earlier shift, was taken back"), "{}", second["notes"]);
    let range = json(&bench, &["--from", "2026-03-02"]);
    assert_eq!(range["elements"]["PQ"], 2.0, "the sum of both");
}
