//! What a bottle holds.

use serde::{Deserialize, Serialize};

/// What is in a bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Contents {
    PretreatmentFluid,
    Ink,
    Cleaner,
}

impl Contents {
    /// As the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Contents::PretreatmentFluid => "pretreatment fluid",
            Contents::Ink => "ink",
            Contents::Cleaner => "cleaner",
        }
    }
}
