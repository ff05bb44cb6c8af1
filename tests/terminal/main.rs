//! The real program in a real pseudo terminal: what an operator's keys do, and what the terminal does to us.
//!
//! The expectations come from this project's own notes on terminals and from common practice (no source),
//! except where a source stands beside the check.

mod bench;
mod bytes;
mod figures;
mod forms;
mod held;
mod keypad;
mod keys;
mod panics;
#[expect(dead_code, reason = "shared with the tests of durability, which use all of it")]
mod pty;
#[path = "../durability/random.rs"]
mod random;
mod restarts;
mod screen;
mod shift;
mod sounders;
mod stalls;
mod starts;
mod supplies;
mod times;
mod watch;
