//! Whether an artwork needs an underbase, through the built program: the cases of the trade, every kind of
//! picture, the mask and the backdrop.
//!
//! L* of #808080 is 53.5850, of red 53.2371 (CIELAB, white D65; tests/data/README.md, section 1).

use std::path::{Path, PathBuf};

use image::{
    DynamicImage, GrayAlphaImage, GrayImage, ImageBuffer, Luma, LumaA, Rgb, Rgba, RgbaImage,
};
use serde_json::Value;

use crate::bench::Bench;
use crate::raw_png;

const WHITE: [u8; 4] = [255, 255, 255, 255];
const BLACK: [u8; 4] = [0, 0, 0, 255];
const RED: [u8; 4] = [255, 0, 0, 255];
const NOTHING: [u8; 4] = [0, 0, 0, 0];

/// A place for pictures, and the program beside it.
struct Desk {
    bench: Bench,
}

impl Desk {
    fn new() -> Self {
        Self { bench: Bench::new(2, 20) }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.bench.root.path().join(name)
    }

    /// A picture of 20 x 20 pixels in the format that its name says.
    fn picture(&self, name: &str, pixel: impl Fn(u32, u32) -> [u8; 4]) -> PathBuf {
        let path = self.path(name);
        RgbaImage::from_fn(20, 20, |x, y| Rgba(pixel(x, y))).save(&path).unwrap();
        path
    }

