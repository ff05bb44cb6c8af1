//! The journal of a rehearsal: never that of a real shift.

use std::path::Path;

use crate::commands::Failure;
use crate::shell::journal::lock::Lock;
use crate::shell::journal::{FILE, JournalError, Reader, Writer, snapshot};
use crate::shell::{private, rehearsed};
use crate::shop::facts::moment::Boot;

/// A fresh journal in a directory that holds none, or an earlier rehearsal's.
pub fn fresh(data: &Path) -> Result<Writer, Failure> {
    private::directory(data)
        .map_err(|reason| JournalError::Directory { path: data.to_owned(), reason })?;
    let lock = Lock::take(data)?;
    if let Some(reader) = Reader::open(data)? {
        let mut real = false;
        reader.rows_after(0, |row| {
            real |= row.boot != Boot::MADE_UP.to_string();
            Ok(())
        })?;
        if real {
            let text = format!(
                "{} holds the journal of a real shift: a rehearsal needs a directory of its own",
                data.display()
            );
            return Err(Failure::Input(text));
        }
        drop(reader);
        snapshot::remove(data)?;
        rehearsed::remove(data)?;
        for end in ["", "-wal", "-shm"] {
            let path = data.join(format!("{FILE}{end}"));
            if path.exists() {
                std::fs::remove_file(path)?;
            }
        }
    }
    Ok(Writer::open(data, lock)?)
}
