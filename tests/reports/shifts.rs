//! Which shifts a journal holds: by initials, by long pauses, over midnight.

use dwell::shop::books::shifts::Shifts;
use dwell::shop::facts::day::Day;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::rules::command::{By, Command};
use jiff::tz::TimeZone;

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
    let first = shifts.of(day("2026-03-02"), &TimeZone::UTC).unwrap();
    assert_eq!(first.last + 1, next);
    assert_eq!(shifts.last().unwrap().first, next);
    assert_eq!(shifts.of(day("2026-03-04"), &TimeZone::UTC), None);
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
    // Taken in at eight that morning, long before: another shift of the same day. Both are told together.
    let both = shifts.of(day("2026-03-02"), &TimeZone::UTC).unwrap();
    assert!(both.first < last.first && both.last == last.last);
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