    /// What `dwell art` answers in JSON.
    fn art(&self, path: &Path, garment: &str, more: &[&str]) -> Value {
        let path = path.to_str().unwrap();
        let ran = self.bench.run(&[&["art", path, "--garment", garment, "--json"], more].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{path} on {garment}");
        serde_json::from_str(&ran.out).unwrap()
    }
}

fn number(answer: &Value, name: &str) -> f64 {
    answer[name].as_f64().unwrap_or_else(|| panic!("no {name} in {answer}"))
}

/// Ink in the middle, nothing around it.
fn motif(ink: [u8; 4]) -> impl Fn(u32, u32) -> [u8; 4] {
    move |x, y| if (5..15).contains(&x) && (5..15).contains(&y) { ink } else { NOTHING }
}

/// The three cases of the trade (common practice, no source), and any art on white.
#[test]
fn the_cases_of_the_trade() {
    let desk = Desk::new();
    let white = desk.picture("white.png", motif(WHITE));
    let black = desk.picture("black.png", motif(BLACK));
    let gaudy = desk.picture("gaudy.png", |x, y| {
        let step = |n: u32| u8::try_from(n * 13).unwrap();
        [step(x), step(y), step(19 - x), 255]
    });
    let on = |path, garment| desk.art(path, garment, &[])["underbase"].clone();
    assert_eq!(on(&white, "#add8e6"), true, "white ink on light blue");
    assert_eq!(on(&black, "#808080"), false, "black art on mid grey");
    for path in [&white, &black, &gaudy] {
        assert_eq!(on(path, "#ffffff"), false, "{} on white", path.display());
    }
    assert_eq!(on(&gaudy, "#101820"), true);
    let answer = desk.art(&white, "#808080", &["--print", "12 in x 14 in"]);
    assert!((number(&answer, "garment_lightness") - 53.5850).abs() < 1e-3, "{answer}");
    assert!((number(&answer, "lightest") - 100.0).abs() < 1e-4, "{answer}");
    assert_eq!((number(&answer, "lighter_share"), number(&answer, "printed_share")), (1.0, 0.25));
    // A quarter of 12 in x 14 in, 1 in = 2.54 cm exactly (NIST SP 811).
    assert!((number(&answer, "printed_area_cm2") - 42.0 * 6.4516).abs() < 1e-9, "{answer}");
    assert!(answer["reason"].as_str().unwrap().contains("lighter than the garment"), "{answer}");
}

/// Red is darker than sky blue, and goes muddy on it all the same: the garment swallows its red (common practice,
/// no source). What decides can be chosen.
#[test]
fn a_brighter_channel_asks_too() {
    let desk = Desk::new();
    let red = desk.picture("red.png", motif(RED));
    let answer = desk.art(&red, "#87ceeb", &[]);
    assert_eq!(answer["underbase"], true, "{answer}");
    assert!((number(&answer, "lightest") - 53.2371).abs() < 1e-3, "{answer}");
    assert!(number(&answer, "lightest") < number(&answer, "garment_lightness"), "{answer}");
    let shares = (number(&answer, "lighter_share"), number(&answer, "brighter_channel_share"));
    assert_eq!(shares, (0.0, 1.0));
    assert!(answer["reason"].as_str().unwrap().contains("swallow"), "{answer}");
    for (decides, underbase) in [("lighter", false), ("brighter-channel", true), ("either", true)] {
        let answer = desk.art(&red, "#87ceeb", &["--decides", decides]);
        assert_eq!(answer["underbase"], underbase, "{decides}: {answer}");
    }
}

/// How much of the print must be lighter, and by how much, can be set.
#[test]
fn the_limits_can_be_set() {
    let desk = Desk::new();
    let path = desk.picture("speck.png", |x, y| if (x, y) == (3, 4) { WHITE } else { BLACK });
    // One pixel of 400 is 0.25 %.
    for (share, underbase) in [("0.24%", true), ("0.26%", false)] {
        let more = ["--share", share, "--backdrop", "keep"];
        assert_eq!(desk.art(&path, "#000000", &more)["underbase"], underbase, "{share}");
    }
    // White over mid grey is lighter by 46.4.
    for (by, underbase) in [("46", true), ("47", false)] {
        let more = ["--lighter-by", by, "--decides", "lighter"];
        assert_eq!(desk.art(&path, "#808080", &more)["underbase"], underbase, "{by}");
    }
}

/// A pixel that is more transparent than not is not printed; a semi-transparent one is what it looks like:
/// white at 128 of 255 over black is #808080.
#[test]
fn what_is_semi_transparent_is_what_it_looks_like() {
    let desk = Desk::new();
    let half = desk.picture("half.png", motif([255, 255, 255, 128]));
    let answer = desk.art(&half, "#000000", &[]);
    assert!((number(&answer, "lightest") - 53.5850).abs() < 1e-3, "{answer}");
    assert_eq!(number(&answer, "printed_share"), 0.25);
    let edge = |x: u32, _| [255, 255, 255, if x < 5 { 128 } else { 127 }];
    let answer = desk.art(&desk.picture("edge.png", edge), "#000000", &[]);
    assert_eq!(number(&answer, "printed_share"), 0.25, "{answer}");
}

/// The same art gives the same answer in each format and depth.
#[test]
fn every_kind_of_picture_is_read() {
    let desk = Desk::new();
    // The left quarter white, the rest black: the same in grey, in colour and in 16 bits.
    let grey = |x: u32| if x < 5 { 255u8 } else { 0 };
    let wide = |x: u32| u16::from(grey(x)) * 257;
    let save = |name: &str, picture: DynamicImage| {
        let path = desk.path(name);
        picture.save(&path).unwrap();
        path
    };
    let colour = ImageBuffer::from_fn(20, 20, |x, _| Rgb([grey(x); 3]));
    let deep = |x: u32| Rgba([wide(x), wide(x), wide(x), u16::MAX]);
    let paths = [
        save("rgb.png", colour.clone().into()),
        save("deep.png", ImageBuffer::from_fn(20, 20, |x, _| deep(x)).into()),
        save("grey.png", GrayImage::from_fn(20, 20, |x, _| Luma([grey(x)])).into()),
        save("grey16.png", ImageBuffer::from_fn(20, 20, |x, _| Luma([wide(x)])).into()),
        save("alpha.png", GrayAlphaImage::from_fn(20, 20, |x, _| LumaA([grey(x), 255])).into()),
        save("art.webp", colour.into()),
    ];
    for path in &paths {
        let answer = desk.art(path, "#101820", &[]);
        let name = path.display();
        assert_eq!(number(&answer, "lighter_share"), 0.25, "{name}: {answer}");
        assert_eq!(number(&answer, "printed_share"), 1.0, "{name}: {answer}");
        assert_eq!(answer["backdrop_suspected"], false, "{name}: its border has two colours");
    }
    // JPEG loses a little: blocks of 8 x 8 pixels of one colour keep it to a step or two.
    let blocks = ImageBuffer::from_fn(32, 16, |x, _| Rgb([if x < 8 { 255u8 } else { 0 }; 3]));
    let answer = desk.art(&save("art.jpg", blocks.into()), "#101820", &[]);
    assert!((number(&answer, "lighter_share") - 0.25).abs() < 0.01, "{answer}");
    assert!(number(&answer, "lightest") > 99.0, "{answer}");
    // The name says nothing; the content does.
    let renamed = desk.path("art.txt");
    std::fs::copy(&paths[0], &renamed).unwrap();
    assert_eq!(number(&desk.art(&renamed, "#101820", &[]), "lighter_share"), 0.25);
}

/// A palette in which one colour is transparent.
#[test]
fn a_palette_with_transparency_is_read() {
    let desk = Desk::new();
    let path = desk.path("palette.png");
    let mut encoder = png::Encoder::new(std::fs::File::create(&path).unwrap(), 4, 2);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Two);
    encoder.set_palette(vec![0, 0, 0, 255, 255, 255, 200, 0, 0, 255, 255, 0]);
    // The first is not printed, the second is, as #808080 over black; the others are opaque.
    encoder.set_trns(vec![0, 128]);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&[0b00_01_01_01, 0b00_00_00_00]).unwrap();
    writer.finish().unwrap();
    let answer = desk.art(&path, "#000000", &[]);
    assert_eq!(number(&answer, "printed_share"), 3.0 / 8.0, "{answer}");
    assert!((number(&answer, "lightest") - 53.5850).abs() < 1e-3, "{answer}");
}

