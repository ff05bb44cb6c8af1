//! The wall clock is for people: whatever it does, the shop does the same. Each history is lived twice, once with a
//! clock that is right and once with one that is set again and again.

use std::collections::BTreeSet;

use dwell::shell::sounder::HeardAlarms;
use dwell::shop::Shop;
use dwell::shop::facts::day::Day;
use dwell::shop::facts::fact::{Event, Fact};
use dwell::shop::facts::ids::Tag;
use dwell::shop::facts::moment::{Boot, Moment, Up, Wall};
use dwell::shop::floor::garment::Queue;
use dwell::shop::rules::alarms::Alarm;
use dwell::shop::rules::command::{Command, Which};
use dwell::shop::rules::offer::Choice;
use jiff::tz::TimeZone;
use proptest::prelude::*;

use super::deeds::{Deed, deed};
use super::world::{World, line, order};
use super::{LONGEST, carry_out, places, start};

const SECOND: i64 = 1_000_000;
const HOUR: i64 = 3600 * SECOND;
const DAY: i64 = 24 * HOUR;

/// Minutes, the hour of daylight saving where a machine keeps local time, a day and more, years, back to 1970.
fn step() -> impl Strategy<Value = i64> {
    prop_oneof![
        (-600i64..600).prop_map(|seconds| seconds * SECOND),
        prop_oneof![Just(HOUR), Just(-HOUR)],
        (-40i64..40).prop_map(|days| days * DAY),
        (-9i64..9).prop_map(|years| years * 365 * DAY),
    ]
}

/// A history, and before each deed how far the wall clock is set, if it is.
fn histories() -> impl Strategy<Value = Vec<(Deed, Option<i64>)>> {
    proptest::collection::vec((deed(), proptest::option::weighted(0.2, step())), 1..LONGEST)
}

/// What an event says but for the calendar: dates are the wall clock's to say, whether one is past, and that the
/// clock is wrong; an undo repeats it in words.
fn timeless(event: &Event) -> String {
    let mut body: serde_json::Value = serde_json::from_str(&event.fact.body().unwrap()).unwrap();
    for dated in ["day", "good_until", "last_day", "unsure", "past_day", "what"] {
        body.as_object_mut().unwrap().remove(dated);
    }
    if let Some(left) = body.get_mut("left").and_then(serde_json::Value::as_array_mut) {
        left.retain(|what| what != "the machine's clock is wrong");
        if left.is_empty() {
            body.as_object_mut().unwrap().remove("left");
        }
    }
    format!("{} {} {} {body}", event.seq, event.act.0, event.fact.kind())
}

/// The bottles that are past their day.
fn past_lots(world: &World) -> Vec<&str> {
    let today = world.shop.today(world.now);
    let past = |day: Option<Day>| day.is_some_and(|day| day < today);
    let lots = world.shop.supplies().lots.iter().filter(|(_, lot)| past(lot.best_before));
    lots.map(|(name, _)| name.as_ref()).collect()
}

/// Who stands in a queue, in its order.
fn standing(shop: &Shop, queue: Queue) -> Vec<Tag> {
    shop.floor().queue(queue).map(|garment| garment.tag).collect()
}

/// Everything that the board would show, sound or offer.
fn seen(world: &World) -> (Vec<Alarm>, Option<std::time::Duration>, Vec<String>) {
    let shop = &world.shop;
    let offers = shop.offers(&Choice::default(), world.now);
    let offers = offers.iter().map(|offer| format!("{} {:?}", offer.press, offer.act)).collect();
    (shop.alarms(world.now), shop.next_deadline(world.now), offers)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: super::HISTORIES,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_wall_clock_that_is_set_changes_no_time_no_alarm_and_no_order(history in histories()) {
        let (mut right, mut wrong) = (start(), start());
        for (deed, step) in &history {
            wrong.now.at.0 += step.unwrap_or(0);
            // Whether a bottle is past its day is the calendar's to say, and so is whether it is filled in; and which of
            // two stored garments has the earlier last day.
            let shelf = |world: &World| standing(&world.shop, Queue::Shelf);
            if past_lots(&right) != past_lots(&wrong) || shelf(&right) != shelf(&wrong) {
                break;
            }
            carry_out(&mut right, deed);
            carry_out(&mut wrong, deed);
            let (one, other) = (right.events.last(), wrong.events.last());
            prop_assert_eq!(one.map(timeless), other.map(timeless), "{:?}", deed);
            prop_assert_eq!(seen(&right), seen(&wrong), "{:?}", deed);
        }
        places::check(&wrong.shop)?;
        prop_assert!(wrong.events.iter().zip(1u64..).all(|(event, seq)| event.seq == seq));
        for queue in places::queues() {
            let (mut one, mut other) = (standing(&right.shop, queue), standing(&wrong.shop, queue));
            if queue == Queue::Shelf {
                one.sort();
                other.sort();
            }
            prop_assert_eq!(one, other);
        }
    }
}

