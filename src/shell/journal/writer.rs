//! Writing the journal, on a thread of its own: the board never waits for the disk.
//!
//! Saved is what a fresh start would find: after each commit, and every few seconds at rest, the files are looked at as
//! a start would open them (`witness`). Where they are not as they were left, and after any failure, the file is closed,
//! opened again, compared with what was to be written, and only what is missing is written: a sync that has failed once
//! is never taken for a success later. The last saved events are kept in mind (`saved`) for a disk that comes back
//! without some of them: as many as may be in the log alone, which are more than a few hundred only as long as a reader
//! keeps the log from going into the file.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};
use tokio::sync::watch;

use super::keeper::Keeper;
use super::lock::Lock;
use super::mark::{Mark, Marker};
use super::reader::last;
use super::readers::anybody_reads;
use super::row::Stored;
use super::saved::{KEPT, Saved};
use super::witness::Witness;
use super::{JournalError, Reader, backup, beside, path, resync, schema};
use crate::shell::mishap::{catch_panic, panic_if_asked};
use crate::shell::private;
use crate::shop::facts::fact::Event;

/// How long to wait before a failed write is tried again.
const RETRY: Duration = Duration::from_millis(500);

/// How long after the start the first look is taken at the snapshot, where nothing is written before.
const FIRST_LOOK: Duration = Duration::from_secs(1);

/// How often the files are looked at while nothing is written.
const LOOK: Duration = Duration::from_secs(2);

/// After so many events the log is brought into the journal's file: far fewer than are kept in mind, so that nothing
/// goes with a log that is taken away.
const FOLD: usize = KEPT / 2;

/// What the connection keeps in mind of the file, in KiB (SQLite says that with a minus): the ends of its trees.
const PAGES: i64 = -1024;

/// How far the writing has come.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Every event up to this one is committed and synced.
    pub upto: u64,
    /// Why writing fails, while it does; also while all that was done is written.
    pub trouble: Option<String>,
    /// What another board has written after that, while nothing of ours waited: to be taken in, and adopted.
    pub others: Option<Arc<Vec<Event>>>,
}

/// What the thread is told.
enum Word {
    Write(Vec<Event>),
    /// What others have written up to this event was taken in.
    Adopt(u64),
}

/// The hand that writes.
pub struct Writer {
    words: Option<Sender<Word>>,
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
        // Nothing of an earlier board's is left in the log alone, if the disk allows.
        if let Err(reason) = fold(&connection, data) {
            tracing::warn!(%reason, "the log stays beside the journal");
        }
        let (upto, sum) = last(&connection)?;
        let witness = Witness::of(&path(data))?;
        let wrong = |reason| JournalError::Directory { path: data.to_owned(), reason };
        let (words, incoming) = channel();
        let (report, progress) = watch::channel(Progress { upto, trouble: None, others: None });
        let scribe = Scribe {
            data: data.to_owned(),
            lock: lock.clone(),
            connection: Some(connection),
            witness,
            unfolded: 0,
            fold_at: FOLD,
            marker: Marker::open(data),
            saved: Saved::upto(sum),
            upto,
            others: Vec::new(),
            pending: VecDeque::new(),
            report,
        };
        let thread = std::thread::Builder::new()
            .name("journal".into())
            .spawn(move || catch_panic(|| scribe.run(&incoming)).unwrap_or_default())
            .map_err(wrong)?;
        Ok(Self { words: Some(words), progress, thread: Some(thread), _lock: lock })
    }

    /// Hands over the events of one act, or of several.
    pub fn write(&self, events: Vec<Event>) {
        self.tell(Word::Write(events));
    }

    /// Says that what others have written up to this event is taken in: what is written next follows on it.
    pub fn adopt(&self, upto: u64) {
        self.tell(Word::Adopt(upto));
    }

    fn tell(&self, word: Word) {
        if let Some(words) = &self.words {
            // The thread ends before this sender only by a panic, which it reports: what it does not take stays
            // unsaved with the board.
            drop(words.send(word));
        }
    }

    /// How far the writing has come.
    pub fn progress(&self) -> watch::Receiver<Progress> {
        self.progress.clone()
    }

    /// Ends the writing within `patience`; returns how far it came.
    pub fn close(mut self, patience: Duration) -> Progress {
        drop(self.words.take());
        if let Some(thread) = self.thread.take() {
            // The thread writes what it has and ends. One that hangs in the disk is left behind.
            crate::shell::wait_for_end(&thread, patience);
        }
        self.progress.borrow().clone()
    }
}

