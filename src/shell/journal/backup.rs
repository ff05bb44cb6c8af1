//! A copy of the journal elsewhere while it is written, and back again: each proved before it counts.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};

use super::lock::Lock;
use super::verify::Proof;
use super::{FILE, JournalError, Reader, beside, is_among_ours, is_one_of, mark, path, snapshot};
use crate::shell::clock::Clock;
use crate::shell::hub::memory::Memory;
use crate::shell::new_file::{self, NewFile, Readers};
use crate::shell::private::{self, is_same_file};
use crate::shop::facts::ids::StationId;
use crate::shop::facts::moment::Boot;

/// Why there is no copy.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    #[error(transparent)]
    Journal(#[from] JournalError),
    #[error("there is no journal in {}: nothing to back up", .0.display())]
    Nothing(PathBuf),
    #[error("{} is there already: give another name, or --force to write over it", .0.display())]
    Exists(PathBuf),
    #[error("{} is the journal itself: a backup goes elsewhere", .0.display())]
    Itself(PathBuf),
    #[error("{} is in a data directory, where only the board writes: a backup goes elsewhere", .0.display())]
    AmongOurs(PathBuf),
    #[error("{} cannot be written: {reason}", .path.display())]
    File { path: PathBuf, reason: std::io::Error },
    #[error("{} is no backup: {reason}", .path.display())]
    NoBackup { path: PathBuf, reason: String },
    #[error("a board writes in {}: leave it first, then restore", .0.display())]
    Busy(PathBuf),
    #[error(
        "{} is of station \"{found}\", and this is station \"{wanted}\": give another --data, or the profile of that station",
        .from.display()
    )]
    Station { from: PathBuf, found: StationId, wanted: StationId },
    #[error("{} is of a rehearsal, and in {} lies a real journal: give another --data", .from.display(), .data.display())]
    Rehearsal { from: PathBuf, data: PathBuf },
}

fn at(path: &Path) -> impl FnOnce(std::io::Error) -> BackupError {
    let path = path.to_owned();
    move |reason| BackupError::File { path, reason }
}

/// Copies the journal of a data directory to a file that appears whole or not at all, and proves the copy.
///
/// # Errors
/// No journal, a file that is there already and is not to be written over, or a copy that is not sound.
pub fn backup(data: &Path, to: &Path, force: bool) -> Result<Proof, BackupError> {
    let reader = Reader::open(data)?.ok_or_else(|| BackupError::Nothing(data.to_owned()))?;
    if is_same_file(to, &path(data)) {
        return Err(BackupError::Itself(to.to_owned()));
    }
    if is_among_ours(to) || is_one_of(data, to) {
        return Err(BackupError::AmongOurs(to.to_owned()));
    }
    if !force && to.exists() {
        return Err(BackupError::Exists(to.to_owned()));
    }
    let unfinished = NewFile::beside(to, Readers::Owner).map_err(at(to))?;
    let proof = copy(reader.connection(), unfinished.path())?;
    let named = if force { unfinished.replace(to) } else { unfinished.name(to) };
    named.map_err(|reason| match reason.kind() {
        ErrorKind::AlreadyExists => BackupError::Exists(to.to_owned()),
        _ => at(to)(reason),
    })?;
    sync_folder_of(to)?;
    Ok(proof)
}

/// What a restoring has done.
#[derive(Debug)]
pub struct Restored {
    pub proof: Proof,
    /// Where the journal is that was there before, if there was one.
    pub kept: Option<PathBuf>,
    /// What of that one the backup does not hold.
    pub missed: Missed,
}

/// What a journal held that a backup does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missed {
    /// So many events after the backup's last.
    Events(u64),
    /// All of it: they are two journals.
    Another,
    /// It could not be read.
    Unknown,
}

impl Missed {
    fn of(there: &Reader, backup: &Reader, proof: &Proof) -> Result<Self, JournalError> {
        let (last, sum) = there.last()?;
        if there.sum_of(proof.last_seq)? == Some(proof.chain) {
            return Ok(Self::Events(last - proof.last_seq));
        }
        let goes_on = last == 0 || backup.sum_of(last)? == Some(sum);
        Ok(if goes_on { Self::Events(0) } else { Self::Another })
    }
}

/// Whether a journal is of a made-up shift.
fn is_made_up(reader: &Reader) -> Result<bool, JournalError> {
    let (last, _) = reader.last()?;
    let mut made_up = false;
    reader.events_after(last.saturating_sub(1), |event| {
        made_up = event.moment.boot == Boot::MADE_UP;
    })?;
    Ok(made_up)
}

