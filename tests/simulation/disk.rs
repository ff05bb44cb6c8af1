//! The journal's own writer on a file in memory or a temporary directory, with the faults made from outside: by a
//! second connection that sets a trap for its rows, and by taking the directory away.

use std::path::{Path, PathBuf};
use std::time::Duration;

use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::row::Stored;
use dwell::shell::journal::{FILE, Progress, Reader, Writer};
use dwell::shop::facts::fact::Event;
use rusqlite::Connection;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tokio::sync::watch;

use super::step::Fault;
use super::store::{Store, share};

/// Longer than any retry of the writer's: who waits so long waits in vain.
const PATIENCE: Duration = Duration::from_secs(300);

/// A data directory, and the writer that has it open.
pub struct Disk {
    root: TempDir,
    writer: Option<Writer>,
    progress: watch::Receiver<Progress>,
    runtime: Runtime,
    fault: Option<Fault>,
    /// Acts that a late store has not been given yet.
    held: Vec<Vec<Event>>,
    /// What the writer has been given and has not reported.
    given: Vec<Event>,
}

impl Disk {
    pub fn new() -> Self {
        // In memory where there is such a place: a sync costs nothing there, and the disk is tested elsewhere.
        let memory = Path::new("/dev/shm");
        let root = if memory.is_dir() { TempDir::new_in(memory) } else { TempDir::new() };
        let root = root.unwrap();
        std::fs::create_dir(root.path().join("data")).unwrap();
        let writer = open(&root.path().join("data"));
        let progress = writer.progress();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
        let (held, given) = (Vec::new(), Vec::new());
        Self { root, writer: Some(writer), progress, runtime, fault: None, held, given }
    }

    fn data(&self) -> PathBuf {
        self.root.path().join("data")
    }

    fn away(&self) -> PathBuf {
        self.root.path().join("away")
    }

    /// Hands events to the writer and waits for what it says of them.
    fn write(&mut self, events: Vec<Event>) {
        let Some(last) = events.last().map(|event| event.seq) else { return };
        self.given.extend(events.iter().cloned());
        self.progress.mark_unchanged();
        self.writer.as_ref().unwrap().write(events);
        if self.fault.is_none() {
            self.wait_for(last);
        } else {
            self.news();
            let said = self.progress.borrow().clone();
            let honest = said.trouble.is_some() || said.upto >= last;
            assert!(honest, "nothing was saved and the writer said {said:?}");
        }
        self.forget_reported();
    }

    /// Waits until all is saved, now that nothing is in the way: the writer tries again by itself.
    fn wait_for(&mut self, last: u64) {
        let mut failed = 0;
        while self.progress.borrow().upto < last && failed < 4 {
            self.news();
            failed += u32::from(self.progress.borrow().trouble.is_some());
        }
        let said = self.progress.borrow().clone();
        assert!(
            said.upto >= last,
            "nothing is in the way, and event {last} is not saved: {said:?}"
        );
    }

    fn news(&mut self) {
        let news = self
            .runtime
            .block_on(async { tokio::time::timeout(PATIENCE, self.progress.changed()).await });
        news.expect("the writer says nothing").expect("the writer has ended");
    }

    fn forget_reported(&mut self) {
        let upto = self.progress.borrow().upto;
        self.given.retain(|event| event.seq > upto);
    }

    /// Puts what a failed commit was to write into the file, as if it had landed all the same.
    fn land(&self) {
        let there = self.beside();
        let (seq, mut sum): (i64, i64) = there
            .query_row("SELECT seq, sum FROM events ORDER BY seq DESC LIMIT 1", [], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })
            .unwrap_or((0, 0));
        let change = there.unchecked_transaction().unwrap();
        for event in self.given.iter().filter(|event| event.seq > seq.unsigned_abs()) {
            let row = Stored::of(event, sum).unwrap();
            sum = row.sum;
            row.insert(&change).unwrap();
        }
        change.commit().unwrap();
    }

    fn beside(&self) -> Connection {
        let there = Connection::open(self.data().join(FILE)).unwrap();
        there.busy_timeout(PATIENCE).unwrap();
        there
    }

    /// Ends the fault that stands.
    fn lift(&mut self) {
        match self.fault.take() {
            Some(Fault::Fails) => self.beside().execute_batch("DROP TRIGGER trap").unwrap(),
            Some(Fault::FailsButLands) => {
                self.beside().execute_batch("DROP TRIGGER trap").unwrap();
                self.land();
            }
            Some(Fault::Away) => std::fs::rename(self.away(), self.data()).unwrap(),
            _ => {}
        }
    }
}

fn open(data: &Path) -> Writer {
    let lock = Lock::take(data).unwrap_or_else(|wrong| panic!("{wrong}"));
    Writer::open(data, lock).unwrap_or_else(|wrong| panic!("{wrong}"))
}

impl Store for Disk {
    fn hand(&mut self, act: Vec<Event>) {
        match self.fault {
            Some(Fault::Late) => self.held.push(act),
            _ => {
                let all = [std::mem::take(&mut self.held).concat(), act].concat();
                self.write(all);
            }
        }
    }

    fn meet(&mut self, fault: Fault) {
        self.lift();
        if fault == Fault::Heals {
            // Writing resumes by itself: nobody has to do anything for it.
            let held = std::mem::take(&mut self.held).concat();
            self.write(held);
            if let Some(last) = self.given.last().map(|event| event.seq) {
                self.wait_for(last);
            }
            self.forget_reported();
            return;
        }
        match fault {
            // In the midst of a commit: one row may be in, the next fails. A single row may even pass.
            Fault::Fails | Fault::FailsButLands => self
                .beside()
                .execute_batch(
                    "CREATE TRIGGER trap BEFORE INSERT ON events WHEN NEW.seq % 2 = 0
                     BEGIN SELECT RAISE(ABORT, 'a trap'); END",
                )
                .unwrap(),
            Fault::Away => std::fs::rename(self.data(), self.away()).unwrap(),
            Fault::Late | Fault::Heals => {}
        }
        self.fault = Some(fault);
    }

    fn reported(&mut self) -> u64 {
        self.progress.borrow().upto
    }

    fn rows(&self) -> Option<Result<Vec<Event>, String>> {
        if self.fault == Some(Fault::Away) {
            return None;
        }
        let mut rows = Vec::new();
        let read = Reader::open(&self.data()).and_then(|reader| match reader {
            Some(reader) => {
                reader.events_after(0, |event| rows.push(event))?;
                reader.verify().map(drop)
            }
            None => Ok(()),
        });
        Some(read.map(|()| rows).map_err(|wrong| wrong.to_string()))
    }

    fn crash(&mut self, kept: u8) {
        // While a fault stands nothing more lands; then the power is back.
        let held = std::mem::take(&mut self.held);
        let kept = share(held.len(), kept);
        let writer = self.writer.take().unwrap();
        if self.fault == Some(Fault::Late) {
            writer.write(held[..kept].concat());
        }
        writer.close(PATIENCE);
        self.given.retain(|event| event.seq > self.progress.borrow().upto);
        self.lift();
        let writer = open(&self.data());
        self.progress = writer.progress();
        self.writer = Some(writer);
        self.given.clear();
    }
}
