//! Artwork that lies on its side in the file: mask and sketch stand upright, for each orientation of Exif and each
//! kind of picture; and pictures of inks.

use std::fs;
use std::path::{Path, PathBuf};

use dwell::figures::artwork::Limits;
use dwell::figures::colour::{lightness, linear};
use dwell::figures::sketch::{COLUMNS, ROWS};
use dwell::figures::units::Colour;
use dwell::shell::picture::look_at_bytes;
use dwell::shop::facts::order::Artwork;
use image::codecs::webp::WebPEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, GrayImage, ImageEncoder, Luma};
use serde_json::Value;

use crate::bench::Bench;
use crate::{raw_jpeg, raw_png};

/// Blocks of 8 x 8 pixels, three across and two down: an L, like none of its turns.
const BLOCKS: [[u8; 3]; 2] = [[255, 255, 255], [255, 0, 0]];

fn block(x: u32, y: u32) -> u8 {
    BLOCKS[y as usize / 8][x as usize / 8]
}

fn stored() -> GrayImage {
    GrayImage::from_fn(24, 16, |x, y| Luma([block(x, y)]))
}

fn jpeg(orientation: u8) -> Vec<u8> {
    let exif = (0xE1, [b"Exif\0\0", &raw_jpeg::exif(orientation)[..]].concat());
    let blocks: Vec<Vec<u8>> = BLOCKS.iter().flatten().map(|grey| vec![*grey]).collect();
    raw_jpeg::file(&blocks, 3, &[exif])
}

fn png(orientation: u8, behind: bool) -> Vec<u8> {
    let stored = stored();
    let rows: Vec<u8> =
        stored.rows().flat_map(|row| [0].into_iter().chain(row.map(|p| p.0[0]))).collect();
    let file = raw_png::file(raw_png::grey_head(24, 16, 8), &rows);
    let exif = (b"eXIf", raw_jpeg::exif(orientation));
    if behind { raw_png::with_behind(&file, &[exif]) } else { raw_png::with(&file, &[exif]) }
}

fn webp(orientation: u8) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = WebPEncoder::new_lossless(&mut bytes);
    encoder.set_exif_metadata(raw_jpeg::exif(orientation)).unwrap();
    let rgb = DynamicImage::from(stored()).into_rgb8();
    encoder.write_image(&rgb, 24, 16, image::ExtendedColorType::Rgb8).unwrap();
    bytes
}

