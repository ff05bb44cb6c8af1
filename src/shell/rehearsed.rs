//! The clock of a rehearsal on a screen, in a small file beside its journal: who watches it sees the same seconds pass.
//!
//! It is written, on a thread of its own, whenever the clock is set, and never synced. Once nobody holds the lock it means
//! nothing, and a view goes by the newest event.

use std::os::unix::fs::FileExt;
use std::path::Path;
use std::sync::mpsc::{Sender, channel};

use super::clock::Clock;
use super::private;

const FILE: &str = "rehearsal-clock";
const MOST_BYTES: u64 = 200;

/// Tells those who watch how the clock runs.
#[derive(Debug)]
pub struct Teller(Sender<String>);

impl Teller {
    /// For the views of a data directory.
    ///
    /// # Errors
    /// The file cannot be written, or no thread is left.
    pub fn start(data: &Path) -> std::io::Result<Self> {
        let file = private::held(&data.join(FILE))?;
        let (words, incoming) = channel::<String>();
        let write = move || {
            while let Ok(text) = incoming.recv() {
                if let Err(reason) = file.write_all_at(text.as_bytes(), 0) {
                    tracing::warn!(%reason, "a view cannot be told of the rehearsal's clock");
                }
            }
        };
        std::thread::Builder::new().name("clock".into()).spawn(write)?;
        Ok(Self(words))
    }

    /// The clock was set.
    pub fn tell(&self, clock: &Clock) {
        if let Some(text) = clock.as_text() {
            // The thread lives as long as this does.
            drop(self.0.send(text));
        }
    }
}

/// The clock of the rehearsal that writes in a data directory; None where there is none, or none that reads.
pub fn read(data: &Path) -> Option<Clock> {
    Clock::from_text(&private::read_small(&data.join(FILE), MOST_BYTES).ok()?)
}

/// Takes the file away, with the journal that it belongs to.
///
/// # Errors
/// What the file system says.
pub fn remove(data: &Path) -> std::io::Result<()> {
    private::remove(&data.join(FILE))
}
