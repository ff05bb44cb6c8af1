//! What a plan costs and how good it is: `cargo bench --bench plan`; `-- command` for `dwell plan` alone.
//!
//! The optima are those of `tests/data/cpsat_instances.json`, proved by a constraint solver
//! (tests/data/README.md, section 7), and those of the published job shops; beside 200 garments stands the program's own lower bound.
//! The simulation's yardstick is SimPy (PyPI) on the same model, `tests/plans/shop_in_simpy.py`, in the same run.

use support::{bench, python};

use std::process::Command;
use std::time::Instant;

use dwell::forecast::jobshop::{EFFORT, Millis, Run, seconds, text};
use dwell::forecast::outlook;
use dwell::forecast::plan::{Dwell, Group, Kind, Phase, Problem, THOROUGH};
use dwell::shop::books::hands::SCATTER;

fn problem(presses: usize, garments: usize, dwell: Dwell) -> Problem {
    let machine = |name, run| Phase::Machine {
        name,
        group: Group::Press,
        load: 6000,
        run,
        unload: 6000,
        rest: 0,
    };
    let hand = |name, takes| Phase::Hand { name, takes };
    let route = vec![
        machine("press1", 15_000),
        hand("spray", 25_000),
        hand("roll", 8000),
        machine("press2", 40_000),
    ];
    let kinds = vec![Kind::new(route, garments)];
    Problem {
        presses,
        printers: 0,
        operators: 1,
        dwell,
        kinds,
        begun: Vec::new(),
        stands: Vec::new(),
        paces: Vec::new(),
    }
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
    if std::env::args().any(|word| word == "command") {
        return whole_command();
    }
    proved();
    shared_out();
    whole_command();
    published();
    println!("\nSimulation");
    simulation();
}