/// A shop with three presses shut, garments that dry and a stack to be stored.
fn busy() -> World {
    let mut world = start();
    for (press, piece) in [(1, 0), (2, 1), (3, 2)] {
        let tag = world.shop.floor().all().nth(piece).unwrap().tag;
        let press = dwell::shop::facts::ids::PressNo(press);
        world.must(Command::Shut {
            press,
            garment: tag,
            by: dwell::shop::rules::command::By::Scan,
        });
    }
    world
}

/// How often it sounds over twenty seconds of a loop that looks ten times a second.
fn sounds(world: &World, ear: &mut HeardAlarms) -> usize {
    (0..200i64)
        .filter(|tenth| {
            let now = Moment { up: Up(world.now.up.0 + tenth * 100_000), ..world.now };
            ear.sounds(&world.shop.alarms(now), now.up)
        })
        .count()
}

#[test]
fn no_step_and_no_suspend_brings_a_burst_of_sounds() {
    let steps = [60, -60, 3600, -3600, 63_072_000, -63_072_000, -2_000_000_000];
    for step in steps {
        let (mut right, mut wrong) = (busy(), busy());
        let (mut one, mut other) = (HeardAlarms::default(), HeardAlarms::default());
        wrong.now.at.0 += step * SECOND;
        for _ in 0..6 {
            right.wait(20.0);
            wrong.wait(20.0);
            wrong.now.at.0 -= step * SECOND;
            assert_eq!(sounds(&right, &mut one), sounds(&wrong, &mut other), "{step}");
        }
    }
    // After ninety seconds of sleep everything is due at once: one sound at that moment, then one every two seconds.
    let mut world = busy();
    world.wait(90.0);
    let alarms = world.shop.alarms(world.now);
    assert!(alarms.len() >= 3, "{alarms:?}");
    let mut ear = HeardAlarms::default();
    let at_once =
        (0..4).filter(|tenth| ear.sounds(&alarms, Up(world.now.up.0 + tenth * 100_000))).count();
    assert_eq!(at_once, 1);
    assert!(sounds(&world, &mut ear) <= 10, "more than one sound in two seconds");
}

/// After a reboot nothing is known of the presses; what lies about wet sounds once, however much of it there is.
#[test]
fn a_reboot_with_a_wrong_clock_is_one_sound() {
    for step in [0, 3600, -3600, 63_072_000, -1_000_000_000_000] {
        let mut world = busy();
        world.now =
            Moment { at: Wall(world.now.at.0 + step * SECOND), boot: Boot(8), up: Up(5 * SECOND) };
        let alarms = world.shop.alarms(world.now);
        let checks = alarms.iter().filter(|alarm| matches!(alarm, Alarm::Check { .. })).count();
        assert_eq!(checks, 3, "{alarms:?}");
        let mut ear = HeardAlarms::default();
        let at_once =
            (0..5).filter(|tenth| ear.sounds(&alarms, Up(world.now.up.0 + tenth * 100_000)));
        assert_eq!(at_once.count(), 1);
        for press in [1, 2, 3].map(dwell::shop::facts::ids::PressNo) {
            let opened = world.must(Command::Open { press });
            let Fact::PressOpened(fact) = &opened[0].fact else { panic!("{opened:?}") };
            assert_eq!((fact.seconds, fact.over_restart), (None, true));
        }
    }
}

/// A shop with dry garments to store, and whether the next one that is stored is in doubt.
struct Storing(World);

