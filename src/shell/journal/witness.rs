//! What a fresh start would find of a journal, compared with what was written, before anything is called saved.
//!
//! SQLite writes through files that it opened once. A log that was deleted, a file that was replaced or written over
//! takes every write all the same, and loses it with the process. So each file is looked at by its name, as a start
//! would open it: which file it is, its length, when it was changed last. And the frames of a commit are read back from
//! the log of that name, by the rules of the log's own format: https://sqlite.org/fileformat2.html#walformat.

use std::fs::{File, Metadata};
use std::io::ErrorKind;
use std::os::unix::fs::{FileExt, MetadataExt};
use std::path::{Path, PathBuf};

use super::{JournalError, beside};

/// What tells a file and its content from what was there before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Print {
    /// Device and number.
    file: (u64, u64),
    length: u64,
    /// Seconds and nanoseconds at which its content was changed last.
    changed: (i64, i64),
}

impl Print {
    fn of(there: &Metadata) -> Self {
        Self {
            file: (there.dev(), there.ino()),
            length: there.len(),
            changed: (there.mtime(), there.mtime_nsec()),
        }
    }

    /// The print of the file that has a name; None where none has it.
    fn at(path: &Path) -> Result<Option<Self>, JournalError> {
        match std::fs::metadata(path) {
            Ok(there) => Ok(Some(Self::of(&there))),
            Err(reason) if reason.kind() == ErrorKind::NotFound => Ok(None),
            Err(reason) => Err(reason.into()),
        }
    }
}

/// A journal's files as this process has left them.
#[derive(Debug)]
pub(super) struct Witness {
    journal: PathBuf,
    own: Print,
    /// The shared memory over which processes agree: which file it is.
    index: Option<(u64, u64)>,
    log: Log,
}

impl Witness {
    /// Takes note of the files of a journal that was opened for writing just now.
    ///
    /// # Errors
    /// One of them is gone already, or cannot be read.
    pub fn of(journal: &Path) -> Result<Self, JournalError> {
        let own = Print::at(journal)?.ok_or_else(|| JournalError::Gone(journal.to_owned()))?;
        let index = Print::at(&beside(journal, "-shm"))?.map(|print| print.file);
        let log = Log::open(&beside(journal, "-wal"))?;
        Ok(Self { journal: journal.to_owned(), own, index, log })
    }

    /// Whether all is as it was left. Cheap: four questions about names.
    ///
    /// # Errors
    /// What is not.
    pub fn is_as_left(&self) -> Result<(), JournalError> {
        self.names_are_ours()?;
        match self.log.print()? == self.log.left {
            true => Ok(()),
            false => Err(JournalError::Changed("its log was changed by something else")),
        }
    }

    /// Whether what has just been committed is where a start would look for it; takes note of it.
    ///
    /// # Errors
    /// It is not there, or something else has changed in the meantime.
    pub fn confirm(&mut self) -> Result<(), JournalError> {
        let goes_on = self.log.follow()?;
        self.log.left = self.log.print()?;
        self.names_are_ours()?;
        match goes_on {
            true => Ok(()),
            false => Err(JournalError::Changed("its log does not hold what was written")),
        }
    }

    /// Takes note of the journal's own file, after this process has written to it.
    ///
    /// # Errors
    /// It is gone, or another.
    pub fn wrote_file(&mut self) -> Result<(), JournalError> {
        let there = self.own_file()?;
        if there.file != self.own.file {
            return Err(REPLACED);
        }
        self.own = there;
        Ok(())
    }

    /// Whether the journal's own file is as it was left.
    ///
    /// # Errors
    /// It is gone, or cannot be asked.
    pub fn has_its_file(&self) -> Result<bool, JournalError> {
        Ok(self.own_file()? == self.own)
    }

    /// Whether log and shared memory still have their names.
    pub fn has_its_companions(&self) -> bool {
        self.companions().is_ok()
    }

    fn own_file(&self) -> Result<Print, JournalError> {
        Print::at(&self.journal)?.ok_or_else(|| JournalError::Gone(self.journal.clone()))
    }

    fn names_are_ours(&self) -> Result<(), JournalError> {
        let own = self.own_file()?;
        if own.file != self.own.file {
            return Err(REPLACED);
        }
        if own != self.own {
            return Err(JournalError::Changed("its file was changed by something else"));
        }
        self.companions()
    }

    fn companions(&self) -> Result<(), JournalError> {
        let there = |end| Print::at(&beside(&self.journal, end));
        match there("-wal")? {
            Some(log) if log.file == self.log.left.file => {}
            _ => return Err(JournalError::Changed("its log was taken away or replaced")),
        }
        match there("-shm")?.map(|print| print.file) == self.index {
            true => Ok(()),
            false => Err(JournalError::Changed("its index was taken away or replaced")),
        }
    }
}

const REPLACED: JournalError = JournalError::Changed("another file lies in its place");

/// The write-ahead log, by a handle of our own. SQLite holds no lock on this file, so closing it lets go of none.
#[derive(Debug)]
struct Log {
    file: File,
    /// As this process has left it.
    left: Print,
    /// Behind the last commit in it that was read.
    tail: Option<Tail>,
}

/// A place in the log between two frames.
#[derive(Debug, Clone, Copy)]
struct Tail {
    at: u64,
    /// What each frame of this round of the log carries.
    salts: [u8; 8],
    /// The running checksum up to here.
    sums: (u32, u32),
    frame: usize,
    big_endian: bool,
}

/// Bytes at the head of the log, and of each frame.
const HEAD: usize = 32;
const FRAME_HEAD: usize = 24;
/// Frames that are read at once.
const FRAMES: usize = 8;

