//! What was shown as saved is never lost: kills at random moments, damaged files, newer files.

mod away;
#[path = "../terminal/bench.rs"]
mod bench;
mod files;
mod keys;
mod kills;
mod memory;
#[path = "../terminal/pty.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal, which use all of it")]
mod pty;
mod random;
mod replay;
mod walls;
