//! The lead's book of the day says the same on a board that has run all the while and on one that was started again.

use std::sync::Arc;
use std::time::Duration;

use dwell::figures::units::Span;
use dwell::forecast::operator::{Operator, Turn};
use dwell::shop::Shop;
use dwell::shop::command::Command;
use dwell::shop::day_book::DayBook;
use dwell::shop::fact::Event;
use proptest::prelude::*;

use super::deeds::{Deed, three_presses};
use super::world::{World, line, order};
use super::{HISTORIES, carry_out, histories, start};

/// All that a book is asked for.
fn told(book: &DayBook, shop: &Shop, world: &World) -> String {
    const AN_HOUR: Duration = Duration::from_secs(3600);
    let now = world.now;
    let spans: Vec<_> =
        shop.press_numbers().iter().map(|press| book.spans.spans(*press, now, AN_HOUR)).collect();
    format!(
        "{:?} {:?} {:?} {:?} {spans:?}",
        book.losses.rows(now, AN_HOUR * 24),
        book.finished(now, AN_HOUR, Duration::ZERO),
        book.pace(now, None),
        book.first_pass(shop, i64::MIN),
    )
}

/// The shop as it was once an event had happened.
fn before(events: &[Event]) -> Shop {
    let mut shop = Shop::default();
    events.iter().for_each(|event| shop.apply(event));
    shop
}

/// A shop in which work is done, so that garments are finished, and in between whatever comes.
fn at_work(seed: u64, deeds: &[Deed], turns: usize) -> World {
    let mut world = start();
    world.must(order(vec![line(8, "dark-cotton"), line(8, "light-cotton")]));
    let mut operator = Operator::new(seed);
    for (n, deed) in deeds.iter().enumerate() {
        if n % 20 == 19 {
            // The profile was edited: other hand times, and a press that opens by itself.
            let mut station = three_presses();
            station.hands.load = Span::seconds(6 + n as u64);
            station.presses[0].opens_itself = n % 40 == 19;
            world.must(Command::SetStation(Arc::new(station)));
        }
        for _ in 0..turns {
            match operator.turn(&world.shop, world.now) {
                Turn::Act(command) => drop(world.say(&command)),
                Turn::Until(moment) => world.now = moment,
                Turn::Done => break,
            }
        }
        carry_out(&mut world, deed);
    }
    world
}

proptest! {
    #![proptest_config(ProptestConfig { cases: HISTORIES, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_book_filled_at_a_start_is_the_one_that_followed_along(
        deeds in histories(), seed in any::<u64>(), turns in 1usize..20, part in 0.0f64..1.0
    ) {
        let world = at_work(seed, &deeds, turns);
        // From somewhere in the history on: a start reads the newest events alone.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a part of some hundred")]
        let from = (part * world.events.len() as f64) as usize;
        let (old, new) = world.events.split_at(from);
        let mut shop = before(old);
        let begin = |shop: &Shop| {
            shop.station().map_or_else(DayBook::default, |station| DayBook::under(station))
        };
        let mut followed = begin(&shop);
        let mut filled = begin(&shop);
        for event in new {
            shop.apply(event);
            followed.take(event, &shop);
        }
        for event in new {
            filled.take(event, &world.shop);
        }
        prop_assert_eq!(told(&followed, &shop, &world), told(&filled, &world.shop, &world));
    }
}
