//! One writer for each data directory, held by a lock that ends with its process.

use std::fs::{File, TryLockError};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::JournalError;
use crate::shell::private;

/// The lock's file within the data directory.
const FILE: &str = "lock";

/// How often a lock is asked for that somebody holds, and how long it is waited in between.
const TRIES: u32 = 4;
const MOMENT: Duration = Duration::from_millis(15);

/// The right to write in a data directory.
#[derive(Debug)]
pub struct Lock {
    file: File,
    path: PathBuf,
}

impl Lock {
    /// Takes the lock of a data directory that exists.
    ///
    /// # Errors
    /// Another process holds it, or the directory cannot be written.
    pub fn take(data: &Path) -> Result<Self, JournalError> {
        let path = data.join(FILE);
        let wrong = |reason| JournalError::Directory { path: data.to_owned(), reason };
        let file = private::file(&path).map_err(wrong)?;
        for try_ in 1.. {
            match file.try_lock() {
                Ok(()) => break,
                // A view that asks whether anybody holds it does so for a moment.
                Err(TryLockError::WouldBlock) if try_ < TRIES => std::thread::sleep(MOMENT),
                Err(TryLockError::WouldBlock) => {
                    return Err(JournalError::Locked(data.to_owned()));
                }
                Err(TryLockError::Error(reason)) => return Err(wrong(reason)),
            }
        }
        Ok(Self { file, path })
    }

    /// Whether a board holds the lock of a data directory, as far as can be known.
    pub fn is_held(data: &Path) -> bool {
        let asked = File::open(data.join(FILE)).map(|file| file.try_lock_shared());
        matches!(asked, Ok(Err(TryLockError::WouldBlock)))
    }

    /// Another hand on the same lock: it ends with the last of them.
    ///
    /// # Errors
    /// No file descriptor is left.
    pub fn share(&self) -> std::io::Result<Self> {
        Ok(Self { file: self.file.try_clone()?, path: self.path.clone() })
    }

    /// Whether the file that is locked is still the one that others would lock.
    pub fn still_holds(&self) -> bool {
        let same =
            |a: std::fs::Metadata, b: std::fs::Metadata| (a.dev(), a.ino()) == (b.dev(), b.ino());
        match (self.file.metadata(), std::fs::metadata(&self.path)) {
            (Ok(held), Ok(there)) => same(held, there),
            _ => false,
        }
    }
}
