//! A plan's word in what a press is offered: before the plain rule, never before what has waited wet for long.

use dwell::forecast::operator::{Operator, Turn};
use dwell::forecast::plan::{Kind, Phase};
use dwell::forecast::workload::{Source, Workload};
use dwell::forecast::{advice, workload};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::order::OrderForm;
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::step::Step;
use dwell::shop::rules::command::{By, Command, Which};
use dwell::shop::rules::offer::{Advice, Choice, Idle, Offer, OfferedAct, Waits};

use super::world::{World, line, order, own, station};

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
    let blanks = Waits { order: own(1), line: 0, step: Step::PrePress };
    Advice { next: vec![blanks], gain_s: 90.0, binds: None }
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
    advice.taken(Waits { order: own(1), line: 0, step: Step::PrePress });
    assert_eq!(advice.next, vec![]);
}

/// Garments that are gone, or wait for something else by now, leave the plain rule alone.
#[test]
fn stale_advice_changes_nothing() {
    let world = world();
    let plain = offers(&world, &Advice::default());
    for waits in [
        Waits { order: own(9), line: 0, step: Step::Dry },
        Waits { order: own(1), line: 7, step: Step::PrePress },
        Waits { order: own(1), line: 0, step: Step::Cure },
        Waits { order: own(1), line: 0, step: Step::Spray },
    ] {
        assert_eq!(
            offers(&world, &Advice { next: vec![waits], gain_s: 60.0, binds: None }),
            plain,
            "{waits:?}"
        );
    }
}

/// The plan of a shop names only kinds that a press could be shut on now, and only where it gains something.
#[test]
fn advice_of_a_shop_names_what_waits() {
    let world = world();
    let work = workload::of_shop(&world.shop, world.now).unwrap();
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
            let work = workload::of_shop(&world.shop, world.now).unwrap();
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

/// Two garments of an order, treated and stored.
fn stored(due: Option<&str>) -> World {
    let mut world = World::new(station(1));
    world.must(Command::ReadCaution);
    let due = due.map(|due| due.parse().unwrap());
    let form = OrderForm {
        name: "Choir".to_owned(),
        rank: Rank::USUAL,
        due,
        shared: false,
        lines: vec![line(2, "dark-cotton")],
    };
    world.must(Command::TakeOrder { form, file: None });
    let press = PressNo(1);
    for garment in ["A1-01", "A1-02"].map(|tag| tag.parse().unwrap()) {
        for seconds in [15.0, 40.0] {
            world.must(Command::Shut { press, garment, by: By::Scan });
            world.wait(seconds);
            world.must(Command::Open { press });
        }
    }
    world.must(Command::Store(Which::All));
    world
}

fn work(world: &World) -> Workload {
    workload::of_shop(&world.shop, world.now).unwrap()
}

fn names(kind: &Kind) -> Vec<(&'static str, i64)> {
    let named = |phase: &Phase| match phase {
        Phase::Machine { name, run, .. } => (*name, run / 1000),
        Phase::Hand { name, .. } => (*name, 0),
        Phase::Arrival { .. } => ("arrival", 0),
    };
    kind.route.iter().map(named).collect()
}

/// What lies on the shelf of an order that is due is work: pressed again, printed, cured. A press that has nothing
/// else is offered it.
#[test]
fn what_is_due_and_lies_on_the_shelf_is_planned() {
    let mut world = stored(Some("2026-03-02T12:00"));
    let all = work(&world);
    assert_eq!((all.problem.garments(), all.kept, all.orders.len()), (2, 0, 1));
    assert_eq!(all.sources, [Source::Shelf(own(1))]);
    let way = names(&all.problem.kinds[0]);
    assert_eq!(
        way.iter().map(|(name, _)| *name).collect::<Vec<_>>(),
        ["pre-press", "print", "cure"]
    );
    assert_eq!(way[0].1, 5, "the short press of a garment from the shelf");
    assert_eq!(advice::of(&all).next, []);
    let OfferedAct::Shut { garment, next, by, .. } = offers(&world, &Advice::default())[0].act
    else {
        panic!("nothing is offered")
    };
    assert_eq!((garment.to_string().as_str(), next.again, by), ("A1-01", true, By::Suggestion));
    // In that press it has nothing before it that it has behind it.
    let (press, garment) = (PressNo(1), "A1-01".parse().unwrap());
    world.must(Command::Shut { press, garment, by: By::Choice });
    world.wait(2.0);
    let all = work(&world);
    let begun = all.problem.begun[0];
    assert_eq!(begun.left, 3000);
    assert_eq!(names(&all.problem.kinds[begun.kind]), way);
}

/// Without a due time it is a store: it stays, and is counted.
#[test]
fn what_is_kept_on_the_shelf_is_not_planned() {
    let world = stored(None);
    let all = work(&world);
    assert_eq!((all.problem.garments(), all.kept, all.orders.len()), (0, 2, 1));
    assert_eq!(offers(&world, &Advice::default())[0].act, OfferedAct::None(Idle::NothingWaits));
}

/// A printer is loaded unstated: what waited for it when the last print came out is taken to be in it.
#[test]
fn what_waits_for_the_printer_since_the_last_print_is_half_done() {
    let mut world = stored(Some("2026-03-02T12:00"));
    let press = PressNo(1);
    for garment in ["A1-01", "A1-02"].map(|tag| tag.parse().unwrap()) {
        world.must(Command::Shut { press, garment, by: By::Choice });
        world.wait(5.0);
        world.must(Command::Open { press });
    }
    // Loading takes 14 s and the print 240 s; the first of the day is begun when it comes.
    assert_eq!(
        work(&world).problem.begun.iter().map(|begun| begun.left).collect::<Vec<_>>(),
        [249_000]
    );
    world.wait(200.0);
    world.must(Command::Printed(Which::First(1)));
    world.wait(154.0);
    let all = work(&world);
    assert_eq!(all.problem.begun.iter().map(|begun| begun.left).collect::<Vec<_>>(), [100_000]);
    assert_eq!(all.problem.garments(), 2);
    // Nobody prints when the last one came out long ago.
    world.wait(3600.0);
    assert_eq!(work(&world).problem.begun.len(), 0);
}

/// A plan knows nothing of what was dried for too short a time: it is offered to a press all the same.
#[test]
fn what_is_to_be_dried_again_goes_before_a_plans_blanks() {
    let mut world = world();
    let (press, garment) = (PressNo(1), "A1-01".parse().unwrap());
    world.must(Command::Shut { press, garment, by: By::Suggestion });
    world.wait(5.0);
    world.must(Command::Open { press });
    let blanks = Waits { order: own(1), line: 0, step: Step::PrePress };
    let advice = Advice { next: vec![blanks], gain_s: 60.0, binds: None };
    match offers(&world, &advice)[0].act {
        OfferedAct::Shut { garment: offered, next, .. } => {
            assert_eq!((offered, next.step), (garment, Step::Dry));
        }
        other => panic!("{other:?}"),
    }
}
