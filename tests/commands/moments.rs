//! Moments as people write them, and columns of numbers with a comma as decimal mark, through the built program.

use std::fs;

use serde_json::Value;

use crate::bench::{Bench, Ran, order};

fn plan(bench: &Bench, due: &str, more: &[&str]) -> Ran {
    let path = bench.root.path().join("due.ron");
    fs::write(&path, order(2).replace("lines:", &format!("due: \"{due}\",\n    lines:"))).unwrap();
    let arguments = ["plan", "--from-nothing", path.to_str().unwrap(), "--json"];
    bench.run(&[&arguments[..], more].concat())
}

/// RFC 3339, section 4.2: a local time less its offset is UTC; Z is no offset at all.
#[test]
fn a_due_time_with_an_offset_is_that_moment() {
    let bench = Bench::new(2, 20);
    for (due, moment) in [
        ("2026-12-04T16:00:00+09:00", "2026-12-04T07:00:00Z"),
        ("2026-12-04T16:00Z", "2026-12-04T16:00:00Z"),
        ("2026-12-04 16:00-05:30", "2026-12-04T21:30:00Z"),
    ] {
        let ran = plan(&bench, due, &[]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{due}");
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!(answer["orders"][0]["due"], moment, "{due}");
    }
}

#[test]
fn an_order_keeps_its_due_time_as_written() {
    let bench = Bench::new(2, 20);
    let path = bench.root.path().join("due.ron");
    for (due, kept) in [
        ("2036-12-04T16:00:00+09:00", "2036-12-04T16:00+09:00"),
        ("2036-12-04T16:00Z", "2036-12-04T16:00Z"),
        ("2036-12-04T16:00", "2036-12-04T16:00"),
    ] {
        fs::write(&path, order(2).replace("lines:", &format!("due: \"{due}\", lines:"))).unwrap();
        let ran = bench.run(&["take", path.to_str().unwrap(), "--json"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{due}");
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        let laid = format!("inbox/{}.json", answer["id"].as_str().unwrap());
        let laid: Value =
            serde_json::from_str(&fs::read_to_string(bench.data().join(laid)).unwrap()).unwrap();
        assert_eq!(laid["due"], kept);
    }
    for due in ["2206-12-04T16:00", "2026-12-04", "16:00", "", "2026-12-04T16:00[Asia/Tokyo]"] {
        fs::write(&path, order(2).replace("lines:", &format!("due: \"{due}\", lines:"))).unwrap();
        let ran = bench.run(&["take", path.to_str().unwrap()]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{due}");
        assert!(ran.err.contains("expected"), "{}", ran.err);
    }
}

#[test]
fn a_time_of_day_is_todays_where_only_that_can_be_meant() {
    let bench = Bench::new(2, 20);
    for option in ["--until", "--arrive"] {
        for when in ["13:00", "2026-12-04T13:00", "2026-12-04T13:00+09:00"] {
            let ran = plan(&bench, "2026-12-04T16:00", &[option, when]);
            assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{option} {when}");
        }
        for when in ["", "25:00", "noon", "-1:00"] {
            let ran = plan(&bench, "2026-12-04T16:00", &[option, when]);
            assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{option} {when:?}");
            let words = format!("dwell: {option}: found ");
            assert!(
                ran.err.starts_with(&words) && ran.err.contains("such as \"13:00\""),
                "{}",
                ran.err
            );
        }
    }
    // All that is done at the end of the day, and nothing at its beginning.
    let done = |when: &str| -> Value {
        let ran = plan(&bench, "2026-12-04T16:00", &["--until", when]);
        serde_json::from_str::<Value>(&ran.out).unwrap()["done_until"].clone()
    };
    assert_eq!((done("23:59"), done("00:00")), (2.into(), 0.into()), "it is about noon there");
}

#[test]
fn since_takes_a_span_or_a_moment() {
    let bench = Bench::new(2, 20);
    let data = bench.root.path().join("made-up");
    let data = data.to_str().unwrap();
    let made = bench.run(&["--data", data, "rehearse", "--headless", "--garments", "4"]);
    assert_eq!(made.code, 0, "{}", made.err);
    for command in ["pace", "report"] {
        for since in ["2h", "2 hours", "1,5 h", "00:01", "2000-01-01T00:00Z"] {
            let ran = bench.run(&["--data", data, command, "--since", since]);
            assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{command} {since}");
        }
        for since in ["", "-2h", "2", "later", "2100-01-01T00:00", "0s"] {
            let ran = bench.run(&["--data", data, command, "--since", since]);
            assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{command} {since:?}");
            assert!(
                ran.err.starts_with("dwell: --since") && ran.err.contains("expected"),
                "{}",
                ran.err
            );
        }
    }
}

fn chart(bench: &Bench, text: &str, more: &[&str]) -> Ran {
    let path = bench.root.path().join("column.csv");
    fs::write(&path, text).unwrap();
    bench.run(&[&["chart", path.to_str().unwrap(), "--json"], more].concat())
}

#[test]
fn a_decimal_comma_is_read_between_semicolons_and_never_cut() {
    let bench = Bench::new(2, 20);
    for (text, more) in [
        ("grams;seconds\n12,5;30\n13,5;31\n14,5;32\n", &["--column", "grams"][..]),
        ("n;grams\n1;12,5\n2;13,5\n3;14,5\n", &["--column", "grams"]),
        ("grams;seconds\n12,5;30\n13,5;31\n14,5;32\n", &[]),
        ("grams\tseconds\n12,5\t30\n13,5\t31\n14,5\t32\n", &[]),
        ("grams\n\"12,5\"\n\"13,5\"\n\"14,5\"\n", &[]),
        ("# weighed\n12.5\n13.5\n14.5\n", &[]),
    ] {
        let ran = chart(&bench, text, more);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{text}");
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!((&answer["mean"], &answer["n"]), (&13.5.into(), &3.into()), "{text}");
    }
    for (text, more, words) in [
        (
            "grams\n12,5\n13,5\n",
            &[][..],
            "line 2, column 2: found \"5\" in a row of 2 under a head of 1",
        ),
        ("grams,seconds\n12,5,30\n", &["--column", "grams"], "line 2, column 3: found \"30\""),
        ("12,5\n13,5\n", &[], "line 1, column 2: several columns and no head"),
        ("2024,2025\n33,34\n", &[], "several columns and no head"),
        (
            "33,20\n28,24\n20,21\n",
            &["--column", "33"],
            "line 1, column 1: the first row is all numbers",
        ),
        ("33\n1,250;5\n", &[], "column.csv"),
        ("grams;n\n1,250;5\n2;3\n", &[], "line 2, column 1: found \"1,250\", which may be"),
    ] {
        let ran = chart(&bench, text, more);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{text}");
        assert!(ran.err.contains(words), "{words}: {}", ran.err);
    }
}

#[test]
fn a_grid_with_decimal_commas_is_read() {
    let bench = Bench::new(2, 20);
    let path = bench.root.path().join("grid.csv");
    let grid = path.to_str().unwrap();
    fs::write(&path, "171,5;171\n170,5;171\n").unwrap();
    let ran = bench.run(&["platen", grid, "--dial", "171 C", "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!((&answer["mean_c"], &answer["spread_c"]), (&171.0.into(), &1.0.into()));
    fs::write(&path, "left;right\n170,5;171\n").unwrap();
    let ran = bench.run(&["platen", grid, "--dial", "171 C"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("line 1, column 1: found \"left\", expected a temperature"),
        "{}",
        ran.err
    );
}
