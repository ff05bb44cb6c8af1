//! The disk fails under the real program: the power cut, syncs and writes that fail, full, read-only, gone, slow.

#[path = "../terminal/bench.rs"]
mod bench;
mod cuts;
mod faulty;
mod outages;
#[path = "../terminal/pty.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal, which use all of it")]
mod pty;
#[path = "../durability/random.rs"]
mod random;
#[path = "../durability/replay.rs"]
#[expect(dead_code, reason = "shared with the tests of kills, which use all of it")]
mod replay;
#[path = "../durability/shown.rs"]
mod shown;
#[path = "../support/skipped.rs"]
mod skipped;
mod stage;
mod stalls;
