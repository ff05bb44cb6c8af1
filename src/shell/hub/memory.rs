//! What a station remembers of its hub: a small file in the data directory.
//!
//! A file and no fact: it is about this machine, not about the shop. A journal that goes back to a backup or moves to
//! another machine leaves it behind, and that is how a start knows that it has to ask the hub before the first act. It
//! may lag behind what was sent by some seconds; it is then only asked once more.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::head::Head;
use crate::shell::new_file;
use crate::shell::private;

/// Its name in the data directory.
pub const FILE: &str = "hub-memory";
const MOST: u64 = 4096;

/// What is remembered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Memory {
    /// Who begins lives: this data directory, by a number that no other has.
    pub machine: String,
    /// The hub that was spoken to; None before the first time.
    #[serde(default)]
    pub hub: Option<Known>,
}

/// What is remembered of a hub.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Known {
    /// Its own id.
    pub hub: String,
    /// The cluster of servers that it lay on, and the highest timeline that was seen of it: each fail-over begins one.
    pub cluster: String,
    pub timeline: u32,
    /// The life in which this station sends.
    pub life: i32,
    /// The last row that the hub has confirmed, and its sum.
    pub seq: u64,
    pub sum: i64,
    /// The hub had later rows of this station, which only a start can fetch.
    #[serde(default)]
    pub ask_at_start: bool,
}

impl Known {
    /// What a head that was agreed on tells.
    pub fn of(head: &Head) -> Self {
        Self {
            hub: head.hub.clone(),
            cluster: head.cluster.clone(),
            timeline: head.timeline,
            life: head.life,
            seq: head.upto,
            sum: head.sum,
            ask_at_start: false,
        }
    }
}

impl Memory {
    /// That of a data directory; a new one where there is none, or none that reads.
    pub fn of(data: &Path) -> Self {
        Self::read(data).unwrap_or_else(|| Self { machine: own_number(), hub: None })
    }

    /// Gives this data directory a name of its own: it may be a copy of another, that goes on under the old one.
    pub fn with_own_machine(self) -> Self {
        Self { machine: own_number(), ..self }
    }

    /// That of a data directory, where there is one.
    pub fn read(data: &Path) -> Option<Self> {
        let text = private::read_small(&data.join(FILE), MOST).ok()?;
        serde_json::from_str(&text).ok()
    }

    /// Has the next start ask the hub: the journal is another than what was sent.
    ///
    /// # Errors
    /// What the file system says.
    pub fn ask_at_next_start(data: &Path) -> std::io::Result<()> {
        match Self::read(data) {
            Some(Self { machine, hub: Some(known) }) => {
                Self { machine, hub: Some(Known { ask_at_start: true, ..known }) }.keep(data)
            }
            _ => Ok(()),
        }
    }

    /// Writes it, whole or not at all.
    ///
    /// # Errors
    /// What the file system says.
    pub fn keep(&self, data: &Path) -> std::io::Result<()> {
        let text = serde_json::to_string(self).map_err(std::io::Error::from)?;
        new_file::lay(data, FILE, format!("{text}\n").as_bytes()).map(drop)
    }
}

/// A number that no other data directory has, and nothing else that was made by it.
pub(crate) fn own_number() -> String {
    let mut bytes = [0; 16];
    let provider = rustls::crypto::ring::default_provider();
    if provider.secure_random.fill(&mut bytes).is_err() {
        tracing::warn!("no random numbers: this machine has no name of its own at the hub");
    }
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_remembered_and_half_of_it_is_nothing() {
        let there = tempfile::tempdir().unwrap();
        let mut memory = Memory::of(there.path());
        assert_ne!(memory.machine, Memory::of(there.path()).machine);
        memory.hub = Some(Known {
            hub: "h".into(),
            cluster: "7".into(),
            timeline: 3,
            life: 2,
            seq: 7,
            sum: i64::MIN,
            ask_at_start: true,
        });
        memory.keep(there.path()).unwrap();
        assert_eq!(Memory::of(there.path()), memory);
        std::fs::write(there.path().join(FILE), "{\"machine\":").unwrap();
        assert_eq!(Memory::read(there.path()), None);
    }
}
