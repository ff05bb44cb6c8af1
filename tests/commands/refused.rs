//! Bad input to the commands that work figures out: exit code 2, nothing on the output, and a text that names
//! what is wrong and where.

use std::path::Path;

use crate::bench::Bench;
use crate::raw_png;

/// Runs it and holds it to a refusal whose text contains all of `wanted`.
fn refused(bench: &Bench, arguments: &[&str], wanted: &[&str]) {
    let ran = bench.run(arguments);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}: {}", ran.err);
    for word in wanted {
        assert!(ran.err.contains(word), "{arguments:?}: {word:?} is not in: {}", ran.err);
    }
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
}

fn write(bench: &Bench, name: &str, content: impl AsRef<[u8]>) -> String {
    let path = bench.root.path().join(name);
    std::fs::write(&path, content).unwrap();
    path.to_str().unwrap().to_owned()
}

/// A grainy picture in the format that its name says, cut to so many hundredths of its bytes.
fn cut(bench: &Bench, name: &str, hundredths: usize) -> String {
    let path = bench.root.path().join(name);
    let pixel = |x: u32, y: u32| image::Rgb([0u32, 1, 2].map(|n| (x * 37 + y * 91 + n * 53) as u8));
    image::RgbImage::from_fn(64, 64, pixel).save(&path).unwrap();
    let whole = std::fs::read(&path).unwrap();
    write(bench, name, &whole[..whole.len() * hundredths / 100])
}

#[test]
fn what_is_no_picture_is_refused() {
    let bench = Bench::new(2, 20);
    let art = |path: &str, wanted: &[&str]| {
        let name = Path::new(path).file_name().unwrap().to_str().unwrap();
        refused(&bench, &["art", path, "--garment", "#101820"], &[&[name], wanted].concat());
    };
    art(&write(&bench, "words.png", "no picture"), &[]);
    art(&write(&bench, "empty.png", ""), &[]);
    art("nowhere.png", &["No such file"]);
    art(bench.root.path().to_str().unwrap(), &[]);
    for (name, hundredths) in [("a.png", 50), ("b.png", 95), ("c.png", 3)] {
        art(&cut(&bench, name, hundredths), &[]);
    }
    for (name, hundredths) in [("a.jpg", 50), ("b.jpg", 95), ("c.jpg", 3)] {
        art(&cut(&bench, name, hundredths), &[]);
    }
    for (name, hundredths) in [("a.webp", 50), ("b.webp", 95)] {
        art(&cut(&bench, name, hundredths), &[]);
    }
}

/// Small files that claim to be 60000 x 60000 pixels, 14.4 GB unpacked: refused at once, in order of rows or
/// interlaced.
#[test]
fn a_bomb_is_refused() {
    let bench = Bench::new(2, 20);
    for interlaced in [false, true] {
        let bomb = raw_png::file(raw_png::head(60_000, 60_000, interlaced), &[0; 64]);
        assert!(bomb.len() < 200);
        let bomb = write(&bench, "bomb.png", bomb);
        let wanted = ["bomb.png", "60000 x 60000 pixels: expected 1 to 400000000"];
        refused(&bench, &["art", &bomb, "--garment", "#101820"], &wanted);
    }
    // Within the limit, but there are not so many rows.
    let short = raw_png::file(raw_png::head(20_000, 20_000, false), &[0; 64]);
    let short = write(&bench, "short.png", short);
    refused(&bench, &["art", &short, "--garment", "#101820"], &["short.png"]);
}

#[test]
fn an_artwork_that_prints_nothing_is_refused() {
    let bench = Bench::new(2, 20);
    let path = bench.root.path().join("clear.png");
    image::RgbaImage::from_pixel(4, 4, image::Rgba([255, 255, 255, 127])).save(&path).unwrap();
    let clear = path.to_str().unwrap();
    refused(&bench, &["art", clear, "--garment", "#101820"], &["clear.png", "no pixel is printed"]);
    image::RgbImage::from_pixel(4, 4, image::Rgb([9, 9, 9])).save(&path).unwrap();
    let dropped = ["art", clear, "--garment", "#101820", "--backdrop", "drop"];
    refused(&bench, &dropped, &["no pixel is printed"]);
}

