//! What holds whatever is done, in whatever order: properties over random deeds on a made-up time line.

mod advice;
mod blanks;
mod books;
mod clocks;
mod corrections;
mod hands;
mod inbox;
mod moves;
mod questions;
mod remakes;
mod shared;
mod snapshots;
mod strips;
mod trials;
mod turns;

use support::{deeds, difference, places, suggestions, world};

use std::collections::BTreeSet;
use std::time::Duration;

use deeds::{Deed, deed, three_presses};
use difference::difference;
use dwell::forecast::operator::{Operator, Turn};
use dwell::shop::Shop;
use dwell::shop::facts::fact::{Event, Fact};
use dwell::shop::facts::ids::ActNo;
use dwell::shop::rules::alarms::Alarm;
use proptest::prelude::*;
use world::{World, line, order};

/// How many random histories each law is tried on, and how long they are at most.
const HISTORIES: u32 = 100;
const LONGEST: usize = 120;

fn start() -> World {
    let mut world = World::new(three_presses());
    world.must(order(vec![line(4, "dark-cotton"), line(2, "light-cotton")]));
    world
}

/// Does a deed where it can be done; whether it was.
fn carry_out(world: &mut World, deed: &Deed) -> bool {
    if let Deed::Wait(seconds) = deed {
        world.wait(f64::from(*seconds));
        return false;
    }
    world.wait(0.7);
    deed.command(&world.shop, world.now).is_some_and(|command| world.say(&command).is_ok())
}

fn histories() -> impl Strategy<Value = Vec<Deed>> {
    proptest::collection::vec(deed(), 1..LONGEST)
}

/// The acts that were taken back.
fn undone(events: &[Event]) -> BTreeSet<ActNo> {
    let undone = events.iter().filter_map(|event| match &event.fact {
        Fact::Undone(undone) => Some(undone.undoes),
        _ => None,
    });
    undone.collect()
}

/// A shop in which what was taken back never happened.
fn without_undone(events: &[Event]) -> Shop {
    let passed = undone(events);
    let mut shop = Shop::default();
    for event in events {
        if passed.contains(&event.act) || matches!(event.fact, Fact::Undone(_)) {
            shop.pass_over(event);
        } else {
            shop.apply(event);
        }
    }
    shop
}

/// A shop as the next start reads it from what was stored.
fn as_stored(events: &[Event]) -> Shop {
    let mut shop = Shop::default();
    for event in events {
        let body = event.fact.body().unwrap();
        let fact = Fact::read(event.fact.kind(), &body).unwrap();
        assert_eq!(fact, event.fact, "{} {body}", event.fact.kind());
        shop.apply(&Event { fact, ..event.clone() });
    }
    shop
}

/// The first that was begun since any of the moments: whoever was begun since has come to its place since. Under a
/// clock that nobody has set.
fn check_day_began(shop: &Shop) -> Result<(), TestCaseError> {
    for day in shop.floor().all().map(|garment| garment.since.at) {
        let begun = shop.floor().all().filter(|garment| garment.since.at >= day);
        let begun = begun.filter_map(|garment| garment.began().filter(|at| *at >= day)).min();
        prop_assert_eq!(shop.day_began(day), begun, "since {:?}", day);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: HISTORIES,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn every_garment_is_in_exactly_one_place(history in histories()) {
        let mut world = start();
        for deed in &history {
            carry_out(&mut world, deed);
            places::check(&world.shop)?;
            check_day_began(&world.shop)?;
        }
    }

    #[test]
    fn suggestions_are_sound(history in histories()) {
        let mut world = start();
        for deed in &history {
            carry_out(&mut world, deed);
            suggestions::check(&world.shop, world.now)?;
        }
    }

    #[test]
    fn undone_is_as_never_happened(history in histories()) {
        let mut world = start();
        for deed in &history {
            if carry_out(&mut world, deed) && matches!(deed, Deed::Undo) {
                let other = without_undone(&world.events);
                prop_assert_eq!(difference(&world.shop, &other), Vec::<String>::new());
        prop_assert!(world.shop == other);
            }
        }
        // All the way back, as far as it goes.
        while world.say(&dwell::shop::rules::command::Command::Undo).is_ok() {}
        let other = without_undone(&world.events);
        prop_assert_eq!(difference(&world.shop, &other), Vec::<String>::new());
        prop_assert!(world.shop == other);
    }

    #[test]
    fn what_is_stored_reads_back_to_the_same_shop(history in histories()) {
        let mut world = start();
        for deed in &history {
            carry_out(&mut world, deed);
        }
        let other = as_stored(&world.events);
        prop_assert_eq!(difference(&world.shop, &other), Vec::<String>::new());
        prop_assert!(world.shop == other);
        prop_assert_eq!(other.undoable(), world.shop.undoable());
    }

    #[test]
    fn numbers_count_up_without_a_gap_and_an_act_is_its_first_event(history in histories()) {
        let mut world = start();
        for deed in &history {
            carry_out(&mut world, deed);
        }
        for (event, seq) in world.events.iter().zip(1u64..) {
            prop_assert_eq!(event.seq, seq);
            prop_assert!(event.act.0 <= seq);
        }
        prop_assert_eq!(world.shop.seq(), u64::try_from(world.events.len()).unwrap());
    }

    /// The board sleeps until the next deadline: nothing that it would have shown may change before.
    #[test]
    fn no_alarm_changes_before_the_next_deadline(history in histories()) {
        let mut world = start();
        for deed in &history {
            carry_out(&mut world, deed);
            let alarms = |after: Duration| -> Vec<Alarm> {
                world.shop.alarms(world.now.plus(after))
            };
            let span = world.shop.next_deadline(world.now).unwrap_or(Duration::from_secs(86_400));
            let before = span.saturating_sub(Duration::from_millis(2));
            prop_assert_eq!(alarms(Duration::ZERO), alarms(before), "{:?}", before);
        }
    }

    #[test]
    fn no_text_from_outside_makes_a_fact_or_a_panic(kind in ".{0,30}", body in ".{0,80}") {
        prop_assert!(Fact::read(&kind, &body).is_err());
        prop_assert!(Fact::read("press-shut", &body).is_err());
    }
}

/// The random histories seldom come to an end, so a whole shift of the made-up operator is held to the same.
#[test]
fn a_whole_shift_keeps_every_law_and_ends_with_nothing_left() {
    let mut world = World::new(world::station(3));
    world.must(order(vec![line(8, "dark-cotton"), line(4, "light-cotton")]));
    let mut operator = Operator::new(11);
    let mut done = false;
    for _ in 0..20_000 {
        match operator.turn(&world.shop, world.now) {
            Turn::Act(command) => drop(world.say(&command)),
            Turn::Until(moment) => world.now = moment,
            Turn::Done => {
                done = true;
                break;
            }
        }
        places::check(&world.shop).unwrap();
        suggestions::check(&world.shop, world.now).unwrap();
    }
    assert!(done, "the shift never ended");
    let left = world.shop.floor().all().filter(|garment| !garment.is_done()).count();
    assert_eq!(left, 0);
    assert_eq!(difference(&as_stored(&world.events), &world.shop), Vec::<String>::new());
    assert_eq!(difference(&without_undone(&world.events), &world.shop), Vec::<String>::new());
}
