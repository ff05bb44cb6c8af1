//! The disk fails under the real program: the power cut, syncs and writes that fail, full, read-only, gone, slow.

mod cuts;
mod faulty;
mod outages;
mod stage;
mod stalls;

use support::{bench, pty, random, replay, shown, skipped};
