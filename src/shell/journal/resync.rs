//! Making sure of a file after a failed sync.
//!
//! Once a sync has failed, Linux counts the pages as clean: they are still read, and the next sync succeeds, though
//! they never came to the disk. Written again they are dirty again, and the next sync is about them. Source: the
//! manual page fsync(2) and "Improved block-layer error handling", LWN, June 2017 (M).

use std::fs::{File, OpenOptions};
use std::io::ErrorKind;
use std::os::unix::fs::FileExt;
use std::path::Path;

use crate::shell::private;

/// Writes what is in the write-ahead log of a journal once more, and syncs it; where there is none, all is in the
/// journal's own file. Only the log's frames are read back: an unsynced page of that file is copied there anew.
///
/// # Errors
/// What the disk says: nothing of the log may be trusted then.
pub(super) fn log(journal: &Path) -> std::io::Result<()> {
    let path = super::beside(journal, "-wal");
    let file = match OpenOptions::new().read(true).write(true).open(&path) {
        Ok(file) => file,
        Err(reason) if reason.kind() == ErrorKind::NotFound => return Ok(()),
        Err(reason) => return Err(reason),
    };
    write_again(&file)?;
    file.sync_all()?;
    private::sync_name(&path);
    Ok(())
}

fn write_again(file: &File) -> std::io::Result<()> {
    let mut bytes = vec![0; 1 << 16];
    let mut at = 0;
    loop {
        let read = file.read_at(&mut bytes, at)?;
        if read == 0 {
            return Ok(());
        }
        file.write_all_at(&bytes[..read], at)?;
        at += read as u64;
    }
}
