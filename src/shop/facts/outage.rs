//! Why a press cannot be used.

use serde::{Deserialize, Serialize};

/// Why a press is out of use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum OutOfUse {
    HeatingUp,
    BeingCleaned,
    Broken,
}

impl OutOfUse {
    /// The reason as the board says it.
    pub fn words(self) -> &'static str {
        match self {
            OutOfUse::HeatingUp => "heating up",
            OutOfUse::BeingCleaned => "being cleaned",
            OutOfUse::Broken => "broken",
        }
    }
}