/// Opens the file for writing, with the pragmas that its promises rest on.
pub(super) fn open(data: &Path, make: bool) -> Result<Connection, JournalError> {
    let path = path(data);
    if make {
        // SQLite gives the file's companions the same mode.
        private::held(&path)
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
    // The log goes into the file only after a look at both, and when all is well at the end: see `fold`. Else what
    // was put in the file's place would be mixed with it.
    connection.pragma_update(None, "wal_autocheckpoint", 0)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    schema::migrate(&mut connection, &path)?;
    Ok(connection)
}

/// Brings what is in the log into the journal's own file, unless a reader is in the way; whether all of it is there.
fn fold(connection: &Connection, data: &Path) -> rusqlite::Result<bool> {
    if anybody_reads(&beside(&path(data), "-shm")) {
        return Ok(false);
    }
    let sql = "PRAGMA wal_checkpoint(PASSIVE)";
    connection.query_row(sql, [], |row| Ok(row.get::<_, i64>(1)? == row.get::<_, i64>(2)?))
}

/// The thread's own state.
struct Scribe {
    data: PathBuf,
    lock: Lock,
    /// None after a failure, until the file could be trusted again.
    connection: Option<Connection>,
    /// The files as they were left last.
    witness: Witness,
    /// How many events may be in the log alone, and with how many it is to be brought into the file.
    unfolded: usize,
    fold_at: usize,
    marker: Marker,
    saved: Saved,
    upto: u64,
    /// What another board has written after that, each with its sum.
    others: Vec<(Event, i64)>,
    pending: VecDeque<Event>,
    report: watch::Sender<Progress>,
}

/// Told last: nothing more is written, and nobody is to think so.
impl Drop for Scribe {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let trouble = "writing has ended by a panic, the log says more: leave and start again";
            self.tell(Some(trouble.into()));
        }
    }
}

