//! The real program in a real pseudo terminal: what an operator's keys do, and what the terminal does to us.
//!
//! The expectations come from this project's own notes on terminals and from common practice (no source),
//! except where a source stands beside the check.

mod blanks;
mod bytes;
mod cables;
mod figures;
mod forms;
mod held;
mod keypad;
mod keys;
mod labels;
mod morning;
mod moves;
mod nightly;
mod notices;
mod order_folder;
mod panics;
mod practice;
mod recipes;
mod restarts;
mod robot;
mod screen;
mod shift;
mod sounders;
mod stalls;
mod starts;
mod supervisor;
mod supplies;
mod times;
mod told;
mod trials;
mod watch;

use support::{bench, program, pty, random, skipped, waiting};
