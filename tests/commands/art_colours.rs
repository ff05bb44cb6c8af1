//! Artwork by its own colours, through the built program: profiles against littleCMS, the order in which a PNG's
//! chunks count, 16 bits, inks, and the exact quantities at a boundary.
//!
//! tests/data/profiles/make.py tells where the profiles and littleCMS's answers come from.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;
use std::process::Command;

use dwell::figures::colour::{lightness, linear, luminance};
use serde_json::Value;

use crate::bench::Bench;
use crate::skipped::skipped;
use crate::{raw_jpeg, raw_png};

const DATA: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/profiles");

/// A colour in codes of 8 bits, and what littleCMS makes of it: sRGB, 0 to 1.
type Answer = (Vec<u8>, [f64; 3]);

fn answers(text: &str) -> BTreeMap<String, Vec<Answer>> {
    let mut answers: BTreeMap<String, Vec<Answer>> = BTreeMap::new();
    for row in text.lines().skip(1) {
        let fields: Vec<&str> = row.split(',').collect();
        let codes = fields[1].split(' ').map(|code| code.parse().unwrap()).collect();
        let seen = [2, 3, 4].map(|n| fields[n].parse().unwrap());
        answers.entry(fields[0].to_owned()).or_default().push((codes, seen));
    }
    answers
}

fn profile(name: &str) -> Vec<u8> {
    fs::read(format!("{DATA}/{name}.icc")).unwrap()
}

/// Each pixel of a row of codes of 8 bits, opaque, in a PNG of 8 or of 16 bits a sample; grey for a single code.
fn picture(codes: &[&[u8]], deep: bool) -> Vec<u8> {
    let width = u32::try_from(codes.len()).unwrap();
    let wide = |code: &u8| if deep { vec![*code, *code] } else { vec![*code] };
    let mut row = vec![0];
    for pixel in codes {
        row.extend(pixel.iter().flat_map(wide));
        if pixel.len() > 1 {
            row.extend(wide(&255));
        }
    }
    let bits = if deep { 16 } else { 8 };
    let head = match (codes[0].len(), deep) {
        (1, _) => raw_png::grey_head(width, 1, bits),
        (_, true) => raw_png::deep_head(width, 1),
        (_, false) => raw_png::head(width, 1, false),
    };
    raw_png::file(head, &row)
}

/// A place for pictures.
struct Desk {
    bench: Bench,
}

impl Desk {
    fn new() -> Self {
        Self { bench: Bench::new(2, 20) }
    }

    fn lay(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.bench.root.path().join(name);
        fs::write(&path, bytes).unwrap();
        path
    }

    /// One answer for each picture.
    fn art(&self, paths: &[PathBuf], garment: &str, more: &[&str]) -> Vec<Value> {
        let mut arguments = vec!["art", "--json", "--garment", garment];
        arguments.extend(paths.iter().map(|path| path.to_str().unwrap()));
        arguments.extend(more);
        let ran = self.bench.run(&arguments);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        ran.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }

    /// The answer for one picture.
    fn one(&self, bytes: &[u8], garment: &str, more: &[&str]) -> Value {
        let path = self.lay("one", bytes);
        self.art(&[path], garment, more).remove(0)
    }
}

fn number(answer: &Value, name: &str) -> f64 {
    answer[name].as_f64().unwrap_or_else(|| panic!("no {name} in {answer}"))
}

/// How far our L* may be from littleCMS's. By curves and a matrix it is rounding alone: profiles hold 16 bits. By
/// tables both go between the same points, but not by the same road: ours are drawn up anew on a grid, so that they
/// part most in the dark.
fn tolerance(name: &str) -> f64 {
    match name {
        name if name.contains("tables") => 1.0,
        _ => 0.02,
    }
}

/// A picture of one pixel (or one block) of the colour, with the profile in it.
fn of_one_colour(name: &str, codes: &[u8], deep: bool) -> Vec<u8> {
    if codes.len() == 4 {
        // Stored inverted, as is usual.
        let block = codes.iter().map(|ink| 255 - ink).collect();
        let mut more = raw_jpeg::profile(&profile(name), 1);
        more.push(raw_jpeg::inverted(0));
        return raw_jpeg::file(&[block], 1, &more);
    }
    raw_png::with(&picture(&[codes], deep), &[(b"iCCP", raw_png::iccp(&profile(name)))])
}

