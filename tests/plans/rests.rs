//! A garment that rests between its press and its print: in the plan, in the forecast and in a made-up shift.

use std::collections::BTreeMap;
use std::sync::Arc;

use dwell::figures::units::Span;
use dwell::forecast::operator::{Operator, Turn};
use dwell::shop::facts::fact::Fact;
use dwell::shop::facts::ids::Tag;
use dwell::shop::facts::moment::Moment;
use dwell::shop::facts::recipe::Recipe;
use dwell::shop::facts::step::Step;
use dwell::shop::rules::command::Command;
use serde_json::Value;
use support::world::{World, line, order, station};

use crate::bench::{self, Bench};
use crate::number;

const REST_S: f64 = 600.0;

/// A recipe whose garments rest before their print.
const RESTS: [&str; 2] = ["cure: (", "rest: Some(\"10min\"),\n    cure: ("];

/// The plan of an order of so many, by a recipe in which some words stand for others.
fn plan(garments: u32, words: Option<[&str; 2]>) -> Value {
    let bench = Bench::new(2, 20);
    let mut recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    if let Some([from, to]) = words {
        assert!(recipe.contains(from), "{recipe}");
        recipe = recipe.replacen(from, to, 1);
    }
    std::fs::write(bench.recipe(), recipe).unwrap();
    let path = bench.root.path().join("order.ron");
    std::fs::write(&path, bench::order(garments)).unwrap();
    let order = path.to_str().unwrap();
    let ran = bench.run(&["plan", "--from-nothing", "--json", "--steps", order]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    serde_json::from_str(&ran.out).unwrap()
}

/// One garment takes longer by its rest, in the plan and in the forecast; of several each rests, by the moves alone.
#[test]
fn a_garment_rests_in_the_plan_and_in_the_forecast() {
    let [plain, rested] = [None, Some(RESTS)].map(|words| plan(1, words));
    let longer = |field: &str| number(&rested, field) - number(&plain, field);
    assert!((longer("makespan_s") - REST_S).abs() < 1e-6, "{}", longer("makespan_s"));
    assert!((longer("lower_bound_s") - REST_S).abs() < 1e-6, "{}", longer("lower_bound_s"));
    let foreseen = longer("finish_p50");
    assert!((0.9 * REST_S..1.1 * REST_S).contains(&foreseen), "{foreseen}");
    let several = plan(8, Some(RESTS));
    let steps = several["steps"].as_array().unwrap();
    let of = |garment: u64, name: &str, part: &str| {
        let its = |step: &&Value| {
            step["garment"] == garment && step["step"] == name && step["part"] == part
        };
        steps.iter().find(its).unwrap_or_else(|| panic!("{garment} {name} {part}"))
    };
    for garment in 1..=8 {
        let dried = number(of(garment, "dry", "unload"), "end_s");
        let printed = number(of(garment, "print", "load"), "start_s");
        assert!(printed - dried >= REST_S - 1e-6, "garment {garment}: {dried} to {printed}");
    }
}

/// A hover and a lift are seconds in which the press is held.
#[test]
fn a_hover_and_a_lift_count_in_the_plan_and_in_the_forecast() {
    let shaped =
        ["cover: PtfeSheet", "cover: PtfeSheet, hover: Some(\"50s\"), lift: Some(\"40s\")"];
    let [plain, shaped] = [None, Some(shaped)].map(|words| plan(1, words));
    let longer = |field: &str| number(&shaped, field) - number(&plain, field);
    assert!((longer("makespan_s") - 90.0).abs() < 1e-6, "{}", longer("makespan_s"));
    assert!((80.0..100.0).contains(&longer("finish_p50")), "{}", longer("finish_p50"));
}

/// In a made-up shift nobody lays a garment into the printer before it has rested, and all come to their end.
#[test]
fn a_garment_rests_in_a_made_up_shift() {
    let mut world = World::new(station(2));
    world.must(Command::ReadCaution);
    let mut recipe = Recipe::clone(world.shop.recipes().named("dark-cotton").unwrap());
    recipe.rest = Some(Span::seconds(600));
    let (name, recipe) = ("dark-cotton".to_owned(), Arc::new(recipe));
    world.must(Command::KeepRecipe { name, recipe });
    world.must(order(vec![line(6, "dark-cotton")]));
    let mut operator = Operator::new(5);
    let mut dried: BTreeMap<Tag, Moment> = BTreeMap::new();
    let mut printed = 0;
    for _ in 0..20_000 {
        match operator.turn(&world.shop, world.now) {
            Turn::Act(command) => {
                for event in world.say(&command).unwrap_or_default() {
                    match &event.fact {
                        Fact::PressOpened(opened) if opened.step == Step::Dry => {
                            dried.insert(opened.garment, event.moment);
                        }
                        Fact::Printed(fact) => {
                            let rested = event.moment.since(dried[&fact.garment]).seconds();
                            assert!(rested >= REST_S, "{} after {rested} s", fact.garment);
                            printed += 1;
                        }
                        _ => {}
                    }
                }
            }
            Turn::Until(moment) => world.now = moment,
            Turn::Done => break,
        }
    }
    assert!(printed >= 6, "{printed} printed");
}

/// A shift in which nothing can be finished for hours is left with words, not gone on with for ever: its garments rest for a
/// day before their print.
#[test]
fn a_shift_that_is_stuck_ends_with_words() {
    let bench = Bench::new(2, 20);
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    let rested = recipe.replacen("cure: (", "rest: Some(\"1day\"),\n    cure: (", 1);
    std::fs::write(bench.recipe(), rested).unwrap();
    let ran = bench.run(&["rehearse", "--headless", "--json", "--garments", "3"]);
    assert_eq!(ran.code, 1, "{}{}", ran.out, ran.err);
    let summary: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(number(&summary, "stuck"), 3.0, "{summary}");
    let words =
        "nothing was finished for 4 h while 3 garments are under way: the rehearsal ends there";
    assert!(ran.err.contains(words), "{}", ran.err);
}
