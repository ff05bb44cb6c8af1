//! A disk that fails on command: a file system of our own, in memory, mounted through FUSE.
//!
//! The program under test sees files; the test holds the other end: it counts syncs, fails writes or syncs, holds
//! them back, cuts the power, pulls the disk out and plugs it in again. The test itself only reads and writes there:
//! a process that maps a file which it serves itself may wait for itself for ever.

mod fuse;
mod store;

use std::path::Path;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use fuser::{BackgroundSession, Config, Errno, INodeNo, MountOption, ReplyEmpty};
use rustix::mount::{UnmountFlags, unmount};

use crate::random::Random;
use fuse::Plug;
use store::Store;

/// What goes wrong, from now on until something else is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    None,
    /// Writes fail with this error.
    Writes(Errno),
    /// Syncs fail with an error of input and output.
    Syncs,
    /// Syncs succeed, and nothing comes to the disk: its cache has lied.
    Lies,
    /// Nothing can be changed, as after `mount -o remount,ro`.
    ReadOnly,
    /// Of the journal's file only the first page can be read.
    Reads,
}

/// What waits until the test lets it go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    Nothing,
    Syncs,
    /// Whatever is asked of the disk, as with one that hangs.
    Everything,
}

struct State {
    store: Store,
    fault: Fault,
    hold: Hold,
    /// Syncs that wait: each is answered once it is let go on.
    held: Vec<(u64, ReplyEmpty)>,
    /// How many other requests wait.
    waiting: usize,
    /// Which of the mounts is plugged in; the others are dead.
    plug: Option<u64>,
    plugs: u64,
    syncs: u64,
    failures: u64,
}

struct Shared {
    state: Mutex<State>,
    changed: Condvar,
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Everything that waits goes on, and nothing waits from now on.
    fn let_go_on(&self) {
        let mut state = self.state();
        state.hold = Hold::Nothing;
        for (node, reply) in std::mem::take(&mut state.held) {
            let answer = state.sync(node);
            fuse::done(reply, answer);
        }
        self.changed.notify_all();
    }

    /// Nothing is answered any more.
    fn unplug(&self) {
        self.state().plug = None;
        self.let_go_on();
    }
}

/// A disk, mounted in a directory while it is plugged in.
pub struct Disk {
    shared: Arc<Shared>,
    place: std::path::PathBuf,
    session: Option<BackgroundSession>,
}

impl Disk {
    /// Mounts an empty disk in a directory.
    ///
    /// # Errors
    /// What the system says where it does not let us mount.
    pub fn mount(place: &Path) -> std::io::Result<Self> {
        std::fs::create_dir_all(place)?;
        let state = State {
            store: Store::default(),
            fault: Fault::None,
            hold: Hold::Nothing,
            held: Vec::new(),
            waiting: 0,
            plug: None,
            plugs: 0,
            syncs: 0,
            failures: 0,
        };
        let shared = Arc::new(Shared { state: Mutex::new(state), changed: Condvar::new() });
        let mut disk = Self { shared, place: place.to_owned(), session: None };
        disk.try_plug_in()?;
        Ok(disk)
    }

    fn try_plug_in(&mut self) -> std::io::Result<()> {
        let number = {
            let mut state = self.shared.state();
            state.plugs += 1;
            state.plug = Some(state.plugs);
            state.plugs
        };
        let mut config = Config::default();
        config.mount_options = vec![MountOption::FSName("dwell-test".into())];
        // Held requests each keep a thread.
        config.n_threads = Some(6);
        let plug = Plug { shared: Arc::clone(&self.shared), number };
        self.session = Some(fuser::spawn_mount(plug, &self.place, &config)?);
        Ok(())
    }

    /// Mounts it again, as after a power cut or when it is plugged in again.
    pub fn plug_in(&mut self) {
        self.unmount();
        self.try_plug_in().unwrap();
    }

    /// The disk vanishes: what is open fails, and the directory in which it was mounted is empty.
    pub fn pull_out(&mut self) {
        self.shared.unplug();
        self.unmount();
    }

    fn unmount(&mut self) {
        if let Some(session) = self.session.take() {
            // Files on it may be open still, so it only goes out of sight.
            let _ = unmount(&self.place, UnmountFlags::DETACH);
            drop(session);
        }
    }

    /// The power is cut: nothing more reaches the disk, and what was not synced is lost but for what chance has
    /// kept. Whoever uses it must be killed, and the disk be plugged in again.
    pub fn cut(&mut self, random: &mut Random) {
        self.shared.unplug();
        self.shared.state().store.cut(random);
    }

    /// What goes wrong from now on.
    pub fn set_fault(&self, fault: Fault) {
        let journal = {
            let mut state = self.shared.state();
            state.fault = fault;
            state.store.find("data/journal.sqlite")
        };
        if let (Fault::Reads, Some(journal), Some(session)) = (fault, journal, &self.session) {
            // Else the kernel would answer from the pages that it keeps.
            session.notifier().inval_inode(INodeNo(journal), 0, 0).unwrap();
        }
    }

    /// What waits from now on until the guard goes. So a test that fails leaves nothing waiting.
    #[must_use]
    pub fn hold(&self, hold: Hold) -> Held {
        self.shared.state().hold = hold;
        Held(Arc::clone(&self.shared))
    }

    /// How many syncs have succeeded.
    pub fn syncs(&self) -> u64 {
        self.shared.state().syncs
    }

    /// How many requests were failed on purpose.
    pub fn failures(&self) -> u64 {
        self.shared.state().failures
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        self.shared.unplug();
        self.unmount();
    }
}

/// Something of the disk waits as long as this lives.
pub struct Held(Arc<Shared>);

impl Held {
    /// Whether something does wait.
    pub fn is_asked(&self) -> bool {
        let state = self.0.state();
        !state.held.is_empty() || state.waiting > 0
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        self.0.let_go_on();
    }
}

impl State {
    /// Whether a plug's request may be answered; what it fails with where not.
    fn gate(&mut self, plug: u64) -> Result<(), Errno> {
        if self.plug == Some(plug) { Ok(()) } else { Err(Errno::EIO) }
    }

    /// Whether something may be changed.
    fn changes(&mut self) -> Result<(), Errno> {
        let wrong = match self.fault {
            Fault::Writes(wrong) => wrong,
            Fault::ReadOnly => Errno::EROFS,
            _ => return Ok(()),
        };
        self.failures += 1;
        Err(wrong)
    }

    fn sync(&mut self, node: u64) -> Result<(), Errno> {
        if self.plug.is_none() {
            return Err(Errno::EIO);
        }
        if matches!(self.fault, Fault::Syncs | Fault::ReadOnly) {
            self.failures += 1;
            self.store.fail_to_sync(node);
            return Err(Errno::EIO);
        }
        if self.fault == Fault::Lies {
            self.store.fail_to_sync(node);
        } else {
            self.store.sync(node);
        }
        self.syncs += 1;
        Ok(())
    }
}
