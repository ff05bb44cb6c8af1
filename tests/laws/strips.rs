//! Losses and the spans of presses: what is undone was never there, and spans tile their time without a gap.

use std::time::Duration;

use dwell::shop::Shop;
use dwell::shop::fact::{Event, Fact};
use dwell::shop::losses::Losses;
use dwell::shop::press_spans::PressSpans;
use proptest::prelude::*;

use super::{HISTORIES, carry_out, histories, start, undone};

const AN_HOUR: Duration = Duration::from_secs(3600);

/// Both, gathered over events; those for which `passes` holds are passed over.
fn gathered(events: &[Event], passes: impl Fn(&Event) -> bool) -> (Shop, Losses, PressSpans) {
    let (mut shop, mut losses, mut spans) =
        (Shop::default(), Losses::of_a_day(), PressSpans::default());
    for event in events {
        if passes(event) {
            shop.pass_over(event);
            continue;
        }
        shop.apply(event);
        losses.take(event, &shop);
        spans.take(event, &shop);
    }
    (shop, losses, spans)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: HISTORIES, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn strips_and_losses_know_nothing_of_what_was_undone(deeds in histories()) {
        let mut world = start();
        for deed in &deeds {
            carry_out(&mut world, deed);
        }
        let now = world.now;
        let passed = undone(&world.events);
        let gone = |event: &Event| {
            passed.contains(&event.act) || matches!(event.fact, Fact::Undone(_))
        };
        let (shop, losses, spans) = gathered(&world.events, |_| false);
        let (_, other_losses, other_spans) = gathered(&world.events, gone);
        prop_assert_eq!(losses.rows(now, AN_HOUR), other_losses.rows(now, AN_HOUR));
        for press in shop.press_numbers() {
            let told = spans.spans(press, now, AN_HOUR);
            prop_assert_eq!(&told, &other_spans.spans(press, now, AN_HOUR));
            prop_assert_eq!(told.first().map(|span| span.from), Some(AN_HOUR));
            prop_assert_eq!(told.last().map(|span| span.to), Some(Duration::ZERO));
            prop_assert!(told.windows(2).all(|pair| pair[0].to == pair[1].from));
            prop_assert!(told.iter().all(|span| span.from > span.to));
            let total: Duration = spans.totals(press, now, AN_HOUR).into_iter().sum();
            prop_assert_eq!(total, AN_HOUR);
        }
    }
}
