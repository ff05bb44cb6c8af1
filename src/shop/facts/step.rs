//! The steps of a garment, and what a heat press is set to for one of them.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A step in the life of a garment. The names are stored and printed in this form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    PrePress,
    Spray,
    Dry,
    Print,
    Cure,
}

impl Step {
    /// All steps, in the order in which a garment meets them.
    pub const ALL: [Step; 5] = [Step::PrePress, Step::Spray, Step::Dry, Step::Print, Step::Cure];

    /// Whether the step is done in a heat press.
    pub fn is_pressed(self) -> bool {
        matches!(self, Step::PrePress | Step::Dry | Step::Cure)
    }

    /// The name as stored and as people say it.
    pub fn name(self) -> &'static str {
        match self {
            Step::PrePress => "pre-press",
            Step::Spray => "spray",
            Step::Dry => "dry",
            Step::Print => "print",
            Step::Cure => "cure",
        }
    }
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// How hard a press presses, in the three words of the trade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub enum Pressure {
    Light,
    #[default]
    Medium,
    Firm,
}

impl fmt::Display for Pressure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Pressure::Light => "light",
            Pressure::Medium => "medium",
            Pressure::Firm => "firm",
        })
    }
}

/// What lies between the platen and the garment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Cover {
    PtfeSheet,
    ReleasePaper,
}

impl fmt::Display for Cover {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Cover::PtfeSheet => "PTFE sheet",
            Cover::ReleasePaper => "release paper",
        })
    }
}

/// How an opening lay to the recipe's times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Timing {
    Early,
    InTime,
    Late,
    NotTimed,
}