impl Scribe {
    fn run(mut self, incoming: &Receiver<Word>) {
        self.saved = Saved::last_of(&self.data, self.upto, self.saved.sum());
        let mut keeper = None;
        loop {
            let wait = match (self.is_well(), &keeper) {
                (false, _) => RETRY,
                (true, None) => FIRST_LOOK,
                (true, Some(_)) => LOOK,
            };
            match incoming.recv_timeout(wait) {
                Ok(word) => self.hear(word),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
            // What came meanwhile goes into the same transaction.
            incoming.try_iter().for_each(|word| self.hear(word));
            panic_if_asked("journal-thread", self.pending.back().map_or(0, |event| event.seq));
            self.attempt();
            if self.is_well() {
                keeper.get_or_insert_with(|| Keeper::new(&self.data)).look(self.upto);
            }
        }
        incoming.try_iter().for_each(|word| self.hear(word));
        self.attempt();
        if !self.is_well() {
            // Nothing but a look at the files may have failed: there is no later attempt.
            self.attempt();
        }
        if self.is_well() {
            keeper.unwrap_or_else(|| Keeper::new(&self.data)).leave(self.upto);
            self.end();
        }
    }

    fn hear(&mut self, word: Word) {
        match word {
            Word::Write(events) => self.pending.extend(events),
            Word::Adopt(upto) => {
                let adopted = self.others.partition_point(|(event, _)| event.seq <= upto);
                self.saved.keep(self.others.drain(..adopted), self.unfolded);
                self.upto = self.upto.max(upto);
            }
        }
    }

    fn is_well(&self) -> bool {
        self.connection.is_some() && self.pending.is_empty()
    }

    /// Writes what waits. Where nothing does, looks whether the files are as they were left.
    fn attempt(&mut self) {
        // A panic in it is one more way to fail: the file is read again and compared before the next attempt.
        let trouble = match catch_panic(|| self.settle()) {
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
        self.tell(trouble);
        if self.is_well() {
            self.fold();
        }
    }

    fn tell(&self, trouble: Option<String>) {
        let alone = self.others.is_empty() || !self.pending.is_empty();
        let others = || Arc::new(self.others.iter().map(|(event, _)| event.clone()).collect());
        let now = Progress { upto: self.upto, trouble, others: (!alone).then(others) };
        // Of a look that found all well nobody needs to hear.
        self.report.send_if_modified(|last| {
            let is_news = now.trouble.is_some() || *last != now;
            *last = now;
            is_news
        });
    }

    fn settle(&mut self) -> Result<(), JournalError> {
        let connection = match self.connection.take() {
            Some(connection) => {
                self.witness.is_as_left()?;
                connection
            }
            None => self.reopen()?,
        };
        if !self.lock.still_holds() {
            return Err(JournalError::Changed("its lock was taken away"));
        }
        if !self.pending.is_empty() {
            panic_if_asked("journal", self.pending.back().map_or(0, |event| event.seq));
            let sums = write(&connection, &self.pending, self.saved.sum())?;
            self.witness.confirm()?;
            self.unfolded += self.pending.len();
            self.upto = self.pending.back().map_or(self.upto, |event| event.seq);
            self.saved.keep(self.pending.drain(..).zip(sums), self.unfolded);
            self.marker.set(Mark { seq: self.upto, sum: self.saved.sum() });
        }
        self.connection = Some(connection);
        Ok(())
    }

    /// Brings the log into the file now and then, once what is in it was reported. Where that fails the log is as good.
    fn fold(&mut self) {
        let due = self.unfolded >= self.fold_at;
        let Some(connection) = self.connection.as_ref().filter(|_| due) else { return };
        match fold(connection, &self.data) {
            Ok(true) => (self.unfolded, self.fold_at) = (0, FOLD),
            // A reader is in the way: after some more, which are all kept in mind until then.
            Ok(false) => self.fold_at = self.unfolded + FOLD / 2,
            Err(reason) => {
                tracing::warn!(%reason, "the log could not be brought into the journal's file")
            }
        }
        if let Err(reason) = self.witness.wrote_file() {
            tracing::warn!(%reason, "the journal's file is another");
        }
    }

    /// Leaves one file behind, if nobody else reads it.
    fn end(&mut self) {
        if let Some(connection) =
            self.connection.take().filter(|_| self.witness.is_as_left().is_ok())
        {
            let fold_at_the_end = DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE;
            if let Err(reason) = connection.set_db_config(fold_at_the_end, false) {
                tracing::warn!(%reason, "the log stays beside the journal");
            }
        }
    }

    /// Opens the file again and finds out what of the pending events is in it after all.
    fn reopen(&mut self) -> Result<Connection, JournalError> {
        let journal = path(&self.data);
        // Where the journal is gone nothing is made in its place: a disk that comes back would hide it.
        let has_its_file = self.witness.has_its_file()?;
        self.lock.take_again()?;
        // What was written and not synced may be read, and is trusted no more than what was never written.
        resync::log(&journal)?;
        if !self.witness.has_its_companions() {
            // What it says of a log that is gone would be believed.
            private::remove(&beside(&journal, "-shm"))?;
        }
        if !has_its_file {
            self.look_at_all(&journal)?;
        }
        let connection = open(&self.data, false)?;
        let witness = Witness::of(&journal)?;
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
            return Err(self.overtaken());
        }
        let came = self.pending.drain(..meant.len());
        self.saved.keep(came.zip(meant), self.unfolded);
        self.others.clear();
        self.witness = witness;
        (self.unfolded, self.fold_at) = (self.unfolded.max(FOLD), FOLD);
        self.marker = Marker::open(&self.data);
        self.upto = there;
        Ok(connection)
    }

    /// Somebody else has written to the journal's file, or another lies in its place: all of it is looked at. Where it
    /// is sound only by itself, what lies in the log is of another file, and is put aside.
    fn look_at_all(&self, journal: &Path) -> Result<(), JournalError> {
        let whole =
            Reader::open(&self.data).and_then(|reader| reader.map(|r| r.verify()).transpose());
        if matches!(&whole, Ok(Some(proof)) if proof.last_seq >= self.upto || self.saved.knows(proof.last_seq, proof.chain))
        {
            return Ok(());
        }
        let alone = Reader::open_alone(journal)?;
        let (last, sum) = match &alone {
            Some(reader) => reader.verify().map(|proof| (proof.last_seq, proof.chain))?,
            None => (0, super::row::FIRST_SUM),
        };
        drop(alone);
        if !self.saved.knows(last, sum) {
            return Err(whole.err().unwrap_or(JournalError::Replaced));
        }
        let aside = backup::put_log_aside(journal)?;
        tracing::error!(aside = %aside.display(), last, "the journal's file was written over: its log is put aside");
        Ok(())
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

    /// The journal goes on with rows that are none of ours: another board's, if they follow on what was saved.
    fn overtaken(&mut self) -> JournalError {
        let mut others = Vec::new();
        let read = Reader::open(&self.data).and_then(|reader| match reader {
            Some(reader) => reader.chained_after(self.upto, self.saved.sum(), |event, sum| {
                others.push((event, sum));
            }),
            None => Ok(()),
        });
        match read {
            Ok(()) if !others.is_empty() && self.pending.is_empty() => {
                self.others = others;
                JournalError::Others("it is taken in")
            }
            Ok(()) if !others.is_empty() => JournalError::Others(
                "leave this board, then start it again; what is not saved goes to a rescue file",
            ),
            _ => JournalError::Replaced,
        }
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
    let before = change.total_changes();
    for event in events {
        let row = stored(event, sum)?;
        row.insert(&change)?;
        sum = row.sum;
        sums.push(sum);
    }
    // Each event is a row more, and nothing else changes: what a trigger does is counted as well.
    if change.total_changes() - before != sums.len() as u64 {
        return Err(JournalError::Trigger("trigger".into()));
    }
    change.commit()?;
    Ok(sums)
}
