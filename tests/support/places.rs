//! A garment is in exactly one place, and the queues know which.

use std::collections::BTreeSet;

use dwell::shop::Shop;
use dwell::shop::facts::ids::Tag;
use dwell::shop::facts::step::Step;
use dwell::shop::floor::garment::{Garment, Place, Quality, Queue};
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;

/// The place that a queue is for; None for that of garments which are at other stations, each at its own.
fn place_of(queue: Queue) -> Option<Place> {
    Some(match queue {
        Queue::Step(step) => Place::Waiting(step),
        Queue::Undecided => Place::Undecided,
        Queue::Shelf => Place::Shelf,
        Queue::Finished => Place::Finished,
        Queue::Out => Place::Out,
        Queue::Away => return None,
    })
}

/// Every queue that there is.
pub fn queues() -> Vec<Queue> {
    let steps = Step::ALL.into_iter().map(Queue::Step);
    steps
        .chain([Queue::Undecided, Queue::Shelf, Queue::Finished, Queue::Out, Queue::Away])
        .collect()
}

/// What is found by kind is what looking at each garment finds.
fn check_kinds(shop: &Shop, queue: Queue) -> Result<(), TestCaseError> {
    let floor = shop.floor();
    let all: Vec<&Garment> = floor.queue(queue).collect();
    let by_kind: Vec<&Garment> = floor.by_kind(queue).collect();
    prop_assert_eq!(&by_kind, &all);
    // Whoever is not of the kind of one before comes, in order.
    let kind = |garment: &Garment| (garment.order(), garment.line, garment.recipe, garment.coated);
    let mut waiting = floor.by_kind(queue);
    let mut firsts = Vec::new();
    while let Some(garment) = waiting.next() {
        waiting.pass_over_its_kind();
        firsts.push(garment);
    }
    let mut seen = BTreeSet::new();
    let mut others = all.clone();
    others.retain(|garment| seen.insert(kind(garment)));
    prop_assert_eq!(firsts, others);
    let begun = all.iter().filter(|garment| garment.recipe.is_some()).count();
    prop_assert_eq!(floor.count_of_begun(queue), begun);
    for order in shop.orders() {
        let its = || all.iter().filter(|garment| garment.order() == order.id);
        prop_assert_eq!(floor.count_of_order(queue, order.id), its().count());
        for line in 0..order.lines.len() {
            let odd = |tag: Tag| tag.piece % 2 == 1;
            let found = floor.first_of_line(queue, (order.id, line), odd);
            let wanted = its().find(|garment| garment.line == line && odd(garment.tag));
            prop_assert_eq!(found, wanted.copied());
        }
    }
    Ok(())
}

/// What is counted as garments move is what walking over all of them finds.
fn check_counts(shop: &Shop) -> Result<(), TestCaseError> {
    for order in shop.orders() {
        let count = |wanted: &dyn Fn(&Garment) -> bool| {
            shop.floor().of_order(order.id).filter(|garment| wanted(garment)).count()
        };
        let first = |garment: &Garment| garment.quality == Quality::First;
        let done = count(&|garment| first(garment) && garment.place == Place::Finished);
        let left = count(&|garment| first(garment) && !garment.is_done() && garment.is_wanted());
        let counted = shop.floor().counted(order.id);
        prop_assert_eq!((counted.done, counted.left), (done, left), "order {}", order.id);
        // What nobody wants any more may lie on the shelf.
        let stored = |garment: &Garment| !garment.is_wanted() && garment.place == Place::Shelf;
        let open = count(&|garment| !garment.is_done() && !stored(garment));
        prop_assert_eq!(counted.open, open, "order {}", order.id);
        prop_assert_eq!(shop.floor().is_open(order.id), counted.open > 0);
    }
    let on_shelf = shop.floor().all().filter(|garment| garment.place == Place::Shelf);
    prop_assert_eq!(
        shop.floor().on_shelf().map(|garment| garment.tag).collect::<Vec<_>>(),
        on_shelf.map(|garment| garment.tag).collect::<Vec<_>>()
    );
    Ok(())
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
    check_counts(shop)?;
    for queue in queues() {
        let mut last = None;
        for garment in shop.floor().queue(queue) {
            let place = Some(garment.place).filter(|_| !garment.is_away());
            prop_assert_eq!(place, place_of(queue), "{}", garment.tag);
            prop_assert!(found.insert(garment.tag), "{} is in two places", garment.tag);
            // A coat that was stored twice is no younger for it: on the shelf the last day goes first.
            let last_day = garment.shelved.as_deref().filter(|_| queue == Queue::Shelf);
            let last_day = last_day.map(|shelved| shelved.last_day);
            let turn = Some((last_day, garment.since_seq, garment.tag));
            prop_assert!(last < turn, "{} is before its turn", garment.tag);
            last = turn;
        }
        prop_assert_eq!(shop.floor().count(queue), shop.floor().queue(queue).count());
        check_kinds(shop, queue)?;
    }
    for garment in shop.floor().all() {
        prop_assert!(found.contains(&garment.tag), "{} is nowhere", garment.tag);
        prop_assert!(shop.order(garment.order()).is_some(), "{} has no order", garment.tag);
        let rounds = shop.places(garment).len();
        prop_assert!(garment.round < rounds, "{} is on round {}", garment.tag, garment.round);
    }
    Ok(())
}
