//! The subcommands from outside: exit codes, texts, JSON.

mod art;
mod art_colours;
mod art_depths;
mod art_hostile;
mod art_upright;
mod empty;
mod figures;
mod hostile;
mod labels;
mod learn;
mod manual;
mod moments;
#[path = "../fuzz/mutate.rs"]
mod mutate;
mod orders;
mod others;
mod profiles;
mod raw_jpeg;
mod raw_png;
mod refused;
mod rehearsal;
mod setup;
mod tables;
mod trials;
mod typed;
mod weeks;

use support::{bench, pty, skipped};
