//! From the start of the program to its first frame, and what reading everything costs.

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use dwell::shell::journal::{Reader, snapshot};
use dwell::shell::replay::Replay;

use crate::{DWELL, middle, row};
use support::seat::Seat;

const STARTS: usize = 31;
const READS: usize = 3;
/// No start takes longer, however much there is: milliseconds.
const LONGEST_MS: f64 = 250.0;

fn timed<T>(work: impl FnOnce() -> T) -> f64 {
    let started = Instant::now();
    black_box(work());
    started.elapsed().as_secs_f64() * 1e3
}

/// Until the view of a journal stands on the screen.
fn started(home: &Path, data: &Path) -> f64 {
    timed(|| {
        let words = [DWELL, "watch", "--data", data.to_str().unwrap()];
        let mut seat = Seat::start(&words, home, (120, 36));
        seat.wait_for(|screen| screen.contents().contains("[Pace]"));
        seat
    })
}

/// The same without a terminal: what is in memory once the journal is read.
fn read(data: &Path) -> f64 {
    timed(|| Replay::of(data, &Reader::open(data).unwrap().unwrap()).unwrap())
}

pub fn measure(home: &Path, small: &Path, year: &Path) {
    // Turn and turn about, so that what else the machine does falls on both.
    let mut all = (Vec::new(), Vec::new());
    for _ in 0..STARTS {
        all.0.push(started(home, year));
        all.1.push(started(home, small));
    }
    let (long, short) = (middle(all.0), middle(all.1));
    let late = if long > LONGEST_MS { "   OVER 250 ms" } else { ", under 250 ms" };
    row("start to first frame, beside 1,000 events", long, short, 3.0, late);
    let (mut all, mut bytes) = ((Vec::new(), Vec::new()), 0);
    for _ in 0..STARTS {
        all.0.push(read(year));
        all.1.push(read(small));
        bytes = std::fs::metadata(year.join("snapshot")).map_or(0, |file| file.len());
    }
    let more = format!("; the snapshot has {bytes} bytes");
    row("of that the reading alone", middle(all.0), middle(all.1), f64::INFINITY, &more);

    snapshot::remove(year).unwrap();
    let mut all = (Vec::new(), Vec::new());
    for _ in 0..READS {
        all.0.push(read(year));
        all.1.push(timed(|| {
            let reader = Reader::open(year).unwrap().unwrap();
            reader.rows_after(0, |row| row.event().map(|event| drop(black_box(event)))).unwrap();
        }));
    }
    let (whole, parsed) = (middle(all.0), middle(all.1));
    row("all rows replayed, beside read and parsed", whole, parsed, 1.5, "");
    let made = timed(|| snapshot::renew(year).unwrap());
    row("a first snapshot of all, on its own thread", made, whole, f64::INFINITY, "");
}
