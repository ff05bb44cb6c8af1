//! Checks a plan from its moves alone: nothing here is shared with the planner.

use std::collections::BTreeMap;

use serde_json::Value;

/// One move as the plan tells it.
struct Step {
    garment: u64,
    step: String,
    part: String,
    press: Option<u64>,
    operator: u64,
    start: f64,
    end: f64,
}

const HAIR: f64 = 1e-9;

/// Holds a plan of a bare problem to its rules.
pub fn check(text: &str, plan: &Value) {
    let given: BTreeMap<&str, &str> =
        text.split_whitespace().filter_map(|word| word.split_once('=')).collect();
    let seconds = |name: &str| given[name].parse::<f64>().unwrap();
    let steps: Vec<Step> = plan["steps"].as_array().unwrap().iter().map(step).collect();
    let garments: u64 = given["garments"].parse().unwrap();
    let presses: u64 = given["presses"].parse().unwrap();
    // Six moves a garment, in their order, each as long as it takes.
    for garment in 1..=garments {
        let own: Vec<&Step> = steps.iter().filter(|step| step.garment == garment).collect();
        let names: Vec<(&str, &str)> =
            own.iter().map(|step| (step.step.as_str(), step.part.as_str())).collect();
        let wanted = [
            ("press1", "load"),
            ("press1", "unload"),
            ("spray", "hand"),
            ("roll", "hand"),
            ("press2", "load"),
            ("press2", "unload"),
        ];
        assert_eq!(names, wanted, "garment {garment}");
        let takes = ["load", "unload", "spray", "roll", "load", "unload"];
        for (step, takes) in own.iter().zip(takes) {
            assert!((step.end - step.start - seconds(takes)).abs() < HAIR, "garment {garment}");
        }
        for two in own.windows(2) {
            assert!(two[0].end <= two[1].start + HAIR, "garment {garment} in two places");
        }
        for (load, unload, run) in [(0, 1, "press1"), (4, 5, "press2")] {
            let stays = own[unload].start - own[load].end - seconds(run);
            assert!(stays >= -HAIR, "garment {garment} came out early");
            let may_stay = given["dwell"].parse().unwrap_or(f64::INFINITY);
            assert!(stays <= may_stay + HAIR, "garment {garment} stayed in for {stays} s");
            assert_eq!(own[load].press, own[unload].press);
            assert!((1..=presses).contains(&own[load].press.unwrap()));
        }
    }
    assert_eq!(steps.len() as u64, garments * 6);
    // Nobody does two things at once.
    let mut by_operator: BTreeMap<u64, Vec<(f64, f64)>> = BTreeMap::new();
    for step in &steps {
        by_operator.entry(step.operator).or_default().push((step.start, step.end));
    }
    let allowed = given.get("operators").map_or(1, |text| text.parse().unwrap());
    assert!(by_operator.keys().all(|no| (1..=allowed).contains(no)));
    by_operator.into_values().for_each(apart);
    // No press holds two garments.
    for press in 1..=presses {
        let on_it: Vec<&Step> = steps.iter().filter(|step| step.press == Some(press)).collect();
        let loads = on_it.iter().filter(|step| step.part == "load");
        let held = loads.map(|load| {
            let out = on_it.iter().find(|other| {
                other.garment == load.garment && other.step == load.step && other.part == "unload"
            });
            (load.start, out.unwrap().end)
        });
        apart(held.collect());
    }
    let last = steps.iter().map(|step| step.end).fold(0.0, f64::max);
    assert!((plan["makespan_s"].as_f64().unwrap() - last).abs() < HAIR);
}

fn apart(mut spans: Vec<(f64, f64)>) {
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    for two in spans.windows(2) {
        assert!(two[0].1 <= two[1].0 + HAIR, "{two:?} overlap");
    }
}

fn step(value: &Value) -> Step {
    let text = |name: &str| value[name].as_str().unwrap().to_owned();
    Step {
        garment: value["garment"].as_u64().unwrap(),
        step: text("step"),
        part: text("part"),
        press: value["press"].as_u64(),
        operator: value["operator"].as_u64().unwrap(),
        start: value["start_s"].as_f64().unwrap(),
        end: value["end_s"].as_f64().unwrap(),
    }
}
