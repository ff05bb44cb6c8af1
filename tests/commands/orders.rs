//! Orders that are taken, warned of, and refused with the place in the file.

use std::fs;

use serde_json::Value;

use crate::bench::{Bench, Ran, order};

/// Writes an order's file and takes it in.
fn take(bench: &Bench, text: &str, more: &[&str]) -> Ran {
    let path = bench.root.path().join("wanted.ron");
    fs::write(&path, text).unwrap();
    let mut arguments = vec!["take", path.to_str().unwrap()];
    arguments.extend(more);
    bench.run(&arguments)
}

fn waiting(bench: &Bench) -> usize {
    fs::read_dir(bench.data().join("inbox")).map_or(0, Iterator::count)
}

#[test]
fn an_order_is_laid_in_the_inbox() {
    let bench = Bench::new(2, 20);
    let ran = take(&bench, &order(12), &["--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!((&answer["garments"], &answer["asked_later"]), (&12.into(), &0.into()), "{answer}");
    assert_eq!(waiting(&bench), 1);
    let undecided = order(12).replace(", underbase: true", "");
    let later = take(&bench, &undecided, &[]);
    assert!(later.out.contains("the board will ask"), "{}", later.out);
    let said = take(&bench, &undecided, &["--underbase", "no"]);
    assert!(!said.out.contains("the board will ask"), "{}", said.out);
    assert_eq!(waiting(&bench), 3);
}

/// White on dark needs an underbase, the same white on a white garment does not; a picture that is none is
/// refused with its name.
#[test]
fn the_artwork_of_a_line_is_asked_before_anybody() {
    let bench = Bench::new(2, 20);
    let art = bench.root.path().join("lantern.png");
    image::RgbImage::from_pixel(8, 8, image::Rgb([255, 255, 255])).save(&art).unwrap();
    let dark = order(2).replace("underbase: true", "art: Some(\"lantern.png\")");
    let white = dark.replace("#16181d", "#ffffff");
    for (text, underbase) in [(dark.clone(), true), (white, false)] {
        let ran = take(&bench, &text, &["--json"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{text}");
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        let file = format!("inbox/{}.json", answer["id"].as_str().unwrap());
        let laid = fs::read_to_string(bench.data().join(file)).unwrap();
        let laid: Value = serde_json::from_str(&laid).unwrap();
        assert_eq!(laid["lines"][0]["underbase"], underbase, "{laid}");
    }
    fs::write(&art, "no picture").unwrap();
    let ran = take(&bench, &dark, &[]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("lantern.png"), "{}", ran.err);
    assert_eq!(waiting(&bench), 2, "nothing was laid for it");
}

#[test]
fn an_order_that_makes_no_sense_is_refused_with_its_place() {
    let bench = Bench::new(2, 20);
    let good = order(4);
    let cases = [
        (order(0), "lines[1].count: 0 garments"),
        (order(100_000), "lines[1].count: 100000 garments"),
        (good.replace("quick", "silk"), "there is no recipe \"silk\"; there are: quick"),
        (good.replace("Harbour choir", ""), "an order needs a name"),
        (good.replace("#16181d", "night"), "night"),
        (good.replace("underbase: true", "places: []"), "lines[1].places"),
        (good.replace("underbase: true", "size: 3"), "size"),
        (good.replace("lines:", "due: \"soon\", lines:"), "soon"),
    ];
    for (text, wanted) in cases {
        assert_ne!(text, good, "the case changes something");
        let ran = take(&bench, &text, &[]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{text}");
        assert!(ran.err.contains(wanted), "{wanted:?} is not in: {}", ran.err);
        assert!(ran.err.contains("wanted.ron:"), "{}", ran.err);
    }
    let many =
        good.replace("lines: [", "lines: [(count: 4999, recipe: \"quick\", garment: \"#16181d\"),");
    let ran = take(&bench, &many, &[]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("5003 garments in all"), "{}", ran.err);
    assert_eq!(waiting(&bench), 0);
}

/// A row of sizes in a file: their sum is the count, and what contradicts it is refused with its place.
#[test]
fn a_row_of_sizes_is_taken_from_a_file() {
    let bench = Bench::new(2, 20);
    let row = |more: &str| {
        let sizes = format!("sizes: {{\"S\": 2, \"M\": 4, \"L\": 3}}{more}, underbase: true");
        order(4).replace("count: 4, ", "").replace("underbase: true", &sizes)
    };
    let ran = take(&bench, &row(""), &["--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(answer["garments"], 9, "{answer}");
    for (more, wanted) in [
        (", count: 8", "lines[1].count: 8, but its sizes make 9: S 2, M 4, L 3"),
        (", mark: \"M\"", "lines[1].mark: \"M\", but its sizes stand in a row"),
    ] {
        let ran = take(&bench, &row(more), &[]);
        assert!(ran.code == 2 && ran.err.contains(wanted), "{wanted}: {}", ran.err);
    }
    let none = row("").replace("\"S\": 2", "\"S\": 0");
    let ran = take(&bench, &none, &[]);
    assert!(ran.err.contains("0 of \"S\": expected 1 to 5000"), "{}", ran.err);
    assert_eq!(waiting(&bench), 1);
}

#[test]
fn a_due_time_in_the_past_is_a_warning() {
    let bench = Bench::new(2, 20);
    let due = |when: &str| order(4).replace("lines:", &format!("due: \"{when}\",\n    lines:"));
    let ran = take(&bench, &due("2020-01-02T16:00"), &[]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("warning") && ran.err.contains("in the past"), "{}", ran.err);
    assert_eq!(waiting(&bench), 1);
    let ran = take(&bench, &due("2098-01-02T16:00"), &[]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
}

/// Line and column of "file.ron:3:9: reason", and the character that the caret stands under.
fn pointed_at(err: &str, file: &str) -> (usize, usize, char) {
    let lines: Vec<&str> = err.lines().collect();
    let mut place = lines[0].split(&format!("{file}:")).nth(1).unwrap().split(':');
    let mut number = || place.next().unwrap().parse().unwrap();
    let (line, column) = (number(), number());
    let caret = lines.iter().position(|line| line.trim() == "^").expect("a caret");
    let under = lines[caret].chars().take_while(|letter| *letter == ' ').count();
    (line, column, lines[caret - 1].chars().nth(under).unwrap_or('\n'))
}

#[test]
fn a_file_that_does_not_read_is_shown_with_a_caret() {
    let bench = Bench::new(2, 20);
    // A word where a number belongs, in line 4.
    let text = order(4).replace("count: 4", "count: many");
    let ran = take(&bench, &text, &[]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    let (line, column, _) = pointed_at(&ran.err, "wanted.ron");
    let shown = text.lines().nth(3).unwrap();
    assert_eq!(line, 4, "{}", ran.err);
    assert!(ran.err.contains(shown.trim()), "{}", ran.err);
    let there = shown.chars().nth(column - 1).unwrap();
    assert_eq!(pointed_at(&ran.err, "wanted.ron").2, there, "{}", ran.err);
    // At the word, or at the blank before it.
    let word = shown.find("many").unwrap() + 1;
    assert!((word - 1..=word + 4).contains(&column), "column {column}: {}", ran.err);

    let ran = take(&bench, "Order(name: \"Harbour choir\", lines: [", &[]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("wanted.ron:1:"), "{}", ran.err);
    let missing = bench.run(&["take", "nowhere.ron"]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("nowhere.ron"), "{}", missing.err);
    assert_eq!(waiting(&bench), 0);
}

#[test]
fn control_characters_in_an_order_never_reach_the_terminal() {
    let bench = Bench::new(2, 20);
    let text = order(4).replace("Harbour choir", "Harbour\\u{1b}[31m choir");
    let ran = take(&bench, &text, &[]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("Harbour") && !ran.out.contains('\x1b'), "{:?}", ran.out);
    let wrong = take(&bench, &order(4).replace("quick", "si\\u{1b}[31mlk"), &[]);
    assert!(wrong.code == 2 && !wrong.err.contains('\x1b'), "{:?}", wrong.err);
}
