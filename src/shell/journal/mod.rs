//! The journal: every fact, in order, in one SQLite file that any SQLite tool can read.
//!
//! One writer holds the lock, any number of readers follow. Rows are chained by a sum, so a flipped byte is
//! found. What is reported as saved has been committed with a sync behind it (WAL, synchronous=FULL).

pub mod backup;
pub mod fetched;
pub mod from_rows;
mod keeper;
pub mod lock;
pub mod mark;
pub mod mend;
pub mod reader;
mod readers;
mod resync;
pub mod row;
mod saved;
mod schema;
pub mod snapshot;
pub mod story;
pub mod verify;
mod views;
mod witness;
pub mod writer;

use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

pub use reader::Reader;
pub use writer::{Progress, Writer};

/// The journal's file within the data directory.
pub const FILE: &str = "journal.sqlite";

/// Why the journal cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    #[error("the data directory {} cannot be used: {reason}. Give another with --data, or mend its permissions", .path.display())]
    Directory { path: PathBuf, reason: std::io::Error },
    #[error("another board writes in {}: this one can only watch", .0.display())]
    Locked(PathBuf),
    #[error("{} cannot be read as a journal: {reason}. dwell restore FILE puts a backup in its place", .path.display())]
    NotAJournal { path: PathBuf, reason: rusqlite::Error },
    #[error(
        "{} is of version {found}, this program knows up to version {known}: it is left untouched. \
         Start the newer program that wrote it", .path.display()
    )]
    Newer { path: PathBuf, found: i64, known: i64 },
    #[error("{} is some other program's database (application id {id}), not a journal", .path.display())]
    Foreign { path: PathBuf, id: i64 },
    #[error("row {seq} of the journal does not read: {reason}. dwell check says more")]
    Row { seq: i64, reason: String },
    #[error(
        "row {seq} of the journal is what was written, and is not known here: {reason}. Start the program that wrote it"
    )]
    Unknown { seq: u64, reason: String },
    #[error(
        "row {seq} of the journal is not what was written: its sum is wrong. dwell restore FILE puts a backup in its \
         place; a board that starts here goes on from the rows before it, and keeps this journal aside"
    )]
    Sum { seq: u64 },
    #[error("{} is damaged: {reason}. dwell restore FILE puts a backup in its place", .path.display())]
    Damaged { path: PathBuf, reason: String },
    #[error(
        "the journal ends with row {found}, but row {known} was saved in it: rows at its end are missing, or it was \
         replaced by hand. dwell restore FILE puts a backup in its place"
    )]
    Short { found: u64, known: u64 },
    #[error("{} holds nothing: it was truncated, or the board that made it was ended at once. \
         dwell restore FILE puts a backup in its place", .0.display())]
    Empty(PathBuf),
    #[error("{}: no journal lies there; --data or DWELL_DATA says where it is", .0.display())]
    Nothing(PathBuf),
    #[error(
        "the journal has a gap: after row {after} comes row {found}. dwell restore FILE puts a backup in its place; a \
         board that starts here goes on from the rows before the gap, and keeps this journal aside"
    )]
    Gap { after: u64, found: u64 },
    #[error(
        "this journal belongs to station \"{found}\", the profile says \"{wanted}\": use another --data"
    )]
    Station { found: String, wanted: String },
    #[error(
        "the journal was replaced by another while the board ran: leave the board, then start it again"
    )]
    Replaced,
    #[error("the journal was touched from outside: {0}")]
    Changed(&'static str),
    #[error("another board has written here meanwhile: {0}")]
    Others(&'static str),
    #[error(
        "the {0} in the journal is not of this program, and a trigger changes what is written there. The rows \
         that are there are whole. DROP TRIGGER in any SQLite tool takes it out; then dwell check"
    )]
    Trigger(String),
    #[error("the journal could not be synced: {0}")]
    Disk(#[from] std::io::Error),
    #[error("the journal file is gone from {}", .0.display())]
    Gone(PathBuf),
    #[error("{0}")]
    Sqlite(#[from] rusqlite::Error),
}

impl JournalError {
    /// Whether it may be that nothing can be written where the file lies.
    fn is_unwritable(&self) -> bool {
        let (Self::Sqlite(reason) | Self::NotAJournal { reason, .. }) = self else { return false };
        matches!(
            reason.sqlite_error_code(),
            Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly | ErrorCode::PermissionDenied)
        )
    }

    /// What stands in the way of writing, in as few words as a banner takes.
    pub fn in_short(&self) -> String {
        use std::io::ErrorKind;
        let full = || "the disk is full: make room on it".to_owned();
        let closed = || "nothing can be written there: read-only, or not ours".to_owned();
        match self {
            Self::Sqlite(reason) | Self::NotAJournal { reason, .. } => {
                match reason.sqlite_error_code() {
                    Some(ErrorCode::DiskFull) => full(),
                    Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => closed(),
                    Some(ErrorCode::SystemIoFailure) => format!("the disk fails ({reason})"),
                    // SQLite takes a read that fails for one of a damaged file.
                    Some(ErrorCode::DatabaseCorrupt) => {
                        "the disk fails, or the journal is damaged: dwell check says more".into()
                    }
                    _ => self.to_string(),
                }
            }
            Self::Disk(reason) | Self::Directory { reason, .. } => match reason.kind() {
                ErrorKind::StorageFull | ErrorKind::QuotaExceeded => full(),
                ErrorKind::ReadOnlyFilesystem | ErrorKind::PermissionDenied => closed(),
                _ => format!("the disk fails ({reason})"),
            },
            _ => self.to_string(),
        }
    }
}

/// Which file lies under a name: two names of one file, and one name before and after a rename, are told apart by it.
fn identity(path: &Path) -> std::io::Result<(u64, u64)> {
    std::fs::metadata(path).map(|file| (file.dev(), file.ino()))
}

/// The name of a file that goes with another: the write-ahead log of a journal ends in "-wal".
fn beside(path: &Path, end: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(end);
    name.into()
}

/// Whether a file is one of a data directory's, or would come to lie among them: nothing but the board writes there.
/// Any data directory is meant; it is known by its journal.
pub fn is_among_ours(file: &Path) -> bool {
    let folder_of = |file: &Path| {
        let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
        std::fs::canonicalize(folder.unwrap_or(Path::new(".")))
    };
    let real = std::fs::canonicalize(file);
    let folders = [folder_of(file), real.and_then(|real| folder_of(&real))];
    folders.iter().flatten().any(|folder| {
        // The inbox is a folder in it.
        folder.ancestors().take(2).any(|folder| path(folder).exists())
    })
}

/// Whether a file is one of those in a data directory, under another name.
fn is_one_of(data: &Path, file: &Path) -> bool {
    let entries = std::fs::read_dir(data).into_iter().flatten().flatten();
    let theirs = entries.filter_map(|entry| identity(&entry.path()).ok());
    identity(file).is_ok_and(|file| theirs.into_iter().any(|there| there == file))
}

/// The path of the journal in a data directory.
pub fn path(data: &Path) -> PathBuf {
    data.join(FILE)
}