impl Log {
    fn open(path: &Path) -> Result<Self, JournalError> {
        let file = File::open(path)?;
        let left = Print::of(&file.metadata()?);
        let mut log = Self { file, left, tail: None };
        log.follow()?;
        Ok(log)
    }

    fn print(&self) -> Result<Print, JournalError> {
        Ok(Print::of(&self.file.metadata()?))
    }

    /// Reads on from the last commit that is known, as a start would; whether another one follows.
    fn follow(&mut self) -> Result<bool, JournalError> {
        let mut head = [0; HEAD];
        let begun = match self.file.read_exact_at(&mut head, 0) {
            Ok(()) => Tail::after_head(&head),
            Err(reason) if reason.kind() == ErrorKind::UnexpectedEof => None,
            Err(reason) => return Err(reason.into()),
        };
        let Some(begun) = begun else { return Ok(false) };
        // Once all of it is in the journal's file, the log begins again with other salts.
        let mut tail = self.tail.filter(|tail| tail.salts == begun.salts).unwrap_or(begun);
        let mut frames = vec![0; tail.frame * FRAMES];
        let mut goes_on = false;
        loop {
            let read = read_at(&self.file, &mut frames, tail.at)?;
            for frame in frames[..read].chunks_exact(tail.frame) {
                let Some(commits) = tail.pass(frame) else { return Ok(goes_on) };
                if commits {
                    (self.tail, goes_on) = (Some(tail), true);
                }
            }
            if read < frames.len() {
                return Ok(goes_on);
            }
        }
    }
}

/// Reads as much as there is.
fn read_at(file: &File, bytes: &mut [u8], at: u64) -> std::io::Result<usize> {
    let mut read = 0;
    while read < bytes.len() {
        match file.read_at(&mut bytes[read..], at + read as u64)? {
            0 => break,
            more => read += more,
        }
    }
    Ok(read)
}

fn big(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0, |number, byte| number << 8 | u32::from(*byte))
}

impl Tail {
    /// Behind the head of a log; None where it is none.
    fn after_head(head: &[u8; HEAD]) -> Option<Self> {
        let (magic, page) = (big(&head[..4]), usize::try_from(big(&head[8..12])).ok()?);
        if magic & !1 != 0x377f_0682 || !(512..=1 << 16).contains(&page) {
            return None;
        }
        let mut salts = [0; 8];
        salts.copy_from_slice(&head[16..24]);
        let big_endian = magic & 1 == 1;
        let mut tail =
            Self { at: HEAD as u64, salts, sums: (0, 0), frame: FRAME_HEAD + page, big_endian };
        tail.sum(&head[..24]);
        (tail.sums == (big(&head[24..28]), big(&head[28..]))).then_some(tail)
    }

    /// Goes past a frame; whether it ends a commit. None where it is not of this log, or not what was written.
    fn pass(&mut self, frame: &[u8]) -> Option<bool> {
        if frame[8..16] != self.salts {
            return None;
        }
        self.sum(&frame[..8]);
        self.sum(&frame[FRAME_HEAD..]);
        self.at += frame.len() as u64;
        let written = (big(&frame[16..20]), big(&frame[20..24]));
        (self.sums == written).then(|| big(&frame[4..8]) != 0)
    }

    /// The checksum of the log's format, over eight bytes at a time.
    fn sum(&mut self, bytes: &[u8]) {
        let (mut one, mut two) = self.sums;
        let word = |bytes: &[u8]| {
            let bytes = [bytes[0], bytes[1], bytes[2], bytes[3]];
            if self.big_endian { u32::from_be_bytes(bytes) } else { u32::from_le_bytes(bytes) }
        };
        for pair in bytes.chunks_exact(8) {
            one = one.wrapping_add(word(&pair[..4])).wrapping_add(two);
            two = two.wrapping_add(word(&pair[4..])).wrapping_add(one);
        }
        self.sums = (one, two);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::Connection;

    fn written(path: &Path) -> Connection {
        let connection = Connection::open(path).unwrap();
        connection.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(())).unwrap();
        connection.execute_batch("CREATE TABLE t (n); INSERT INTO t VALUES (1)").unwrap();
        connection
    }

    #[test]
    fn each_commit_is_found_in_the_log_also_once_it_begins_again() {
        let there = tempfile::tempdir().unwrap();
        let path = there.path().join("j");
        let connection = written(&path);
        let mut witness = Witness::of(&path).unwrap();
        for round in 0..40 {
            assert!(witness.confirm().is_err(), "round {round}: nothing was written");
            let row = "INSERT INTO t VALUES (randomblob(3000))";
            for _ in 0..=round % 4 {
                connection.execute(row, []).unwrap();
            }
            assert!(witness.is_as_left().is_err(), "round {round}");
            witness.confirm().unwrap();
            witness.is_as_left().unwrap();
            if round % 7 == 0 {
                let sql = "PRAGMA wal_checkpoint(PASSIVE)";
                connection.query_row(sql, [], |_| Ok(())).unwrap();
                witness.wrote_file().unwrap();
            }
        }
    }

    #[test]
    fn a_flipped_byte_in_the_log_is_not_passed_over() {
        let there = tempfile::tempdir().unwrap();
        let path = there.path().join("j");
        let _connection = written(&path);
        let log = beside(&path, "-wal");
        let whole = std::fs::read(&log).unwrap();
        let commits = |bytes: &[u8]| {
            std::fs::write(&log, bytes).unwrap();
            Log::open(&log).unwrap().tail.map(|tail| tail.at)
        };
        assert_eq!(commits(&whole), Some(whole.len() as u64));
        for at in (0..whole.len()).step_by(97) {
            let mut bytes = whole.clone();
            bytes[at] ^= 1;
            assert_ne!(commits(&bytes), Some(whole.len() as u64), "byte {at}");
        }
    }
}
