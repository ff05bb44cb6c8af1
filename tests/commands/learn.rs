//! A beginner's lesson, line by line through a pipe.

use std::io::Write;
use std::process::Stdio;

use serde_json::{Value, json};

use crate::bench::{Bench, Ran};
use support::program::program;

/// A bench with a sprayer. Its recipe wants 200 g/m2 on 14 x 16 in: 28.9 g on the scale.
fn bench() -> Bench {
    let bench = Bench::new(1, 1);
    bench.station_says("sprayer: Some((flow: \"1.5 g/s\", fan: \"6 in\")),");
    bench
}

/// Says these lines, and then no more.
fn says(bench: &Bench, arguments: &[&str], lines: &[&str]) -> Ran {
    let mut child = program()
        .env("HOME", bench.home())
        .env("DWELL_PROFILES", bench.profiles())
        .env("DWELL_DATA", bench.data())
        .args([&["learn"], arguments].concat())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(lines.join("\n").as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

fn learned(bench: &Bench) -> Value {
    let ran = bench.run(&["learn", "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    serde_json::from_str(&ran.out).unwrap()
}

/// The lines of garments that weigh 150 g and take up so many grams.
fn coats(grams: &[f64]) -> Vec<String> {
    grams.iter().flat_map(|grams| ["150".to_owned(), format!("{}", 150.0 + grams)]).collect()
}

fn weighed(bench: &Bench, grams: &[f64]) -> String {
    let lines = coats(grams);
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    let ran = says(bench, &[], &lines);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    ran.out
}

#[test]
fn a_hand_is_taught_from_water_to_five_garments_in_a_row() {
    let bench = bench();
    let begun = ["--recipe", "quick"];
    // A catch that does not repeat teaches no flow.
    let caught = says(&bench, &begun, &["10", "19", "10 s", "24 g", "10", "23,6"]);
    assert_eq!((caught.code, caught.err.as_str()), (0, ""), "{}", caught.out);
    for words in [
        "clean water: no fluid, no ink",
        "good ventilation",
        "mask, gloves and eyes by the fluid's data sheet",
        "The scale shows 28.9 g at the target",
        "more than 10 % off the catch before",
        "the flow is 2.38 g/s",
        "CARDBOARD",
        "dwell learn goes on from here",
    ] {
        assert!(caught.out.contains(words), "{words}: {}", caught.out);
    }
    let there = learned(&bench);
    assert_eq!((&there["stage"], &there["done"]), (&"cardboard".into(), &false.into()));
    let seconds = there["seconds"].as_f64().unwrap();
    // The profile says 1.5 g/s: at 2.38 g/s the hand goes that much faster.
    let cardboard = weighed(&bench, &[28.0]);
    assert!(cardboard.contains("194 g/m2, 3 % under the target"), "{cardboard}");
    assert!(cardboard.contains("RAG SHIRT (0 of 3 in a row)"), "{cardboard}");
    // One miss is chance, two on one side are the pace, and only that is changed.
    let light = weighed(&bench, &[22.0, 21.0]);
    assert!(light.contains("Outside, once: that may be chance. Change nothing"), "{light}");
    let slower = seconds / (0.5 * (22.0 + 21.0) / 28.903);
    let change = format!("the hand slower, {slower:.1} s in all instead of {seconds:.1} s");
    assert!(light.contains(&change), "{change}: {light}");
    assert!((learned(&bench)["seconds"].as_f64().unwrap() - slower).abs() < 0.05);
    // On both sides: no pace is changed.
    let scatters = weighed(&bench, &[22.0, 35.0]);
    assert!(scatters.contains("Outside on both sides: no other pace helps"), "{scatters}");
    assert!(scatters.contains("the last 2 at this pace: 152 to 242 g/m2"), "{scatters}");
    assert!((learned(&bench)["seconds"].as_f64().unwrap() - slower).abs() < 0.05);
    let three = weighed(&bench, &[28.0, 30.0, 29.0]);
    assert!(three.contains("Three in a row within 15 %"), "{three}");
    assert!(three.contains("Now FLUID: read its label, shake, fill. Fan running?"), "{three}");
    let missed = weighed(&bench, &[28.0, 30.0, 29.0, 45.0]);
    assert!(
        missed.contains("(3 of 5 in a row)") && missed.contains("(0 of 5 in a row)"),
        "{missed}"
    );
    let done = weighed(&bench, &[28.0, 30.0, 29.0, 25.0, 33.0]);
    assert!(done.contains("Five garments in a row inside"), "{done}");
    assert!(!done.to_lowercase().contains("score"), "{done}");
    let there = learned(&bench);
    assert_eq!((&there["stage"], &there["done"]), (&"done".into(), &true.into()));
    let spread = &there["spread"];
    assert_eq!(spread["count"], 5);
    // Sample standard deviation over mean of 28, 30, 29, 25 and 33 (statistics.stdev of Python): 2.9155 / 29.
    assert!(
        (spread["cv"].as_f64().unwrap() - 2.915_475_947_422_65 / 29.0).abs() < 1e-9,
        "{spread}"
    );
    // Nothing of it is in the board's journal, or in its directory.
    assert!(!bench.data().exists());
    assert!(bench.data().with_file_name("data-learn").join("learn.jsonl").exists());
}

#[test]
fn what_makes_no_sense_is_asked_again_and_the_last_answer_can_be_taken_back() {
    let bench = bench();
    let lines = [
        "ten", "10", "-3", "0", "18", "10", "18.5", "undo", "10", "18.4", "150", "120", "150",
        "178",
    ];
    let ran = says(&bench, &["--recipe", "quick"], &lines);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    for words in
        ["found \"ten\"", "-3 g: expected 0.1 g to 5 kg", "is taken back", "were they swapped?"]
    {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    let there = learned(&bench);
    assert_eq!(there["catches"], json!([18.0 / 10.0, 18.4 / 10.0]));
    assert_eq!(there["tries"].as_array().unwrap().len(), 1);
    // Another lesson is begun only where somebody says so, and the one before is kept.
    let other = says(&bench, &["--print", "4 in x 4 in"], &[]);
    assert!(
        other.code == 2 && other.err.contains("a lesson of quick runs: --new"),
        "{}",
        other.err
    );
    let other = says(&bench, &["--recipe", "quick", "--print", "4 in x 4 in", "--new"], &["stop"]);
    assert!(other.code == 0 && other.err.contains("learn.before"), "{}", other.err);
    assert_eq!(learned(&bench)["catches"], json!([]));
    // A file that somebody has broken is named, with what to do.
    let folder = bench.data().with_file_name("data-learn");
    std::fs::write(
        folder.join("learn.jsonl"),
        "{\"recipe\":\"quick\",\"print\":null}\n{\"kind\":\"sung\"}\n",
    )
    .unwrap();
    let broken = bench.run(&["learn", "--json"]);
    assert!(
        broken.code == 2 && broken.err.contains("line 2") && broken.err.contains("--new"),
        "{}",
        broken.err
    );
    // No sprayer, no such recipe.
    let plain = Bench::new(1, 1);
    let none = plain.run(&["learn", "--json", "--recipe", "quick"]);
    assert!(none.code == 2 && none.err.contains("has no sprayer"), "{}", none.err);
    let none = plain.run(&["learn", "--json"]);
    assert!(
        none.code == 2 && none.err.contains("there is no recipe \"dark-cotton\""),
        "{}",
        none.err
    );
}
