//! `dwell art` on a large picture beside decoding it alone, beside the usual Python libraries, and on several
//! pictures at once.

use std::fs::File;
use std::hint::black_box;
use std::io::BufReader;
use std::path::Path;
use std::time::Instant;

use dwell::figures::artwork::{Judge, Limits};
use dwell::figures::units::Colour;
use dwell::shell::picture::each_row;

use super::measured::{DWELL, by_turns, peak_mb, seconds};
use super::{picture, python, row};

/// The word by which this program decodes a picture and does no more.
pub const DECODE: &str = "decode-alone";

/// The garment on which the pictures are looked at.
pub const GARMENT: &str = "#101820";

/// So often is each measured.
const ROUNDS: usize = 7;

/// Decodes a picture by rows with the decoder and the transformations that `dwell art` uses.
pub fn decode_alone(path: &Path) {
    let file = BufReader::with_capacity(1 << 16, File::open(path).unwrap());
    let mut decoder = png::Decoder::new(file);
    decoder.set_transformations(
        png::Transformations::normalize_to_color8() | png::Transformations::ALPHA,
    );
    let mut reader = decoder.read_info().unwrap();
    while let Some(row) = reader.next_row().unwrap() {
        black_box(row.data());
    }
}

pub fn measure(there: &Path, cores: usize) {
    let path = there.join("art.png");
    picture::write(&path, 6000, 4000);
    let file = path.to_str().unwrap();
    let megabytes = std::fs::metadata(&path).unwrap().len() as f64 / 1e6;
    println!("  a picture of 6000 x 4000 pixels, {megabytes:.1} MB as PNG");
    let art = ["art", file, "--garment", GARMENT, "--json"];
    let one = beside_decoding(file, &art);
    row_by_row(&path);
    memory(there, &art);
    batch(&path, cores, one);
    python::measure(there, &path, one);
}

/// The whole process beside a process that decodes alone; its seconds.
fn beside_decoding(file: &str, art: &[&str]) -> f64 {
    let this = std::env::current_exe().unwrap();
    let (judged, decoded) =
        by_turns(ROUNDS, || seconds(DWELL.as_ref(), art), || seconds(&this, &[DECODE, file]));
    let ratio = judged / decoded;
    row(
        "dwell art, 24 megapixels, whole process, median",
        &format!("{:.0} ms", judged * 1e3),
        &format!("{ratio:.2}x of decoding alone, {:.0} ms; at most 1.15x", decoded * 1e3),
        ratio <= 1.15,
    );
    judged
}

/// The same within this process: each row judged, and each row thrown away.
fn row_by_row(path: &Path) {
    let garment: Colour = GARMENT.parse().unwrap();
    let judged = || {
        let started = Instant::now();
        let mut judge = Judge::new(garment, Limits::default());
        each_row(path, |row| judge.row(row.pixels, row.is_edge())).unwrap();
        black_box(judge.finish(false));
        started.elapsed().as_secs_f64()
    };
    let thrown_away = || {
        let started = Instant::now();
        each_row(path, |row| {
            black_box(row.pixels);
        })
        .unwrap();
        started.elapsed().as_secs_f64()
    };
    let (judged, thrown_away) = by_turns(ROUNDS, judged, thrown_away);
    let ratio = judged / thrown_away;
    row(
        "the same in one process, rows judged",
        &format!("{:.0} ms", judged * 1e3),
        &format!("{ratio:.2}x of rows thrown away, {:.0} ms", thrown_away * 1e3),
        ratio <= 1.15,
    );
}

fn memory(there: &Path, art: &[&str]) {
    let small = peak_mb(DWELL.as_ref(), art);
    let large = there.join("large.png");
    picture::write(&large, 12_000, 8_000);
    let garment = ["--garment", GARMENT, "--json"];
    let large_art = [&["art", large.to_str().unwrap()][..], &garment].concat();
    let larger = peak_mb(DWELL.as_ref(), &large_art);
    let beside = "resident at most; at most 48 MB";
    row("dwell art, 24 megapixels, memory", &format!("{small:.1} MB"), beside, small < 48.0);
    let beside = format!("{:.2}x of that; at most 48 MB", larger / small);
    row("the same, 96 megapixels", &format!("{larger:.1} MB"), &beside, larger < 48.0);
    std::fs::remove_file(large).unwrap();
}

/// Four pictures in one call beside one: half the work for each of two cores.
fn batch(path: &Path, cores: usize, one: f64) {
    let file = path.to_str().unwrap();
    let four = ["art", file, file, file, file, "--garment", GARMENT, "--json"];
    let alone = ["art", file, "--garment", GARMENT, "--json"];
    let (four, again) =
        by_turns(5, || seconds(DWELL.as_ref(), &four), || seconds(DWELL.as_ref(), &alone));
    let ratio = four / again;
    row(
        &format!("four such pictures in one call, {cores} cores"),
        &format!("{:.0} ms", four * 1e3),
        &format!("{ratio:.2}x of one ({:.2}x of the first); at most 2.3x on two", four / one),
        cores != 2 || ratio <= 2.3,
    );
}
