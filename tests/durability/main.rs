//! What was shown as saved is never lost: kills at random moments, damaged files, newer files.

mod away;
mod backups;
#[path = "../terminal/bench.rs"]
mod bench;
mod damage;
mod escapes;
mod files;
mod inbox;
mod keys;
mod kills;
mod lost_end;
mod memory;
mod mended;
mod migrations;
mod owner;
#[path = "../terminal/pty.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal, which use all of it")]
mod pty;
mod random;
mod replay;
mod shown;
#[path = "../support/skipped.rs"]
mod skipped;
mod snapshots;
mod touched;
mod trusted;
mod walls;
