//! The subcommands from outside: exit codes, texts, JSON.

mod art;
mod art_colours;
mod art_hostile;
mod art_upright;
#[path = "../terminal/bench.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal, which use all of it")]
mod bench;
mod empty;
mod figures;
mod moments;
mod orders;
mod others;
mod profiles;
#[path = "../terminal/pty.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal, which use all of it")]
mod pty;
mod raw_jpeg;
mod raw_png;
mod refused;
mod rehearsal;
#[path = "../support/skipped.rs"]
mod skipped;
mod typed;
mod weeks;
