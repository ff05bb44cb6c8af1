//! Labels: what stands on them is read by readers that somebody else wrote, as a thermal printer makes them.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use dwell::screen::keymap::Keymap;
use serde_json::Value;

use crate::bench::{Bench, Ran};
use crate::skipped::skipped;
use support::python::python_with;

/// The orders whose labels are made, all of them.
const ORDERS: [&str; 4] = ["1", "2", "3", "4"];

/// A bench that has worked on four orders.
fn worked() -> Bench {
    let bench = Bench::new(2, 20);
    let data = bench.data();
    let made = bench.run(&[
        "rehearse",
        "--headless",
        "--seed",
        "4",
        "--garments",
        "31",
        "--data",
        data.to_str().unwrap(),
    ]);
    assert_eq!(made.code, 0, "{}", made.err);
    bench
}

/// The garments of these orders, as the journal has them.
fn tags(bench: &Bench) -> Vec<String> {
    let taken = bench.past_of("order-taken");
    assert_eq!(taken.len(), ORDERS.len());
    let count = |order: &Value| {
        let lines = order["form"]["lines"].as_array().unwrap().iter();
        lines.map(|line| line["count"].as_u64().unwrap()).sum::<u64>()
    };
    let of = |(no, order): (usize, &Value)| {
        (1..=count(order)).map(move |piece| format!("A{}-{piece:02}", no + 1)).collect::<Vec<_>>()
    };
    let mut tags: Vec<String> = taken.iter().enumerate().flat_map(of).collect();
    // Blanks that came in for garments that were lost.
    let added = bench.past_of("blank-added");
    tags.extend(added.iter().map(|blank| blank["garment"].as_str().unwrap().to_owned()));
    tags.sort();
    tags
}

/// A Python that has the readers.
fn python() -> Option<String> {
    let found = python_with("zxing", "zxingcpp, pypdfium2, PIL");
    if found.is_none() {
        skipped(
            "no python3 here has zxing-cpp and pypdfium2; install them into a venv at target/zxing",
        );
    }
    found
}

/// The codes on each page of each file, as (kind, text).
fn codes(python: &str, files: &[PathBuf]) -> Vec<Vec<(String, String)>> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/commands/read_codes.py");
    let ran = Command::new(python).arg(script).args(files).output().unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let text = String::from_utf8(ran.stdout).unwrap();
    text.lines().map(|page| serde_json::from_str(page).unwrap()).collect()
}

/// What both codes of some tags say.
fn both(tags: &[String]) -> Vec<(String, String)> {
    let mut both: Vec<(String, String)> = ["Code 128", "QR Code"]
        .into_iter()
        .flat_map(|kind| tags.iter().map(move |tag| (kind.to_owned(), tag.clone())))
        .collect();
    both.sort();
    both
}

fn labels(bench: &Bench, arguments: &[&str]) -> Ran {
    bench.run(&[&["labels"], arguments].concat())
}

#[test]
fn each_label_of_an_order_is_a_picture_whose_codes_a_stranger_reads() {
    let Some(python) = python() else { return };
    let bench = worked();
    let out = bench.root.path().join("label.png");
    let ran = labels(
        &bench,
        &[&ORDERS[..], &["--format", "png", "--out", out.to_str().unwrap()]].concat(),
    );
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let files: Vec<PathBuf> = ran.out.lines().map(PathBuf::from).collect();
    let names: Vec<String> = tags(&bench).iter().map(|tag| format!("label-{tag}.png")).collect();
    assert_eq!(
        files.iter().map(|file| file.file_name().unwrap().to_str().unwrap()).collect::<Vec<_>>(),
        names
    );
    for (page, tag) in codes(&python, &files).into_iter().zip(tags(&bench)) {
        assert_eq!(page, both(&[tag]));
    }
}

