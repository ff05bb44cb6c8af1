//! What it costs to make acts durable, beside bare commits of the same rows in the same directory.

use std::path::Path;
use std::time::{Duration, Instant};

use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::row::{COLUMNS, FIRST_SUM, Stored};
use dwell::shell::journal::{Reader, Writer};
use dwell::shop::facts::fact::{Event, Fact};
use rusqlite::{Connection, params};
use tokio::runtime::Runtime;

use crate::{GROWTH, made_up, middle, row};

const ROUNDS: usize = 300;
const BURST: usize = 50;
const WARM: usize = 400;
const REST: Duration = Duration::from_millis(10);

/// The yardstick: the same columns under the same key, and nothing else.
struct Bare {
    connection: Connection,
    sum: i64,
}

impl Bare {
    fn open(path: &Path) -> Self {
        let connection = Connection::open(path).unwrap();
        connection.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(())).unwrap();
        connection.pragma_update(None, "synchronous", "FULL").unwrap();
        connection
            .execute_batch(
                "CREATE TABLE events (station TEXT NOT NULL, seq INTEGER NOT NULL, act INTEGER NOT NULL,
                 at INTEGER NOT NULL, boot TEXT NOT NULL, up INTEGER NOT NULL, version INTEGER NOT NULL,
                 kind TEXT NOT NULL, body TEXT NOT NULL, sum INTEGER NOT NULL,
                 PRIMARY KEY (station, seq)) STRICT, WITHOUT ROWID;",
            )
            .unwrap();
        Self { connection, sum: FIRST_SUM }
    }

    /// Rows that are ready: only their way to the disk is timed.
    fn commit(&mut self, events: &[Event]) -> f64 {
        let rows: Vec<Stored> = events
            .iter()
            .map(|event| {
                let row = Stored::of(event, self.sum).unwrap();
                self.sum = row.sum;
                row
            })
            .collect();
        let started = Instant::now();
        let change = self.connection.unchecked_transaction().unwrap();
        let sql = format!(
            "INSERT INTO events ({COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)"
        );
        for row in &rows {
            let values = params![
                row.station,
                row.seq,
                row.act,
                row.at,
                row.boot,
                row.up,
                row.version,
                row.kind,
                row.body,
                row.sum
            ];
            change.prepare_cached(&sql).unwrap().execute(values).unwrap();
        }
        change.commit().unwrap();
        started.elapsed().as_secs_f64() * 1e3
    }
}

/// Until the journal's writer says that they are saved.
fn written(runtime: &Runtime, writer: &Writer, acts: Vec<Vec<Event>>) -> f64 {
    let mut progress = writer.progress();
    let last = acts.last().and_then(|act| act.last()).unwrap().seq;
    let started = Instant::now();
    for act in acts {
        writer.write(act);
    }
    // Waited for as the board's loop does: a thread that spins here would keep a core of two from the disk's own work.
    runtime.block_on(progress.wait_for(|progress| progress.upto >= last)).unwrap();
    started.elapsed().as_secs_f64() * 1e3
}

/// The events of a made-up day, act by act.
fn acts(there: &Path) -> Vec<Vec<Event>> {
    let data = there.join("acts");
    made_up(&data, 4, 200);
    let mut acts: Vec<Vec<Event>> = Vec::new();
    let reader = Reader::open(&data).unwrap().unwrap();
    reader
        .events_after(0, |event| match acts.last_mut() {
            Some(act) if act[0].act == event.act => act.push(event),
            _ => acts.push(vec![event]),
        })
        .unwrap();
    acts
}

/// The same acts with later numbers and on new garments, for a journal that holds so many events already.
fn later(acts: &[Vec<Event>], by: u64) -> Vec<Vec<Event>> {
    let mut acts = acts.to_vec();
    for event in acts.iter_mut().flatten() {
        event.seq += by;
        event.act.0 += by;
        let body = event.fact.body().unwrap().replace(":\"A", ":\"A40");
        event.fact = Fact::read(event.fact.kind(), &body).unwrap();
    }
    acts
}

/// An open journal, and how many events it held before.
fn opened(data: &Path) -> (Writer, u64) {
    let writer = Writer::open(data, Lock::take(data).unwrap()).unwrap();
    let upto = writer.progress().borrow().upto;
    (writer, upto)
}

/// `year` is a journal of a year: it gets some weeks more.
pub fn measure(there: &Path, year: &Path) {
    let mut acts = acts(there).into_iter();
    let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
    let data = there.join("written");
    std::fs::create_dir(&data).unwrap();
    let (writer, _) = opened(&data);
    let (long, upto) = opened(year);
    let mut bare = Bare::open(&there.join("bare.sqlite"));
    // As on any day but the first: a write-ahead log that still grows costs a sync of the file system's own each time.
    for _ in 0..WARM {
        let some: Vec<Vec<Event>> = acts.by_ref().take(20).collect();
        bare.commit(&some.concat());
        written(&runtime, &long, later(&some, upto));
        written(&runtime, &writer, some);
    }
    for (what, count, most, rounds) in [
        ("one act made durable, beside a bare commit", 1, 1.3, ROUNDS),
        ("a burst of 50 acts, beside one bare commit", BURST, 2.0, ROUNDS / 5),
    ] {
        let (mut ours, mut theirs, mut after) = (Vec::new(), Vec::new(), Vec::new());
        for round in 0..rounds {
            let some: Vec<Vec<Event>> = acts.by_ref().take(count).collect();
            // Each in its turn is the first: what the disk did a moment ago is not the same for all three.
            for turn in round..round + 3 {
                // Nobody acts twice within a hundredth of a second: each finds the machine at rest.
                std::thread::sleep(REST);
                match turn % 3 {
                    0 => theirs.push(bare.commit(&some.concat())),
                    1 => ours.push(written(&runtime, &writer, some.clone())),
                    _ => after.push(written(&runtime, &long, later(&some, upto))),
                }
            }
        }
        let ours = middle(ours);
        row(what, ours, middle(theirs), most, "");
        row("   after a year, beside the first weeks", middle(after), ours, GROWTH, "");
    }
    for writer in [writer, long] {
        writer.close(Duration::from_secs(5));
    }
}