#[test]
fn what_art_is_told_must_make_sense() {
    let bench = Bench::new(2, 20);
    let path = bench.root.path().join("art.png");
    image::RgbImage::from_pixel(4, 4, image::Rgb([9, 9, 9])).save(&path).unwrap();
    let art = path.to_str().unwrap();
    for garment in ["night", "#12345", "#gggggg", "", "101820ff0"] {
        refused(&bench, &["art", art, "--garment", garment], &["--garment"]);
    }
    let on = ["art", art, "--garment", "#101820"];
    let cases: [(&[&str], &str); 6] = [
        (&["--print", "12 in"], "--print"),
        (&["--share", "nan"], "--share"),
        (&["--lighter-by", "nan"], "--lighter-by"),
        (&["--lighter-by", "inf"], "--lighter-by"),
        (&["--mask", "/nowhere/at/all.png"], "/nowhere/at/all.png"),
        (&["--decides", "luck"], "--decides"),
    ];
    for (more, wanted) in cases {
        let ran = bench.run(&[&on[..], more].concat());
        assert_eq!(ran.code, 2, "{more:?}: {}", ran.err);
        assert!(ran.err.contains(wanted), "{more:?}: {}", ran.err);
    }
}

#[test]
fn a_column_that_is_no_numbers_is_refused_with_its_place() {
    let bench = Bench::new(2, 20);
    let chart = |content: &[u8], more: &[&str], wanted: &[&str]| {
        let path = write(&bench, "grams.csv", content);
        refused(&bench, &[&["chart", &path], more].concat(), &[&["grams.csv"], wanted].concat());
    };
    chart(
        b"grams\n33.1\nheavy\n",
        &[],
        &["line 3, column 1", "found \"heavy\", expected a number"],
    );
    chart(
        b"n,grams\n1,33\n2,\n",
        &["--column", "grams"],
        &["line 3, column 2", "found nothing, expected a number"],
    );
    chart(b"n,grams\n1,33\n2\n", &["--column", "grams"], &["line 3, column 2"]);
    chart(b"# weighed by hand\n\ngrams\n33\n34\nx\n", &[], &["line 6, column 1"]);
    for odd in ["NaN", "inf", "-infinity", "1e999"] {
        chart(format!("33\n{odd}\n34\n").as_bytes(), &[], &["line 2, column 1", odd]);
    }
    chart(b"33\n\xff\xfe\n34\n", &[], &["line 2, column 1"]);
    chart(b"", &[], &["0 values: expected at least 2"]);
    chart(b"", &["--column", "grams"], &["the file is empty"]);
    chart(b"grams\n33\n", &[], &["1 values: expected at least 2"]);
    chart(b"grams\n33\n34\n", &["--column", "weight"], &["no column \"weight\"", "grams"]);
    chart(b"1e308\n-1e308\n1e308\n", &[], &["too large"]);
    let good = write(&bench, "good.csv", "33\n34\n35\n");
    refused(&bench, &["chart", &good, "--low", "nan", "--high", "35"], &["--low", "a number"]);
    refused(&bench, &["chart", &good, "--low", "30", "--high", "inf"], &["--high", "a number"]);
    for limits in [["35", "33"], ["34", "34"]] {
        let arguments = ["chart", &good, "--low", limits[0], "--high", limits[1]];
        refused(&bench, &arguments, &["--low", "--high"]);
    }
    refused(&bench, &["chart", &good, "--low", "3"], &["--high"]);
    refused(&bench, &["chart", "nowhere.csv"], &["nowhere.csv"]);
    let out = "/nowhere/at/all.svg";
    refused(&bench, &["chart", &good, "--plot", out], &[out, "No such file"]);
}

#[test]
fn pairs_that_cannot_be_fitted_are_refused() {
    let bench = Bench::new(2, 20);
    let steam = |content: &str, wanted: &[&str]| {
        let path = write(&bench, "pairs.csv", content);
        let arguments =
            ["steam", "--fit", &path, "--plate", "340 F", "--area", "14 in x 16 in", "--json"];
        refused(&bench, &arguments, &[&["pairs.csv"], wanted].concat());
    };
    steam("grams,seconds\n20,24\n28,30\n", &["2 pairs: expected at least 3"]);
    steam("grams,seconds\n20,24\n20,24\n20,24\n20,24\n", &["alike"]);
    steam("grams,seconds\n20,24\n28,30\n34,soon\n", &["line 4, column 2", "soon"]);
    steam("grams,seconds\n20,24\n28,NaN\n34,36\n", &["line 3, column 2"]);
    steam("grams,seconds\n20,24\n28,30\n-34,36\n", &["above 0"]);
    steam("grams,seconds\n20,24\n28,0\n34,36\n", &["above 0"]);
    steam("weight,seconds\n20,24\n28,30\n34,36\n", &["no column \"grams\""]);
    steam("", &["empty"]);
    let place = ["--area", "14 in x 16 in"];
    for (more, wanted) in [
        (["--plate", "190 F", "--altitude", "0 m"], "does not boil water"),
        (["--plate", "inf F", "--altitude", "0 m"], "--plate"),
        (["--plate", "340 F", "--altitude", "90 km"], "--altitude"),
        (["--plate", "340 F", "--seconds", "nan"], "--seconds"),
    ] {
        refused(&bench, &[&["steam"], &place[..], &more].concat(), &[wanted]);
    }
}