/// An interlaced picture, whose rows come in seven passes, says the same as one that is not; the mask too.
#[test]
fn an_interlaced_picture_is_read() {
    let desk = Desk::new();
    let pixel = |x: usize, y: usize| if x < 3 && y < 5 { WHITE } else { BLACK };
    let path = desk.path("adam7.png");
    std::fs::write(&path, raw_png::file(raw_png::head(8, 8, true), &raw_png::adam7(pixel)))
        .unwrap();
    let mask = desk.path("mask.png");
    let answer = desk.art(&path, "#101820", &["--mask", mask.to_str().unwrap()]);
    assert_eq!(number(&answer, "lighter_share"), 15.0 / 64.0, "{answer}");
    let mask = image::open(mask).unwrap().into_luma8();
    for (x, y, grey) in mask.enumerate_pixels() {
        let white = pixel(x as usize, y as usize) == WHITE;
        assert_eq!(grey.0[0], if white { 255 } else { 0 }, "{x} {y}");
    }
}

/// The mask's white pixels are the share of the printed ones that asked for white, by each rule, with the backdrop
/// and without.
#[test]
fn the_mask_is_white_where_white_goes() {
    let desk = Desk::new();
    let backdrop = [90, 140, 90, 255];
    let path = desk.picture("art.png", |x, y| {
        if x == 0 || y == 0 || x == 19 || y == 19 {
            return backdrop;
        }
        let noise = (x * 7919 + y * 104_729) % 251;
        match noise % 5 {
            0 => NOTHING,
            1 => backdrop,
            _ => [u8::try_from(noise).unwrap(), u8::try_from(noise / 2).unwrap(), 60, 255],
        }
    });
    let mask = desk.path("mask.png");
    let mut seen = Vec::new();
    for said in ["keep", "drop"] {
        for (decides, share) in
            [("lighter", "lighter_share"), ("brighter-channel", "brighter_channel_share")]
        {
            let out = mask.to_str().unwrap();
            let more = ["--mask", out, "--backdrop", said, "--decides", decides];
            let answer = desk.art(&path, "#404040", &more);
            assert_eq!(answer["backdrop_suspected"], true, "{answer}");
            let picture = image::open(&mask).unwrap().into_luma8();
            assert_eq!(picture.dimensions(), (20, 20));
            let white = picture.pixels().filter(|pixel| pixel.0[0] == 255).count();
            assert!(picture.pixels().all(|pixel| matches!(pixel.0[0], 0 | 255)));
            let printed = number(&answer, "printed_share") * 400.0;
            let wanted = number(&answer, share) * printed;
            assert!((white as f64 - wanted).abs() < 1e-6 && white > 0, "{white} is not {wanted}");
            seen.push((white, printed.round()));
        }
    }
    assert!(seen[2].0 < seen[0].0 && seen[2].1 < seen[0].1, "kept, dropped: {seen:?}");
}

