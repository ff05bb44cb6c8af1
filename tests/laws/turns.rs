//! One plain rule: what the board says comes next is what the forecast's hands do next.

use dwell::forecast::dispatch::{self, Task};
use dwell::forecast::plan::Group;
use dwell::forecast::workload::{self, Source};
use dwell::shop::facts::ids::{OrderId, PressNo, Tag};
use dwell::shop::facts::order::OrderForm;
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::step::Step;
use dwell::shop::floor::garment::{Garment, Place};
use dwell::shop::rules::alarms::Alarm;
use dwell::shop::rules::command::{Command, Which};
use dwell::shop::rules::next::NextAct;
use dwell::shop::rules::offer::{Advice, Choice, OfferedAct, Waits};
use dwell::shop::rules::turn::Binds;
use proptest::prelude::*;

use support::world::{World, line, station};

/// What is done in a shop of which a forecast knows everything: its presses are alike, and stay as they are.
#[derive(Debug, Clone)]
enum Move {
    Press(u8),
    Sprayed,
    Printed,
    Store,
    Order { count: u32, light: bool, rank: u8, due: Option<i64> },
    Wait(u32),
}

fn moves() -> impl Strategy<Value = Vec<Move>> {
    let one = prop_oneof![
        10 => (1u8..4).prop_map(Move::Press),
        5 => Just(Move::Sprayed),
        3 => Just(Move::Printed),
        1 => Just(Move::Store),
        2 => (1u32..5, any::<bool>(), 1u8..4, proptest::option::of(1i64..60))
            .prop_map(|(count, light, rank, due)| Move::Order { count, light, rank, due }),
        8 => (1u32..60).prop_map(Move::Wait),
        1 => (200u32..2000).prop_map(Move::Wait),
    ];
    proptest::collection::vec(one, 1..120)
}

fn order(count: u32, light: bool, rank: u8, due: Option<i64>) -> Command {
    let lines = vec![line(count, if light { "light-cotton" } else { "dark-cotton" })];
    let due = due.map(|hours| {
        let at =
            jiff::civil::date(2026, 3, 2).at(8, 0, 0, 0) + jiff::SignedDuration::from_hours(hours);
        at.to_string().parse().unwrap()
    });
    let rank = Rank::try_from(rank).unwrap();
    Command::TakeOrder {
        form: OrderForm { name: "Choir".into(), rank, due, shared: false, lines },
        file: None,
    }
}

/// What comes next.
#[derive(Debug, PartialEq)]
enum Next {
    Open,
    Fetch(OrderId),
    /// A garment of a line is pressed, sprayed, or taken to the printer or out of it.
    Act(OrderId, usize, Step),
    Wait,
}

fn advice(world: &World) -> Advice {
    let work = workload::of_shop(&world.shop, world.now).unwrap();
    Advice { binds: work.problem.binds(), ..Advice::default() }
}

fn by_board(world: &World) -> Next {
    let (shop, advice) = (&world.shop, advice(world));
    let due = |alarm: &Alarm| matches!(alarm, Alarm::Due { .. } | Alarm::Overdue { .. });
    if shop.alarms(world.now).iter().any(due) {
        return Next::Open;
    }
    let offers = shop.offers_by(&Choice::default(), &advice, world.now);
    let of = |tag: Tag, step: Step| match shop.garment(tag).unwrap() {
        garment if garment.place == Place::Shelf => Next::Fetch(garment.order()),
        garment => Next::Act(garment.order(), garment.line, step),
    };
    match shop.acts_by_rule(&offers, advice.binds, world.now).first() {
        Some(NextAct::Load { garment, step, .. }) => of(*garment, *step),
        Some(NextAct::Print(tag)) => of(*tag, Step::Print),
        Some(NextAct::Spray(tag)) => of(*tag, Step::Spray),
        Some(other) => panic!("{other:?} in a shop of one heat"),
        None => Next::Wait,
    }
}

fn by_forecast(world: &World) -> Next {
    let work = workload::of_shop(&world.shop, world.now).unwrap();
    let Some(task) = dispatch::next_task(&work.problem) else { return Next::Wait };
    match (task, work.sources[task.of().0]) {
        (Task::Unload { group: Group::Press, .. }, _) => Next::Open,
        (_, Source::Shelf(order)) => Next::Fetch(order),
        (_, Source::Shop(Waits { order, line, step })) => Next::Act(order, line, step),
        (_, Source::File(_)) => unreachable!("no file was planned"),
    }
}

