//! Journals to report on: a rehearsed shift, and one made by hand with something in every part of the report.

use std::time::Duration;

use dwell::figures::units::Grams;
use dwell::forecast::operator::{Operator, Turn};
use dwell::shell::journal::Writer;
use dwell::shell::journal::lock::Lock;
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::{Event, LotRegistered, SprayerFilled};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::order::OrderForm;
use dwell::shop::facts::outage::OutOfUse;
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, Which};
use serde_json::Value;

use crate::bench::{Bench, Ran};
use crate::world::{World, line, station};

/// A name that would be markup, were it not escaped.
pub const ODD: &str = r#"<b>&"x"#;
pub const ODD_PRESS: &str = r#"<i>&"L"#;

/// A bench whose profiles are the ones built in.
pub fn bench() -> Bench {
    let bench = Bench::new(2, 20);
    std::fs::remove_dir_all(bench.profiles()).unwrap();
    std::fs::create_dir(bench.profiles()).unwrap();
    bench
}

/// A bench with a rehearsed shift.
pub fn rehearsed(seed: &str, garments: &str, presses: &str) -> Bench {
    let bench = bench();
    let data = bench.data();
    let ran = bench.run(&[
        "rehearse",
        "--headless",
        "--seed",
        seed,
        "--garments",
        garments,
        "--presses",
        presses,
        "--data",
        data.to_str().unwrap(),
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    bench
}

/// Writes events as a journal.
pub fn write(bench: &Bench, events: Vec<Event>) {
    let data = bench.data();
    std::fs::create_dir_all(&data).unwrap();
    let count = events.len() as u64;
    let writer = Writer::open(&data, Lock::take(&data).unwrap()).unwrap();
    writer.write(events);
    assert_eq!(writer.close(Duration::from_secs(20)).upto, count);
}

/// Lets the made-up operator work until nothing is left, or for so many seconds.
pub fn work(world: &mut World, seed: u64, seconds: f64) {
    let ends = world.now.plus(Duration::from_secs_f64(seconds));
    let mut operator = Operator::new(seed);
    for _ in 0..200_000 {
        match operator.turn(&world.shop, world.now) {
            Turn::Act(command) => drop(world.say(&command)),
            Turn::Until(moment) if moment.at > ends.at => break,
            Turn::Until(moment) => world.now = moment,
            Turn::Done => break,
        }
    }
}

/// A morning in which something of everything happened, with nine presses and names that look like markup.
pub fn full_morning() -> World {
    let mut profile = station(9);
    profile.presses[0].name = ODD_PRESS.to_owned();
    let mut world = World::new(profile);
    world.must(Command::Sign("AK".into()));
    world.must(Command::SayFan(Some(true)));
    world.must(Command::Sign("BM".into()));
    let order = |name: &str, count, recipe, due: Option<&str>| {
        let due = due.map(|due| due.parse().unwrap());
        let form = OrderForm {
            name: name.to_owned(),
            rank: Rank::USUAL,
            due,
            shared: false,
            lines: vec![line(count, recipe)],
        };
        Command::TakeOrder { form, file: None }
    };
    world.must(order(ODD, 12, "dark-cotton", Some("2026-03-02T09:40")));
    world.must(order("Lantern walk", 8, "light-cotton", Some("2026-03-02T11:00")));
    world.must(order("Harbour choir", 6, "dark-cotton", None));
    world.must(Command::RegisterLot(LotRegistered {
        lot: "F-118".into(),
        contents: Contents::PretreatmentFluid,
        best_before: None,
        place: "low shelf".into(),
    }));
    let fill = SprayerFilled {
        lot: "F-118".into(),
        grams: Grams(400.0),
        scanned: true,
        over: None,
        fluid: None,
    };
    world.must(Command::FillSprayer(fill));
    let nine = PressNo(9);
    world.must(Command::OutOfUse { press: nine, reason: OutOfUse::HeatingUp });
    work(&mut world, 5, 600.0);
    spoil(&mut world);
    work(&mut world, 7, 1800.0);
    world.must(Command::BackInUse { press: nine });
    work(&mut world, 6, 3600.0);
    // Nobody closes a shift over a shut press.
    let shut: Vec<PressNo> = world.shop.loads().map(|(press, _)| press).collect();
    for press in shut {
        world.must(Command::Open { press });
    }
    world.must(Command::CloseShift);
    world
}

/// A garment is shut far too long and lost, another is stored.
fn spoil(world: &mut World) {
    // Only what waits for its first press can be taken for this without knowing what the operator has done.
    let waiting = |world: &World| {
        world
            .shop
            .floor()
            .waiting(dwell::shop::facts::step::Step::PrePress)
            .map(|g| g.tag)
            .next_back()
    };
    let free = |world: &World| {
        world.shop.press_numbers().into_iter().find(|press| world.shop.load(*press).is_none())
    };
    if let (Some(garment), Some(press)) = (waiting(world), free(world)) {
        world.must(Command::Shut { press, garment, by: By::Scan });
        world.wait(400.0);
        world.must(Command::Open { press });
        world.wait(5.0);
        let (trouble, outcome) = (Trouble::Scorched, Outcome::Out);
        world.must(Command::NoteTrouble { garment, trouble, outcome });
    }
    let _ = world.say(&Command::Store(Which::First(1)));
}

/// The report of a bench, in a form.
pub fn report(bench: &Bench, arguments: &[&str]) -> Ran {
    bench.run(&[&["report"], arguments].concat())
}

/// The same where it must be given.
pub fn must(bench: &Bench, arguments: &[&str]) -> String {
    let ran = report(bench, arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    ran.out
}

/// The report as JSON.
pub fn json(bench: &Bench, arguments: &[&str]) -> Value {
    serde_json::from_str(&must(bench, &[arguments, &["--format", "json"]].concat())).unwrap()
}