/// Puts a backup in the place of the journal of a data directory, and keeps what was there under another name. The
/// station is the one of the profile, else of the journal that is there.
///
/// # Errors
/// A board that writes there, a backup of another station, or one that is not sound: nothing is changed then.
pub fn restore(
    data: &Path,
    from: &Path,
    profile: Option<StationId>,
) -> Result<Restored, BackupError> {
    let no_backup = |reason: String| BackupError::NoBackup { path: from.to_owned(), reason };
    let backup = Reader::open_file(from)
        .map_err(|wrong| no_backup(wrong.to_string()))?
        .ok_or_else(|| no_backup("no such file, or no event in it".into()))?;
    private::directory(data).map_err(at(data))?;
    let _lock = match Lock::take(data) {
        Err(JournalError::Locked(data)) => return Err(BackupError::Busy(data)),
        lock => lock?,
    };
    let journal = path(data);
    if is_same_file(from, &journal) {
        return Err(BackupError::Itself(from.to_owned()));
    }
    let there = Reader::open(data).ok().flatten();
    let is_real = |reader: &Reader| is_made_up(reader).is_ok_and(|made_up| !made_up);
    if there.as_ref().is_some_and(is_real) && is_made_up(&backup)? {
        return Err(BackupError::Rehearsal { from: from.to_owned(), data: data.to_owned() });
    }
    let wanted = profile.or_else(|| there.as_ref().and_then(station));
    if let (Some(wanted), Some(found), false) = (wanted, station(&backup), is_made_up(&backup)?)
        && wanted != found
    {
        return Err(BackupError::Station { from: from.to_owned(), found, wanted });
    }
    let unfinished = NewFile::beside(&journal, Readers::Owner).map_err(at(&journal))?;
    let proof = copy(backup.connection(), unfinished.path()).map_err(|wrong| match wrong {
        BackupError::Journal(wrong) => no_backup(wrong.to_string()),
        wrong => wrong,
    })?;
    let missed = there.and_then(|there| Missed::of(&there, &backup, &proof).ok());
    fold(&journal);
    let kept = replace(&journal, unfinished, "before-restore")?;
    snapshot::remove(data).and_then(|()| mark::remove(data)).map_err(at(data))?;
    Memory::ask_at_next_start(data).map_err(at(data))?;
    let last = Reader::open(data)?.map(|reader| reader.last()).transpose()?;
    if last != Some((proof.last_seq, proof.chain)) {
        return Err(no_backup("what came to lie in its place is something else".into()));
    }
    Ok(Restored { missed: missed.unwrap_or(Missed::Unknown), proof, kept })
}

/// The station of a journal's newest profile.
fn station(reader: &Reader) -> Option<StationId> {
    let profile = reader.station_at(u64::MAX).ok().flatten();
    profile.map(|profile| profile.id)
}

/// Gives a journal another name, and its own to what is to take its place; returns where it is, if there was one.
pub(super) fn replace(
    journal: &Path,
    by: NewFile,
    what: &str,
) -> Result<Option<PathBuf>, BackupError> {
    let kept = set_aside(journal, what)?;
    by.replace(journal).map_err(at(journal))?;
    sync_folder_of(journal)?;
    Ok(kept)
}

/// Copies a database into a file that is there for it, and proves the copy. In one step, as of one moment: copying in
/// several would begin again at every commit of the board. The board does not wait for it, since readers and the writer
/// of a write-ahead log never do.
fn copy(from: &Connection, to: &Path) -> Result<Proof, BackupError> {
    const TRIES: usize = 40;
    const PAUSE: Duration = Duration::from_millis(50);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut copy = Connection::open_with_flags(to, flags).map_err(JournalError::from)?;
    let mut step = StepResult::Busy;
    for _ in 0..TRIES {
        step = Backup::new(from, &mut copy)
            .and_then(|backup| backup.step(-1))
            .map_err(JournalError::from)?;
        if step == StepResult::Done {
            break;
        }
        std::thread::sleep(PAUSE);
    }
    if step != StepResult::Done {
        return Err(at(to)(std::io::Error::from(ErrorKind::ResourceBusy)));
    }
    // A backup is one file: no write-ahead log beside it.
    copy.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(()))
        .map_err(JournalError::from)?;
    drop(copy);
    let proof = Reader::open_file(to)?
        .ok_or_else(|| BackupError::NoBackup { path: to.to_owned(), reason: "it is empty".into() })?
        .verify()?;
    Ok(proof)
}

