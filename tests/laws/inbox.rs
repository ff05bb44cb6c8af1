//! What comes by a file of the inbox is no act of the bench: taking the act before it back leaves it where it is.

use dwell::figures::fastness::Grade;
use dwell::figures::units::GramsPerSquareMetre;
use dwell::shop::facts::fact::{Complaint, DatesSaid, Returned, Washed};
use dwell::shop::facts::ids::{OrderNo, PressNo};
use dwell::shop::facts::station::DateOrder;
use dwell::shop::rules::command::{By, Command, Which};

use crate::world::{World, line, order, station};

#[test]
fn a_wash_result_and_a_return_outlast_an_undo_of_the_act_before() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(2, "dark-cotton")]));
    let (tag, press) = ("A1-01".parse().unwrap(), PressNo(1));
    let pressed = |world: &mut World| {
        world.must(Command::Shut { press, garment: tag, by: By::Choice });
        world.wait(60.0);
        world.must(Command::Open { press });
    };
    pressed(&mut world);
    world.must(Command::HandworkDone(Which::Tagged(tag)));
    pressed(&mut world);
    world.must(Command::Printed(Which::Tagged(tag)));
    pressed(&mut world);
    world.must(Command::SampleForWash(tag));
    world.must(Command::Sign("AK".into()));
    let (grade, file) = ("2-3".parse::<Grade>().unwrap(), Some("1-wash".to_owned()));
    world.must(Command::NoteWash(Washed { garment: tag, cycles: 5, grade, delta_e: None, file }));
    let mut back = Returned::of(OrderNo(1), None, Complaint::WashedOut);
    back.recipe = Some("dark-cotton".to_owned());
    back.coat = Some(GramsPerSquareMetre(240.0));
    back.file = Some("1-return".to_owned());
    world.must(Command::NoteReturn(back.clone()));
    world.must(Command::Undo);
    assert_eq!(world.shop.desk().people, Vec::<String>::new(), "the sign-in is taken back");
    assert_eq!(world.shop.samples()[&tag].result, Some((5, grade)));
    let said = world.shop.wash_verdict("dark-cotton").unwrap();
    assert_eq!((said.points.len(), said.returned), (1, 1));
    assert!(world.say(&Command::NoteReturn(back)).is_err(), "the same file is never taken twice");
    // The sample goes with its own act, and its result with it.
    world.must(Command::Undo);
    assert!(world.shop.samples().is_empty());
}

/// What stands first in a table's dates stays said, whatever the bench takes back that it did before; what the bench said itself
/// is taken back like any act.
#[test]
fn an_answer_that_came_by_a_file_outlives_undo() {
    let mut world = super::start();
    let said = |first, file: Option<&str>| {
        Command::SayDates(DatesSaid { first, file: file.map(str::to_owned) })
    };
    world.must(Command::ReadCaution);
    world.must(said(DateOrder::MonthFirst, Some("1-dates")));
    world.must(Command::Undo);
    assert!(!world.shop.desk().caution_read);
    assert_eq!(world.shop.date_order(), Some(DateOrder::MonthFirst));
    world.must(said(DateOrder::DayFirst, None));
    assert_eq!(world.shop.date_order(), Some(DateOrder::DayFirst));
    world.must(Command::Undo);
    assert_eq!(world.shop.date_order(), Some(DateOrder::MonthFirst));
}
