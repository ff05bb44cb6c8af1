//! Reading keys, on a thread of its own, each with the moment at which it arrived.
//!
//! The thread looks at the terminal itself before it lets crossterm read: after a hang-up crossterm's reader
//! would spin.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use crossterm::event::{Event, KeyEvent, KeyEventKind, poll as has_event, read};
use rustix::event::{PollFd, PollFlags, Timespec, poll};

use super::clock;

/// What the keyboard says.
#[derive(Debug)]
pub enum Struck {
    Key {
        key: KeyEvent,
        up: i64,
    },
    /// A text was pasted: never an act.
    Pasted,
    /// The terminal is gone.
    Gone,
}

/// Ends the reading when it goes.
pub struct Keyboard(Arc<AtomicBool>);

impl Drop for Keyboard {
    fn drop(&mut self) {
        self.0.store(true, Ordering::SeqCst);
    }
}

impl Keyboard {
    /// Starts the thread; `told` hears of every key.
    ///
    /// # Errors
    /// No thread is left.
    pub fn start(told: impl Fn(Struck) + Send + 'static) -> std::io::Result<Self> {
        let ended = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&ended);
        std::thread::Builder::new().name("keyboard".into()).spawn(move || {
            super::mishap::ends_the_board();
            let mut failures = 0;
            while !flag.load(Ordering::SeqCst) {
                match listen(&told) {
                    Ok(true) => failures = 0,
                    Ok(false) => return told(Struck::Gone),
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
        Ok(Self(ended))
    }
}

/// Waits a moment for keys and hands them on; false once the terminal is gone.
fn listen(told: &dyn Fn(Struck)) -> std::io::Result<bool> {
    const PATIENCE: Timespec = Timespec { tv_sec: 0, tv_nsec: 250_000_000 };
    let stdin = rustix::stdio::stdin();
    let mut fds = [PollFd::new(&stdin, PollFlags::IN)];
    match poll(&mut fds, Some(&PATIENCE)) {
        Err(rustix::io::Errno::INTR) | Ok(0) => return Ok(true),
        Err(reason) => return Err(reason.into()),
        Ok(_) => {}
    }
    let seen = fds[0].revents();
    if seen.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL) {
        return Ok(false);
    }
    while has_event(Duration::ZERO)? {
        let up = clock::up();
        match read()? {
            Event::Key(key) if key.kind != KeyEventKind::Release => told(Struck::Key { key, up }),
            Event::Paste(_) => told(Struck::Pasted),
            _ => {}
        }
    }
    Ok(true)
}
