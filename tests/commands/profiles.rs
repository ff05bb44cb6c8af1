//! Profiles: written out, read back, refused with the reason.

use std::fs;

use serde_json::Value;

use crate::bench::{Bench, recipe, station};

#[test]
fn profiles_that_are_written_out_read_back_the_same() {
    let bench = Bench::new(2, 20);
    let copy = bench.root.path().join("copy");
    let copy = copy.to_str().unwrap();
    let ran = bench.run(&["profiles", "--write", copy]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(ran.out.lines().count(), 12, "{}", ran.out);
    let read = |arguments: &[&str]| -> Value {
        let ran = bench.run(arguments);
        assert_eq!(ran.code, 0, "{}", ran.err);
        serde_json::from_str(&ran.out).unwrap()
    };
    // An empty directory has nothing to say, so what is built in stands.
    let empty = bench.root.path().join("empty");
    fs::create_dir(&empty).unwrap();
    let built_in = read(&["profiles", "--json", "--profiles", empty.to_str().unwrap()]);
    let copied = read(&["--profiles", copy, "profiles", "--json"]);
    assert_eq!(copied["recipes"], built_in["recipes"]);
    assert_eq!(copied["station"], built_in["station"]);
    assert!(copied["recipes"].as_array().unwrap().len() >= 4, "{copied}");

    // The sample order reads with them; what was changed by hand is left alone.
    let sample = format!("{copy}/orders/harbour-choir.ron");
    let ran = bench.run(&["--profiles", copy, "take", &sample]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let changed = station("Changed by hand", 3);
    fs::write(format!("{copy}/station.ron"), &changed).unwrap();
    let again = bench.run(&["profiles", "--write", copy]);
    assert!(again.out.contains("nothing written"), "{}", again.out);
    assert_eq!(fs::read_to_string(format!("{copy}/station.ron")).unwrap(), changed);
    assert_eq!(read(&["--profiles", copy, "profiles", "--json"])["presses"], 3);
}

#[test]
fn a_recipe_that_makes_no_sense_is_refused_with_the_reason() {
    let bench = Bench::new(2, 20);
    let good = recipe(20);
    let cases = [
        ("cover: PtfeSheet", "cover: KitchenParchment", "kitchen parchment"),
        ("set_point: \"340 F\"", "set_point: \"900 F\"", "900 F"),
        ("set_point: \"340 F\"", "set_point: \"340\"", "340"),
        (
            "low: \"138 g/m2\"",
            "low: \"0 g/m2\"",
            "coat.low: found \"0 g/m2\", which is zero and no coat",
        ),
        ("target: \"200 g/m2\"", "target: \"300 g/m2\"", "coat.target"),
        ("shortest: \"1s\"", "shortest: \"125s\"", "is over target (20s)"),
        ("longest: \"120s\"", "longest: \"10s\"", "prepress.longest: 10s is not between target"),
        ("steam_gone_by: \"1s\"", "steam_gone_by: \"50s\"", "dry.steam_gone_by"),
        ("good_for: \"21days\"", "good_for: \"31days\"", "keep.good_for"),
        ("basis:", "lasis:", "lasis"),
    ];
    for (from, to, wanted) in cases {
        let bad = good.replacen(from, to, 1);
        assert_ne!(bad, good, "{from}");
        fs::write(bench.recipe(), &bad).unwrap();
        let ran = bench.run(&["profiles"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{to}");
        assert!(ran.err.contains(wanted), "{wanted:?} is not in: {}", ran.err);
        // The place is that of the line that was changed, wherever it can be told.
        let line = bad.lines().position(|line| line.contains(to)).unwrap() + 1;
        assert!(ran.err.contains(&format!("quick.ron:{line}:")), "{to}: {}", ran.err);
        assert!(ran.err.lines().any(|line| line.trim() == "^"), "{to}: {}", ran.err);
    }
    fs::write(bench.recipe(), good).unwrap();
    assert_eq!(bench.run(&["profiles"]).code, 0);
}

#[test]
fn a_station_that_makes_no_sense_is_refused_with_the_reason() {
    let bench = Bench::new(2, 20);
    let good = station("Test bench", 2);
    let keys = |keys: &str| format!("sheet: (wipe_at: 10, wipe_by: 12), keys: {keys}");
    let sheet = "sheet: (wipe_at: 10, wipe_by: 12)";
    let cases = [
        ("dial: \"340 F\"", "dial: \"900 F\"".to_owned(), "900 F"),
        ("wipe_by: 12", "wipe_by: 9".to_owned(), "wipe_by"),
        (sheet, keys("{\"undo\": [\"1\"]}"), "the key 1 would do both"),
        (sheet, keys("{\"fly\": [\"f\"]}"), "nothing is called that"),
        ("time_zone: \"", "time_zone: \"Atlantis/".to_owned(), "no time zone"),
    ];
    for (from, to, wanted) in cases {
        fs::write(bench.station(), good.replacen(from, &to, 1)).unwrap();
        let ran = bench.run(&["profiles"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{to}");
        assert!(ran.err.contains(wanted), "{wanted:?} is not in: {}", ran.err);
        assert!(ran.err.contains("station.ron:"), "{}", ran.err);
    }
    let ran = bench.run(&["profiles", "--profiles", "nowhere"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no such directory"), "{}", ran.err);
}

#[test]
fn a_station_that_is_there_and_cannot_be_read_is_not_replaced_by_the_one_built_in() {
    for (make, said) in [
        ("ln -s nowhere", "No such file"),
        ("mkfifo", "no regular file"),
        ("mkdir", "no regular file"),
    ] {
        let bench = Bench::new(2, 20);
        fs::remove_file(bench.station()).unwrap();
        let words: Vec<&str> = make.split(' ').collect();
        let made =
            std::process::Command::new(words[0]).args(&words[1..]).arg(bench.station()).status();
        assert!(made.unwrap().success());
        let ran = bench.run(&["profiles"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{make}: {}", ran.err);
        assert!(ran.err.contains("station.ron") && ran.err.contains(said), "{make}: {}", ran.err);
    }
}

/// A scan would do what the key does, with each tag.
#[test]
fn a_scanners_prefix_that_means_something_else_is_an_error_with_words() {
    for (prefix, said) in [
        ("+", "acts"),
        ("1", "shut-or-open-1"),
        ("\\u{1b}", "no character"),
        ("[", "a part of what terminals send"),
    ] {
        let bench = Bench::new(2, 20);
        let station = fs::read_to_string(bench.station()).unwrap();
        let with = format!("scanner_prefix: Some('{prefix}'),\n    sheet:");
        fs::write(bench.station(), station.replacen("sheet:", &with, 1)).unwrap();
        let ran = bench.run(&["profiles"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{prefix}: {}", ran.err);
        let words = ["station.ron", "scanner_prefix", said, "such as '~'"];
        assert!(words.iter().all(|word| ran.err.contains(word)), "{prefix}: {}", ran.err);
    }
}

/// What a comment in the shipped station gives as an example reads where it is put in.
#[test]
fn the_examples_in_the_comments_read() {
    const SHIPPED: &str = include_str!("../../profiles/station.ron");
    const PRESS: &str = r#"(name: "Left", dial: "340 F", pressure: Medium, size: "16 in x 20 in",
        uses: ["pre-press", "dry", "cure"], opens_itself: true)"#;
    for line in PRESS.lines() {
        let example = line.split(", ").last().unwrap().trim_end_matches(')').trim();
        assert!(SHIPPED.contains(example), "{example} is no longer the example");
    }
    let bench = Bench::new(2, 20);
    for (from, to) in [
        (r#"(name: "Left", dial: "340 F")"#, PRESS),
        ("sounder: None", r#"sounder: Some(["program", "argument"])"#),
        ("keys: {}", r#"keys: {"shut-or-open-1": ["1", "F9"]}"#),
        ("wet_garments: Touching", "wet_garments: HungApart"),
        ("scanner_prefix: None", "scanner_prefix: Some('~')"),
        ("time_zone: None", r#"time_zone: Some("Europe/Lisbon")"#),
    ] {
        assert!(SHIPPED.contains(from), "{from}");
        let (_, example) = to.split_once(": ").unwrap();
        let example = example.trim_matches(['{', '}']);
        assert!(to == PRESS || SHIPPED.contains(example), "{example} is no longer the example");
        fs::write(bench.station(), SHIPPED.replacen(from, to, 1)).unwrap();
        let ran = bench.run(&["profiles"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{to}");
    }
    fs::write(
        bench.station(),
        SHIPPED.replacen("(name: \"Left\",", "(name: \"Left\", uses: [\"spray\"],", 1),
    )
    .unwrap();
    let ran = bench.run(&["profiles"]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    let wanted = r#"found "spray", expected "pre-press", "dry" or "cure""#;
    assert!(ran.err.contains(wanted) && ran.err.contains("station.ron:"), "{}", ran.err);
}

/// A package puts profiles under /etc: they count before the built-in ones, and after the user's. The program sees an
/// /etc of its own, by a name space of the test's.
#[test]
fn the_machines_profiles_are_found_after_the_users_and_before_what_is_built_in() {
    let bench = Bench::new(2, 20);
    let own = bench.home().join(".config/dwell");
    let asks = || {
        let program = support::program::program();
        let script = "mount -t tmpfs none /etc && mkdir /etc/dwell && cp -r \"$1/.\" /etc/dwell && exec \"$2\" profiles";
        let mut unshare = std::process::Command::new("unshare");
        unshare.args(["--user", "--map-root-user", "--mount", "sh", "-c", script, "sh"]);
        unshare.arg(bench.profiles()).arg(program.get_program());
        unshare
            .env_remove("DWELL_PROFILES")
            .env_remove("XDG_CONFIG_HOME")
            .env("HOME", bench.home());
        unshare.output()
    };
    let said = |output: std::process::Output| String::from_utf8(output.stdout).unwrap();
    let machines = match asks() {
        Ok(output) if output.status.success() => said(output),
        other => {
            let why = other.map(|output| String::from_utf8_lossy(&output.stderr).trim().to_owned());
            crate::skipped::skipped(&format!("no /etc of a test's own can be had here: {why:?}"));
            return;
        }
    };
    assert!(machines.starts_with("profiles   /etc/dwell\nstation    Test bench"), "{machines}");
    fs::create_dir_all(&own).unwrap();
    fs::write(own.join("station.ron"), station("Of the user", 3)).unwrap();
    let users = said(asks().unwrap());
    assert!(users.contains("station    Of the user, 3 presses"), "{users}");
}