#[rstest::rstest]
#[case("50 mm x 25 mm", 1)]
#[case("38mm x 25mm", 1)]
#[case("2.25 in x 1.25 in", 1)]
#[case("a4", 24)]
#[case("letter", 30)]
fn the_pages_of_a_pdf_hold_every_label(#[case] size: &str, #[case] a_page: usize) {
    let Some(python) = python() else { return };
    let bench = worked();
    let out = bench.root.path().join("labels.pdf");
    let ran =
        labels(&bench, &[&ORDERS[..], &["--size", size, "--out", out.to_str().unwrap()]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let pages = codes(&python, &[out]);
    let wanted: Vec<_> = tags(&bench).chunks(a_page).map(both).collect();
    assert_eq!(pages, wanted, "{size}");
}

/// The cards of a sheet are read as what the board takes: each name of a deed of its keys, and nothing twice.
#[rstest::rstest]
#[case(&[])]
#[case(&["--size", "letter"])]
fn each_act_has_a_card_that_a_stranger_reads(#[case] more: &[&str]) {
    let Some(python) = python() else { return };
    let bench = Bench::new(3, 20);
    let out = bench.root.path().join("cards.pdf");
    let ran = labels(&bench, &[&["--cards", "--out", out.to_str().unwrap()], more].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let keys = Keymap::default();
    let is_there = |name: &&str| {
        !matches!(name.strip_prefix("shut-or-open-"), Some("4" | "5" | "6" | "7" | "8" | "9"))
    };
    let names = keys.entries().map(|(entry, _)| entry.name.as_str()).filter(is_there);
    let wanted: Vec<String> = names.map(|name| format!("DO-{}", name.to_uppercase())).collect();
    let mut read: Vec<_> = codes(&python, &[out]).into_iter().flatten().collect();
    read.sort();
    assert_eq!(read, both(&wanted));
}

#[test]
fn cards_by_name_and_an_orders_ticket() {
    let Some(python) = python() else { return };
    let bench = worked();
    let out = bench.root.path().join("some.pdf");
    let path = out.to_str().unwrap();
    let ran = labels(&bench, &["--cards", "sprayed", "UNDO", "--out", path]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let wanted = both(&["DO-SPRAYED".to_owned(), "DO-UNDO".to_owned()]);
    assert_eq!(codes(&python, std::slice::from_ref(&out)), [wanted]);
    let ran = labels(&bench, &["2", "--ticket", "--out", path]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(codes(&python, &[out])[0], both(&["A2-00".to_owned()]));
    let odd = labels(&bench, &["--cards", "dance"]);
    assert_eq!(odd.code, 2);
    assert!(odd.err.contains("found \"dance\", expected what a key does"), "{}", odd.err);
    let small = labels(&bench, &["--cards", "sprayed", "--size", "30mm x 20mm"]);
    assert!(small.err.contains("Name a larger --size"), "{}", small.err);
}

/// The drawing as SVG is the drawing as PNG: each black dot of the one lies in a rectangle of the other's path.
#[test]
fn a_vector_drawing_blackens_what_the_picture_does() {
    let bench = worked();
    let [svg, png] = ["label.svg", "label.png"].map(|name| bench.root.path().join(name));
    for (format, path) in [("svg", &svg), ("png", &png)] {
        let ran = labels(&bench, &["A1-02", "--format", format, "--out", path.to_str().unwrap()]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    }
    let picture = image::open(&png).unwrap().into_luma8();
    assert_eq!(picture.dimensions(), (399, 199), "50 mm x 25 mm at 203 dots an inch");
    let text = fs::read_to_string(&svg).unwrap();
    assert!(text.contains("width=\"49.924mm\""), "{}", &text[..200]);
    let path = text.split("<path d=\"").nth(1).unwrap().split('"').next().unwrap();
    let mut drawn = image::GrayImage::from_pixel(399, 199, image::Luma([255]));
    for bar in path.split('M').skip(1) {
        let number = |text: &str| text.parse::<u32>().unwrap();
        let (at, rest) = bar.split_once('h').unwrap();
        let (x, y) = at.split_once(' ').unwrap();
        let (width, rest) = rest.split_once('v').unwrap();
        let height = rest.split('h').next().unwrap();
        for down in 0..number(height) {
            for across in 0..number(width) {
                drawn.put_pixel(number(x) + across, number(y) + down, image::Luma([0]));
            }
        }
    }
    assert!(drawn == picture);
}

#[test]
fn they_are_given_to_the_program_of_the_profile_and_no_file_stays() {
    let bench = worked();
    let got = bench.root.path().join("got.pdf");
    let station = bench.profiles().join("station.ron");
    let text = fs::read_to_string(&station).unwrap();
    let refused = labels(&bench, &["A1-02", "--send"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("labels: Some((program:"), "{}", refused.err);
    let with = |program: &str| {
        let line = format!("labels: Some((program: {program}, size: \"a4\")), sheet:");
        fs::write(&station, text.replacen("sheet:", &line, 1)).unwrap();
        labels(&bench, &["A1-02", "--send"])
    };
    let copies =
        format!(r#"["/bin/sh", "-c", "cp \"$0\" {0} && echo \"$0\" > {0}.name"]"#, got.display());
    let sent = with(&copies);
    assert_eq!((sent.code, sent.err.as_str()), (0, ""));
    assert_eq!(sent.out, "1 label given to /bin/sh\n");
    assert!(fs::read(&got).unwrap().starts_with(b"%PDF-"));
    let name = fs::read_to_string(got.with_extension("pdf.name")).unwrap();
    assert!(!Path::new(name.trim()).exists(), "{name}");
    for (program, words) in
        [("[\"/bin/false\"]", "nothing may be printed"), ("[\"/nowhere\"]", "does not run")]
    {
        let failed = with(program);
        assert_eq!(failed.code, 1);
        assert!(failed.err.contains(words), "{}", failed.err);
    }
    let empty = with("[]");
    assert_eq!(empty.code, 2);
    assert!(empty.err.contains("labels.program"), "{}", empty.err);
}

#[test]
fn what_cannot_be_drawn_is_said() {
    let bench = worked();
    let cases = [
        (&["9"][..], "no such order"),
        (&["A1-99"], "no such order or garment"),
        (&["B1"], "B1 is station B's order: print them there"),
        (&["harbour"], "an order's number such as 3"),
        (&["A1-02", "--size", "10mm x 10mm"], "it needs"),
        (&["A1-02", "--size", "5m x 5m"], "a4 or letter"),
        (&["A1-02", "--size", "wide"], "a4 or letter"),
        (&["1", "--format", "png"], "do not go into one pipe"),
    ];
    for (arguments, words) in cases {
        let ran = labels(&bench, arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(words), "{arguments:?}: {}", ran.err);
    }
}
