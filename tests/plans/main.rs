//! Plans through the binary: against proved optima, and against a checker that knows nothing of the planner.
//!
//! Optima: `tests/data/cpsat_instances.json`, found and proved with a constraint solver in two formulations (V:
//! tests/data/README.md, section 7); the analytic bound and its tightness stand there too.

mod asked;
mod checker;
mod due;
mod forecast;
mod jobs_checker;
mod laws;
mod presses;
mod published;
mod queues;
mod rests;
mod simpy;

use support::{bench, python, skipped};

use bench::Bench;
use serde_json::Value;

fn plan(text: &str, more: &[&str]) -> Value {
    let bench = Bench::new(1, 20);
    let ran = bench.run(&[&["plan", "--bench", text, "--json", "--steps"][..], more].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{text}");
    let plan = serde_json::from_str(&ran.out).unwrap();
    checker::check(text, &plan);
    plan
}

fn shop(presses: u64, garments: u64, dwell: &str) -> String {
    format!(
        "presses={presses} garments={garments} load=6 press1=15 unload=6 spray=25 roll=8 press2=40 dwell={dwell}"
    )
}

fn number(value: &Value, field: &str) -> f64 {
    value[field].as_f64().unwrap_or_else(|| panic!("{field} in {value}"))
}

fn data() -> Value {
    serde_json::from_str(include_str!("../data/cpsat_instances.json")).unwrap()
}

#[test]
fn every_proved_optimum_is_met() {
    let mut seen = 0;
    for one in data()["instances"].as_array().unwrap() {
        let dwell = if one["max_press_dwell_s"].is_null() { "free" } else { "0" };
        let (presses, garments) =
            (one["presses"].as_u64().unwrap(), one["garments"].as_u64().unwrap());
        let plan = plan(&shop(presses, garments, dwell), &[]);
        assert_eq!(number(&plan, "makespan_s"), number(one, "optimal_makespan_s"), "{}", one["id"]);
        assert!(number(&plan, "lower_bound_s") <= number(&plan, "makespan_s"));
        seen += 1;
    }
    assert_eq!(seen, 11);
}

/// The table of small shops, and no plan below its bound; none later with one press more.
#[test]
fn small_shops_meet_their_table_and_more_presses_never_finish_later() {
    let data = data();
    let mut before = std::collections::BTreeMap::new();
    let mut rows: Vec<&Value> = data["small_table_free_dwell"].as_array().unwrap().iter().collect();
    rows.sort_by_key(|row| row["presses"].as_u64());
    for row in rows {
        let (presses, garments) =
            (row["presses"].as_u64().unwrap(), row["garments"].as_u64().unwrap());
        let makespan = number(&plan(&shop(presses, garments, "free"), &[]), "makespan_s");
        assert_eq!(makespan, number(row, "makespan"), "{row}");
        let fewer = before.insert(garments, makespan).unwrap_or(f64::INFINITY);
        assert!(makespan <= fewer, "{presses} presses, {garments} garments");
    }
}

/// 57n + 43 for two presses, 57n + 31 for three: the analytic bound, tight in every case tried (V).
#[test]
fn the_analytic_bound_is_the_programs_own_and_is_met() {
    for garments in [4u64, 7, 10] {
        for (presses, more) in [(2, 43), (3, 31)] {
            let plan = plan(&shop(presses, garments, "free"), &[]);
            let bound = (57 * garments + more) as f64;
            assert_eq!(number(&plan, "lower_bound_s"), bound);
            assert_eq!(
                number(&plan, "makespan_s"),
                bound,
                "{presses} presses, {garments} garments"
            );
        }
    }
}

#[test]
fn a_second_pair_of_hands_never_finishes_later() {
    for garments in [2, 5] {
        let one = plan(&shop(2, garments, "free"), &[]);
        let two = plan(&format!("{} operators=2", shop(2, garments, "free")), &[]);
        assert!(number(&two, "makespan_s") <= number(&one, "makespan_s"));
        let saved = number(&one, "makespan_s") - number(&two, "makespan_s");
        let told = one["what_if"].as_array().unwrap().iter();
        let told = told.into_iter().find(|change| change["change"] == "one more operator").unwrap();
        assert!((number(told, "saves_s") - saved).abs() < 1e-9, "{told}");
    }
}

#[test]
fn draws_are_the_seeds_own_and_lie_about_the_plan() {
    let text = shop(2, 8, "free");
    let (one, same, other) = (
        plan(&text, &["--seed", "3"]),
        plan(&text, &["--seed", "3"]),
        plan(&text, &["--seed", "4"]),
    );
    assert_eq!(one, same);
    assert_ne!(one["finish_p50"], other["finish_p50"]);
    assert!(number(&one, "finish_p10") < number(&one, "finish_p50"));
    assert!(number(&one, "finish_p50") < number(&one, "finish_p90"));
    assert!((number(&one, "finish_p50") / number(&one, "makespan_s") - 1.0).abs() < 0.1);
}

#[test]
fn what_cannot_be_planned_is_said() {
    let bench = Bench::new(1, 20);
    for (text, words) in [
        ("presses=0 garments=2", "no heat press"),
        ("operators=0 garments=2", "no operator"),
        ("presses=two", "presses=two: expected a number"),
        ("garments=-1", "expected a number"),
        ("sprays=2", "nothing is called \"sprays\""),
        ("presses", "expected name=value"),
        ("dwell=long", "expected free, or the seconds"),
        ("garments=100000", "at most 2000"),
        ("late=-1", "expected a number"),
    ] {
        let ran = bench.run(&["plan", "--bench", text]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{text}");
        assert!(ran.err.contains(words), "{text}: {}", ran.err);
    }
    let missing = bench.run(&["plan", "nowhere.ron"]);
    assert_eq!(missing.code, 2);
}

/// Garments that come later are not begun before; the plan counts all, and is as long as they make it.
#[test]
fn garments_that_come_later_are_not_begun_before() {
    let bench = Bench::new(1, 20);
    let text = "presses=2 garments=2 late=2 late_at=1000";
    let ran = bench.run(&["plan", "--bench", text, "--steps", "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let plan: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(plan["garments"], 4);
    let first = |garment: u64| {
        let steps = plan["steps"].as_array().unwrap().iter();
        let own = steps.filter(|step| step["garment"] == garment);
        own.map(|step| number(step, "start_s")).fold(f64::INFINITY, f64::min)
    };
    assert!(first(1) < 1000.0 && first(2) < 1000.0);
    assert!(first(3) >= 1000.0 && first(4) >= 1000.0);
    // Two garments on two presses take 57n + 43 s; nothing of them can be done before they come.
    assert_eq!(number(&plan, "makespan_s"), 1000.0 + 2.0 * 57.0 + 43.0);
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, bench::order(2)).unwrap();
    let order = order.to_str().unwrap();
    let makespan = |more: &[&str]| {
        let ran = bench.run(&[&["plan", order, "--from-nothing", "--json"][..], more].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        number(&serde_json::from_str(&ran.out).unwrap(), "makespan_s")
    };
    let now = makespan(&[]);
    assert_eq!(makespan(&["--arrive", "2020-01-01T00:00"]), now);
    assert!(makespan(&["--arrive", "2099-01-01T00:00"]) > now + 1e8);
    assert_eq!(bench.run(&["plan", "--arrive", "2099-01-01T00:00"]).code, 2);
}

/// Before there is a journal there is no shop to plan: that is said. An order from a file needs none.
#[test]
fn a_shop_is_planned_with_what_it_has_under_way() {
    let bench = Bench::new(2, 20);
    let empty = bench.run(&["plan"]);
    assert_eq!((empty.code, empty.out.as_str()), (2, ""));
    assert!(empty.err.contains("no journal lies there"), "{}", empty.err);
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, bench::order(4)).unwrap();
    let order = order.to_str().unwrap();
    let ran =
        bench.run(&["plan", order, "--from-nothing", "--json", "--until", "2099-01-01T00:00"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let plan: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!((&plan["garments"], &plan["done_until"]), (&4.into(), &4.into()));
    assert!(plan["finish_p50_at"].as_str().is_some() && number(&plan, "gap") >= 0.0);
    let late =
        bench::order(4).replace("    lines:", "    due: Some(\"2020-01-01T00:00\"),\n    lines:");
    std::fs::write(order, late).unwrap();
    let ran = bench.run(&["plan", order, "--from-nothing"]);
    assert!(ran.out.contains(" is late by "), "{}", ran.out);
}

/// Garments that may lie in a press for so long are planned to lie no longer, and a stricter limit never ends sooner.
#[test]
fn no_garment_is_planned_to_lie_in_a_hot_press_beyond_its_limit() {
    let mut before = 0.0;
    for limit in ["free", "20", "10", "5", "0"] {
        let plan = plan(&shop(2, 8, limit), &[]);
        assert!(number(&plan, "makespan_s") >= before, "{limit}");
        before = number(&plan, "makespan_s");
        if let Ok(limit) = limit.parse::<f64>() {
            assert!(number(&plan, "longest_dwell_s") <= limit);
        }
    }
    // With several operators too, none of whom is in two places: the checker goes by the moves.
    for (presses, garments, limit, operators) in
        [(2, 8, "0", 2), (3, 9, "0", 2), (4, 9, "0", 3), (3, 7, "5", 2), (3, 7, "10", 3)]
    {
        let text = format!("{} operators={operators}", shop(presses, garments, limit));
        let plan = plan(&text, &[]);
        assert!(number(&plan, "longest_dwell_s") <= limit.parse::<f64>().unwrap(), "{text}");
    }
}

/// An order for which the station has no press, nobody to do it, a break with a strange length: each is said.
#[test]
fn an_order_that_nobody_or_no_press_can_do_is_said() {
    let bench = Bench::new(2, 20);
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, bench::order(4)).unwrap();
    let order = order.to_str().unwrap();
    let said = |arguments: &[&str], words: &str| {
        let ran = bench.run(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        assert!(ran.err.contains(words), "{}", ran.err);
    };
    said(&["plan", order, "--from-nothing", "--operators", "0"], "which is none");
    let station = std::fs::read_to_string(bench.station()).unwrap();
    let no_cure = station.replace("dial: ", "uses: [\"pre-press\", \"dry\"], dial: ");
    assert_ne!(no_cure, station);
    std::fs::write(bench.station(), &no_cure).unwrap();
    said(
        &["plan", order, "--from-nothing"],
        "line 1: no press of the station takes these garments for cure",
    );
    let endless =
        station.replacen("presses:", "breaks: [(at: \"12:00\", lasts: \"9h\")],\n    presses:", 1);
    std::fs::write(bench.station(), &endless).unwrap();
    said(&["plan", order, "--from-nothing"], "breaks[1].lasts");
    std::fs::write(bench.station(), endless.replace("12:00", "noon")).unwrap();
    said(&["plan", order, "--from-nothing"], "expected a time of day");
}
