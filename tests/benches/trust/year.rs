//! What a year of history changes for who stands at the board: the first day beside the last.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use dwell::shell::clock::Clock;
use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer};
use dwell::shop::fact::Event;
use dwell::shop::moment::Moment;

use crate::pty::Seat;
use crate::rest::resident;
use crate::{DWELL, row};

/// The keys of four screens, and the word that the board then marks.
const KEYS: [(&[u8], &str); 4] = [
    (b"\x1bOQ", "[Pace]"),
    (b"\x1bOR", "[Shelf]"),
    (b"\x1b[15~", "[Past]"),
    (b"\x1bOP", "[Bench]"),
];
/// A key is deaf for 0.7 s after it acted.
const PACE: Duration = Duration::from_millis(190);
const STRIKES: usize = 200;

/// The same history as if it had happened here: a board refuses one that was made up.
pub fn as_real(made_up: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    let writer = Writer::open(to, Lock::take(to).unwrap()).unwrap();
    let boot = Clock::machine().now().boot;
    let mut acts: Vec<Event> = Vec::new();
    let reader = Reader::open(made_up).unwrap().unwrap();
    let mut last = 0;
    reader
        .events_after(0, |event| {
            last = event.seq;
            acts.push(Event { moment: Moment { boot, ..event.moment }, ..event });
            if acts.len() == 2000 {
                writer.write(std::mem::take(&mut acts));
            }
        })
        .unwrap();
    writer.write(acts);
    assert_eq!(writer.close(Duration::from_secs(600)).upto, last);
}

/// The middle and the 99th of a hundred, in milliseconds, of the way from a key to its changed cell, while another
/// thread writes and syncs all the time where `busy` says so.
fn keys(home: &Path, data: &Path, busy: Option<PathBuf>) -> (f64, f64, f64) {
    let words = [DWELL, "--data", data.to_str().unwrap()];
    let mut seat = Seat::start(&words, home, (120, 36));
    seat.wait_for(|screen| screen.contents().contains("[Bench]"));
    let stop = Arc::new(AtomicBool::new(false));
    let writes = busy.map(|path| {
        let stop = Arc::clone(&stop);
        std::thread::spawn(move || {
            let mut file = std::fs::File::create(path).unwrap();
            while !stop.load(Ordering::Relaxed) {
                std::io::Write::write_all(&mut file, &[7; 65_536]).unwrap();
                file.sync_data().unwrap();
            }
        })
    });
    let mut spans = Vec::new();
    for (bytes, word) in KEYS.iter().cycle().take(STRIKES) {
        seat.settle(PACE);
        let marked = |screen: &vt100::Screen| {
            screen.contents_between(0, 0, 0, screen.size().1.into()).contains(word)
        };
        spans.push(seat.strike(bytes, marked).as_secs_f64() * 1e3);
    }
    stop.store(true, Ordering::Relaxed);
    writes.into_iter().for_each(|thread| thread.join().unwrap());
    spans.sort_by(f64::total_cmp);
    let at = |share: usize| spans[(spans.len() * share / 100).min(spans.len() - 1)];
    (at(50), at(99), resident(seat.pid()))
}

/// `real` is a journal of a year.
pub fn measure(there: &Path, real: &Path) {
    let empty = there.join("empty");
    // The first start makes the snapshot; those that are measured find it.
    make_snapshot(there, real);
    let (first, worst_first, small) = keys(there, &empty, None);
    let (last, worst_last, large) = keys(there, real, Some(there.join("busy")));
    row("key to screen, p99, a year and a busy disk", worst_last, worst_first, 1.5, "");
    row("the same, p50", last, first, 1.5, "");
    println!(
        "  {:<46} {large:>10.1} MB   {small:>10.1} MB   {:>5.2}x, at most 1.2x{}",
        "resident, a year beside the first day",
        large / small,
        if large <= small * 1.2 { "" } else { "   OVER" }
    );
}

fn make_snapshot(home: &Path, data: &Path) {
    let words = [DWELL, "--data", data.to_str().unwrap()];
    let mut seat = Seat::start(&words, home, (120, 36));
    seat.wait_for(|screen| screen.contents().contains("[Bench]"));
    // It makes its snapshot on a thread of its own.
    for _ in 0..60 {
        if data.join("snapshot").exists() {
            break;
        }
        seat.settle(Duration::from_millis(500));
    }
}
