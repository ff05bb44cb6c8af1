//! What a year of history changes for who stands at the board: the first day beside the last.

use std::io::{Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use dwell::shell::clock::Clock;
use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer};
use dwell::shop::fact::Event;
use dwell::shop::moment::{Boot, Moment};

use crate::pty::Seat;
use crate::rest::resident;
use crate::{DWELL, GROWTH, row};

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
const MINUTE_US: i64 = 60_000_000;

/// The same history as if it had happened here, up to a minute ago and before the machine was started anew: a board
/// refuses one that was made up.
pub fn as_real(made_up: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    let writer = Writer::open(to, Lock::take(to).unwrap()).unwrap();
    let reader = Reader::open(made_up).unwrap().unwrap();
    let (last, _) = reader.last().unwrap();
    let mut newest = 0;
    reader.events_after(last - 1, |event| newest = event.moment.at).unwrap();
    let by = Clock::machine().now().at - MINUTE_US - newest;
    let mut acts: Vec<Event> = Vec::new();
    reader
        .events_after(0, |event| {
            let moment = Moment { at: event.moment.at + by, boot: Boot(1), ..event.moment };
            acts.push(Event { moment, ..event });
            if acts.len() == 2000 {
                writer.write(std::mem::take(&mut acts));
            }
        })
        .unwrap();
    writer.write(acts);
    assert_eq!(writer.close(Duration::from_secs(600)).upto, last);
}

/// The way from a key to its changed cell, in milliseconds: the middle one and the 99th of a hundred; and the megabytes
/// that the board took afterwards.
struct Keys {
    middle: f64,
    worst: f64,
    resident: f64,
}

/// Strikes keys at a board, while another thread writes and syncs all the time where `busy` says so.
fn keys(home: &Path, data: &Path, busy: Option<PathBuf>) -> Keys {
    let words = [DWELL, "--data", data.to_str().unwrap()];
    let mut seat = Seat::start(&words, home, (120, 36));
    seat.wait_for(|screen| screen.contents().contains("[Bench]"));
    let stop = Arc::new(AtomicBool::new(false));
    let writes = busy.map(|path| {
        let stop = Arc::clone(&stop);
        std::thread::spawn(move || {
            let mut file = std::fs::File::create(path).unwrap();
            // Round and round in 64 MB: a file of many would have to be given back before the next measurement.
            for place in (0..1024u64).cycle() {
                if stop.load(Ordering::Relaxed) {
                    break;
                }
                file.seek(SeekFrom::Start(place * 65_536)).unwrap();
                file.write_all(&[7; 65_536]).unwrap();
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
    Keys { middle: at(50), worst: at(99), resident: resident(seat.pid()) }
}

/// `real` is a journal of a year, `day` one of its first day.
pub fn measure(there: &Path, real: &Path, day: &Path) {
    let empty = there.join("empty");
    // The first start makes the snapshot; those that are measured find it.
    make_snapshot(there, real);
    let busy = || Some(there.join("busy"));
    let first = keys(there, &empty, busy());
    let last = keys(there, real, busy());
    row("key to screen, p99, a year; the disk is busy", last.worst, first.worst, 1.5, "");
    row("   the same, p50", last.middle, first.middle, 1.5, "");
    let (first, last) = (keys(there, day, None), keys(there, real, None));
    row("   with the disk at rest, beside a day, p99", last.worst, first.worst, GROWTH, "");
    row("   the same, p50", last.middle, first.middle, GROWTH, "");
    grown("resident, a year beside a day", "MB", last.resident, first.resident);
}

fn grown(what: &str, unit: &str, last: f64, first: f64) {
    let ratio = last / first;
    let over = if ratio <= GROWTH { "" } else { "   OVER" };
    println!(
        "  {what:<46} {last:>10.1} {unit}   {first:>10.1} {unit}   {ratio:>5.2}x, at most {GROWTH}x{over}"
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
