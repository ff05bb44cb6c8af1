//! Before there is a journal every question has an empty answer; and where the places may be given.

use serde_json::{Value, json};

use crate::bench::Bench;

#[test]
fn before_there_is_a_journal_answers_are_empty() {
    let bench = Bench::new(2, 20);
    for command in ["past", "shelf", "pace", "check"] {
        for arguments in [vec![command], vec![command, "--json"]] {
            let ran = bench.run(&arguments);
            assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
        }
    }
    let answer = |command| -> Value {
        let ran = bench.run(&[command, "--json"]);
        serde_json::from_str(&ran.out).unwrap()
    };
    assert_eq!(bench.run(&["past", "--json"]).out, "");
    assert_eq!(answer("shelf"), json!([]));
    assert_eq!(answer("check"), json!({ "sound": true, "events": 0 }));
    let pace = answer("pace");
    for name in ["finished", "out", "in_progress"] {
        assert_eq!(pace[name], 0, "{pace}");
    }
    assert!(pace["per_hour"].is_null() || pace["per_hour"] == 0.0, "{pace}");
    assert!(!bench.data().exists(), "a question makes no directory");
}

#[test]
fn a_tag_that_is_none_or_unknown_is_bad_input() {
    let bench = Bench::new(2, 20);
    for (tag, wanted) in [("A1-01", "no garment A1-01"), ("shirt", "shirt"), ("A1", "A1")] {
        for arguments in [vec!["trace", tag], vec!["trace", tag, "--json"]] {
            let ran = bench.run(&arguments);
            assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
            assert!(ran.err.contains(wanted), "{arguments:?}: {}", ran.err);
        }
    }
}

#[test]
fn what_is_no_command_is_bad_input() {
    let bench = Bench::new(2, 20);
    for arguments in [&["fly"][..], &["past", "--last", "some"], &["take"], &["--date", "x"]] {
        let ran = bench.run(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.starts_with("error: "), "{arguments:?}: {}", ran.err);
    }
    for arguments in [["--help"], ["--version"]] {
        assert_eq!(bench.run(&arguments).code, 0);
    }
}

#[test]
fn the_data_directory_is_given_before_or_after_the_command() {
    let bench = Bench::new(2, 20);
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, crate::bench::order(3)).unwrap();
    let order = order.to_str().unwrap();
    let [one, two] = ["one", "two"].map(|name| bench.root.path().join(name));
    let before = bench.run(&["--data", one.to_str().unwrap(), "take", order]);
    let after = bench.run(&["take", order, "--data", two.to_str().unwrap()]);
    assert_eq!((before.code, after.code), (0, 0), "{} {}", before.err, after.err);
    for data in [&one, &two] {
        assert_eq!(std::fs::read_dir(data.join("inbox")).unwrap().count(), 1);
    }
    assert!(!bench.data().exists(), "the command line goes before DWELL_DATA");
    // Without it, DWELL_DATA says where.
    let ran = bench.run(&["take", order]);
    assert_eq!(ran.code, 0);
    assert!(bench.data().join("inbox").exists());
}
