//! Before there is a journal no question has an answer; and where the places may be given.

use crate::bench::Bench;

/// A nightly check of a disk that is not mounted must not pass.
#[test]
fn a_question_where_no_journal_lies_is_bad_input_and_says_so() {
    let bench = Bench::new(2, 20);
    let commands = ["past", "shelf", "pace", "check", "plan", "trace A1-01", "trace --lot F-1"];
    for is_there in [false, true] {
        for command in commands.into_iter().chain(["trace --press 1"]) {
            for json in [false, true] {
                let mut arguments: Vec<&str> = command.split(' ').collect();
                arguments.extend(json.then_some("--json"));
                let ran = bench.run(&arguments);
                assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}: {}", ran.err);
                let says = ["no journal", "--data"].iter().all(|part| ran.err.contains(part));
                assert!(says, "{arguments:?}: {}", ran.err);
            }
        }
        assert_eq!(bench.data().exists(), is_there, "a question makes no directory");
        std::fs::create_dir_all(bench.data()).unwrap();
    }
    // Orders alone need no shop.
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, crate::bench::order(3)).unwrap();
    let ran = bench.run(&["plan", order.to_str().unwrap(), "--from-nothing"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
}

#[test]
fn a_tag_that_is_none_or_unknown_is_bad_input() {
    let bench = Bench::new(2, 20);
    for (tag, wanted) in [("A1-01", "no journal"), ("shirt", "shirt"), ("A1", "A1")] {
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
    for arguments in [&["fly"][..], &["past", "--lost", "some"], &["take"], &["--date", "x"]] {
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
