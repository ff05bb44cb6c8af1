//! A disk or a hub that takes its time at the start is said: somebody stands before an empty screen.

use std::io::Write;
use std::path::Path;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

/// Nobody wonders before that.
const PATIENCE: Duration = Duration::from_secs(2);

/// As long as this lives something is waited for, and said if it takes long. Afterwards nothing is said any more.
pub struct Waiting {
    over: Option<Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Waiting {
    /// Begins to wait for what lies in a directory.
    pub fn for_disk(data: &Path) -> Self {
        Self::with(format!(
            "dwell: still waiting for the disk: {} does not answer. Ctrl-C gives up; nothing has been changed",
            data.display()
        ))
    }

    /// Begins to wait for the hub, which is asked once before the first act.
    pub fn for_hub() -> Self {
        let words = "dwell: asking the hub what it has of this station. Without an answer the board starts all the same";
        Self::with(words.to_owned())
    }

    fn with(words: String) -> Self {
        let (over, heard) = channel();
        let tell = move || {
            if heard.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                // Where nobody reads errors, nobody can be told.
                let _ = writeln!(std::io::stderr().lock(), "{words}");
            }
        };
        // Without a thread it is waited for without a word.
        let thread = std::thread::Builder::new().name("patience".into()).spawn(tell).ok();
        Self { over: Some(over), thread }
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        drop(self.over.take());
        // It is not to speak once the terminal is the board's. It does nothing that could panic.
        if let Some(thread) = self.thread.take() {
            drop(thread.join());
        }
    }
}
