//! Reading keys, on a thread of its own, each with the moment at which it arrived.
//!
//! The thread waits for bytes of the terminal, for the next limit in time of what it has begun to frame, and for being
//! told to end; it does nothing else, so that nothing but bytes keeps it busy. It also knows since when it has been
//! watching: what had waited longer than a second before it could be read was struck at a board that stood still,
//! and is told as that.

use std::os::fd::OwnedFd;
use std::sync::Arc;
use std::time::Duration;

use rustix::event::{EventfdFlags, PollFd, PollFlags, Timespec, eventfd, poll};
use rustix::io::Errno;

use super::clock;
use crate::screen::input::{Framed, Framer, Key, Noise};
use crate::shop::facts::moment::Up;

/// The terminal is looked at so often at least: the moment of the last look bounds the age of what comes.
const LOOK: Duration = Duration::from_millis(250);
/// A look that took so much longer than it was to take says nothing of when it began to be late.
const LATE: Duration = Duration::from_millis(100);
/// Keys that have waited longer are not acted on.
const STALE: Duration = Duration::from_secs(1);
/// As much as the kernel keeps of a line.
const ROOM: usize = 4096;

/// What the keyboard says.
#[derive(Debug)]
pub enum Struck {
    Key {
        key: Key,
        up: Up,
    },
    /// Something came that is no key.
    Noise(Noise),
    /// These keys had waited for over a second before they could be read.
    Stale(Vec<Key>),
    /// The terminal is gone.
    Gone,
}

/// Ends the reading when it goes.
pub struct Keyboard(Arc<OwnedFd>);

impl Drop for Keyboard {
    fn drop(&mut self) {
        // It is not waited for: a read that another program has emptied comes back with the next key.
        let _ = rustix::io::write(&*self.0, &1u64.to_ne_bytes());
    }
}

impl Keyboard {
    /// Starts the thread; `told` hears of every key.
    ///
    /// # Errors
    /// No thread or no file descriptor is left.
    pub fn start(told: impl Fn(Struck) + Send + 'static) -> std::io::Result<Self> {
        let end = Arc::new(eventfd(0, EventfdFlags::CLOEXEC)?);
        let ended = Arc::clone(&end);
        std::thread::Builder::new().name("keyboard".into()).spawn(move || {
            super::mishap::ends_the_board();
            let mut reading = Reading::default();
            let mut failures = 0;
            loop {
                match reading.listen(&ended, &told) {
                    Ok(Heard::Something) => failures = 0,
                    Ok(Heard::End) => return,
                    Ok(Heard::Gone) => return told(Struck::Gone),
                    Err(reason) => {
                        tracing::warn!(%reason, "reading the keyboard failed");
                        failures += 1;
                        if failures > 5 {
                            return told(Struck::Gone);
                        }
                        std::thread::sleep(Duration::from_millis(20));
                    }
                }
            }
        })?;
        Ok(Self(end))
    }
}

/// What came of one look at the terminal.
enum Heard {
    Something,
    End,
    Gone,
}

/// The reading as it stands. Moments are of the boot clock.
struct Reading {
    framer: Framer,
    /// Nothing waited then: what is read later came later.
    watched: Up,
    /// What was read until then was stale.
    stale_until: Up,
    /// The last look came back too late to say when nothing waited: the next one does not wait.
    looks_again: bool,
}

impl Default for Reading {
    fn default() -> Self {
        let watched = clock::up();
        Self { framer: Framer::default(), watched, stale_until: Up::FIRST, looks_again: false }
    }
}

impl Reading {
    /// Waits a moment for bytes, and hands on what they are.
    fn listen(&mut self, end: &OwnedFd, told: &dyn Fn(Struck)) -> std::io::Result<Heard> {
        let began = clock::up();
        let wait = match self.framer.deadline() {
            _ if self.looks_again => Duration::ZERO,
            Some(deadline) => deadline.since(began).min(LOOK),
            None => LOOK,
        };
        let stdin = rustix::stdio::stdin();
        let mut fds = [PollFd::new(&stdin, PollFlags::IN), PollFd::new(end, PollFlags::IN)];
        let patience = Timespec { tv_sec: 0, tv_nsec: wait.subsec_nanos().into() };
        match poll(&mut fds, Some(&patience)) {
            Err(Errno::INTR) => {
                self.looks_again = true;
                return Ok(Heard::Something);
            }
            Err(reason) => return Err(reason.into()),
            Ok(0) => {
                self.nothing_came(began.plus(wait));
                let lapsed = self.framer.lapse(clock::up());
                self.tell(lapsed, told);
                return Ok(Heard::Something);
            }
            Ok(_) => {}
        }
        if !fds[1].revents().is_empty() {
            return Ok(Heard::End);
        }
        if fds[0].revents().intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL) {
            return Ok(Heard::Gone);
        }
        self.read(told)
    }

    /// Nothing has come until a look was to end.
    fn nothing_came(&mut self, due: Up) {
        self.looks_again = clock::up().since(due) > LATE;
        if !self.looks_again {
            self.watched = due;
        }
    }

    fn read(&mut self, told: &dyn Fn(Struck)) -> std::io::Result<Heard> {
        let mut room = [0; ROOM];
        let at = clock::up();
        let read = match rustix::io::read(rustix::stdio::stdin(), &mut room) {
            Ok(0) | Err(Errno::IO) => return Ok(Heard::Gone),
            Ok(read) => read,
            Err(Errno::INTR | Errno::AGAIN) => return Ok(Heard::Something),
            Err(reason) => return Err(reason.into()),
        };
        if at.since(self.watched) > STALE {
            self.stale_until = at;
        }
        if read < ROOM {
            self.watched = at;
        }
        self.looks_again = false;
        let framed = self.framer.take(&room[..read], at);
        self.tell(framed, told);
        Ok(Heard::Something)
    }

    fn tell(&self, framed: Vec<Framed>, told: &dyn Fn(Struck)) {
        let mut stale = Vec::new();
        for one in framed {
            match one {
                Framed::Key(key, at) if at <= self.stale_until => stale.push(key),
                Framed::Key(key, up) => told(Struck::Key { key, up }),
                Framed::Noise(noise, _) => told(Struck::Noise(noise)),
            }
        }
        if !stale.is_empty() {
            told(Struck::Stale(stale));
        }
    }
}
