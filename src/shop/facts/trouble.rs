//! What can go wrong with a garment, and what becomes of it then.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::step::Step;

/// What went wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Trouble {
    SheetClung,
    SheetStuck,
    StillSteaming,
    Scorched,
    Stained,
    WrongBlank,
    Banding,
    Smear,
    Crooked,
    Misprint,
    Undercured,
}

impl Trouble {
    /// What can be seen after `step`, at most nine, likeliest first.
    pub fn after(step: Option<Step>) -> &'static [Trouble] {
        use Trouble::{
            Banding, Crooked, Misprint, Scorched, SheetClung, SheetStuck, Smear, Stained,
            StillSteaming, Undercured, WrongBlank,
        };
        match step {
            None | Some(Step::PrePress | Step::Spray) => &[WrongBlank, Stained, Scorched],
            Some(Step::Dry) => {
                &[SheetClung, SheetStuck, StillSteaming, Scorched, Stained, WrongBlank]
            }
            Some(Step::Print) => &[Banding, Smear, Crooked, Misprint, Stained, WrongBlank],
            Some(Step::Cure) => &[
                Undercured, Scorched, Smear, SheetStuck, Banding, Crooked, Misprint, Stained,
                WrongBlank,
            ],
        }
    }

    /// What can be seen of a garment that waits for the printer, or has left it unrecorded.
    pub fn around_print() -> &'static [Trouble] {
        &[
            Trouble::SheetClung,
            Trouble::SheetStuck,
            Trouble::Scorched,
            Trouble::Stained,
            Trouble::WrongBlank,
            Trouble::Banding,
            Trouble::Smear,
            Trouble::Crooked,
            Trouble::Misprint,
        ]
    }

    /// Whether only a print can have it.
    pub fn is_the_printers(self) -> bool {
        matches!(self, Trouble::Banding | Trouble::Smear | Trouble::Crooked | Trouble::Misprint)
    }

    /// Whether the cover sheet would not come off as it should.
    pub fn is_of_sheet(self) -> bool {
        matches!(self, Trouble::SheetClung | Trouble::SheetStuck)
    }

    /// The name as the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Trouble::SheetClung => "sheet clung",
            Trouble::SheetStuck => "sheet stuck",
            Trouble::StillSteaming => "still steaming",
            Trouble::Scorched => "scorched",
            Trouble::Stained => "stained",
            Trouble::WrongBlank => "wrong blank",
            Trouble::Banding => "banding",
            Trouble::Smear => "smear",
            Trouble::Crooked => "crooked",
            Trouble::Misprint => "misprint",
            Trouble::Undercured => "undercured",
        }
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

/// What becomes of the garment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    GoOn,
    StepAgain,
    SecondQuality,
    Out,
    /// Nobody said. Never taken for good.
    NotNoted,
}

impl Outcome {
    /// What can be chosen, in the order of the list.
    pub const CHOICES: [Outcome; 4] =
        [Outcome::GoOn, Outcome::StepAgain, Outcome::SecondQuality, Outcome::Out];

    /// The name as the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Outcome::GoOn => "go on",
            Outcome::StepAgain => "do the step again",
            Outcome::SecondQuality => "second quality",
            Outcome::Out => "a reject",
            Outcome::NotNoted => "not noted",
        }
    }
}
