//! A plan's word in what a press is offered: before the plain rule, never before what has waited wet for long.

use dwell::forecast::operator::{Operator, Turn};
use dwell::forecast::{advice, workload};
use dwell::shop::command::{By, Command, Which};
use dwell::shop::ids::{OrderNo, PressNo};
use dwell::shop::offer::{Advice, Choice, Offer, OfferedAct, Waits};
use dwell::shop::step::Step;

use super::world::{World, line, order, station};

/// One press; a garment that waits wet for the dryer, and blanks.
fn world() -> World {
    let mut world = World::new(station(1));
    world.must(Command::ReadCaution);
    world.must(order(vec![line(6, "dark-cotton")]));
    let OfferedAct::Shut { garment, .. } = offers(&world, &Advice::default())[0].act else {
        panic!("nothing to shut on")
    };
    world.must(Command::Shut { press: PressNo(1), garment, by: By::Suggestion });
    world.wait(20.0);
    world.must(Command::Open { press: PressNo(1) });
    world.wait(30.0);
    world.must(Command::HandworkDone(Which::First(1)));
    world
}

fn offers(world: &World, advice: &Advice) -> Vec<Offer> {
    world.shop.offers_by(&Choice::default(), advice, world.now)
}

fn blanks_first() -> Advice {
    let blanks = Waits { order: OrderNo(1), line: 0, step: Step::PrePress };
    Advice { next: vec![blanks], gain_s: 90.0 }
}

fn shut(offers: &[Offer]) -> (Step, By) {
    let OfferedAct::Shut { next, by, .. } = offers[0].act else { panic!("{offers:?}") };
    (next.step, by)
}

#[test]
fn the_plan_goes_before_the_rule_until_something_has_waited_wet_for_long() {
    let mut world = world();
    assert_eq!(shut(&offers(&world, &Advice::default())), (Step::Dry, By::Suggestion));
    assert_eq!(shut(&offers(&world, &blanks_first())), (Step::PrePress, By::Plan));
    let wet = world.shop.floor().waiting(Step::Dry).next().unwrap();
    let limit = world.shop.wait_limit(wet).unwrap();
    world.wait(limit.as_secs_f64() / 2.0 + 1.0);
    assert_eq!(shut(&offers(&world, &blanks_first())), (Step::Dry, By::Suggestion));
}

#[test]
fn what_the_plan_offers_can_be_done_and_is_then_its_turn_no_more() {
    let mut world = world();
    let mut advice = blanks_first();
    let OfferedAct::Shut { garment, by, .. } = offers(&world, &advice)[0].act else { panic!() };
    world.must(Command::Shut { press: PressNo(1), garment, by });
    advice.taken(Waits { order: OrderNo(1), line: 0, step: Step::PrePress });
    assert_eq!(advice.next, vec![]);
}

/// Garments that are gone, or wait for something else by now, leave the plain rule alone.
#[test]
fn stale_advice_changes_nothing() {
    let world = world();
    let plain = offers(&world, &Advice::default());
    for waits in [
        Waits { order: OrderNo(9), line: 0, step: Step::Dry },
        Waits { order: OrderNo(1), line: 7, step: Step::PrePress },
        Waits { order: OrderNo(1), line: 0, step: Step::Cure },
        Waits { order: OrderNo(1), line: 0, step: Step::Spray },
    ] {
        assert_eq!(offers(&world, &Advice { next: vec![waits], gain_s: 60.0 }), plain, "{waits:?}");
    }
}

/// The plan of a shop names only kinds that a press could be shut on now, and only where it gains something.
#[test]
fn advice_of_a_shop_names_what_waits() {
    let world = world();
    let work = workload::of_shop(&world.shop, world.now, 1).unwrap();
    let advice = advice::of(&work);
    assert!(advice.next.is_empty() || advice.gain_s >= 20.0, "{advice:?}");
    for waits in &advice.next {
        assert!(world.shop.floor().waiting(waits.step).any(|garment| garment.line == waits.line));
    }
}

/// Over a whole shift the plan has its say, and whatever it offers can be done at once and implies nothing.
#[test]
fn over_a_shift_what_the_plan_offers_can_be_done() {
    let mut world = World::new(station(2));
    world.must(Command::ReadCaution);
    world.must(order(vec![line(6, "dark-cotton"), line(3, "light-cotton")]));
    let mut operator = Operator::new(3);
    let (mut planned, mut seen) = (0, 0);
    for _ in 0..4000 {
        if world.shop.seq() != seen {
            seen = world.shop.seq();
            let work = workload::of_shop(&world.shop, world.now, 1).unwrap();
            for offer in offers(&world, &advice::of(&work)) {
                let OfferedAct::Shut { garment, by: By::Plan, .. } = offer.act else { continue };
                let command = Command::Shut { press: offer.press, garment, by: By::Plan };
                assert_eq!(world.shop.decide(&command, world.now).map(|facts| facts.len()), Ok(1));
                planned += 1;
            }
        }
        match operator.turn(&world.shop, world.now) {
            Turn::Act(command) => drop(world.say(&command)),
            Turn::Until(moment) => world.now = moment,
            Turn::Done => break,
        }
    }
    assert!(planned > 0);
}
