//! Figures asked for on the command line: the coat, the hand's speed, the steam, the chart, the platen,
//! the trial.

mod chart;
mod coat;
mod platen;
mod plot;
mod spray;
mod sprayer;
mod steam;
pub mod table;
mod trial;
mod written;

pub use chart::{ChartOptions, chart};
pub use coat::{CoatOptions, coat};
pub use platen::{PlatenOptions, platen};
pub use spray::{SprayOptions, spray};
pub use steam::{SteamOptions, steam};
pub use trial::{TrialOptions, trial};

use super::Failure;

/// Bad input, said in its own words.
fn input(wrong: impl std::fmt::Display) -> Failure {
    Failure::Input(wrong.to_string())
}
