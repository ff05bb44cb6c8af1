//! Writing the journal, on a thread of its own: the board never waits for the disk.
//!
//! A sync that has failed once is never taken for a success later: the file is closed, opened again, compared
//! with what was to be written, and only what is missing is written. The last saved events are kept in mind for a disk
//! that comes back without some of them.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};
use tokio::sync::watch;

use super::keeper::Keeper;
use super::lock::Lock;
use super::mark::{Mark, Marker};
use super::reader::last;
use super::row::Stored;
use super::{JournalError, identity, path, resync, schema};
use crate::shell::mishap::{outlive, strike};
use crate::shell::private;
use crate::shop::fact::Event;

/// How long to wait before a failed write is tried again.
const RETRY: Duration = Duration::from_millis(500);

/// How long after the start the first look is taken at the snapshot, where nothing is written before.
const FIRST_LOOK: Duration = Duration::from_secs(1);

/// How many saved events are kept in mind.
const KEPT: usize = 500;

/// What the connection keeps in mind of the file, in KiB (SQLite says that with a minus): the ends of its trees.
const PAGES: i64 = -1024;

/// How far the writing has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Progress {
    /// Every event up to this one is committed and synced.
    pub upto: u64,
    /// Why writing fails, while it does.
    pub trouble: Option<String>,
}

/// The hand that writes.
pub struct Writer {
    events: Option<Sender<Vec<Event>>>,
    progress: watch::Receiver<Progress>,
    thread: Option<JoinHandle<()>>,
    /// Held here too: should the thread end by a panic, what is unsaved is still this process's to write.
    _lock: Lock,
}

impl Writer {
    /// Opens the journal of a data directory for writing, making it where there is none.
    ///
    /// # Errors
    /// A file that is not a journal, one of a newer program, or one that cannot be written.
    pub fn open(data: &Path, lock: Lock) -> Result<Self, JournalError> {
        let connection = open(data, true)?;
        let (upto, sum) = last(&connection)?;
        let identity = own_identity(&path(data))?;
        let wrong = |reason| JournalError::Directory { path: data.to_owned(), reason };
        let shared = lock.share().map_err(wrong)?;
        let (events, incoming) = channel();
        let (report, progress) = watch::channel(Progress { upto, trouble: None });
        let scribe = Scribe {
            data: data.to_owned(),
            lock,
            identity,
            connection: Some(connection),
            marker: Marker::open(data),
            saved: Saved { before: sum, events: VecDeque::new() },
            upto,
            pending: VecDeque::new(),
            report,
        };
        let thread = std::thread::Builder::new()
            .name("journal".into())
            .spawn(move || outlive(|| scribe.run(&incoming)).unwrap_or_default())
            .map_err(wrong)?;
        Ok(Self { events: Some(events), progress, thread: Some(thread), _lock: shared })
    }

    /// Hands over the events of one act, or of several.
    pub fn write(&self, events: Vec<Event>) {
        if let Some(sender) = &self.events {
            // The thread ends before this sender only by a panic, which it reports: what it does not take stays
            // unsaved with the board.
            drop(sender.send(events));
        }
    }

    /// How far the writing has come.
    pub fn progress(&self) -> watch::Receiver<Progress> {
        self.progress.clone()
    }

    /// Ends the writing within `patience`; returns how far it came.
    pub fn close(mut self, patience: Duration) -> Progress {
        drop(self.events.take());
        if let Some(thread) = self.thread.take() {
            // The thread writes what it has and ends. One that hangs in the disk is left behind.
            crate::shell::wait_for_end(&thread, patience);
        }
        self.progress.borrow().clone()
    }
}

/// Opens the file for writing, with the pragmas that its promises rest on.
fn open(data: &Path, make: bool) -> Result<Connection, JournalError> {
    let path = path(data);
    if make {
        // SQLite gives the file's companions the same mode.
        private::file(&path)
            .map(drop)
            .map_err(|reason| JournalError::Directory { path: data.to_owned(), reason })?;
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let wrong = |reason| JournalError::NotAJournal { path: path.clone(), reason };
    let mut connection = Connection::open_with_flags(&path, flags).map_err(wrong)?;
    connection.busy_timeout(Duration::from_secs(2))?;
    schema::check(&connection, &path)?;
    connection.pragma_update(None, "cache_size", PAGES)?;
    connection.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()))?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    schema::migrate(&mut connection, &path)?;
    Ok(connection)
}

/// Which file the journal is, while it is there.
fn own_identity(path: &Path) -> Result<(u64, u64), JournalError> {
    identity(path).map_err(|_| JournalError::Gone(path.to_owned()))
}

/// The thread's own state.
struct Scribe {
    data: PathBuf,
    lock: Lock,
    identity: (u64, u64),
    /// None after a failure, until the file could be trusted again.
    connection: Option<Connection>,
    marker: Marker,
    saved: Saved,
    upto: u64,
    pending: VecDeque<Event>,
    report: watch::Sender<Progress>,
}

/// Told last: nothing more is written, and nobody is to think so.
impl Drop for Scribe {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let trouble = "writing has ended by a panic, the log says more: leave and start again";
            self.report.send_replace(Progress { upto: self.upto, trouble: Some(trouble.into()) });
        }
    }
}

