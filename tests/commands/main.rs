//! The subcommands from outside: exit codes, texts, JSON.

mod art;
mod art_colours;
mod art_hostile;
mod art_upright;
mod empty;
mod figures;
mod moments;
mod orders;
mod others;
mod profiles;
mod raw_jpeg;
mod raw_png;
mod refused;
mod rehearsal;
mod typed;
mod weeks;

use support::{bench, pty, skipped};
