//! Blanks that are counted, replaced and cancelled: what the board says of them stays true.

use dwell::forecast::workload;
use dwell::shop::facts::fact::{Event, Leaves};
use dwell::shop::facts::order::OrderLine;
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, OrderChange};

use super::deeds::three_presses;
use super::world::{World, line, order, own};
use dwell::shop::facts::ids::{PressNo, Tag};

fn tag(text: &str) -> Tag {
    text.parse().unwrap()
}

fn world(lines: Vec<OrderLine>) -> World {
    let mut world = World::new(three_presses());
    world.must(order(lines));
    world
}

fn anew(world: &World) -> f64 {
    workload::of_shop(&world.shop, world.now).expect("there is a station").past.anew
}

/// So many blanks came of the kind that is wanted.
fn count(world: &mut World, count: u32) -> Vec<Event> {
    let wanted = world.shop.blanks_wanted();
    world.must(Command::CountBlanks(vec![(wanted[0].clone(), count)]))
}

/// The garment is scorched in its first press and leaves its order; a blank replaces it.
fn replace(world: &mut World, of: &str) {
    let (press, garment) = (PressNo(1), tag(of));
    world.must(Command::Shut { press, garment, by: By::Scan });
    world.wait(5.0);
    let (trouble, outcome) = (Trouble::Scorched, Outcome::Out);
    world.must(Command::NoteTrouble { garment, trouble, outcome });
    world.must(Command::AddBlank { order: garment.order_id(), line: 0 });
}

#[test]
fn a_blank_that_replaces_a_reject_is_not_wanted_once_more() {
    let mut world = world(vec![line(3, "dark-cotton")]);
    count(&mut world, 3);
    replace(&mut world, "A1-01");
    assert_eq!(world.shop.says_of_blanks(tag("A1-02")), None);
    assert_eq!(world.shop.says_of_blanks(tag("A1-04")), None);
    assert_eq!(world.shop.blanks_wanted(), []);
    // Where one was short before, it is short still.
    let mut world = self::world(vec![line(3, "dark-cotton")]);
    count(&mut world, 2);
    replace(&mut world, "A1-01");
    assert_eq!(world.shop.says_of_blanks(tag("A1-02")).unwrap(), "blanks: 1 M short");
    assert_eq!(world.shop.blanks_wanted()[0].wanted, 1);
    // What is taken back is taken back from the count, too.
    world.must(Command::Undo);
    assert_eq!(world.shop.blanks_wanted()[0].wanted, 1);
}

#[test]
fn what_is_over_is_said_of_the_second_line_though_the_first_was_changed() {
    let small = OrderLine { mark: "S".to_owned(), ..line(2, "dark-cotton") };
    let mut world = world(vec![small, line(2, "dark-cotton")]);
    let wanted = world.shop.blanks_wanted();
    world.must(Command::CountBlanks(vec![(wanted[0].clone(), 2), (wanted[1].clone(), 3)]));
    let more = OrderChange { more: Some((0, 3)), ..OrderChange::of(own(1)) };
    world.must(Command::ChangeOrder(more));
    assert_eq!(world.shop.says_of_blanks(tag("A1-03")).unwrap(), "blanks: 1 M over");
    assert_eq!(world.shop.says_of_blanks(tag("A1-04")), None, "it is said at the first alone");
}

/// The forecast goes by how many are made once more: what was cancelled is not.
#[test]
fn garments_that_are_cancelled_under_way_are_not_made_once_more() {
    let mut world = world(vec![line(6, "dark-cotton")]);
    let before = anew(&world);
    for garment in ["A1-01", "A1-02", "A1-03"].map(tag) {
        let press = PressNo(garment.piece as u8);
        world.must(Command::Shut { press, garment, by: By::Scan });
    }
    world.wait(5.0);
    let (order, leaves) = (own(1), Leaves::Reject);
    world.must(Command::CancelOrder { order, fewer: Some((0, 6)), leaves });
    assert_eq!(anew(&world), before);
    let mut world = self::world(vec![line(6, "dark-cotton")]);
    replace(&mut world, "A1-01");
    assert!(anew(&world) > before, "a reject was replaced");
}
