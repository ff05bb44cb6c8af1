//! Writing the journal, on a thread of its own: the board never waits for the disk.
//!
//! A sync that has failed once is never taken for a success later: the file is closed, opened again, compared
//! with what was to be written, and only what is missing is written.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};
use tokio::sync::watch;

use super::keeper::Keeper;
use super::lock::Lock;
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
            sum,
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
    sum: i64,
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
        let sum = write(&connection, &self.pending, self.sum)?;
        self.connection = Some(connection);
        self.sum = sum;
        self.upto = self.pending.back().map_or(self.upto, |event| event.seq);
        self.pending.clear();
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
        // What a failed commit had brought to the disk all the same must be exactly what was meant.
        let mut before = self.sum;
        for event in self.pending.iter().take_while(|event| event.seq <= there) {
            before = stored(event, before)?.sum;
        }
        if before != sum {
            return Err(JournalError::Replaced);
        }
        self.pending.retain(|event| event.seq > there);
        self.identity = identity;
        self.sum = sum;
        self.upto = there;
        Ok(connection)
    }
}

fn stored(event: &Event, before: i64) -> Result<Stored, JournalError> {
    let wrong = |reason: serde_json::Error| JournalError::Row {
        seq: i64::try_from(event.seq).unwrap_or(i64::MAX),
        reason: reason.to_string(),
    };
    Stored::of(event, before).map_err(wrong)
}

/// Writes events in one transaction; returns the sum of the last.
fn write(
    connection: &Connection,
    events: &VecDeque<Event>,
    mut sum: i64,
) -> Result<i64, JournalError> {
    let change = connection.unchecked_transaction()?;
    for event in events {
        let row = stored(event, sum)?;
        row.insert(&change)?;
        sum = row.sum;
    }
    change.commit()?;
    Ok(sum)
}
