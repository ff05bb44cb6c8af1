//! A garment is in exactly one place, and the queues know which.

use std::collections::BTreeSet;

use dwell::shop::Shop;
use dwell::shop::garment::{Place, Queue};
use dwell::shop::step::Step;
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;

/// The place that a queue is for.
fn place_of(queue: Queue) -> Place {
    match queue {
        Queue::Step(step) => Place::Waiting(step),
        Queue::Undecided => Place::Undecided,
        Queue::Shelf => Place::Shelf,
        Queue::Finished => Place::Finished,
        Queue::Out => Place::Out,
    }
}

/// Every queue that there is.
pub fn queues() -> Vec<Queue> {
    let steps = Step::ALL.into_iter().map(Queue::Step);
    steps.chain([Queue::Undecided, Queue::Shelf, Queue::Finished, Queue::Out]).collect()
}

/// Presses, queues and garments tell the same story.
pub fn check(shop: &Shop) -> Result<(), TestCaseError> {
    let mut found = BTreeSet::new();
    for (press, load) in shop.loads() {
        let place = shop.garment(load.garment).map(|garment| garment.place);
        prop_assert_eq!(place, Some(Place::InPress(press)), "{}", load.garment);
        prop_assert!(found.insert(load.garment), "{} is in two places", load.garment);
        prop_assert!(shop.pressing(load).is_some(), "no recipe for {}", load.garment);
    }
    for queue in queues() {
        let mut last = None;
        for garment in shop.floor().queue(queue) {
            prop_assert_eq!(garment.place, place_of(queue), "{}", garment.tag);
            prop_assert!(found.insert(garment.tag), "{} is in two places", garment.tag);
            // A coat that was stored twice is no younger for it: on the shelf the last day goes first.
            let last_day = garment.shelved.as_deref().filter(|_| queue == Queue::Shelf);
            let last_day = last_day.map(|shelved| shelved.last_day);
            let turn = Some((last_day, garment.since_seq, garment.tag));
            prop_assert!(last < turn, "{} is before its turn", garment.tag);
            last = turn;
        }
        prop_assert_eq!(shop.floor().count(queue), shop.floor().queue(queue).count());
    }
    for garment in shop.floor().all() {
        prop_assert!(found.contains(&garment.tag), "{} is nowhere", garment.tag);
        prop_assert!(shop.order(garment.order()).is_some(), "{} has no order", garment.tag);
        let rounds = shop.places(garment).len();
        prop_assert!(garment.round < rounds, "{} is on round {}", garment.tag, garment.round);
    }
    Ok(())
}