fn command(world: &World, one: &Move) -> Option<Command> {
    let offers = || world.shop.offers_by(&Choice::default(), &advice(world), world.now);
    Some(match one {
        Move::Press(no) => {
            let press = PressNo(*no);
            match offers().iter().find(|offer| offer.press == press)?.act {
                // A forecast knows nothing of what is dried again for having come out too soon.
                OfferedAct::Open { .. } => {
                    let alarms = world.shop.alarms(world.now);
                    let due = alarms.iter().any(|alarm| alarm.press() == Some(press));
                    return due.then_some(Command::Open { press });
                }
                OfferedAct::Shut { garment, by, .. } => Command::Shut { press, garment, by },
                OfferedAct::None(_) => return None,
            }
        }
        Move::Sprayed => Command::HandworkDone(Which::First(1)),
        Move::Printed => Command::Printed(Which::First(1)),
        Move::Store => Command::Store(Which::First(1)),
        Move::Order { count, light, rank, due } => order(*count, *light, *rank, *due),
        Move::Wait(_) => return None,
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 200,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn board_and_forecast_choose_the_same_next_act(
        moves in moves(),
        presses in 1usize..4,
        printers in 1u8..3,
    ) {
        let mut station = station(presses);
        station.printers = printers;
        let mut world = World::new(station);
        world.must(order(6, false, 2, None));
        for one in &moves {
            match one {
                Move::Wait(seconds) => world.wait(f64::from(*seconds)),
                // Two things never come at one moment.
                _ => world.wait(0.01),
            }
            if let Some(command) = command(&world, one) {
                drop(world.say(&command));
            }
            let waiting = || {
                let shown = |garment: &Garment| format!("{} {:?}", garment.tag, garment.place);
                let all = world.shop.floor().all().filter(|garment| !garment.is_done());
                all.map(shown).collect::<Vec<_>>().join(", ")
            };
            let advice = advice(&world);
            prop_assert_eq!(
                by_board(&world),
                by_forecast(&world),
                "after {:?}, {:?}, {}",
                one,
                advice.binds,
                waiting()
            );
        }
    }
}

/// The law above says nothing unless the shops that it looks at are held back by one thing as by another.
#[test]
fn what_holds_a_shop_back_is_not_always_the_same() {
    let binds = |presses, printers| {
        let mut station = station(presses);
        station.printers = printers;
        let mut world = World::new(station);
        world.must(order(20, false, 2, None));
        advice(&world).binds
    };
    assert_eq!(binds(2, 1), Some(Binds::Printers));
    assert_eq!(binds(1, 3), Some(Binds::Presses));
    assert_eq!(binds(3, 9), Some(Binds::Hands));
}

/// Whether a press is offered a garment that goes to the printer from it.
fn could_feed(world: &World, advice: &Advice) -> bool {
    let offers = world.shop.offers_by(&Choice::default(), advice, world.now);
    offers.iter().any(|offer| match offer.act {
        OfferedAct::Shut { garment, .. } => {
            let garment = world.shop.garment(garment).unwrap();
            match garment.place {
                Place::Waiting(Step::Dry) | Place::Shelf => true,
                Place::Waiting(Step::PrePress) => garment.coated,
                _ => false,
            }
        }
        _ => false,
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 150,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// A printer that holds the shop back and has nothing to print is fed before anything else is begun: what a press makes
    /// ready for it, else a spray; no blank is pressed before that.
    #[test]
    fn a_starved_printer_is_fed_first(moves in moves(), presses in 2usize..4) {
        let mut world = World::new(station(presses));
        world.must(order(12, false, 2, None));
        for one in &moves {
            match one {
                Move::Wait(seconds) => world.wait(f64::from(*seconds)),
                _ => world.wait(0.01),
            }
            // Dark garments alone: each of them is sprayed on its way. No rush: it goes before all else.
            let dark = match one {
                Move::Order { count, rank, due, .. } => {
                    Move::Order { count: *count, light: false, rank: (*rank).max(2), due: *due }
                }
                other => other.clone(),
            };
            if let Some(command) = command(&world, &dark) {
                drop(world.say(&command));
            }
            let advice = advice(&world);
            let waits = |step| {
                let there = |garment: &&Garment| garment.place == Place::Waiting(step);
                world.shop.floor().all().filter(there).count()
            };
            let drying = world.shop.loads().any(|(_, load)| load.step == Step::Dry);
            let starved = waits(Step::Print) == 0 && !drying;
            if advice.binds != Some(Binds::Printers) || !starved {
                continue;
            }
            let next = by_board(&world);
            let fed = match (could_feed(&world, &advice), next) {
                (_, Next::Open) => true,
                (true, Next::Act(_, _, step)) => step != Step::Spray,
                (true, next) => matches!(next, Next::Fetch(_)),
                (false, next) if waits(Step::Spray) > 0 && waits(Step::Dry) == 0 => {
                    matches!(next, Next::Act(_, _, Step::Spray | Step::Cure))
                }
                (false, _) => true,
            };
            prop_assert!(fed, "after {:?}: {:?}", one, by_board(&world));
        }
    }
}
