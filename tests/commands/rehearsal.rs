//! The made-up shift: the same seed twice, its summary, its journal, and where it never goes.

use std::path::Path;

use serde_json::Value;

use crate::bench::{Bench, Ran};
use crate::pty::Pty;

/// A bench whose profiles are the ones built in, which the scenario's orders go by.
fn bench() -> Bench {
    let bench = Bench::new(2, 20);
    std::fs::remove_dir_all(bench.profiles()).unwrap();
    std::fs::create_dir(bench.profiles()).unwrap();
    bench
}

fn rehearse(bench: &Bench, seed: &str, data: Option<&Path>) -> Ran {
    let mut arguments = vec![
        "rehearse",
        "--headless",
        "--garments",
        "12",
        "--presses",
        "3",
        "--json",
        "--seed",
        seed,
    ];
    if let Some(data) = data {
        arguments.extend(["--data", data.to_str().unwrap()]);
    }
    bench.run(&arguments)
}

fn past(bench: &Bench, data: &Path) -> String {
    let ran = bench.run(&["past", "--json", "--data", data.to_str().unwrap()]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    ran.out
}

#[test]
fn the_same_seed_gives_the_same_shift_byte_for_byte() {
    let bench = bench();
    let [one, two, other] = ["one", "two", "other"].map(|name| bench.root.path().join(name));
    let first = rehearse(&bench, "7", Some(&one));
    let second = rehearse(&bench, "7", Some(&two));
    assert_eq!((first.code, first.err.as_str()), (0, ""));
    assert_eq!(first.out, second.out);
    assert_eq!(past(&bench, &one), past(&bench, &two));
    rehearse(&bench, "8", Some(&other));
    assert_ne!(past(&bench, &one), past(&bench, &other), "another seed, another shift");
    // A later rehearsal replaces an earlier one in the same place.
    rehearse(&bench, "8", Some(&one));
    assert_eq!(past(&bench, &one), past(&bench, &other));
}

#[test]
fn the_summary_is_what_the_journal_tells() {
    let bench = bench();
    let ran = rehearse(&bench, "7", Some(&bench.data()));
    let summary: Value = serde_json::from_str(&ran.out).unwrap();
    let events = bench.past();
    let of = |kind: &'static str| events.iter().filter(move |event| event["kind"] == kind);
    let timing = |how: &str| of("press-opened").filter(|event| event["timing"] == how).count();
    // Undone acts are left out by the summary; a shift without any can be counted so simply.
    assert_eq!(of("undone").count(), 0, "choose a seed without an undo");
    assert_eq!(summary["early"], timing("early"), "{summary}");
    assert_eq!(summary["late"], timing("late"), "{summary}");
    assert_eq!(summary["wipes"], of("sheet-wiped").count(), "{summary}");
    let number = |name: &str| summary[name].as_u64().unwrap();
    assert_eq!(number("finished") + number("out"), 12 + of("blank-added").count() as u64);
    let at = |event: &Value| event["at"].as_str().unwrap().parse::<jiff::Timestamp>().unwrap();
    let span = at(events.last().unwrap()).duration_since(at(&events[0])).as_secs_f64();
    assert!(
        (summary["seconds"].as_f64().unwrap() - span).abs() < 1.0,
        "{summary}, by the rows {span}"
    );
    let pace: Value = serde_json::from_str(&bench.run(&["pace", "--json"]).out).unwrap();
    assert_eq!(pace["finished"], summary["finished"]);
    bench.assert_sound();
}

/// RFC 3339, section 5.6: a date, a T, a time, an offset.
#[test]
fn every_event_has_its_number_its_moment_and_its_kind() {
    let bench = bench();
    rehearse(&bench, "7", Some(&bench.data()));
    let events = bench.past();
    assert!(events.len() > 100, "{}", events.len());
    for (event, seq) in events.iter().zip(1..) {
        assert_eq!(event["seq"], seq);
        let at = event["at"].as_str().unwrap();
        assert_eq!((&at[10..11], &at[at.len() - 1..]), ("T", "Z"), "{at}");
        at.parse::<jiff::Timestamp>().unwrap();
        let kind = event["kind"].as_str().unwrap();
        assert!(kind.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{kind}");
        if matches!(kind, "press-shut" | "press-opened") {
            assert!((1..=3).contains(&event["press"].as_u64().unwrap()), "{event}");
            assert!(event["garment"].as_str().unwrap().starts_with('A'), "{event}");
            let step = event["step"].as_str().unwrap();
            assert!(["pre-press", "dry", "cure"].contains(&step), "{event}");
        }
    }
    let last = bench.run(&["past", "--json", "--last", "5"]).out;
    assert_eq!(last.lines().count(), 5);
    assert!(past(&bench, &bench.data()).ends_with(&last));
}

#[test]
fn one_garments_story_is_its_part_of_the_journal() {
    let bench = bench();
    rehearse(&bench, "7", Some(&bench.data()));
    let ran = bench.run(&["trace", "A1-01", "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let story: Value = serde_json::from_str(&ran.out).unwrap();
    let opened = bench.past_of("press-opened");
    let own: Vec<&Value> = opened.iter().filter(|event| event["garment"] == "A1-01").collect();
    let cycles = story["cycles"].as_array().unwrap();
    assert_eq!(cycles.len(), own.len());
    for (cycle, event) in cycles.iter().zip(own) {
        for name in ["step", "press", "seconds", "timing"] {
            assert_eq!(cycle[name], event[name], "{name}");
        }
    }
}

#[test]
fn a_rehearsal_goes_only_where_it_is_told_to() {
    let bench = bench();
    let ran = rehearse(&bench, "7", None);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(!bench.data().exists(), "DWELL_DATA is not for rehearsals");
    assert_eq!(std::fs::read_dir(bench.home()).unwrap().count(), 0, "nor is the user's directory");
}

#[test]
fn a_rehearsal_and_a_real_shift_never_share_a_journal() {
    let bench = bench();
    let mut pty = Pty::board(&bench);
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let before = past(&bench, &bench.data());
    assert!(!before.is_empty());
    let ran = rehearse(&bench, "7", Some(&bench.data()));
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("a real shift"), "{}", ran.err);
    assert_eq!(past(&bench, &bench.data()), before);

    // Nor do two stations.
    let other =
        crate::bench::station("Test bench", 2).replace("name: \"Test", "id: \"b\", name: \"Test");
    std::fs::write(bench.station(), other).unwrap();
    let ran = bench.run(&[]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("belongs to station \"a\", the profile says \"b\""), "{}", ran.err);

    let made_up = bench.root.path().join("made-up");
    rehearse(&bench, "7", Some(&made_up));
    let before = past(&bench, &made_up);
    std::fs::remove_file(bench.station()).unwrap();
    let ran = bench.run(&["--data", made_up.to_str().unwrap()]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("a rehearsal"), "{}", ran.err);
    assert_eq!(past(&bench, &made_up), before);
}

#[test]
fn numbers_out_of_range_are_bad_input() {
    let bench = bench();
    for (name, value) in [
        ("--garments", "0"),
        ("--garments", "100000"),
        ("--presses", "0"),
        ("--presses", "10"),
        ("--speed", "0"),
        ("--seed", "x"),
    ] {
        let ran = bench.run(&["rehearse", "--headless", name, value]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{name} {value}");
    }
}

/// Artwork decides, coats are weighed, steam teaches and is read, the coats can be charted, platens are probed.
#[test]
fn the_figures_work_together_through_a_shift() {
    let bench = bench();
    let data = bench.root.path().join("shift");
    let data = data.to_str().unwrap();
    let ran = bench.run(&["rehearse", "--headless", "--garments", "40", "--data", data]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let events: Vec<Value> = past(&bench, data.as_ref())
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let of = |kind: &'static str| events.iter().filter(move |event| event["kind"] == kind);
    let seen = &of("order-taken").next().unwrap()["form"]["lines"][0];
    assert_eq!((&seen["seen"]["underbase"], &seen["underbase"]), (&true.into(), &true.into()));
    let weighed: Vec<f64> = of("coat-weighed")
        .map(|event| event["coat"].as_str().unwrap().split(' ').next().unwrap().parse().unwrap())
        .collect();
    assert!(weighed.len() >= 8, "{weighed:?}");
    // No estimate before three weighed coats have been dried on a press; then the steam tells the coat.
    let estimates = |event: &&Value| !event["estimate"].is_null();
    let first = of("steam-stopped").find(estimates).expect("a press was learned");
    let before = of("coat-weighed").filter(|event| event["seq"].as_u64() < first["seq"].as_u64());
    assert!(before.count() >= 3);
    assert!(of("platen-checked").next().is_some());
    let column = bench.root.path().join("coats.csv");
    let lines: Vec<String> = weighed.iter().map(f64::to_string).collect();
    std::fs::write(&column, format!("coat\n{}\n", lines.join("\n"))).unwrap();
    let column = column.to_str().unwrap();
    let chart = bench.run(&["chart", column, "--low", "138", "--high", "270", "--json"]);
    let chart: Value = serde_json::from_str(&chart.out).unwrap();
    assert_eq!(chart["n"].as_u64().unwrap(), u64::try_from(weighed.len()).unwrap());
}

/// Each standard figure follows from its elements, and the elements from the journal.
#[test]
fn the_standard_figures_can_be_worked_out_again() {
    let bench = bench();
    let data = bench.root.path().join("shift");
    let text = data.to_str().unwrap();
    assert_eq!(bench.run(&["rehearse", "--headless", "--garments", "30", "--data", text]).code, 0);
    let ran = bench.run(&["pace", "--json", "--data", text]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let pace: Value = serde_json::from_str(&ran.out).unwrap();
    let of = |group: &str, name: &str| pace[group][name].as_f64().unwrap();
    let element = |name: &str| of("elements", name);
    let events: Vec<Value> =
        past(&bench, &data).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let opened = || events.iter().filter(|event| event["kind"] == "press-opened");
    assert_eq!(element("PQ"), opened().count() as f64);
    let busy: f64 = opened().filter_map(|event| event["seconds"].as_f64()).sum();
    assert!((element("APT") - busy).abs() < 1e-6);
    // Each garment was laid in and taken out, 12 s by the station's hand times.
    assert!((element("AUBT") - busy - 12.0 * element("PQ")).abs() < 1e-6);
    assert!(of("kpi", "effectiveness") <= 1.0);
    let kpi = |name: &str| of("kpi", name);
    let near = |a: f64, b: f64| (a - b).abs() < 1e-12;
    assert!(near(kpi("availability"), element("APT") / element("PBT")));
    assert!(near(kpi("effectiveness"), element("PRI") * element("PQ") / element("APT")));
    assert!(near(kpi("quality_ratio"), element("GQ") / element("PQ")));
    let product = kpi("availability") * kpi("effectiveness") * kpi("quality_ratio");
    assert!(near(kpi("oee_index"), product));
    assert!(near(kpi("first_pass_yield"), element("GP") / element("IP")));
    assert!(near(kpi("utilization_efficiency"), element("APT") / element("AUBT")));
    assert!(near(kpi("allocation_efficiency"), element("AUBT") / element("PBT")));
    assert!(element("IP") >= 30.0 && element("GP") <= element("IP"));
    let hour = bench.run(&["pace", "--json", "--since", "30min", "--data", text]);
    let hour: Value = serde_json::from_str(&hour.out).unwrap();
    assert!(hour["elements"]["PQ"].as_f64().unwrap() < element("PQ"));
    let wrong = bench.run(&["pace", "--since", "soon", "--data", text]);
    assert_eq!(wrong.code, 2);
}