/// The shops with a proved optimum, and a long order.
fn proved() {
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../../data/cpsat_instances.json")).unwrap();
    let (mut worst, mut slowest) = (0.0f64, 0.0f64);
    for one in data["instances"].as_array().unwrap() {
        let count = |name: &str| usize::try_from(one[name].as_u64().unwrap()).unwrap();
        let dwell = if one["max_press_dwell_s"].is_null() { Dwell::Unlimited } else { Dwell::None };
        let problem = problem(count("presses"), count("garments"), dwell);
        let started = Instant::now();
        let plan = problem.best(THOROUGH).unwrap();
        slowest = slowest.max(started.elapsed().as_secs_f64() * 1e3);
        let best = one["optimal_makespan_s"].as_f64().unwrap();
        worst = worst.max(seconds(plan.makespan) / best - 1.0);
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
    let problem = problem(3, 200, Dwell::Unlimited);
    let started = Instant::now();
    let plan = problem.best(THOROUGH).unwrap();
    let took = started.elapsed().as_secs_f64();
    let gap = seconds(plan.makespan) / seconds(problem.lower_bound()) - 1.0;
    let beside = format!("{:.2} % over its bound; at most 3 %, 1 s", gap * 100.0);
    row(
        "200 garments, 3 presses",
        &format!("{:.0} ms", took * 1e3),
        &beside,
        gap <= 0.03 && took <= 1.0,
    );
}

/// Shops in which the beam alone leaves something: what the local search makes of them.
fn shared_out() {
    let (mut alone, mut both, mut bounds, mut slowest) = (0.0, 0.0, 0.0, 0.0f64);
    for (presses, operators, garments) in
        [(3, 2, 12), (2, 2, 12), (4, 2, 20), (3, 2, 40), (4, 3, 12), (5, 3, 30)]
    {
        let problem = Problem { operators, ..problem(presses, garments, Dwell::Unlimited) };
        let widest = 400;
        let beam = (1..=presses)
            .filter_map(|presses| Problem { presses, ..problem.clone() }.plan(widest).ok())
            .map(|plan| plan.makespan)
            .min();
        let started = Instant::now();
        let plan = problem.best(THOROUGH).unwrap();
        slowest = slowest.max(started.elapsed().as_secs_f64());
        alone += seconds(beam.unwrap());
        both += seconds(plan.makespan);
        bounds += seconds(problem.lower_bound());
    }
    let beside = format!(
        "over their bounds in sum; the widest beam alone {:.1} %; the slowest took {:.0} ms",
        (alone / bounds - 1.0) * 100.0,
        slowest * 1e3
    );
    let over = format!("{:.1} %", (both / bounds - 1.0) * 100.0);
    row("six shops with two or three operators", &over, &beside, both <= alone);
}

/// Presses that are not alike: one whose platen is too small for the print, one that serves cures alone, at its own heat.
const NOT_ALIKE: &str = "(name: \"Left\", dial: \"340 F\", size: \"16 in x 20 in\"),
        (name: \"Right\", dial: \"340 F\", size: \"16 in x 20 in\"),
        (name: \"Small\", dial: \"340 F\", size: \"9 in x 12 in\"),
        (name: \"Cure\", dial: \"320 F\", uses: [\"cure\"]),";

/// `dwell plan` of orders from files: plan, forecast and what would help, the whole process; the profiles as shipped, and
/// with presses that are not alike.
fn whole_command() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let run = |profiles: &str, words: &[&str]| {
        let started = Instant::now();
        let ran = Command::new(env!("CARGO_BIN_EXE_dwell"))
            .env("DWELL_PROFILES", path(profiles))
            .env("DWELL_DATA", path("data"))
            .args(words)
            .output()
            .unwrap();
        assert!(ran.status.success(), "{words:?}: {}", String::from_utf8_lossy(&ran.stderr));
        (started.elapsed().as_secs_f64(), ran.stdout)
    };
    for profiles in ["alike", "not alike"] {
        run(profiles, &["profiles", "--write", &path(profiles)]);
    }
    let station = path("not alike/station.ron");
    let text = std::fs::read_to_string(&station).unwrap();
    let (head, rest) = text.split_once("(name: \"Left\"").unwrap();
    let (_, tail) = rest.split_once("(name: \"Right\", dial: \"340 F\"),").unwrap();
    std::fs::write(&station, format!("{head}{NOT_ALIKE}{tail}")).unwrap();
    let mut first: Option<f64> = None;
    for (garments, most) in [(200, 1.0), (1000, 5.0)] {
        let half = garments / 2;
        // A blend is pressed cooler than dark cotton: a press is to be turned, and the plan waits for it to settle.
        let cases = [
            (vec![(garments, "dark-cotton")], "alike", "one heat"),
            (vec![(half, "dark-cotton"), (half, "blend")], "alike", "two heats"),
            (vec![(garments, "dark-cotton")], "not alike", "presses not alike"),
            (vec![(half, "dark-cotton"), (half, "blend")], "not alike", "two heats, not alike"),
        ];
        for (orders, profiles, what) in cases {
            let file = |(no, (garments, recipe)): (usize, &(u32, &str))| {
                let order = path(&format!("{no}.ron"));
                let recipe = format!("\"{recipe}\", print: Some(\"12 in x 14 in\")");
                let text = bench::order(*garments).replace("\"quick\"", &recipe);
                std::fs::write(&order, text).unwrap();
                order
            };
            let files: Vec<String> = orders.iter().enumerate().map(file).collect();
            let mut words = vec!["plan", "--from-nothing", "--json"];
            words.extend(files.iter().map(String::as_str));
            let runs: Vec<(f64, Vec<u8>)> = (0..3).map(|_| run(profiles, &words)).collect();
            let told: serde_json::Value = serde_json::from_slice(&runs[0].1).unwrap();
            let mut took: Vec<f64> = runs.iter().map(|run| run.0).collect();
            took.sort_by(f64::total_cmp);
            let took = took[1];
            let beside = match first {
                Some(plain) => format!("{:.1}x of the first; ", took / plain),
                None => String::new(),
            };
            first.get_or_insert(took);
            let gap = told["gap"].as_f64().unwrap();
            row(
                &format!("dwell plan, {garments} garments, {what}"),
                &format!("{:.0} ms", took * 1e3),
                &format!("{beside}{gap:.1} % over its bound; at most {most:.0} s"),
                took <= most,
            );
        }
    }
}

fn published() {
    for (name, text, best, most) in [
        ("ft06", include_str!("../../data/ft06.txt"), 55, 55),
        ("mk01", include_str!("../../data/mk01.txt"), 40, 40),
        ("mk02, still open", include_str!("../../data/mk02.txt"), 26, 26),
        ("Kacem k1", include_str!("../../data/kacem_k1.txt"), 11, 11),
        ("Fattahi sfjs01", include_str!("../../data/fattahi_sfjs01.txt"), 66, 66),
        ("Fattahi sfjs09", include_str!("../../data/fattahi_sfjs09.txt"), 210, 210),
        ("Fattahi mfjs01", include_str!("../../data/fattahi_mfjs01.txt"), 468, 468),
    ] {
        let instance = text::read(text).unwrap().instance;
        let mut run = Run::<Millis>::new(&instance);
        let mut made = |work| {
            let started = Instant::now();
            let schedule = instance.solve(work, 1).unwrap();
            let took = started.elapsed().as_secs_f64();
            assert!(run.go(&instance, &schedule, |number| schedule.takes(number)));
            (run.makespan / 1000, took)
        };
        let (little, quick) = made(EFFORT);
        let (whole, long) = made(10 * EFFORT);
        let beside = format!(
            "in {long:.2} s; {little} in {quick:.2} s; best known {best}, own bound {}",
            instance.lower_bound() / 1000
        );
        row(name, &whole.to_string(), &beside, whole <= most);
    }
}

/// Drawn shifts of 200 garments, beside the same model in SimPy.
fn simulation() {
    const GARMENTS: usize = 200;
    let problem = problem(3, GARMENTS, Dwell::Unlimited);
    let plan = problem.best(THOROUGH).unwrap();
    let mut took = Vec::new();
    for seed in 0..21 {
        let started = Instant::now();
        outlook::by_plan(&problem, &plan, SCATTER, seed);
        took.push(started.elapsed().as_secs_f64());
    }
    took.sort_by(f64::total_cmp);
    let median = took[10];
    let figure = format!("{:.0} ms", median * 1e3);
    row("a thousand drawn shifts of 200 garments", &figure, "at most 300 ms", median <= 0.3);
    let Some(python) = python::python() else {
        println!("  SKIPPED: no python3 with simpy");
        return;
    };
    let text = format!("presses=3 garments={GARMENTS}");
    let told = Command::new(env!("CARGO_BIN_EXE_dwell"))
        .args(["plan", "--steps", "--json", "--bench", &text])
        .output()
        .unwrap();
    let told = serde_json::from_slice(&told.stdout).unwrap();
    let theirs = python::simpy(&python, "speed", &told)["garments_per_s"].as_f64().unwrap();
    let ours = (outlook::DRAWS * GARMENTS) as f64 / median;
    let beside = format!("{ours:.0} garments a second beside {theirs:.0}; at least 300x");
    row("beside SimPy", &format!("{:.0}x", ours / theirs), &beside, ours >= 300.0 * theirs);
}
