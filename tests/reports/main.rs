//! What a shift came to: losses, what the presses were doing, and the report in all its forms.

#[path = "../terminal/bench.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal, which use all of it")]
mod bench;
mod browser;
mod chromium;
mod corrected;
mod finished;
mod forms;
mod losses;
mod markup;
mod old_journals;
#[path = "../terminal/pty.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal, which use all of it")]
mod pty;
mod running;
mod sample;
mod shifts;
#[path = "../support/skipped.rs"]
mod skipped;
mod spans;
mod traces;
mod views;
#[path = "../laws/world.rs"]
mod world;
