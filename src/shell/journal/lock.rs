//! One writer for each data directory, held by a lock that ends with its process.

use std::fs::File;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use super::JournalError;
use crate::shell::private;

/// The lock's file within the data directory.
const FILE: &str = "lock";

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
        match file.try_lock() {
            Ok(()) => Ok(Self { file, path }),
            Err(std::fs::TryLockError::WouldBlock) => Err(JournalError::Locked(data.to_owned())),
            Err(std::fs::TryLockError::Error(reason)) => Err(wrong(reason)),
        }
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