/// 19 profiles, more than 900 colours, 8 bits and 16: each has the lightness that littleCMS gives it.
#[test]
fn littlecms_sees_the_same_lightness() {
    let desk = Desk::new();
    let expected = fs::read_to_string(format!("{DATA}/expected.csv")).unwrap();
    let (mut checked, mut worst) = (0, BTreeMap::new());
    for (name, colours) in answers(&expected) {
        for deep in [false, true].into_iter().filter(|deep| !(*deep && name.contains("cmyk"))) {
            let lay = |(n, (codes, _)): (usize, &Answer)| {
                desk.lay(&format!("{name}-{n}"), &of_one_colour(&name, codes, deep))
            };
            // Each picture makes its tables of inks anew: every fourth colour of those is enough.
            let step = if name.contains("cmyk") { 4 } else { 1 };
            let chosen = || colours.iter().step_by(step);
            let paths: Vec<PathBuf> = chosen().enumerate().map(lay).collect();
            let answers = desk.art(&paths, "#000000", &[]);
            for ((codes, seen), answer) in chosen().zip(&answers) {
                assert_eq!(answer["profile_unread"], Value::Null, "{name}: {answer}");
                assert!(answer["profile"].is_string(), "{name}: {answer}");
                let wanted = lightness(luminance(seen.map(linear)).min(1.0));
                let apart = (number(answer, "lightest") - wanted).abs();
                let at = format!("{name} {codes:?} deep {deep}: {apart:.4} from {wanted:.4}");
                assert!(apart < tolerance(&name), "{at}");
                let most = worst.entry(name.clone()).or_insert(0.0f64);
                *most = most.max(apart);
                checked += 1;
            }
        }
    }
    assert!(checked > 1500, "{checked}");
    println!("{worst:.4?}");
}

/// Red, green and blue each by itself: the mask is white where the channel is brighter than the garment's by more
/// than 0.02. What lies nearer to that than 0.001 linear (0.006 by tables of CMYK) is not asked.
#[test]
fn littlecms_sees_the_same_channels() {
    let desk = Desk::new();
    let expected = fs::read_to_string(format!("{DATA}/expected.csv")).unwrap();
    let mask = desk.bench.root.path().join("mask.png");
    let mut asked = [0; 2];
    for (name, colours) in answers(&expected).into_iter().filter(|(name, _)| !name.contains("cmyk"))
    {
        let codes: Vec<&[u8]> = colours.iter().map(|(codes, _)| codes.as_slice()).collect();
        let chunk = (b"iCCP", raw_png::iccp(&profile(&name)));
        let path = desk.lay("row.png", &raw_png::with(&picture(&codes, false), &[chunk]));
        for (channel, garment) in [(0, "#40ffff"), (1, "#ff90ff"), (2, "#ffffc0")] {
            let own = [0x40, 0x90, 0xC0][channel];
            let above = linear(f64::from(own) / 255.0) + 0.02;
            let more = ["--decides", "brighter-channel", "--mask", mask.to_str().unwrap()];
            desk.art(std::slice::from_ref(&path), garment, &more);
            let white = image::open(&mask).unwrap().into_luma8();
            for ((codes, seen), white) in colours.iter().zip(white.pixels()) {
                let light = linear(seen[channel]);
                if (light - above).abs() < 1e-3 {
                    continue;
                }
                let wanted = light > above;
                assert_eq!(white.0[0] == 255, wanted, "{name} {codes:?} channel {channel}");
                asked[usize::from(wanted)] += 1;
            }
        }
    }
    assert!(asked[0] > 500 && asked[1] > 500, "{asked:?}");
}