impl Storing {
    fn new() -> Self {
        let mut world = World::new(super::world::station(2));
        world.must(order(vec![line(8, "dark-cotton")]));
        let mut operator = dwell::forecast::operator::Operator::new(3);
        for _ in 0..20_000 {
            if world
                .shop
                .floor()
                .waiting(dwell::shop::facts::step::Step::Print)
                .filter(|g| g.coated)
                .count()
                >= 3
            {
                break;
            }
            match operator.turn(&world.shop, world.now) {
                dwell::forecast::operator::Turn::Act(Command::Printed(_)) => world.wait(1.0),
                dwell::forecast::operator::Turn::Act(command) => drop(world.say(&command)),
                dwell::forecast::operator::Turn::Until(moment) => world.now = moment,
                dwell::forecast::operator::Turn::Done => break,
            }
        }
        Self(world)
    }

    fn is_unsure(&mut self) -> bool {
        self.0.wait(5.0);
        let events = self.0.must(Command::Store(Which::First(1)));
        events.iter().any(|event| matches!(&event.fact, Fact::Stored(stored) if stored.unsure))
    }

    fn reboot(&mut self, seconds: i64) {
        let newest = self.0.shop.newest().unwrap();
        let boot = Boot(newest.boot.0.wrapping_add(1));
        self.0.now = Moment { at: Wall(newest.at.0 + seconds * SECOND), boot, up: Up(9 * SECOND) };
    }
}

#[test]
fn what_is_stored_while_the_clock_is_behind_is_flagged_each_time() {
    let mut shop = Storing::new();
    assert!(!shop.is_unsure(), "a clock that is right");
    shop.0.now.at.0 -= 50 * DAY;
    assert!(shop.is_unsure() && shop.is_unsure(), "the second as well as the first");

    // A flat battery: the clock comes up in a year that is none of its business, and is not 1970.
    let mut shop = Storing::new();
    shop.reboot(-200 * 86_400);
    assert!(shop.is_unsure() && shop.is_unsure());

    let mut shop = Storing::new();
    shop.0.now.at = Wall(77 * SECOND);
    assert!(shop.is_unsure() && shop.is_unsure(), "unset");
}

#[test]
fn a_clock_that_has_caught_up_is_trusted_again() {
    let mut shop = Storing::new();
    let right = shop.0.now.at;
    shop.0.now.at.0 -= 50 * DAY;
    assert!(shop.is_unsure());
    shop.0.now.at = Wall(right.0 + 60 * SECOND);
    assert!(!shop.is_unsure(), "set right by the network");

    // One that had run ahead, set back by hand: in doubt until the machine is started again.
    let mut shop = Storing::new();
    let right = shop.0.now.at;
    shop.0.now.at.0 += 50 * DAY;
    assert!(!shop.is_unsure(), "nothing tells");
    shop.0.now.at = Wall(right.0 + 60 * SECOND);
    assert!(shop.is_unsure());
    shop.reboot(120);
    assert!(!shop.is_unsure());
}

/// Twice a year a day has 23 or 25 hours; the clock of the machine is UTC and goes on. Source of the days: the
/// rules of the European Union (M): the last Sundays of March and October.
#[test]
fn daylight_saving_is_a_matter_of_the_calendar_alone() {
    let zone = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap();
    for (night, hours) in [("2026-03-29T00:30:00+01:00", 23), ("2026-10-25T00:30:00+02:00", 25)] {
        let night: jiff::Timestamp = night.parse().unwrap();
        let mut shop = Storing::new();
        shop.0.shop.set_zone(zone.clone());
        shop.0.now.at = night.into();
        assert!(!shop.is_unsure());
        let today = shop.0.shop.today(shop.0.now);
        shop.0.wait(f64::from(hours) * 3600.0);
        let tomorrow = shop.0.shop.today(shop.0.now);
        assert_eq!(today.until(tomorrow), 1, "after {hours} hours it is half past midnight again");
        assert!(!shop.is_unsure(), "the clock is right all the way");
        let days: BTreeSet<String> = shop
            .0
            .shop
            .floor()
            .queue(Queue::Shelf)
            .filter_map(|garment| garment.shelved.as_ref().map(|shelved| shelved.day.to_string()))
            .collect();
        assert_eq!(days.len(), 2, "{days:?}");
    }
}
