//! Rows, depths and ranges in combination, through the built program: 16 bits in seven passes, a palette with a
//! profile, code points of a narrow range.

use std::fs;

use dwell::figures::colour::{lightness, linear};
use serde_json::Value;

use crate::bench::Bench;
use crate::raw_png;

fn art(bytes: &[u8], more: &[&str]) -> Value {
    let bench = Bench::new(2, 20);
    let path = bench.root.path().join("art.png");
    fs::write(&path, bytes).unwrap();
    let art = ["art", path.to_str().unwrap(), "--garment", "#000000", "--json"];
    let ran = bench.run(&[&art, more].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    serde_json::from_str(&ran.out).unwrap()
}

fn number(answer: &Value, name: &str) -> f64 {
    answer[name].as_f64().unwrap_or_else(|| panic!("no {name} in {answer}"))
}

fn profile(name: &str) -> (&'static [u8; 4], Vec<u8>) {
    let path = format!("{}/tests/data/profiles/{name}.icc", env!("CARGO_MANIFEST_DIR"));
    (b"iCCP", raw_png::iccp(&fs::read(path).unwrap()))
}

/// Two codes that 8 bits cannot tell apart lie on both sides of 0.02 of the light, in rows of seven passes too.
#[test]
fn an_interlaced_picture_of_sixteen_bits_keeps_them() {
    let above = (0..=u16::MAX).find(|code| linear(f64::from(*code) / 65_535.0) > 0.02).unwrap();
    assert_eq!(above.to_be_bytes()[0], (above - 1).to_be_bytes()[0]);
    let pixel = |x: usize, y: usize| {
        let [high, low] = if (x * 5 + y * 3) % 7 < 2 { above } else { above - 1 }.to_be_bytes();
        [high, low, high, low, high, low, 255, 255]
    };
    let brighter = (0..64).filter(|n| (n % 8 * 5 + n / 8 * 3) % 7 < 2).count();
    let mut head = raw_png::deep_head(8, 8);
    head[12] = 1;
    let bytes = raw_png::file(head, &raw_png::adam7(pixel));
    let answer = art(&bytes, &["--decides", "brighter-channel"]);
    let share = number(&answer, "brighter_channel_share");
    assert!((share - brighter as f64 / 64.0).abs() < 1e-12, "{brighter} of 64: {answer}");
    let wanted = lightness(linear(f64::from(above) / 65_535.0));
    assert!((number(&answer, "lightest") - wanted).abs() < 1e-6, "{wanted}: {answer}");
}

/// A palette's colours are of its profile, as those of any picture: by each profile they are what the same pixels are
/// without a palette, which littleCMS has seen (`art_colours.rs`). One that is half clear too.
#[test]
fn a_palettes_colours_are_of_its_profile() {
    let colours = [[20, 30, 40], [180, 90, 30], [60, 200, 120], [250, 250, 5]];
    let opacity = [255, 128, 255, 255];
    let mut head = raw_png::head(4, 1, false);
    head[8..10].copy_from_slice(&[8, 3]);
    let palette = raw_png::file(head, &[0, 0, 1, 2, 3]);
    let pixels = colours.iter().zip(opacity).flat_map(|(rgb, clear)| [&rgb[..], &[clear]].concat());
    let row: Vec<u8> = std::iter::once(0).chain(pixels).collect();
    let plain = raw_png::file(raw_png::head(4, 1, false), &row);
    let mut seen = Vec::new();
    for name in ["gamma-1.0", "wide", "film", "tables-rgb-v4"] {
        let chunks = [profile(name), (b"PLTE", colours.concat()), (b"tRNS", opacity.to_vec())];
        let by_palette = art(&raw_png::with(&palette, &chunks), &[]);
        let by_pixel = art(&raw_png::with(&plain, &chunks[..1]), &[]);
        assert_eq!(by_palette["profile"], "iCCP", "{by_palette}");
        for field in ["lightest", "lighter_share", "brighter_channel_share", "printed_share"] {
            assert_eq!(by_palette[field], by_pixel[field], "{name} {field}");
        }
        seen.push(number(&by_palette, "lightest"));
    }
    seen.dedup();
    assert_eq!(seen.len(), 4, "no profile made a difference: {seen:?}");
}

/// Codes of a narrow range: black is 16 and white 235 of 8 bits, shifted for 16, and what lies beyond is black and
/// white (ITU-T H.273, 8.3: 219 E' + 16, times two to the number of bits beyond 8).
#[test]
fn code_points_of_a_narrow_range_have_their_black_and_white() {
    // ITU-R BT.709 primaries; 8 is a linear transfer, 13 that of sRGB (H.273, tables 2 and 3).
    for (transfer, light) in [(8u8, (|share| share) as fn(f64) -> f64), (13, linear)] {
        let narrow = (b"cICP", vec![1, transfer, 0, 0]);
        let whole = (b"cICP", vec![1, transfer, 0, 1]);
        for code in [0u8, 10, 16, 17, 80, 126, 200, 235, 240, 255] {
            let share = ((f64::from(code) - 16.0) / 219.0).clamp(0.0, 1.0);
            let row = [0, code, code, code, 255];
            let plain = raw_png::file(raw_png::head(1, 1, false), &row);
            // In 16 bits the same codes, times 256.
            let row = [0, code, 0, code, 0, code, 0, 255, 255];
            let deep = raw_png::file(raw_png::deep_head(1, 1), &row);
            for bytes in [&plain, &deep] {
                let answer = art(&raw_png::with(bytes, std::slice::from_ref(&narrow)), &[]);
                assert_eq!(answer["profile"], "cICP", "{answer}");
                let (found, wanted) = (number(&answer, "lightest"), lightness(light(share)));
                assert!((found - wanted).abs() < 2e-3, "{transfer} {code}: {found}, not {wanted}");
            }
            let answer = art(&raw_png::with(&plain, std::slice::from_ref(&whole)), &[]);
            let wanted = lightness(light(f64::from(code) / 255.0));
            assert!((number(&answer, "lightest") - wanted).abs() < 2e-3, "{transfer} {code}");
        }
    }
}
