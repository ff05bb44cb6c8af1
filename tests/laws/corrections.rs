//! What a corrected time takes with it: everything that was counted from the moment that is corrected.

use dwell::figures::units::Grams;
use dwell::shop::facts::fact::Fact;
use dwell::shop::facts::ids::{PressNo, Tag};
use dwell::shop::rules::command::{By, Command, Which};

use super::world::{World, line, order, station};

const PRESS: PressNo = PressNo(1);

/// A bench with one garment in the drying press, shut just now.
fn drying() -> World {
    let mut world = World::new(station(1));
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
