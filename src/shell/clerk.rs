//! Errands on the disk for the board, on threads of their own: a disk that does not answer stalls them and not the
//! keys, the timers and the picture.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use tokio::sync::mpsc::{
    UnboundedReceiver, UnboundedSender, WeakUnboundedSender, unbounded_channel,
};

use super::inbox::{self, Aside, Taken, Waiting};
use super::nightly::{self, Night};
use super::rescue;
use crate::shop::facts::fact::Event;

/// The inbox is looked into about so often.
const LOOK: Duration = Duration::from_millis(500);

/// So many files are told of before the first of them must be gone: fewer than the board keeps in mind so that none is
/// taken twice after a crash.
const MOST_KNOWN: usize = 100;

/// What the board hears.
#[derive(Debug)]
pub enum ClerkNews {
    /// These lie in the inbox; each is told once.
    Brought(Vec<Waiting>),
    /// Events were written to a directory that was named, or why not.
    Rescued(Result<PathBuf, String>),
    /// What the last nightly copy came to; None where there was none yet.
    Night(Option<Night>),
}

/// What the board has done.
#[derive(Debug)]
pub enum Errand {
    /// What this file of the inbox brought is saved.
    Remove(PathBuf),
    /// This file of the inbox is not taken in.
    SetAside(PathBuf, Aside),
    /// What this rescue file held is saved.
    RescueTaken(PathBuf),
}

/// Whoever runs them.
pub struct Clerk {
    errands: Sender<Errand>,
    tell: WeakUnboundedSender<ClerkNews>,
    told: Option<UnboundedReceiver<ClerkNews>>,
    thread: JoinHandle<()>,
}

impl Clerk {
    /// Begins to look into the inbox of a data directory.
    ///
    /// # Errors
    /// No thread is left.
    pub fn start(data: &Path) -> std::io::Result<Self> {
        let (errands, incoming) = channel();
        let (tell, told) = unbounded_channel();
        let weak = tell.downgrade();
        let mut desk = ClerkThread {
            data: data.to_owned(),
            tell,
            known: BTreeMap::new(),
            saved: BTreeSet::new(),
            night: None,
        };
        let work = move || {
            super::mishap::ends_the_board();
            desk.work(&incoming);
        };
        let thread = std::thread::Builder::new().name("inbox".into()).spawn(work)?;
        Ok(Self { errands, tell: weak, told: Some(told), thread })
    }

    /// What is told, once: the channel ends if the thread goes down.
    pub fn take_told(&mut self) -> Option<UnboundedReceiver<ClerkNews>> {
        self.told.take()
    }

    /// Sends on an errand.
    pub fn send(&self, errand: Errand) {
        // A thread that has gone down is told of by its channel.
        drop(self.errands.send(errand));
    }

    /// Has events written to a directory that somebody named.
    pub fn write_elsewhere(&self, folder: String, data: PathBuf, events: Vec<Event>) {
        let Some(tell) = self.tell.upgrade() else { return };
        let write = move || {
            let written = rescue::write_to(Path::new(&folder), &data, &events);
            let told = written.map_err(|reason| format!("{folder}: {reason}"));
            // The board may have ended already.
            drop(tell.send(ClerkNews::Rescued(told)));
        };
        if let Err(reason) = std::thread::Builder::new().name("rescue".into()).spawn(write) {
            tracing::warn!(%reason, "no thread to write a rescue file");
        }
    }

    /// Lets the last errands be run, within `patience`.
    pub fn close(self, patience: Duration) {
        drop(self.errands);
        super::wait_for_end(&self.thread, patience);
    }
}

/// The thread's own state.
struct ClerkThread {
    data: PathBuf,
    tell: UnboundedSender<ClerkNews>,
    /// Files that were told of and still lie there.
    known: BTreeMap<PathBuf, Taken>,
    /// Files that are to go: tried again until they do.
    saved: BTreeSet<PathBuf>,
    /// The nightly copy that was told of last, where a job is set up that makes them.
    night: Option<Option<Night>>,
}

impl ClerkThread {
    fn work(&mut self, errands: &Receiver<Errand>) {
        let is_set_up = nightly::is_set_up();
        loop {
            if is_set_up {
                self.look_at_night();
            }
            let most = MOST_KNOWN.saturating_sub(self.known.len());
            let new = inbox::waiting(&self.data, most, |path| self.known.contains_key(path));
            let told_of = new.iter().map(|waiting| (waiting.path.clone(), Taken::of(waiting)));
            self.known.extend(told_of);
            if !new.is_empty() && self.tell.send(ClerkNews::Brought(new)).is_err() {
                return;
            }
            match errands.recv_timeout(LOOK) {
                Ok(errand) => self.run(errand),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
            while let Ok(errand) = errands.try_recv() {
                self.run(errand);
            }
            self.clear();
        }
    }

    fn look_at_night(&mut self) {
        let night = Some(Night::last(&self.data));
        if self.night != night {
            self.night.clone_from(&night);
            // The board may have ended already.
            drop(self.tell.send(ClerkNews::Night(night.flatten())));
        }
    }

    fn run(&mut self, errand: Errand) {
        match errand {
            Errand::Remove(path) => drop(self.saved.insert(path)),
            Errand::SetAside(path, why) => {
                // Mended under the same name it is another file.
                if inbox::set_aside(&path, why).is_some() {
                    self.known.remove(&path);
                }
            }
            Errand::RescueTaken(path) => rescue::done(&path),
        }
    }

    fn clear(&mut self) {
        let known = &mut self.known;
        self.saved.retain(|path| {
            let Some(taken) = known.get(path) else { return false };
            match inbox::remove(taken) {
                Err(reason) => {
                    tracing::debug!(%reason, path = %path.display(), "a file stays in the inbox");
                    true
                }
                Ok(removed) => {
                    if !removed {
                        tracing::info!(path = %path.display(), "what lies there now is another file");
                    }
                    known.remove(path);
                    false
                }
            }
        });
    }
}
