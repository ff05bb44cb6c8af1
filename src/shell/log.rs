//! The log: at most five files of one megabyte in the data directory, so that it never fills the disk.

use std::fs::OpenOptions;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::sync::Mutex;

use file_rotate::compression::Compression;
use file_rotate::suffix::AppendCount;
use file_rotate::{ContentLimit, FileRotate};

use super::private;

/// Writes the log into the data directory from here on. Where that fails there is no log: the board goes on.
pub fn start(data: &Path) {
    const BYTES: usize = 1_000_000;
    const OLDER_FILES: usize = 4;
    if private::held(&data.join("log")).is_err() {
        return;
    }
    let mut options = OpenOptions::new();
    private::never_through_a_link(options.read(true).create(true).append(true).mode(0o600));
    let files = FileRotate::new(
        data.join("log"),
        AppendCount::new(OLDER_FILES),
        ContentLimit::BytesSurpassed(BYTES),
        Compression::None,
        Some(options),
    );
    // A log that cannot be written must not write that over the screen.
    let subscriber = tracing_subscriber::fmt()
        .with_writer(Mutex::new(files))
        .with_ansi(false)
        .log_internal_errors(false)
        .finish();
    // Already set where several boards run in one process, as in tests.
    drop(tracing::subscriber::set_global_default(subscriber));
}
