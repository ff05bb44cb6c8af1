//! What a plan costs and how good it is: `cargo bench --bench plan`.
//!
//! The optima are those of `tests/data/cpsat_instances.json`, proved by a constraint solver (reference values,
//! section 7); beside 200 garments stands the program's own lower bound.

use std::time::Instant;

use dwell::forecast::habit::Habit;
use dwell::forecast::outlook;
use dwell::forecast::plan::{Dwell, Group, Kind, Phase, Problem, THOROUGH};

fn problem(presses: usize, garments: usize, dwell: Dwell) -> Problem {
    let machine =
        |name, run| Phase::Machine { name, group: Group::Press, load: 6000, run, unload: 6000 };
    let hand = |name, takes| Phase::Hand { name, takes };
    let route = vec![
        machine("press1", 15_000),
        hand("spray", 25_000),
        hand("roll", 8000),
        machine("press2", 40_000),
    ];
    let kinds = vec![Kind { route, count: garments }];
    Problem { presses, printers: 0, operators: 1, dwell, kinds, begun: Vec::new() }
}

fn row(what: &str, figure: &str, beside: &str, kept: bool) {
    let over = if kept { "" } else { "   OVER" };
    println!("  {what:<52} {figure:>10}   {beside}{over}");
}

fn main() {
    if !std::env::args().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench plan");
        return;
    }
    println!("\nPlans");
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../../data/cpsat_instances.json")).unwrap();
    let (mut worst, mut slowest) = (0.0f64, 0.0f64);
    for one in data["instances"].as_array().unwrap() {
        let count = |name: &str| usize::try_from(one[name].as_u64().unwrap()).unwrap();
        let dwell = if one["max_press_dwell_s"].is_null() { Dwell::Free } else { Dwell::None };
        let problem = problem(count("presses"), count("garments"), dwell);
        let started = Instant::now();
        let plan = problem.best(THOROUGH).unwrap();
        slowest = slowest.max(started.elapsed().as_secs_f64() * 1e3);
        let best = one["optimal_makespan_s"].as_f64().unwrap();
        worst = worst.max(outlook::seconds(plan.makespan) / best - 1.0);
    }
    let beside = format!(
        "the worst of 11 is {:.2} % over its proved optimum; at most 1 %, 200 ms",
        worst * 100.0
    );
    row(
        "the slowest of the proved problems",
        &format!("{slowest:.0} ms"),
        &beside,
        worst <= 0.01 && slowest <= 200.0,
    );
    let problem = problem(3, 200, Dwell::Free);
    let started = Instant::now();
    let plan = problem.best(THOROUGH).unwrap();
    let took = started.elapsed().as_secs_f64();
    let gap = outlook::seconds(plan.makespan) / outlook::seconds(problem.lower_bound()) - 1.0;
    let beside = format!("{:.2} % over its bound; at most 3 %, 1 s", gap * 100.0);
    row(
        "200 garments, 3 presses",
        &format!("{:.0} ms", took * 1e3),
        &beside,
        gap <= 0.03 && took <= 1.0,
    );
    let started = Instant::now();
    outlook::finish(&problem, &plan, &Habit::default(), 1);
    let took = started.elapsed().as_secs_f64() * 1e3;
    row("a thousand draws of that plan", &format!("{took:.0} ms"), "at most 300 ms", took <= 300.0);
}