fn run(bench: &Bench, path: &Path, garment: &str, more: &[&str]) -> Value {
    let path = path.to_str().unwrap();
    let ran = bench.run(&[&["art", path, "--garment", garment, "--json"], more].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{path}");
    serde_json::from_str(&ran.out).unwrap()
}

fn lay(bench: &Bench, name: &str, bytes: &[u8]) -> PathBuf {
    let path = bench.root.path().join(name);
    fs::write(&path, bytes).unwrap();
    path
}

/// What the board sees.
fn seen(bytes: &[u8], garment: Colour) -> Artwork {
    let look = look_at_bytes("art".as_ref(), bytes, garment, Limits::default());
    look.unwrap_or_else(|wrong| panic!("{wrong}")).says(None).unwrap()
}

/// Another route: the crate `image` turns the picture that is wanted.
#[test]
fn mask_and_sketch_stand_upright() {
    let bench = Bench::new(2, 20);
    let mask = bench.root.path().join("mask.png");
    for orientation in 1..=8 {
        let mut wanted = DynamicImage::from(stored());
        wanted.apply_orientation(Orientation::from_exif(orientation).unwrap());
        let wanted = wanted.into_luma8();
        let pictures =
            [jpeg(orientation), png(orientation, false), png(orientation, true), webp(orientation)];
        for (kind, bytes) in pictures.iter().enumerate() {
            let path = lay(&bench, "art", bytes);
            let more = ["--mask", mask.to_str().unwrap(), "--backdrop", "keep"];
            run(&bench, &path, "#101010", &more);
            let found = image::open(&mask).unwrap().into_luma8();
            assert_eq!(found, wanted, "kind {kind}, orientation {orientation}");
            let artwork = seen(bytes, Colour { red: 16, green: 16, blue: 16 });
            let [right, below] = [COLUMNS - 1, ROWS - 1];
            for (column, row) in [(0, 0), (right, 0), (0, below), (right, below)] {
                let (width, height) = wanted.dimensions();
                let x = if column == 0 { 0 } else { width - 1 };
                let y = if row == 0 { 0 } else { height - 1 };
                let cell = artwork.sketch.at(column, row).red;
                let pixel = wanted.get_pixel(x, y).0[0];
                assert_eq!(cell > 128, pixel > 128, "kind {kind}, {orientation}: {column} {row}");
            }
        }
    }
}

/// Red on sky blue asks by its channel alone: the mask is white there, and black where only the other rule is asked.
#[test]
fn the_mask_follows_the_rule_that_decided() {
    let bench = Bench::new(2, 20);
    let mask = bench.root.path().join("mask.png");
    let row: Vec<u8> = [[255, 0, 0, 255], [0, 0, 0, 255], [255, 0, 0, 40]].concat();
    let art = raw_png::file(raw_png::head(3, 1, false), &[&[0][..], &row].concat());
    let path = lay(&bench, "red.png", &art);
    for (decides, wanted) in
        [("either", [255, 0, 0]), ("brighter-channel", [255, 0, 0]), ("lighter", [0, 0, 0])]
    {
        let more = ["--mask", mask.to_str().unwrap(), "--decides", decides];
        let answer = run(&bench, &path, "#87ceeb", &more);
        assert_eq!(answer["underbase"], wanted[0] == 255, "{answer}");
        assert_eq!(image::open(&mask).unwrap().into_luma8().into_raw(), wanted, "{decides}");
    }
}

/// Inks as they are stored: inverted where the segment says so, else not; by luminance and chrominance too. Without
/// a profile it is said what was assumed.
#[test]
fn inks_are_read_as_they_are_stored() {
    let bench = Bench::new(2, 20);
    // Cyan, magenta, yellow, black: (1 - 51/255)(1 - 102/255) of red and so on.
    let inks: [u8; 4] = [51, 102, 204, 102];
    let left = [0, 1, 2].map(|n| f64::from(255 - inks[n]) * f64::from(255 - inks[3]) / 65_025.0);
    let wanted = lightness(dwell::figures::colour::luminance(left.map(linear)));
    let stored = inks.map(|ink| 255 - ink).to_vec();
    // JFIF's formula forwards (ITU-T T.871), of what stands for red, green and blue: the inks, since they are
    // stored inverted twice.
    let [r, g, b] = [inks[0], inks[1], inks[2]].map(f64::from);
    let chrominance = vec![
        (0.299 * r + 0.587 * g + 0.114 * b).round() as u8,
        (128.0 - 0.168_736 * r - 0.331_264 * g + 0.5 * b).round() as u8,
        (128.0 + 0.5 * r - 0.418_688 * g - 0.081_312 * b).round() as u8,
        255 - inks[3],
    ];
    for (name, block, more, tolerance) in [
        ("straight", inks.to_vec(), vec![], 1e-3),
        ("inverted", stored, vec![raw_jpeg::inverted(0)], 1e-3),
        ("chrominance", chrominance, vec![raw_jpeg::inverted(2)], 0.5),
    ] {
        for progressive in [false, true] {
            let make = if progressive { raw_jpeg::progressive } else { raw_jpeg::file };
            let path = lay(&bench, name, &make(std::slice::from_ref(&block), 1, &more));
            let answer = run(&bench, &path, "#000000", &[]);
            assert_eq!(answer["assumed"], "plain inks", "{name}: {answer}");
            let found = answer["lightest"].as_f64().unwrap();
            assert!(
                (found - wanted).abs() < tolerance,
                "{name} {progressive}: {found}, not {wanted}"
            );
        }
    }
}

/// A profile in several segments, in any order, and the one in a WebP, say what they say in one piece.
#[test]
fn profiles_come_in_pieces_and_in_webp() {
    let bench = Bench::new(2, 20);
    let profile =
        fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/profiles/grey-1.0.icc"));
    let profile = profile.unwrap();
    let wanted = lightness(80.0 / 255.0);
    for pieces in [1, 3] {
        let mut more = raw_jpeg::profile(&profile, pieces);
        more.reverse();
        let path = lay(&bench, "art.jpg", &raw_jpeg::file(&[vec![80]], 1, &more));
        let answer = run(&bench, &path, "#606060", &[]);
        assert_eq!(answer["profile"], "ICC profile", "{answer}");
        assert!((answer["lightest"].as_f64().unwrap() - wanted).abs() < 1e-3, "{answer}");
        assert_eq!(answer["underbase"], true, "{answer}");
    }
    let profile =
        fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/profiles/gamma-1.0.icc"));
    let mut bytes = Vec::new();
    let mut encoder = WebPEncoder::new_lossless(&mut bytes);
    encoder.set_icc_profile(profile.unwrap()).unwrap();
    encoder.write_image(&[80; 12], 2, 2, image::ExtendedColorType::Rgb8).unwrap();
    let answer = run(&bench, &lay(&bench, "art.webp", &bytes), "#606060", &[]);
    assert_eq!((&answer["profile"], &answer["underbase"]), (&"ICCP".into(), &true.into()));
    assert!((answer["lightest"].as_f64().unwrap() - wanted).abs() < 1e-2, "{answer}");
}
