//! Drawing has a thread of its own: a terminal that is not read stalls that thread and nothing else.
//!
//! The loop hands over whole frames; the latest wins. Only the cells that changed are written, with one flush.

use std::io::{BufWriter, Write};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use crossterm::cursor::MoveTo;
use crossterm::queue;
use crossterm::style::ResetColor;
use crossterm::terminal::{Clear, ClearType};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::mishap::{self, panic_if_asked};
use super::terminal::write_entry;
use super::{clock, ink};
use crate::shop::facts::moment::Up;

/// How long the end waits for a last frame.
const PATIENCE: Duration = Duration::from_millis(200);

/// A frame to be drawn.
pub struct Frame {
    pub number: u64,
    pub cells: Buffer,
}

/// What the thread tells of its work.
#[derive(Debug)]
pub enum Drawn {
    /// A frame stands on the screen since this moment of the boot clock.
    Shown { number: u64, up: Up },
    /// The terminal takes no more.
    Gone(std::io::Error),
}

#[derive(Default)]
struct Slot {
    frame: Option<Frame>,
    bell: bool,
    repaint: bool,
    /// The terminal was somebody else's meanwhile.
    enter: bool,
    closed: bool,
}

/// The hand that draws.
pub struct Painter {
    slot: Arc<(Mutex<Slot>, Condvar)>,
    thread: Option<JoinHandle<()>>,
}

impl Painter {
    /// Starts the thread; `told` hears of every frame that was drawn.
    ///
    /// # Errors
    /// No thread or no file descriptor is left.
    pub fn start(told: impl Fn(Drawn) + Send + 'static) -> std::io::Result<Self> {
        let slot = Arc::new((Mutex::new(Slot::default()), Condvar::new()));
        let shared = Arc::clone(&slot);
        let out = super::terminal::output()?;
        let thread = std::thread::Builder::new().name("painter".into()).spawn(move || {
            mishap::ends_the_board();
            let mut easel =
                Easel { out: BufWriter::with_capacity(1 << 18, out), shown: Buffer::default() };
            easel.work(&shared, &told);
        })?;
        Ok(Self { slot, thread: Some(thread) })
    }

    /// Hands a frame over.
    pub fn draw(&self, frame: Frame) {
        self.change(|slot| slot.frame = Some(frame));
    }

    /// Rings the terminal's bell.
    pub fn ring(&self) {
        self.change(|slot| slot.bell = true);
    }

    /// The next frame is drawn whole.
    pub fn repaint(&self) {
        self.change(|slot| slot.repaint = true);
    }

    /// The next frame makes the screen ours again, and is drawn whole.
    pub fn enter(&self) {
        self.change(|slot| (slot.enter, slot.repaint) = (true, true));
    }

    fn change(&self, change: impl FnOnce(&mut Slot)) {
        change(&mut lock(&self.slot.0));
        self.slot.1.notify_one();
    }
}

/// A poisoned lock means that the thread has panicked; the slot itself is whole.
fn lock(slot: &Mutex<Slot>) -> MutexGuard<'_, Slot> {
    slot.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Drop for Painter {
    fn drop(&mut self) {
        self.change(|slot| slot.closed = true);
        let Some(thread) = self.thread.take() else { return };
        // One that hangs in a stalled terminal is left behind.
        super::wait_for_end(&thread, PATIENCE);
    }
}

struct Easel {
    out: BufWriter<std::fs::File>,
    shown: Buffer,
}

impl Easel {
    fn work(&mut self, shared: &(Mutex<Slot>, Condvar), told: &dyn Fn(Drawn)) {
        loop {
            let mut slot = lock(&shared.0);
            while slot.frame.is_none() && !slot.bell && !slot.closed {
                slot = shared.1.wait(slot).unwrap_or_else(PoisonError::into_inner);
            }
            if slot.closed {
                return;
            }
            let frame = slot.frame.take();
            let bell = std::mem::take(&mut slot.bell);
            let repaint = frame.is_some() && std::mem::take(&mut slot.repaint);
            let enter = frame.is_some() && std::mem::take(&mut slot.enter);
            drop(slot);
            let number = frame.as_ref().map(|frame| frame.number);
            panic_if_asked("paint", number.unwrap_or(0));
            let entered = if enter { write_entry(&mut self.out) } else { Ok(()) };
            match entered.and_then(|()| self.put(frame, bell, repaint)) {
                Ok(()) => {
                    if let Some(number) = number {
                        told(Drawn::Shown { number, up: clock::up() });
                    }
                }
                Err(reason) => return told(Drawn::Gone(reason)),
            }
        }
    }

    fn put(&mut self, frame: Option<Frame>, bell: bool, repaint: bool) -> std::io::Result<()> {
        if bell {
            self.out.write_all(b"\x07")?;
        }
        if let Some(Frame { cells, .. }) = frame {
            if repaint || cells.area != self.shown.area {
                queue!(self.out, ResetColor, Clear(ClearType::All), MoveTo(0, 0))?;
                self.shown = Buffer::empty(Rect { ..cells.area });
            }
            let changed = self.shown.diff(&cells);
            ink::write(&mut self.out, &cells, &changed)?;
            self.shown = cells;
        }
        self.out.flush()
    }
}
