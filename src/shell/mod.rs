//! Everything that touches the world: clocks, files, the terminal, signals, the loop.

pub mod board;
pub mod clerk;
pub mod clock;
pub mod evidence;
pub mod follower;
pub mod guard;
pub mod handles;
pub mod hub;
pub mod inbox;
mod ink;
mod input;
pub mod journal;
pub mod keyboard;
pub mod label_printer;
pub mod lead;
mod listen;
pub mod log;
pub mod messenger;
mod mishap;
pub mod new_file;
pub mod nightly;
pub mod order_folder;
mod painter;
pub mod paths;
pub mod picture;
pub mod private;
pub mod profiles;
pub mod recall;
pub mod records;
pub mod rehearsed;
pub mod replay;
pub mod rescue;
pub mod run;
mod serial;
pub mod slow;
pub mod sounder;
pub mod story;
mod supervisor;
pub mod terminal;

use std::thread::JoinHandle;
use std::time::Duration;

/// Waits for the end of a thread, at most `patience`: one that hangs in the disk is left behind.
fn wait_for_end(thread: &JoinHandle<()>, patience: Duration) {
    let step = Duration::from_millis(5);
    let mut waited = Duration::ZERO;
    while !thread.is_finished() && waited < patience {
        std::thread::sleep(step);
        waited += step;
    }
}

/// Has the kernel give this thread what the others leave: no key waits for a plan or a snapshot.
fn lower_priority() {
    /// Of 0 to 19; nobody needs a right to ask for less.
    const NICENESS: i32 = 15;
    let own = Some(rustix::thread::gettid());
    if let Err(reason) = rustix::process::setpriority_process(own, NICENESS) {
        tracing::debug!(%reason, "a thread keeps its priority");
    }
}
