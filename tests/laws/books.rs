//! The lead's book of the day says the same on a board that has run all the while and on one that was started again.

use std::time::Duration;

use dwell::shop::Shop;
use dwell::shop::day_book::DayBook;
use dwell::shop::fact::Event;
use proptest::prelude::*;

use super::{HISTORIES, carry_out, histories, start};

/// All that a book is asked for.
fn told(book: &DayBook, shop: &Shop, world: &super::World) -> String {
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

proptest! {
    #![proptest_config(ProptestConfig { cases: HISTORIES, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_book_filled_at_a_start_is_the_one_that_followed_along(
        first in histories(), then in histories(), part in 0.0f64..1.0
    ) {
        let mut world = start();
        for deed in first.iter().chain(&then).chain(&first) {
            carry_out(&mut world, deed);
        }
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
