//! One writer for each data directory, held by a lock that ends with its process.

use std::fs::{File, TryLockError};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use super::JournalError;
use crate::shell::private;

/// The lock's file within the data directory.
const FILE: &str = "lock";

/// How often a lock is asked for that somebody holds, and how long it is waited in between.
const TRIES: u32 = 4;
const MOMENT: Duration = Duration::from_millis(15);

/// The right to write in a data directory. Copies are hands on the same lock: it ends with the last of them.
#[derive(Debug, Clone)]
pub struct Lock {
    file: Arc<Mutex<File>>,
    path: PathBuf,
}

impl Lock {
    /// Takes the lock of a data directory that exists.
    ///
    /// # Errors
    /// Another process holds it, or the directory cannot be written.
    pub fn take(data: &Path) -> Result<Self, JournalError> {
        let path = data.join(FILE);
        let file = Arc::new(Mutex::new(locked(&path, data)?));
        Ok(Self { file, path })
    }

    /// Takes it once more where the file that is locked is no longer the one that others would lock.
    ///
    /// # Errors
    /// As for `take`: this hand holds nothing that counts then.
    pub fn take_again(&self) -> Result<(), JournalError> {
        if self.still_holds() {
            return Ok(());
        }
        let file = locked(&self.path, self.path.parent().unwrap_or(&self.path))?;
        *self.file() = file;
        Ok(())
    }

    fn file(&self) -> MutexGuard<'_, File> {
        self.file.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Whether a board holds the lock of a data directory, as far as can be known.
    pub fn is_held(data: &Path) -> bool {
        let asked = File::open(data.join(FILE)).map(|file| file.try_lock_shared());
        matches!(asked, Ok(Err(TryLockError::WouldBlock)))
    }

    /// Whether the file that is locked is still the one that others would lock.
    pub fn still_holds(&self) -> bool {
        is_at(&self.file(), &self.path)
    }
}

/// Whether an open file is the one that has a name.
fn is_at(file: &File, path: &Path) -> bool {
    let which = |file: std::fs::Metadata| (file.dev(), file.ino());
    match (file.metadata(), std::fs::metadata(path)) {
        (Ok(held), Ok(there)) => which(held) == which(there),
        _ => false,
    }
}

/// The file of that name, locked.
fn locked(path: &Path, data: &Path) -> Result<File, JournalError> {
    let wrong = |reason| JournalError::Directory { path: data.to_owned(), reason };
    for try_ in 1.. {
        let file = private::held(path).map_err(wrong)?;
        match file.try_lock() {
            // Between opening and locking another file may have come to lie under its name.
            Ok(()) if is_at(&file, path) => return Ok(file),
            // A view that asks whether anybody holds it does so for a moment.
            Ok(()) | Err(TryLockError::WouldBlock) if try_ < TRIES => std::thread::sleep(MOMENT),
            Ok(()) | Err(TryLockError::WouldBlock) => break,
            Err(TryLockError::Error(reason)) => return Err(wrong(reason)),
        }
    }
    Err(JournalError::Locked(data.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lock on a file that others would not lock holds nothing: it says so, and is taken again.
    #[test]
    fn a_lock_whose_file_was_replaced_holds_nothing() {
        let there = tempfile::tempdir().unwrap();
        let lock = Lock::take(there.path()).unwrap();
        assert!(lock.still_holds() && Lock::is_held(there.path()));
        std::fs::remove_file(there.path().join(FILE)).unwrap();
        assert!(!lock.still_holds(), "its name is gone");
        let other = Lock::take(there.path()).unwrap();
        assert!(!lock.still_holds() && other.still_holds());
        assert!(lock.take_again().is_err(), "another has it");
        drop(other);
        lock.take_again().unwrap();
        assert!(lock.still_holds());
        assert!(Lock::take(there.path()).is_err());
    }
}
