//! Where a stored garment lies, and how long it keeps.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::shop::facts::day::Day;

/// Where and until when a garment keeps.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shelved {
    pub stack: Arc<str>,
    /// It lies treated side down, on the paper of the one below.
    pub down: bool,
    pub day: Day,
    pub good_until: Day,
    pub last_day: Day,
    /// The clock was wrong when it was stored: its days are not to be trusted.
    pub unsure: bool,
    /// Its stack has been shifted since.
    pub disturbed: bool,
}

/// How a stored garment lies to its days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShelfState {
    Past,
    UseFirst,
    Good,
}

impl Shelved {
    /// How it lies to its days today.
    pub fn state(&self, today: Day) -> ShelfState {
        match today {
            today if today > self.last_day => ShelfState::Past,
            today if today > self.good_until => ShelfState::UseFirst,
            _ => ShelfState::Good,
        }
    }
}
