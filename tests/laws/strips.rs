//! The spans of a press tile their time without a gap, whatever was done.

use std::time::Duration;

use proptest::prelude::*;

use super::{HISTORIES, carry_out, histories, start};

const AN_HOUR: Duration = Duration::from_secs(3600);

proptest! {
    #![proptest_config(ProptestConfig { cases: HISTORIES, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_spans_of_a_press_tile_their_time(deeds in histories()) {
        let mut world = start();
        for deed in &deeds {
            carry_out(&mut world, deed);
        }
        let (shop, now) = (&world.shop, world.now);
        let spans = &shop.books().spans;
        for press in shop.press_numbers() {
            let told = spans.spans(press, now, AN_HOUR);
            prop_assert_eq!(told.first().map(|span| span.from), Some(AN_HOUR));
            prop_assert_eq!(told.last().map(|span| span.to), Some(Duration::ZERO));
            prop_assert!(told.windows(2).all(|pair| pair[0].to == pair[1].from));
            prop_assert!(told.iter().all(|span| span.from > span.to));
            let total: Duration = spans.totals(press, now, AN_HOUR).into_iter().sum();
            prop_assert_eq!(total, AN_HOUR);
        }
    }
}
