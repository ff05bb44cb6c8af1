//! What a forecast knows of each press and of each operator: the steps that it serves, the heat that it is set to, whether
//! it is hot; how quick the hands are.

use dwell::forecast::dispatch;
use dwell::forecast::habit::Habit;
use dwell::forecast::outlook::Finish;
use dwell::forecast::plan::{Dwell, Group, Kind, Phase, Problem};
use dwell::forecast::workload;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::morning::HeatWord;
use dwell::shop::rules::command::Command;
use serde_json::Value;
use support::world::{World, line, order, station};

use crate::bench::{self, Bench};
use crate::number;

/// A bench with an order of so many garments in a file of its own, made to a recipe.
fn file(bench: &Bench, name: &str, garments: u32, recipe: &str) -> String {
    let path = bench.root.path().join(format!("{name}.ron"));
    std::fs::write(&path, bench::order(garments).replace("\"quick\"", recipe)).unwrap();
    path.to_str().unwrap().to_owned()
}

fn plan(bench: &Bench, words: &[&str]) -> Value {
    let ran = bench.run(&[&["plan", "--from-nothing", "--json"], words].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{words:?}");
    serde_json::from_str(&ran.out).unwrap()
}

/// Of three presses one cures, and nothing else does: all cures go through it one after the other, whatever the others do.
#[test]
fn what_one_press_alone_serves_goes_through_that_press() {
    const GARMENTS: u32 = 24;
    let bench = Bench::new(3, 20);
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    let (head, cure) = recipe.split_once("cure: (").unwrap();
    let long = cure.replacen("\"20s\"", "\"200s\"", 1).replacen("\"120s\"", "\"300s\"", 1);
    assert_ne!(long, cure);
    std::fs::write(bench.recipe(), format!("{head}cure: ({long}")).unwrap();
    let order = file(&bench, "order", GARMENTS, "\"quick\"");
    // Neither hands nor printers hold anything back.
    let ask = [order.as_str(), "--printers", "5", "--operators", "4"];
    let shared = plan(&bench, &ask);
    let station = std::fs::read_to_string(bench.station()).unwrap();
    let mut station: Vec<String> = station.split("dial: ").map(str::to_owned).collect();
    let uses = ["\"pre-press\", \"dry\"", "\"pre-press\", \"dry\"", "\"cure\""];
    for (before, uses) in station.iter_mut().zip(uses) {
        *before += &format!("uses: [{uses}], ");
    }
    std::fs::write(bench.station(), station.join("dial: ")).unwrap();
    let apart = plan(&bench, &ask);
    // A cure of 200 s, and its loading and unloading of 6 s each, learned from nothing.
    let cures = f64::from(GARMENTS) * 212.0;
    let [shared, p10] = [number(&shared, "finish_p50"), number(&apart, "finish_p10")];
    assert!(shared < 0.7 * cures, "{shared}, and {cures} for the cures alone");
    // The band of a shop without any history is wide.
    assert!(p10 > 0.8 * cures && number(&apart, "finish_p50") > cures, "{p10} of {cures}");
    // A press more serves all of it, and two of them alone cannot cure.
    let more = plan(&bench, &[&ask[..], &["--presses", "4"]].concat());
    assert!(number(&more, "finish_p50") < 0.8 * cures, "{more}");
    let ran = bench.run(&["plan", "--from-nothing", &order, "--presses", "2"]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("no press is there that serves cure"), "{}", ran.err);
}

/// The only press is turned to another heat once, between the orders, and cools for 20 s a degree (from memory).
#[test]
fn a_press_that_is_turned_to_another_heat_settles_first() {
    let bench = Bench::new(1, 20);
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    let cool = recipe.replace("set_point: \"340 F\"", "set_point: \"280 F\"");
    assert_ne!(cool, recipe);
    let keep = |text: &str| {
        std::fs::write(bench.profiles().join("recipes/cool.ron"), text).unwrap();
    };
    let orders = [file(&bench, "one", 12, "\"quick\""), file(&bench, "two", 12, "\"cool\"")];
    let words: Vec<&str> = orders.iter().map(String::as_str).collect();
    keep(&recipe);
    let alike = plan(&bench, &words);
    keep(&cool);
    let other = plan(&bench, &words);
    let settles = (340.0 - 280.0) / 1.8 * 20.0;
    let later = number(&other, "finish_p50") - number(&alike, "finish_p50");
    assert!(
        (0.7 * settles..1.6 * settles).contains(&later),
        "{later} s later, {settles} s to settle"
    );
}

/// The plan turns the only press once, between the orders, and lays nothing into it before it has settled; where only one press
/// serves a step, the plan lays all of it in there. By the moves alone.
#[test]
fn a_plan_batches_by_heat_and_waits_for_the_press_to_settle() {
    let bench = Bench::new(1, 20);
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    let cool = recipe.replace("set_point: \"340 F\"", "set_point: \"280 F\"");
    std::fs::write(bench.profiles().join("recipes/cool.ron"), cool).unwrap();
    let orders = [file(&bench, "one", 6, "\"cool\""), file(&bench, "two", 6, "\"quick\"")];
    // Neither hands nor printers hold the press back.
    let more = ["--steps", "--printers", "5", "--operators", "3"];
    let ask = [&[orders[0].as_str(), &orders[1]][..], &more].concat();
    let own = plan(&bench, &ask);
    turned_once(&own);
    assert_eq!(own["left_out"].as_array().unwrap().len(), 1);
    // What is drawn keeps to it too, whatever hands take.
    for draw in ["1", "2", "30"] {
        turned_once(&plan(&bench, &[&ask[..], &["--drawn", draw]].concat()));
    }
    // No plan ends sooner than the settling lets it: 33 degrees Celsius are cooled by.
    let alike = [orders[1].as_str(), &file(&bench, "three", 6, "\"quick\"")];
    let alike = plan(&bench, &[&alike[..], &more].concat());
    let bound = |plan: &Value| number(plan, "lower_bound_s");
    let cooled = 20.0 * 60.0 / 1.8;
    assert!(bound(&own) > bound(&alike) + 0.9 * cooled, "{}, {}", bound(&own), bound(&alike));
    assert!(bound(&own) <= number(&own, "makespan_s"));
}

/// Of a plan in which garments 1 to 6 want 280 F, the others 340 F, at which the press stands.
fn turned_once(plan: &Value) {
    let mut pressed: Vec<&Value> =
        plan["steps"].as_array().unwrap().iter().filter(|step| step["press"] == 1).collect();
    pressed.sort_by(|one, other| number(one, "start_s").total_cmp(&number(other, "start_s")));
    let heat = |step: &Value| if step["garment"].as_u64().unwrap() <= 6 { 280.0 } else { 340.0 };
    let (mut dial, mut empty, mut turned): (f64, f64, usize) = (340.0, 0.0, 0);
    for step in pressed {
        if step["part"] == "unload" {
            empty = number(step, "end_s");
            continue;
        }
        let wanted = heat(step);
        let degrees = (wanted - dial) / 1.8;
        // It cools for 20 s a degree Celsius and heats for 6 s (from memory).
        let settles = if degrees < 0.0 { -20.0 * degrees } else { 6.0 * degrees };
        let start = number(step, "start_s");
        assert!(start >= empty + settles - 5.0, "{step}: empty at {empty}, settles {settles} s");
        assert_eq!(step["turned_to_c"].is_null(), wanted == dial, "{step}");
        turned += usize::from(wanted != dial);
        dial = wanted;
    }
    assert_eq!(turned, 1, "{plan}");
}

#[test]
fn a_plan_lays_a_step_only_where_it_is_served() {
    let bench = Bench::new(3, 20);
    let station = std::fs::read_to_string(bench.station()).unwrap();
    let mut station: Vec<String> = station.split("dial: ").map(str::to_owned).collect();
    let uses = ["\"pre-press\", \"dry\"", "\"dry\"", "\"cure\""];
    for (before, uses) in station.iter_mut().zip(uses) {
        *before += &format!("uses: [{uses}], ");
    }
    std::fs::write(bench.station(), station.join("dial: ")).unwrap();
    let order = file(&bench, "order", 12, "\"quick\"");
    let ask = [order.as_str(), "--steps", "--operators", "2"];
    for drawn in [&[][..], &["--drawn", "1"], &["--drawn", "7"]] {
        let plan = plan(&bench, &[&ask[..], drawn].concat());
        for step in plan["steps"].as_array().unwrap() {
            let served: &[u64] = match step["step"].as_str().unwrap() {
                "pre-press" => &[1],
                "dry" => &[1, 2],
                "cure" => &[3],
                _ => continue,
            };
            assert!(served.contains(&step["press"].as_u64().unwrap()), "{drawn:?}: {step}");
        }
        assert_eq!(plan["left_out"].as_array().unwrap().len(), 0);
    }
}

/// Presses that were just switched on heat for 15 min and soak for 20 (from memory): nothing is pressed before.
#[test]
fn nothing_is_foreseen_in_presses_that_are_cold() {
    let mut world = World::new(station(2));
    world.must(order(vec![line(20, "light-cotton")]));
    let finish = |world: &World| -> Finish {
        let work = workload::of_shop(&world.shop, world.now).unwrap();
        Habit::of(&work.past).finish(&work.problem, 1)
    };
    let hot = finish(&world);
    for press in [None, Some(PressNo(1))] {
        world.must(Command::SayHeat { press, said: HeatWord::On });
        let later = finish(&world).p50 - hot.p50;
        assert!((0.95 * 2100.0..1.05 * 2100.0).contains(&later), "{later}");
    }
    world.must(Command::SayHeat { press: Some(PressNo(2)), said: HeatWord::UsedNow });
    let one = finish(&world);
    assert!(one.p50 < hot.p50 + 1500.0, "{one:?} with one press hot, {hot:?} with both");
}

/// Of thirty garments that take usual hands 10 s each, those who are twice as slow as usual do ten while usual ones do
/// twenty.
#[test]
fn each_operator_is_as_quick_as_the_own_hands() {
    let spray = Phase::Hand { name: "spray", takes: 10_000 };
    let problem = |operators: usize, paces: &[i64]| Problem {
        presses: 0,
        printers: 0,
        operators,
        dwell: Dwell::Unlimited,
        kinds: vec![Kind::new(vec![spray], 30)],
        begun: Vec::new(),
        stands: Vec::new(),
        paces: paces.to_vec(),
    };
    assert_eq!(dispatch::makespan(&problem(1, &[2000])), 600_000);
    assert_eq!(dispatch::makespan(&problem(2, &[2000, 1000])), 200_000);
    // One more than are known is as quick as usual.
    assert_eq!(dispatch::makespan(&problem(2, &[1000])), 150_000);
}

/// A machine is held until hands have taken its garment out: no others lay one in meanwhile.
#[test]
fn a_machine_is_held_until_its_garment_is_out() {
    for group in [Group::Press, Group::Printer] {
        let phase = Phase::Machine {
            name: "held",
            group,
            load: 10_000,
            run: 10_000,
            unload: 10_000,
            rest: 0,
        };
        let problem = Problem {
            presses: 1,
            printers: 1,
            operators: 2,
            dwell: Dwell::Unlimited,
            kinds: vec![Kind::new(vec![phase], 2)],
            begun: Vec::new(),
            stands: Vec::new(),
            paces: Vec::new(),
        };
        assert_eq!(dispatch::makespan(&problem), 60_000, "{group:?}");
    }
}
