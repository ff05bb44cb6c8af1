//! What a corrected time takes with it: everything that was counted from the moment that is corrected.

use std::time::Duration;

use dwell::figures::units::Grams;
use dwell::shop::facts::fact::{Fact, Leaves, Timing};
use dwell::shop::facts::ids::{PressNo, Tag};
use dwell::shop::facts::morning::MorningCheck;
use dwell::shop::facts::station::Station;
use dwell::shop::floor::garment::Place;
use dwell::shop::rules::command::{By, Command, Which};

use super::world::{World, line, order, own, station};

const PRESS: PressNo = PressNo(1);

/// A bench with one garment in the drying press, shut just now.
fn drying() -> World {
    drying_at(station(1))
}

fn drying_at(station: Station) -> World {
    let mut world = World::new(station);
    world.must(order(vec![line(1, "dark-cotton")]));
    shut(&mut world);
    world.wait(15.0);
    world.must(Command::Open { press: PRESS });
    world.must(Command::HandworkDone(Which::First(1)));
    // Open for longer than any correction here.
    world.wait(60.0);
    shut(&mut world);
    world
}

fn shut(world: &mut World) {
    let garment = "A1-01".parse().unwrap();
    world.must(Command::Shut { press: PRESS, garment, by: By::Choice });
}

/// The steam's second is counted from the shutting: shut ten seconds before its key, it came ten seconds later.
#[test]
fn a_corrected_shutting_takes_the_steams_second_with_it() {
    let mut world = drying();
    world.wait(21.0);
    world.must(Command::SteamStopped { press: PRESS });
    assert_eq!(world.shop.load(PRESS).unwrap().steam, Some(21.0));
    world.must(Command::CorrectTime { ago: Some(10.0) });
    assert_eq!(world.shop.load(PRESS).unwrap().steam, Some(31.0));
    // And so it is kept with the opening.
    world.wait(10.0);
    let opened = world.must(Command::Open { press: PRESS });
    let Some(Fact::PressOpened(fact)) = opened.first().map(|event| &event.fact) else {
        panic!("{opened:?}")
    };
    assert_eq!(fact.seconds, Some(41.0));
    let dried = world.shop.garment("A1-01".parse().unwrap()).unwrap().dried.as_ref().unwrap();
    assert_eq!(dried.steam, Some(31.0));
    // Taken back, both are as they were noted.
    world.must(Command::Undo);
    world.must(Command::Undo);
    assert_eq!(world.shop.load(PRESS).unwrap().steam, Some(21.0));
}

/// So is what the press, which has learned, tells of the coat from it: as of a press that was shut when it is said now.
#[test]
fn a_corrected_shutting_takes_the_coat_told_by_steam_with_it() {
    let told = |before: f64, corrected: Option<f64>| {
        let mut world = World::new(station(1));
        world.must(order(vec![line(4, "dark-cotton")]));
        for (n, steam) in [24.0, 28.0, 33.0].into_iter().enumerate() {
            let garment: Tag = format!("A1-0{}", n + 1).parse().unwrap();
            let weigh = |world: &mut World, grams: f64| {
                world.must(Command::Weigh { garment, grams: Grams(grams) });
                world.wait(5.0);
            };
            sprayed(&mut world, garment, weigh, steam * 1.2);
            world.wait(steam);
            world.must(Command::SteamStopped { press: PRESS });
            world.wait(38.0 - steam);
            world.must(Command::Open { press: PRESS });
            world.wait(60.0);
        }
        sprayed(&mut world, "A1-04".parse().unwrap(), |_, _| {}, 0.0);
        world.wait(before);
        world.must(Command::SteamStopped { press: PRESS });
        if corrected.is_some() {
            world.must(Command::CorrectTime { ago: corrected });
        }
        world.shop.load(PRESS).unwrap().estimate
    };
    let (late, right) = (told(19.0, None), told(29.0, None));
    assert!(right.is_some() && late != right, "{late:?} {right:?}");
    assert_eq!(told(19.0, Some(10.0)), right);
}

/// A garment is pre-pressed, sprayed between its two weights, and shut in to dry.
fn sprayed(world: &mut World, garment: Tag, weigh: impl Fn(&mut World, f64), grams: f64) {
    let by = By::Choice;
    world.must(Command::Shut { press: PRESS, garment, by });
    world.wait(15.0);
    world.must(Command::Open { press: PRESS });
    world.wait(5.0);
    weigh(world, 150.0);
    world.must(Command::HandworkDone(Which::Tagged(garment)));
    world.wait(30.0);
    weigh(world, 150.0 + grams);
    world.must(Command::Shut { press: PRESS, garment, by });
}

/// An act before the last one: its own moment is corrected, and what has been done since stays.
#[test]
fn an_act_further_back_is_corrected_as_long_as_it_could_be_undone() {
    let mut world = drying();
    world.wait(41.0);
    let opened = world.must(Command::Open { press: PRESS });
    let printed = world.must(Command::Printed(Which::First(1)));
    world.wait(5.0);
    shut(&mut world);
    let garment = |world: &World| world.shop.garment("A1-01".parse().unwrap()).unwrap().clone();
    let dried = |world: &World| garment(world).dried.as_ref().and_then(|dried| dried.seconds);
    assert_eq!(dried(&world), Some(41.0));
    let since = garment(&world).since;
    world.must(Command::CorrectTimeOf { act: opened[0].act, ago: Some(6.0) });
    assert_eq!(dried(&world), Some(35.0));
    assert_eq!(garment(&world).since, since, "it is in the press since");
    // Once corrected it stays so, until that is taken back.
    let again = Command::CorrectTimeOf { act: opened[0].act, ago: Some(1.0) };
    assert!(world.say(&again).is_err());
    world.must(Command::CorrectTimeOf { act: printed[0].act, ago: Some(2.0) });
    assert_eq!(garment(&world).since, since);
    // The press that is still shut can be corrected too, the ones that were opened since cannot.
    let acts: Vec<_> = world.shop.correctables().map(|one| one.what).collect();
    let shut = |what: &&dwell::shop::Timed| matches!(what, dwell::shop::Timed::Shut(_));
    assert_eq!(acts.iter().filter(shut).count(), 1, "{acts:?}");
    world.must(Command::Undo);
    world.must(Command::Undo);
    assert_eq!(dried(&world), Some(41.0));
}

