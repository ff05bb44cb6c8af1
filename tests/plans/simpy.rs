//! The shop's simulation against SimPy (PyPI), move by move, where Python has it; and Little's law of drawn shifts.

use serde_json::Value;

use crate::bench::Bench;
use crate::python::{python, simpy};
use crate::skipped::skipped;

fn drawn(text: &str, no: u32) -> Value {
    let bench = Bench::new(1, 20);
    let no = no.to_string();
    let ran =
        bench.run(&["plan", "--bench", text, "--steps", "--drawn", &no, "--seed", "5", "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{text}");
    serde_json::from_str(&ran.out).unwrap()
}

const SHOPS: [&str; 5] = [
    "presses=2 garments=8",
    "presses=1 garments=4",
    "presses=3 garments=6 operators=2",
    "presses=3 garments=5 operators=3 press1=50 press2=30",
    "presses=3 garments=4 operators=2 late=4 late_at=300",
];

/// The same moves in the same order with the same drawn times end at the same moments, to a millionth of a second.
#[test]
fn simpy_finishes_each_move_at_the_same_moment() {
    let Some(python) = python() else {
        return skipped("no python3 here has SimPy; install it into a venv at target/simpy");
    };
    for text in SHOPS {
        for no in [1, 700] {
            let mut plan = drawn(text, no);
            if text.contains("late=") {
                for garment in 5..=8 {
                    plan["arrivals"][garment.to_string()] = 300.0.into();
                }
            }
            let answer = simpy(&python, "finish", &plan);
            let ends: Vec<f64> = serde_json::from_value(answer).unwrap();
            let steps = plan["steps"].as_array().unwrap();
            assert_eq!(ends.len(), steps.len());
            for (end, step) in ends.iter().zip(steps) {
                let own = step["end_s"].as_f64().unwrap();
                assert!((end - own).abs() < 1e-6, "{text}, draw {no}: {end} and {step}");
            }
        }
    }
}

/// Garments between their first move and their last: the mean number there, by counting, is rate times mean stay.
#[test]
fn drawn_shifts_keep_littles_law() {
    for text in SHOPS {
        for no in [2, 1000] {
            let plan = drawn(text, no);
            let mut stays: std::collections::BTreeMap<u64, (f64, f64)> = Default::default();
            for step in plan["steps"].as_array().unwrap() {
                let (start, end) =
                    (step["start_s"].as_f64().unwrap(), step["end_s"].as_f64().unwrap());
                let stay = stays.entry(step["garment"].as_u64().unwrap()).or_insert((start, end));
                *stay = (stay.0.min(start), stay.1.max(end));
            }
            let mut changes: Vec<(f64, f64)> =
                stays.values().flat_map(|(from, to)| [(*from, 1.0), (*to, -1.0)]).collect();
            changes.sort_by(|a, b| a.0.total_cmp(&b.0));
            let last = changes.last().unwrap().0;
            let (mut number, mut before, mut area) = (0.0, 0.0, 0.0);
            for (at, change) in changes {
                area += number * (at - before);
                (number, before) = (number + change, at);
            }
            let count = stays.len() as f64;
            let stay = stays.values().map(|(from, to)| to - from).sum::<f64>() / count;
            assert!((area / last / (count / last * stay) - 1.0).abs() < 1e-9, "{text}, draw {no}");
        }
    }
}

/// A draw is one of those that the finish times are made of: of a thousand, half end by the median.
#[test]
fn draws_are_those_of_the_finish_times() {
    let text = "presses=2 garments=3";
    let end = |no| {
        let plan = drawn(text, no);
        let steps = plan["steps"].as_array().unwrap().iter();
        (
            plan["finish_p50"].as_f64().unwrap(),
            steps.map(|s| s["end_s"].as_f64().unwrap()).fold(0.0, f64::max),
        )
    };
    let ends: Vec<(f64, f64)> = (1..=40).map(end).collect();
    let under = ends.iter().filter(|(median, end)| end <= median).count();
    assert!((8..=32).contains(&under), "{under} of 40");
    let bench = Bench::new(1, 20);
    for bad in ["0", "1001", "x"] {
        assert_eq!(bench.run(&["plan", "--bench", text, "--steps", "--drawn", bad]).code, 2);
    }
}
