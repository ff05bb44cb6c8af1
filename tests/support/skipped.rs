//! What a run of the tests has passed over, and why: told on its last lines, by the binary that comes last.
//!
//! `cargo test` starts every binary of tests itself, so those of one run have one parent. Each word lies in a folder that
//! is named after that process and the moment at which it began: no other run, before or beside it, has that name.

use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::path::PathBuf;

use crate::program::left_behind;

/// Where the words of all runs lie.
pub fn all_runs() -> PathBuf {
    left_behind().join("skipped")
}

/// The folder of this run.
pub fn this_run() -> PathBuf {
    let parent = rustix::process::getppid().map_or(0, rustix::process::Pid::as_raw_pid);
    // When it began, in ticks since the machine came up (proc(5), field 22); its name, in brackets, may hold anything.
    let stat = std::fs::read_to_string(format!("/proc/{parent}/stat")).unwrap_or_default();
    let fields = stat.rsplit(')').next().unwrap_or_default();
    let began = fields.split_whitespace().nth(22 - 3).unwrap_or("0");
    all_runs().join(format!("{parent}-{began}"))
}

/// Says that a test found nothing to test, and why, and how that is to be had.
pub fn skipped(reason: &str) {
    let binary = std::env::args().next().unwrap_or_default();
    let binary = binary.rsplit('/').next().unwrap_or_default();
    let binary = binary.rsplit_once('-').map_or(binary, |(name, _)| name);
    let thread = std::thread::current();
    let test = thread.name().unwrap_or("a test").to_owned();
    let words = format!("{binary}, {test}: {reason}");
    println!("SKIPPED: {words}");
    let mut hash = DefaultHasher::new();
    words.hash(&mut hash);
    // Of more than one run of a test the last counts: what is said twice is one file.
    std::fs::create_dir_all(this_run()).unwrap();
    std::fs::write(this_run().join(format!("{binary}-{:016x}", hash.finish())), words).unwrap();
}