/// The values beside the profiles are still what littleCMS says, where Python has it.
#[test]
fn littlecms_still_says_so() {
    let python = concat!(env!("CARGO_MANIFEST_DIR"), "/target/littlecms/bin/python");
    let bench = Bench::new(1, 20);
    let out = bench.root.path();
    let ran = Command::new(python).arg(format!("{DATA}/make.py")).arg(out).output();
    let Ok(ran) = ran else {
        return skipped("no python3 here has Pillow; install it into a venv at target/littlecms");
    };
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let [new, old] = [out.to_str().unwrap(), DATA]
        .map(|place| answers(&fs::read_to_string(format!("{place}/expected.csv")).unwrap()));
    assert_eq!(new.len(), old.len());
    for (name, colours) in &old {
        assert_eq!(fs::read(out.join(format!("{name}.icc"))).unwrap(), profile(name), "{name}");
        for ((codes, seen), (other, again)) in colours.iter().zip(&new[name]) {
            assert_eq!(codes, other);
            let apart = seen.iter().zip(again).map(|(one, other)| (one - other).abs());
            assert!(apart.fold(0.0, f64::max) < 2e-4, "{name} {codes:?}: {again:?}");
        }
    }
}

fn gama(gamma: u32) -> (&'static [u8; 4], Vec<u8>) {
    (b"gAMA", gamma.to_be_bytes().to_vec())
}

fn chrm(values: [u32; 8]) -> (&'static [u8; 4], Vec<u8>) {
    (b"cHRM", values.iter().flat_map(|value| value.to_be_bytes()).collect())
}

/// A grey of gamma 1.0 is far lighter than the same code of sRGB: 0x50 is 0.314 of the light, #606060 0.117.
#[test]
fn a_grey_of_gamma_one_is_lighter_than_the_garment() {
    let desk = Desk::new();
    let grey = picture(&[&[0x50]], false);
    let answer = desk.one(&grey, "#606060", &["--backdrop", "keep"]);
    assert_eq!((&answer["underbase"], &answer["assumed"]), (&false.into(), &"sRGB".into()));
    let answer =
        desk.one(&raw_png::with(&grey, &[gama(100_000)]), "#606060", &["--backdrop", "keep"]);
    assert_eq!((&answer["underbase"], &answer["profile"]), (&true.into(), &"gAMA".into()));
    assert_eq!(number(&answer, "lighter_share"), 1.0, "{answer}");
    assert!((number(&answer, "lightest") - lightness(80.0 / 255.0)).abs() < 1e-6, "{answer}");
    // By the profile it is the same.
    let iccp = (b"iCCP", raw_png::iccp(&profile("grey-1.0")));
    let answer = desk.one(&raw_png::with(&grey, &[iccp]), "#606060", &["--backdrop", "keep"]);
    assert_eq!((&answer["underbase"], &answer["profile"]), (&true.into(), &"iCCP".into()));
}

/// Of a PNG's chunks cICP counts before iCCP, that before sRGB, that before gAMA and cHRM (third edition, 4.3).
#[test]
fn a_pngs_chunks_count_in_their_order() {
    let desk = Desk::new();
    let plain = picture(&[&[120, 120, 120]], false);
    let cicp = (b"cICP", vec![1, 8, 0, 1]);
    let iccp = (b"iCCP", raw_png::iccp(&profile("gamma-1.8")));
    let srgb = (b"sRGB", vec![0]);
    let cinema = chrm([31_270, 32_900, 68_000, 32_000, 26_500, 69_000, 15_000, 6_000]);
    let all = [cicp, iccp, srgb, gama(55_556), cinema];
    let by_power = |power: f64| lightness((120.0f64 / 255.0).powf(power));
    for (from, name, wanted) in [
        (0, "cICP", by_power(1.0)),
        (1, "iCCP", by_power(461.0 / 256.0)),
        (2, "sRGB", lightness(linear(120.0 / 255.0))),
        (3, "gAMA and cHRM", by_power(100_000.0 / 55_556.0)),
        (4, "cHRM", lightness(linear(120.0 / 255.0))),
    ] {
        let answer = desk.one(&raw_png::with(&plain, &all[from..]), "#101820", &[]);
        assert_eq!(answer["profile"], name, "{answer}");
        assert!((number(&answer, "lightest") - wanted).abs() < 2e-3, "{wanted}: {answer}");
    }
    // Chromaticities alone change colours: the same as the profile of these primaries, which littleCMS saw.
    let green = picture(&[&[0, 200, 60]], false);
    let iccp = (b"iCCP", raw_png::iccp(&profile("cinema")));
    let [by_chunk, by_profile, plain] = [&all[4..], &[iccp], &[]].map(|chunks| {
        number(&desk.one(&raw_png::with(&green, chunks), "#000000", &[]), "lightest")
    });
    assert!((by_chunk - by_profile).abs() < 0.01, "{by_chunk} {by_profile}");
    assert!((by_chunk - plain).abs() > 0.5, "{by_chunk} {plain}");
}

