//! `dwell chart` of two million individuals: time beside reading the numbers alone, memory beside the column.

use std::fmt::Write;
use std::path::Path;
use std::time::Instant;

use super::measured::{DWELL, by_turns, peak_mb, seconds};
use super::row;

/// How many are charted.
const VALUES: usize = 2_000_000;

/// Pick-ups about 33 g, spread roughly as chance spreads them: sums of four even numbers.
fn pick_ups() -> String {
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut even = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut text = String::from("grams\n");
    for _ in 0..VALUES {
        let sum = even() + even() + even() + even();
        writeln!(text, "{:.4}", 29.0 + 2.0 * sum).unwrap();
    }
    text
}

pub fn measure(there: &Path) {
    let path = there.join("pickup.csv");
    std::fs::write(&path, pick_ups()).unwrap();
    let plot = there.join("chart.svg");
    let chart = ["chart", path.to_str().unwrap(), "--json"];
    let read_alone = || {
        let started = Instant::now();
        let mut reader = csv::Reader::from_path(&path).unwrap();
        let mut row = csv::ByteRecord::new();
        let mut values: Vec<f64> = Vec::new();
        while reader.read_byte_record(&mut row).unwrap() {
            values.push(std::str::from_utf8(&row[0]).unwrap().parse().unwrap());
        }
        assert_eq!(values.len(), VALUES);
        started.elapsed().as_secs_f64()
    };
    let (charted, read) = by_turns(5, || seconds(DWELL.as_ref(), &chart), read_alone);
    row(
        "dwell chart, two million individuals, whole process",
        &format!("{:.0} ms", charted * 1e3),
        &format!("{:.2}x of reading the column alone; at most 1 s", charted / read),
        charted < 1.0,
    );
    let drawn = [&chart[..], &["--plot", plot.to_str().unwrap()]].concat();
    let took = seconds(DWELL.as_ref(), &drawn);
    let size = std::fs::metadata(&plot).unwrap().len() as f64 / 1e3;
    let beside = format!("{:.2}x of that without; a file of {size:.0} kB", took / charted);
    row("the same, drawn as well", &format!("{:.0} ms", took * 1e3), &beside, took < 1.0);
    let column = (VALUES * size_of::<f64>()) as f64 / 1e6;
    let peak = peak_mb(DWELL.as_ref(), &chart);
    let beside = format!("{:.1} MB beyond the column of {column:.0} MB", peak - column);
    row("the same, memory", &format!("{peak:.1} MB"), &beside, peak < 2.0 * column);
}
