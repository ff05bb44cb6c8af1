//! Every book has the content that it would have had, had nothing been taken back and every time been right at once.

use std::sync::Arc;

use dwell::figures::units::Span;
use dwell::forecast::operator::{Operator, Turn};
use dwell::shop::Shop;
use dwell::shop::facts::fact::{Event, Fact, TimeCorrected};
use dwell::shop::rules::command::Command;
use proptest::prelude::*;

use super::deeds::{Deed, three_presses};
use super::difference::difference;
use super::world::{World, line, order};
use super::{HISTORIES, carry_out, histories, start, undone};

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

/// The event as it would have been recorded, had its time been right at once.
fn right_at_once(event: &Event, fact: &TimeCorrected) -> Event {
    let mut right = event.clone();
    let Some(ago) = fact.ago else { return right };
    right.moment = event.moment.minus(std::time::Duration::try_from_secs_f64(ago).unwrap());
    if let Fact::PressOpened(opened) = &mut right.fact {
        (opened.seconds, opened.timing) = (fact.seconds, fact.timing.unwrap());
    }
    right
}

/// The shop of the same history without what was taken back, and with each corrected time in the first place. That a
/// time is not known cannot be recorded at once: it is said as soon as the act is done.
fn as_it_was(events: &[Event]) -> Shop {
    let gone = undone(events);
    let stands = |event: &&Event| !gone.contains(&event.act);
    let corrections: Vec<(&Event, &TimeCorrected)> = events
        .iter()
        .filter(stands)
        .filter_map(|event| match &event.fact {
            Fact::TimeCorrected(fact) => Some((event, fact)),
            _ => None,
        })
        .collect();
    let mut shop = Shop::default();
    for (n, event) in events.iter().enumerate() {
        if !stands(&event) || matches!(event.fact, Fact::Undone(_) | Fact::TimeCorrected(_)) {
            shop.pass_over(event);
            continue;
        }
        let of_act = |(_, fact): &&(&Event, &TimeCorrected)| fact.corrects == event.act;
        let its = corrections.iter().filter(of_act);
        if let Fact::SteamStopped(stopped) = &event.fact {
            // Its second counts from the shutting, which may have been corrected.
            let facts = shop.decide(&Command::SteamStopped { press: stopped.press }, event.moment);
            let fact = facts.unwrap().remove(0);
            shop.apply(&Event { fact, ..event.clone() });
            continue;
        }
        match its.clone().find(|(_, fact)| event.fact.garment() == Some(fact.garment)) {
            Some((_, fact)) => shop.apply(&right_at_once(event, fact)),
            None => shop.apply(event),
        }
        if events.get(n + 1).is_none_or(|next| next.act != event.act) {
            for (said, fact) in its.filter(|(_, fact)| fact.ago.is_none()) {
                let (seq, fact) = (event.seq, (*fact).clone().into());
                shop.apply(&Event { seq, fact, ..(*said).clone() });
            }
        }
    }
    shop
}

/// What differs between two shops, and between their books; what may be corrected next is not asked.
fn differences(one: &Shop, other: &Shop) -> Vec<String> {
    let mut found = difference(one, other);
    found.retain(|what| !what.starts_with("desk"));
    for ((name, here), (_, there)) in
        one.books().contents().into_iter().zip(other.books().contents())
    {
        if here != there {
            found.push(format!("{name}: {here} here, {there} there"));
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: HISTORIES, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_book_is_as_if_nothing_had_been_undone_or_corrected(
        deeds in histories(), seed in any::<u64>(), turns in 1usize..20
    ) {
        let world = at_work(seed, &deeds, turns);
        let other = as_it_was(&world.events);
        prop_assert_eq!(differences(&world.shop, &other), Vec::<String>::new());
    }
}
