//! What a year of history changes for who stands at the board: the first day beside the last.

use std::io::{Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

use dwell::shell::clock::Clock;
use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer};
use dwell::shop::facts::fact::Event;
use dwell::shop::facts::moment::{Boot, Moment, Wall};

use crate::{DWELL, GROWTH, row};
use support::rest::{self, resident};
use support::seat::Seat;

/// The keys of four screens, and the word that the board then marks.
const KEYS: [(&[u8], &str); 4] = [
    (b"\x1bOQ", "[Pace]"),
    (b"\x1bOR", "[Shelf]"),
    (b"\x1b[15~", "[Past]"),
    (b"\x1bOP", "[Bench]"),
];
/// Between two keys at the same board: the same key comes once in four of them, and is deaf for 0.7 s after it acted.
const PACE: Duration = Duration::from_millis(110);
const STRIKES: usize = 400;
/// The kernel counts processor time in hundredths of a second: long enough for some dozens.
const AT_REST: Duration = Duration::from_secs(60);
const MINUTE: Duration = Duration::from_secs(60);

/// The same history as if it had happened here, up to a minute ago and before the machine was started anew: a board
/// refuses one that was made up.
pub fn as_real(made_up: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    let writer = Writer::open(to, Lock::take(to).unwrap()).unwrap();
    let reader = Reader::open(made_up).unwrap().unwrap();
    let (last, _) = reader.last().unwrap();
    let mut newest = Wall::FIRST;
    reader.events_after(last - 1, |event| newest = event.moment.at).unwrap();
    let by = Clock::machine().now().at.minus(MINUTE).since(newest);
    let mut acts: Vec<Event> = Vec::new();
    reader
        .events_after(0, |event| {
            let moment = Moment { at: event.moment.at.plus(by), boot: Boot(1), ..event.moment };
            acts.push(Event { moment, ..event });
            if acts.len() == 2000 {
                writer.write(std::mem::take(&mut acts));
            }
        })
        .unwrap();
    writer.write(acts);
    assert_eq!(writer.close(Duration::from_secs(600)).upto, last);
}

/// The way from a key to its changed cell, in milliseconds: the middle one and that which one of a hundred exceeds; and
/// the megabytes that the board took afterwards.
struct Keys {
    middle: f64,
    worst: f64,
    resident: f64,
}

/// Writes and syncs all the time while this lives.
struct Busy {
    stop: Arc<AtomicBool>,
    writes: Option<JoinHandle<()>>,
}

impl Busy {
    fn at(path: PathBuf) -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let until = Arc::clone(&stop);
        let writes = std::thread::spawn(move || {
            let mut file = std::fs::File::create(path).unwrap();
            // Round and round in 64 MB: a file of many would have to be given back before the next measurement.
            for place in (0..1024u64).cycle() {
                if until.load(Ordering::Relaxed) {
                    break;
                }
                file.seek(SeekFrom::Start(place * 65_536)).unwrap();
                file.write_all(&[7; 65_536]).unwrap();
                file.sync_data().unwrap();
            }
        });
        Self { stop, writes: Some(writes) }
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        self.writes.take().unwrap().join().unwrap();
    }
}

/// Strikes keys at two boards in turn, so that what else the machine does falls on both.
fn keys(home: &Path, data: [&Path; 2]) -> [Keys; 2] {
    let mut seats = data.map(|data| {
        let words = [DWELL, "--data", data.to_str().unwrap()];
        let mut seat = Seat::start(&words, home, (120, 36));
        seat.wait_for(|screen| screen.contents().contains("[Bench]"));
        seat
    });
    let mut spans = [Vec::new(), Vec::new()];
    for (bytes, word) in KEYS.iter().cycle().take(STRIKES) {
        for (seat, spans) in seats.iter_mut().zip(&mut spans) {
            seat.settle(PACE);
            let marked = |screen: &vt100::Screen| {
                screen.contents_between(0, 0, 0, screen.size().1.into()).contains(word)
            };
            spans.push(seat.strike(bytes, marked).as_secs_f64() * 1e3);
        }
    }
    let [first, last] = seats.map(|seat| resident(seat.pid()));
    let [one, other] = spans;
    [told(one, first), told(other, last)]
}

fn told(mut spans: Vec<f64>, resident: f64) -> Keys {
    spans.sort_by(f64::total_cmp);
    let at = |share: usize| spans[(spans.len() * share / 100).min(spans.len() - 1)];
    Keys { middle: at(50), worst: at(99), resident }
}

/// `real` is a journal of a year, `day` one of its first day.
pub fn measure(there: &Path, real: &Path, day: &Path) {
    let empty = there.join("empty");
    // The first start makes the snapshot; those that are measured find it.
    make_snapshot(there, real);
    let [first, last] = {
        let _busy = Busy::at(there.join("busy"));
        keys(there, [&empty, real])
    };
    row("key to screen, p99, a year; the disk is busy", last.worst, first.worst, 1.5, "");
    row("   the same, p50", last.middle, first.middle, 1.5, "");
    let [first, last] = {
        let _busy = Busy::at(there.join("busy"));
        keys(there, [day, real])
    };
    row("   beside a day, the disk is busy, p99", last.worst, first.worst, GROWTH, "");
    row("   the same, p50", last.middle, first.middle, GROWTH, "");
    let [first, last] = keys(there, [day, real]);
    row("   beside a day, the disk at rest, p99", last.worst, first.worst, GROWTH, "");
    row("   the same, p50", last.middle, first.middle, GROWTH, "");
    grown("resident, a year beside a day", "MB", last.resident, first.resident);
}

/// What boards at rest cost; adds an order and four presses to both.
pub fn at_rest(real: &Path, day: &Path) {
    let (first, last) = (rest::of(day, AT_REST), rest::of(real, AT_REST));
    grown("at rest, a year beside a day", "% of a core", last.share, first.share);
    grown("sent to the terminal at rest", "B/s", last.sent, first.sent);
    grown("resident at rest", "MB", last.memory, first.memory);
}

fn grown(what: &str, unit: &str, last: f64, first: f64) {
    let ratio = last / first;
    let over = if ratio <= GROWTH { "" } else { "   OVER" };
    println!(
        "  {what:<46} {last:>10.2} {unit}   {first:>10.2} {unit}   {ratio:>5.2}x, at most {GROWTH}x{over}"
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
