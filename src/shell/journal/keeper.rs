//! When snapshots are made: every so many events and at leaving, on a thread of their own, so that no commit waits.

use std::path::{Path, PathBuf};
use std::thread::JoinHandle;
use std::time::Duration;

use super::snapshot;
use crate::shell::clock;
use crate::shell::mishap::panic_if_asked;
use crate::shop::facts::moment::Up;

/// A start reads at most about so many events more than undo keeps in mind.
const EVERY: u64 = 1000;
/// At leaving fewer than these are not worth their while.
const LEAST: u64 = 200;
/// Between two, however quickly events come.
const PAUSE: Duration = Duration::from_secs(10);

/// Has snapshots made while the journal is written.
pub(super) struct Keeper {
    data: PathBuf,
    /// How far the journal had come when the last one was asked for.
    asked: u64,
    asked_at: Up,
    under_way: Option<JoinHandle<()>>,
}

impl Keeper {
    /// Looks at what snapshot there is.
    pub fn new(data: &Path) -> Self {
        let head = snapshot::head(data).filter(snapshot::Head::is_ours);
        Self {
            data: data.to_owned(),
            asked: head.map_or(0, |head| head.seq),
            asked_at: clock::up().minus(PAUSE),
            under_way: None,
        }
    }

    /// Has one made if it is due, now that the journal has come so far.
    pub fn look(&mut self, upto: u64) {
        let busy = self.under_way.as_ref().is_some_and(|thread| !thread.is_finished());
        let up = clock::up();
        if busy || upto < self.asked + EVERY || up.since(self.asked_at) < PAUSE {
            return;
        }
        (self.asked, self.asked_at) = (upto, up);
        let data = self.data.clone();
        let make = move || {
            crate::shell::lower_priority();
            panic_if_asked("snapshot", upto);
            make(&data);
        };
        match std::thread::Builder::new().name("snapshot".into()).spawn(make) {
            Ok(thread) => self.under_way = Some(thread),
            Err(reason) => tracing::warn!(%reason, "no thread to make a snapshot"),
        }
    }

    /// The last word: the journal is written, and whoever waits for the end has patience of their own.
    pub fn leave(self, upto: u64) {
        if let Some(thread) = self.under_way {
            // One that panicked has left the last snapshot as it was.
            drop(thread.join());
        }
        if upto >= self.asked + LEAST {
            make(&self.data);
        }
    }
}

fn make(data: &Path) {
    if let Err(reason) = snapshot::renew(data) {
        tracing::warn!(%reason, "no snapshot was made of the journal");
    }
}