/// 16 bits stay 16 bits: two codes that 8 bits cannot tell apart lie on both sides of 0.02 of the light.
#[test]
fn sixteen_bits_are_judged_as_sixteen() {
    let desk = Desk::new();
    let above = (0..=u16::MAX).find(|code| linear(f64::from(*code) / 65_535.0) > 0.02).unwrap();
    let of = |code: u16| {
        let [high, low] = code.to_be_bytes();
        let pixel = [high, low, high, low, high, low, 255, 255];
        raw_png::file(raw_png::deep_head(1, 1), &[&[0][..], &pixel].concat())
    };
    let grey = |code: u16| {
        let row = [&[0][..], &code.to_be_bytes()].concat();
        raw_png::file(raw_png::grey_head(1, 1, 16), &row)
    };
    assert_eq!(above.to_be_bytes()[0], (above - 1).to_be_bytes()[0]);
    for (code, brighter) in [(above - 1, 0.0), (above, 1.0)] {
        for picture in [of(code), grey(code)] {
            let answer = desk.one(&picture, "#000000", &["--decides", "brighter-channel"]);
            assert_eq!(number(&answer, "brighter_channel_share"), brighter, "{code}: {answer}");
            let wanted = lightness(linear(f64::from(code) / 65_535.0));
            assert!((number(&answer, "lightest") - wanted).abs() < 1e-6, "{code}: {answer}");
        }
    }
}

/// Exactly 0.05 % of the print asks for nothing, one pixel more does; and what is as light as the garment is not
/// lighter, were the limit 0.
#[test]
fn a_boundary_is_where_it_is_said_to_be() {
    let desk = Desk::new();
    for (white, underbase) in [(1, false), (2, true)] {
        let mut rows = Vec::new();
        for y in 0..40 {
            rows.push(0);
            rows.extend((0..50).map(|x| if y == 3 && x < white { 255 } else { 0 }));
        }
        let bytes = raw_png::file(raw_png::grey_head(50, 40, 8), &rows);
        let answer = desk.one(&bytes, "#000000", &["--backdrop", "keep"]);
        assert_eq!(number(&answer, "lighter_share"), f64::from(white) / 2000.0);
        assert_eq!(answer["underbase"], underbase, "{answer}");
    }
    for code in 0..=255u8 {
        let garment = format!("#{code:02x}{:02x}{:02x}", code / 2, 255 - code);
        let bytes = picture(&[&[code, code / 2, 255 - code]], false);
        let more = ["--lighter-by", "0", "--decides", "lighter"];
        let answer = desk.one(&bytes, &garment, &more);
        assert_eq!(number(&answer, "lighter_share"), 0.0, "{garment}: {answer}");
    }
}

/// A mixture with the garment is not rounded to 8 bits: its light is that of the exact code between.
#[test]
fn a_mixture_is_not_rounded() {
    let desk = Desk::new();
    let bytes = raw_png::file(raw_png::head(1, 1, false), &[0, 3, 3, 3, 200]);
    let answer = desk.one(&bytes, "#000000", &[]);
    let wanted = lightness(luminance([linear(3.0 * 200.0 / 65_025.0); 3]));
    assert!((number(&answer, "lightest") - wanted).abs() < 1e-12, "{wanted}: {answer}");
}