/// A border of one opaque colour is asked about; whether it is printed can be said, and decides.
#[test]
fn a_backdrop_is_asked_about() {
    let desk = Desk::new();
    let on_white = |x: u32, y: u32| match motif(BLACK)(x, y) {
        NOTHING => WHITE,
        ink => ink,
    };
    let path = desk.picture("scan.png", on_white);
    let garment = "#101820";
    let kept = desk.art(&path, garment, &["--backdrop", "keep"]);
    let dropped = desk.art(&path, garment, &["--backdrop", "drop"]);
    assert_eq!((&kept["underbase"], number(&kept, "printed_share")), (&true.into(), 1.0));
    assert_eq!((&dropped["underbase"], number(&dropped, "printed_share")), (&false.into(), 0.25));
    assert_eq!(desk.art(&path, garment, &[])["backdrop_suspected"], true);
    let told = desk.bench.run(&["art", path.to_str().unwrap(), "--garment", garment]);
    assert!(told.out.contains("is the backdrop printed? --backdrop keep or drop"), "{}", told.out);
    let open = desk.picture("open.png", motif(BLACK));
    assert_eq!(desk.art(&open, garment, &[])["backdrop_suspected"], false, "nothing around it");
}

/// Of many pictures the answers come in the order in which they were given, whichever was done first.
#[test]
fn several_answers_come_in_order() {
    let desk = Desk::new();
    let mut paths = Vec::new();
    for n in 0..9u8 {
        // The first is by far the largest.
        let side = if n == 0 { 1500 } else { 4 };
        let path = desk.path(&format!("{n}.png"));
        RgbaImage::from_pixel(side, side, Rgba([n * 20, 0, 0, 255])).save(&path).unwrap();
        paths.push(path.to_str().unwrap().to_owned());
    }
    let mut arguments = vec!["art", "--garment", "#000000", "--json"];
    arguments.extend(paths.iter().map(String::as_str));
    let ran = desk.bench.run(&arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let answers: Vec<Value> = ran.out.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    let files: Vec<&str> = answers.iter().map(|answer| answer["file"].as_str().unwrap()).collect();
    assert_eq!(files, paths);
    let light: Vec<f64> = answers.iter().map(|answer| number(answer, "lightest")).collect();
    assert!(light.is_sorted() && light[0] < light[8], "{light:?}");
}

/// A picture that cannot be looked at is told, and the others are answered all the same.
#[test]
fn one_bad_picture_does_not_hide_the_others() {
    let desk = Desk::new();
    let good = desk.path("good.png");
    RgbaImage::from_pixel(4, 4, Rgba([200, 0, 0, 255])).save(&good).unwrap();
    let bad = desk.path("bad.png");
    std::fs::write(&bad, "no picture").unwrap();
    let (good, bad) = (good.to_str().unwrap(), bad.to_str().unwrap());
    let ran = desk.bench.run(&["art", bad, good, "--garment", "#000000", "--json"]);
    assert_eq!((ran.code, ran.out.lines().count()), (2, 1), "{} {}", ran.out, ran.err);
    assert!(ran.err.contains("bad.png") && ran.err.contains("1 of 2 pictures"), "{}", ran.err);
}