/// Of two that were sprayed the second is said to have been done before the day: the first is still found, though it stands
/// before the other in the queue.
#[test]
fn one_that_came_earlier_than_was_said_hides_nobody_of_the_day() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(2, "dark-cotton")]));
    world.wait(100.0);
    let day = world.now.at;
    for tag in ["A1-01", "A1-02"] {
        world.wait(20.0);
        let garment = tag.parse().unwrap();
        world.must(Command::Shut { press: PRESS, garment, by: By::Choice });
        world.wait(15.0);
        world.must(Command::Open { press: PRESS });
    }
    let begun = world.shop.garment("A1-01".parse().unwrap()).unwrap().began();
    assert!(begun.is_some_and(|at| at >= day));
    for _ in 0..2 {
        world.wait(10.0);
        world.must(Command::HandworkDone(Which::First(1)));
    }
    world.must(Command::CorrectTime { ago: Some(1000.0) });
    assert_eq!(world.shop.day_began(day), begun);
}

/// A press that nobody timed was opened earlier than its key had been struck to shut it: then it had been shut by then.
/// Nothing is begun after it came where it is, so that the day's first is found among those that came since.
#[test]
fn nothing_is_begun_after_it_came_where_it_is() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(1, "dark-cotton")]));
    world.wait(100.0);
    let day = world.now.at;
    world.wait(100.0);
    shut(&mut world);
    world.must(Command::CorrectTime { ago: None });
    world.wait(15.0);
    world.must(Command::Open { press: PRESS });
    world.must(Command::CorrectTime { ago: Some(60.0) });
    let garment = |world: &World| world.shop.garment("A1-01".parse().unwrap()).unwrap().clone();
    let begun = |world: &World| garment(world).began().unwrap();
    assert!(begun(&world) <= garment(&world).since.at, "{:?}", garment(&world));
    assert_eq!(world.shop.day_began(day), Some(begun(&world)));
    // So where a step by hand is said to have been done before.
    world.must(Command::HandworkDone(Which::First(1)));
    world.must(Command::CorrectTime { ago: Some(90.0) });
    assert!(begun(&world) <= garment(&world).since.at, "{:?}", garment(&world));
    assert_eq!(world.shop.day_began(day), Some(begun(&world)));
}

/// In a damp room a garment from the shelf is pressed for longer: a time that is said later is held against that too.
#[test]
fn a_corrected_time_in_a_damp_room_goes_by_the_longer_press() {
    let check = MorningCheck::Humidity;
    let mut world = drying_at(Station { morning: vec![check], ..station(1) });
    world.wait(41.0);
    world.must(Command::Open { press: PRESS });
    world.must(Command::Store(Which::First(1)));
    world.must(Command::SayMorning { check, percent: Some(75), skipped: false });
    shut(&mut world);
    world.wait(12.0);
    let opened = world.must(Command::Open { press: PRESS });
    let Fact::PressOpened(opened) = &opened[0].fact else { panic!("{opened:?}") };
    assert_eq!((opened.again, opened.timing), (true, Timing::InTime));
    // Six seconds are enough where it is dry, and too short here.
    let corrected = world.must(Command::CorrectTime { ago: Some(6.0) });
    let Fact::TimeCorrected(corrected) = &corrected[0].fact else { panic!("{corrected:?}") };
    assert_eq!((corrected.seconds, corrected.timing), (Some(6.0), Some(Timing::Early)));
}

/// The act that opened a press stored what was cancelled meanwhile: it came to the shelf as much earlier as the press was
/// opened.
#[test]
fn a_corrected_opening_takes_the_storing_of_what_was_cancelled_with_it() {
    let mut world = drying();
    let cancelled = Command::CancelOrder { order: own(1), fewer: None, leaves: Leaves::Shelf };
    world.must(cancelled);
    world.wait(35.0);
    let opened = world.must(Command::Open { press: PRESS });
    let tag: Tag = "A1-01".parse().unwrap();
    let stored = world.shop.garment(tag).unwrap().clone();
    assert_eq!(stored.place, Place::Shelf);
    world.must(Command::CorrectTime { ago: Some(10.0) });
    let earlier = world.shop.garment(tag).unwrap();
    assert_eq!(earlier.since, stored.since.minus(Duration::from_secs(10)), "{opened:?}");
}

/// Opened in time it was stored, and how it was dried was nobody's question any more; said to have been opened too early,
/// it is a fault that is shown before it is printed.
#[test]
fn a_corrected_opening_makes_a_fault_of_what_is_stored_already() {
    let mut world = drying();
    let cancelled = Command::CancelOrder { order: own(1), fewer: None, leaves: Leaves::Shelf };
    world.must(cancelled);
    world.wait(40.0);
    world.must(Command::Open { press: PRESS });
    let stored = |world: &World| world.shop.garment("A1-01".parse().unwrap()).unwrap().clone();
    assert_eq!(world.shop.held(&stored(&world)), []);
    world.must(Command::CorrectTime { ago: Some(35.0) });
    let held = world.shop.held(&stored(&world));
    let found: Vec<f64> = held.iter().map(|fault| fault.found).collect();
    assert_eq!(found, [5.0], "{held:?}");
}