impl Scribe {
    fn run(mut self, incoming: &Receiver<Vec<Event>>) {
        let mut keeper = None;
        loop {
            let wait = match (self.pending.is_empty(), &keeper) {
                (false, _) => RETRY,
                (true, None) => FIRST_LOOK,
                (true, Some(_)) => Duration::from_secs(3600),
            };
            match incoming.recv_timeout(wait) {
                Ok(events) => self.pending.extend(events),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
            // What came meanwhile goes into the same transaction.
            self.pending.extend(incoming.try_iter().flatten());
            strike("journal-thread", self.pending.back().map_or(0, |event| event.seq));
            self.attempt();
            if self.pending.is_empty() {
                keeper.get_or_insert_with(|| Keeper::new(&self.data)).look(self.upto);
            }
        }
        self.pending.extend(incoming.try_iter().flatten());
        self.attempt();
        if self.pending.is_empty() {
            keeper.unwrap_or_else(|| Keeper::new(&self.data)).leave(self.upto);
        }
    }

    fn attempt(&mut self) {
        if self.pending.is_empty() {
            return;
        }
        // A panic in it is one more way to fail: the file is read again and compared before the next attempt.
        let trouble = match outlive(|| self.write_pending()) {
            Some(Ok(())) => None,
            Some(Err(reason)) => {
                tracing::error!(%reason, events = self.pending.len(), "the journal could not be written");
                Some(reason.in_short())
            }
            None => Some("writing panicked; the log says more".to_owned()),
        };
        if trouble.is_some() {
            self.connection = None;
        }
        self.report.send_replace(Progress { upto: self.upto, trouble });
    }

    fn write_pending(&mut self) -> Result<(), JournalError> {
        // A file that was taken away still takes writes, and loses them with the process.
        if own_identity(&path(&self.data))? != self.identity {
            self.connection = None;
        }
        let connection = match self.connection.take() {
            Some(connection) => connection,
            None => self.reopen()?,
        };
        strike("journal", self.pending.back().map_or(0, |event| event.seq));
        let sums = write(&connection, &self.pending, self.saved.sum())?;
        self.connection = Some(connection);
        self.upto = self.pending.back().map_or(self.upto, |event| event.seq);
        self.saved.keep(self.pending.drain(..).zip(sums));
        self.marker.set(Mark { seq: self.upto, sum: self.saved.sum() });
        Ok(())
    }

    /// Opens the file again and finds out what of the pending events is in it after all.
    fn reopen(&mut self) -> Result<Connection, JournalError> {
        if !self.lock.still_holds() {
            self.lock = Lock::take(&self.data)?;
        }
        // What was written and not synced may be read, and is trusted no more than what was never written.
        resync::log(&path(&self.data))?;
        // A disk that was mounted again may have another identity; what it holds says whether it is the same.
        let identity = own_identity(&path(&self.data))?;
        let connection = open(&self.data, false)?;
        let (there, sum) = last(&connection)?;
        if there < self.upto {
            self.take_back(there, sum)?;
        }
        // What a failed commit had brought to the disk all the same must be exactly what was meant.
        let mut before = self.saved.sum();
        let mut meant = Vec::new();
        for event in self.pending.iter().take_while(|event| event.seq <= there) {
            before = stored(event, before)?.sum;
            meant.push(before);
        }
        if before != sum {
            return Err(JournalError::Replaced);
        }
        let came = self.pending.drain(..meant.len());
        self.saved.keep(came.zip(meant));
        self.identity = identity;
        self.marker = Marker::open(&self.data);
        self.upto = there;
        Ok(connection)
    }

    /// The journal ends before what was saved in it, as on a disk that had called synced what it never wrote: what is
    /// kept in mind of it is to be written once more.
    fn take_back(&mut self, there: u64, sum: i64) -> Result<(), JournalError> {
        let lost = self.saved.take_after(there, sum).ok_or(JournalError::Replaced)?;
        let events = lost.len();
        tracing::error!(events, there, "saved events are gone from the journal: written once more");
        for event in lost.into_iter().rev() {
            self.pending.push_front(event);
        }
        self.upto = there;
        Ok(())
    }
}

/// The last events that were saved, oldest first, each with its sum.
struct Saved {
    /// The sum of the row before them.
    before: i64,
    events: VecDeque<(Event, i64)>,
}

impl Saved {
    /// The sum of the last row.
    fn sum(&self) -> i64 {
        self.events.back().map_or(self.before, |(_, sum)| *sum)
    }

    fn keep(&mut self, saved: impl Iterator<Item = (Event, i64)>) {
        self.events.extend(saved);
        while self.events.len() > KEPT {
            if let Some((_, sum)) = self.events.pop_front() {
                self.before = sum;
            }
        }
    }

    /// Forgets and returns the events after a row with this sum; None where no such row is known.
    fn take_after(&mut self, there: u64, sum: i64) -> Option<Vec<Event>> {
        let stay = self.events.partition_point(|(event, _)| event.seq <= there);
        let its = stay.checked_sub(1).map_or(self.before, |last| self.events[last].1);
        (its == sum).then(|| self.events.drain(stay..).map(|(event, _)| event).collect())
    }
}

fn stored(event: &Event, before: i64) -> Result<Stored, JournalError> {
    let wrong = |reason: serde_json::Error| JournalError::Row {
        seq: i64::try_from(event.seq).unwrap_or(i64::MAX),
        reason: reason.to_string(),
    };
    Stored::of(event, before).map_err(wrong)
}

/// Writes events in one transaction; returns their sums.
fn write(
    connection: &Connection,
    events: &VecDeque<Event>,
    mut sum: i64,
) -> Result<Vec<i64>, JournalError> {
    let change = connection.unchecked_transaction()?;
    let mut sums = Vec::with_capacity(events.len());
    for event in events {
        let row = stored(event, sum)?;
        row.insert(&change)?;
        sum = row.sum;
        sums.push(sum);
    }
    change.commit()?;
    Ok(sums)
}
