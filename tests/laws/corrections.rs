//! What a corrected time takes with it: everything that was counted from the moment that is corrected.

use dwell::shop::facts::fact::Fact;
use dwell::shop::facts::ids::PressNo;
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
