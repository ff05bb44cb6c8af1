//! Taking the terminal over, and giving it back whatever happens.

use std::fs::File;
use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};

use crossterm::cursor::{Hide, Show};
use crossterm::queue;
use crossterm::style::{Print, ResetColor, force_color_output};
use crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode,
    enable_raw_mode, size,
};
use rustix::event::{PollFd, PollFlags, Timespec, poll};

use super::mishap;

/// Whether a terminal marks where a pasted text begins and ends ("XTerm Control Sequences", bracketed paste mode).
const MARK_PASTES: Print<&str> = Print("\x1b[?2004h");
const MARK_NO_PASTES: Print<&str> = Print("\x1b[?2004l");

/// Whether the terminal is ours at the moment.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// Why the board cannot be shown.
#[derive(Debug, thiserror::Error)]
pub enum TerminalError {
    #[error(
        "the board needs a terminal for its keys and its screen, and this is none. \
         In a pipe or a script use: dwell pace, dwell past, dwell rehearse --headless"
    )]
    NotATerminal,
    #[error("the terminal could not be set up: {0}")]
    Io(#[from] std::io::Error),
}

/// A handle on the terminal of its own, so that no lock of the standard library stands between the thread
/// that draws and whoever must give the terminal back.
///
/// # Errors
/// No file descriptor is left.
pub fn output() -> std::io::Result<File> {
    Ok(File::from(rustix::io::dup(rustix::stdio::stdout())?))
}

/// Whether there is a terminal to type at and to draw on.
pub fn is_one() -> bool {
    std::io::stdin().is_terminal() && std::io::stdout().is_terminal()
}

/// The terminal is ours as long as this lives.
#[derive(Debug)]
pub struct Taken(());

impl Taken {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// Standard input or output is no terminal, or it refuses.
    pub fn take() -> Result<Self, TerminalError> {
        if !is_one() {
            return Err(TerminalError::NotATerminal);
        }
        install_hook();
        // The loop runs where the terminal was taken.
        mishap::ends_the_board();
        enter()?;
        let mut out = output()?;
        write_entry(&mut out)?;
        out.flush()?;
        Ok(Self(()))
    }

    /// Gives the terminal back for a while, as when the program is stopped.
    pub fn pause(&self) {
        give_back();
    }

    /// Takes it again. What makes the screen ours is the painter's to write: whoever reads the terminal may be gone.
    ///
    /// # Errors
    /// The terminal refuses.
    pub fn resume(&self) -> std::io::Result<()> {
        enter()
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        give_back();
    }
}

fn enter() -> std::io::Result<()> {
    // With NO_COLOR set, crossterm would leave reverse and bold out too: the theme does without colour itself.
    force_color_output(true);
    enable_raw_mode()?;
    TAKEN.store(true, Ordering::SeqCst);
    Ok(())
}

/// Writes what makes the screen ours.
///
/// # Errors
/// What the terminal says.
pub fn write_entry(out: &mut impl Write) -> std::io::Result<()> {
    queue!(out, EnterAlternateScreen, MARK_PASTES, Hide, Clear(ClearType::All))
}

fn give_back() {
    if !TAKEN.swap(false, Ordering::SeqCst) {
        return;
    }
    // A console without an alternate screen keeps what was drawn, so it is cleared first.
    let mut bytes: Vec<u8> = Vec::new();
    let queued = queue!(
        bytes,
        ResetColor,
        Clear(ClearType::All),
        MARK_NO_PASTES,
        Show,
        LeaveAlternateScreen
    );
    if queued.is_ok()
        && let Ok(mut out) = output()
        && is_listening(&out)
    {
        // The terminal may be gone: there is nobody left to tell.
        drop(out.write_all(&bytes));
    }
    drop(disable_raw_mode());
}

/// Whether the terminal takes bytes: one that is stalled must not hold up the exit.
fn is_listening(out: &File) -> bool {
    const PATIENCE: Timespec = Timespec { tv_sec: 0, tv_nsec: 200_000_000 };
    let mut fds = [PollFd::new(out, PollFlags::OUT)];
    matches!(poll(&mut fds, Some(&PATIENCE)), Ok(n) if n > 0)
}

/// A panic is kept in the log. One that the board does not outlive gives the terminal back and is told there.
fn install_hook() {
    static INSTALLED: AtomicBool = AtomicBool::new(false);
    if INSTALLED.swap(true, Ordering::SeqCst) {
        return;
    }
    let told = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        let outlived = mishap::is_caught();
        if !outlived {
            give_back();
        }
        tracing::error!(%panic, "panic");
        if !outlived {
            told(panic);
        }
    }));
}

/// The most columns and rows that are drawn: more than a wall of screens shows in signs that can be read. A terminal may
/// claim to have 65,535 of each, and a frame of so many cells would need more memory than there is. What lies beyond
/// stays blank.
const MOST: (u16, u16) = (640, 240);

/// Columns and rows that are drawn; the usual ones where the terminal does not say.
pub fn extent() -> (u16, u16) {
    let (columns, rows) = size().unwrap_or((80, 24));
    (columns.min(MOST.0), rows.min(MOST.1))
}
