//! What a shift came to: losses, what the presses were doing, and the report in all its forms.

mod browser;
mod chromium;
mod compare;
mod corrected;
mod every_kind;
mod finished;
mod forms;
mod losses;
mod markup;
mod money;
mod old_journals;
mod returns;
mod running;
mod sample;
mod shifts;
mod spans;
mod sprayer;
mod standards;
mod traces;
mod views;

use support::{bench, pty, skipped, world};