#[test]
fn weights_and_sprays_that_cannot_be_are_refused() {
    let bench = Bench::new(2, 20);
    let area = ["--area", "14 in x 16 in"];
    let coat = |before: &str, after: &str, wanted: &str| {
        let weights = ["coat", "--recipe", "quick", "--before", before, "--after", after];
        refused(&bench, &[&weights, &area[..]].concat(), &[wanted]);
    };
    coat("186.0 g", "152.4 g", "lighter than before");
    coat("0 g", "152.4 g", "0");
    coat("nan g", "152.4 g", "--before");
    coat("152.4 g", "inf g", "--after");
    coat("152.4 g", "heavy", "--after");
    let spray = |more: &[&str], wanted: &str| {
        let all = [&["spray", "--coat", "230 g/m2"], &area[..], more].concat();
        refused(&bench, &all, &[wanted]);
    };
    spray(&["--flow", "0 g/s", "--angle", "65"], "flow");
    spray(&["--flow", "1.9 g/s", "--angle", "nan"], "--angle");
    spray(&["--flow", "1.9 g/s", "--angle", "180"], "--angle");
    spray(&["--flow", "1.9 g/s"], "--angle");
    spray(&["--angle", "65"], "--flow");
    spray(&["--caught", "19 g", "--angle", "65"], "--in");
    spray(&["--flow", "1.9 g/s", "--fan", "6 in", "--overlap", "100%"], "overlap");
    spray(&["--flow", "1.9 g/s", "--fan", "6 in", "--kept", "0%"], "kept");
}

/// A mask never goes over its artwork, and one that cannot be made leaves what stood there.
#[test]
fn a_mask_over_its_artwork_is_refused_and_the_artwork_stays() {
    let bench = Bench::new(2, 20);
    let path = bench.root.path().join("art.png");
    image::RgbImage::from_pixel(8, 8, image::Rgb([250, 250, 250])).save(&path).unwrap();
    let before = std::fs::read(&path).unwrap();
    let art = path.to_str().unwrap();
    let ran = bench.run(&["art", art, "--garment", "#101820", "--mask", art]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("same file"), "{}", ran.err);
    assert_eq!(std::fs::read(&path).unwrap(), before);
    let mask = bench.root.path().join("mask.png");
    let ran = bench.run(&["art", art, "--garment", "#101820", "--mask", mask.to_str().unwrap()]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(mask.exists());
}

#[test]
fn pairs_that_say_nothing_of_a_press_are_refused() {
    let bench = Bench::new(2, 20);
    for (name, pairs, words) in [
        ("back.csv", "20,40\n30,30\n40,20\n", "more grams must mean more seconds"),
        ("alike.csv", "26,20\n26,27\n26,36\n", "all weights are alike"),
        ("nearly.csv", "26,20\n26,27\n26.1,36\n", "all weights are alike"),
    ] {
        let path = write(&bench, name, format!("grams,seconds\n{pairs}"));
        let area = ["--plate", "340 F", "--area", "14 in x 16 in"];
        refused(&bench, &[&["steam", "--fit", &path][..], &area].concat(), &[name, words]);
    }
}

#[test]
fn figures_that_no_bench_shows_are_refused() {
    let bench = Bench::new(2, 20);
    let grid = write(&bench, "grid.csv", "338,340,339\n340,34,341\n");
    refused(&bench, &["platen", &grid, "--dial", "340 F"], &["line 2, column 2", "right scale"]);
    let ragged = write(&bench, "ragged.csv", "338,340,339\n340,341\n");
    refused(&bench, &["platen", &ragged, "--dial", "340 F"], &["ragged.csv"]);
    let area = ["--area", "14 in x 16 in"];
    let coat = ["coat", "--before", "152 g", "--after", "1186 g", "--recipe", "quick"];
    refused(&bench, &[&coat[..], &area].concat(), &["more than cloth can hold"]);
    let twice = ["spray", "--flow", "1.9 g/s", "--caught", "19 g", "--in", "10s", "--fan", "6 in"];
    refused(&bench, &[&twice[..], &area, &["--coat", "200 g/m2"]].concat(), &["--caught"]);
}