/// Writes what lies in the write-ahead log into the file itself, where the file is sound enough for that.
fn fold(journal: &Path) {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let folded = Connection::open_with_flags(journal, flags).and_then(|connection| {
        connection.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(()))
    });
    if let Err(reason) = folded {
        tracing::info!(%reason, "the journal that is replaced is kept with its write-ahead log");
    }
}

/// Copies a journal that is found without its end, before anything is written to it: what its write-ahead log may still
/// hold is somebody's to look at. None where nothing is left of it.
///
/// # Errors
/// What the file system says.
pub fn keep_short(data: &Path) -> Result<Option<PathBuf>, BackupError> {
    let journal = path(data);
    let log = beside(&journal, "-wal");
    let has_something = |path: &Path| std::fs::metadata(path).is_ok_and(|file| file.len() > 0);
    if !has_something(&journal) && !has_something(&log) {
        return Ok(None);
    }
    let kept = free_name(&journal, "short")?;
    copy_log(&journal, &kept)?;
    copy_file(&journal, &kept)?;
    sync_folder_of(&kept)?;
    Ok(Some(kept))
}

/// A name beside the journal's that nothing has, with what it is and when.
fn free_name(journal: &Path, what: &str) -> Result<PathBuf, BackupError> {
    let now = Clock::machine().now().at;
    let when = now.timestamp().unwrap_or_default();
    let when = when.strftime("%Y%m%d-%H%M%S").to_string();
    let stem = FILE.trim_end_matches(".sqlite");
    let free = (1..100)
        .map(|n| if n == 1 { String::new() } else { format!("-{n}") })
        .map(|n| journal.with_file_name(format!("{stem}-{what}-{when}{n}.sqlite")))
        .find(|path| !path.exists());
    free.ok_or_else(|| at(journal)(std::io::Error::from(ErrorKind::AlreadyExists)))
}

/// Gives the log of a journal that is not its own another name.
pub(super) fn put_log_aside(journal: &Path) -> std::io::Result<PathBuf> {
    let kept = free_name(journal, "log-of-another").map_err(std::io::Error::other)?;
    let kept = beside(&kept, "-wal");
    new_file::name_once(&beside(journal, "-wal"), &kept)?;
    private::remove(&beside(journal, "-shm"))?;
    private::sync_folder(journal)?;
    Ok(kept)
}

fn copy_log(journal: &Path, to: &Path) -> Result<(), BackupError> {
    let log = beside(journal, "-wal");
    match std::fs::metadata(&log) {
        Ok(file) if file.len() > 0 => copy_file(&log, &beside(to, "-wal")),
        _ => Ok(()),
    }
}

/// Puts a journal that another is to take the place of aside, with what was made of it; where it lies then.
///
/// # Errors
/// What the file system says.
pub fn put_aside(data: &Path) -> Result<Option<PathBuf>, BackupError> {
    let journal = path(data);
    fold(&journal);
    let kept = set_aside(&journal, "before-hub")?;
    private::remove(&journal).map_err(at(&journal))?;
    snapshot::remove(data).and_then(|()| mark::remove(data)).map_err(at(data))?;
    sync_folder_of(&journal)?;
    Ok(kept)
}

/// Gives the journal and its write-ahead log another name; at every moment all of it is there under one of them.
fn set_aside(journal: &Path, what: &str) -> Result<Option<PathBuf>, BackupError> {
    if !journal.exists() {
        return Ok(None);
    }
    let kept = free_name(journal, what)?;
    copy_log(journal, &kept)?;
    if std::fs::hard_link(journal, &kept).is_err() {
        copy_file(journal, &kept)?;
    }
    sync_folder_of(&kept)?;
    // A log that was left behind would be read into the file that comes now.
    for end in ["-wal", "-shm"] {
        let path = beside(journal, end);
        private::remove(&path).map_err(at(&path))?;
    }
    Ok(Some(kept))
}

fn copy_file(from: &Path, to: &Path) -> Result<(), BackupError> {
    new_file::copy(from, to).map_err(at(to))
}

fn sync_folder_of(path: &Path) -> Result<(), BackupError> {
    private::sync_folder(path).map_err(at(path))
}
