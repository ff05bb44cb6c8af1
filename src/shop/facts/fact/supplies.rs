//! Facts about what lies in stacks and bottles, who is at the bench, and what came back from the wash.

use serde::{Deserialize, Serialize};

use super::down;
use crate::figures::fastness::Grade;
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::mixture::Mixture;

/// A garment was put on the shelf, on top of a stack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stored {
    pub garment: Tag,
    /// The stack by its name, and the place in it, counted from 1 at the bottom.
    #[serde(default)]
    pub stack: String,
    #[serde(default)]
    pub position: u32,
    /// Whether it lies treated side down. None in old journals: there every second place did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub down: Option<bool>,
    /// The day of the shop's calendar, and the two days that follow from its recipe. None in old journals.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day: Option<Day>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub good_until: Option<Day>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_day: Option<Day>,
    /// The wall clock was plainly wrong, so the days are not to be trusted.
    #[serde(default, skip_serializing_if = "down")]
    pub unsure: bool,
}

impl Stored {
    /// Whether it lies treated side down.
    pub fn lies_down(&self) -> bool {
        self.down.unwrap_or(self.position.is_multiple_of(2))
    }
}

/// The stack onto which garments are stored from now on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StackNamed {
    pub stack: String,
}

/// A stack was shifted or turned over: its papers may have slipped.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StackDisturbed {
    pub stack: String,
}

/// A garment past its days begins anew: pre-press, spray, dry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Renewed {
    pub garment: Tag,
}

/// A bottle's lot was registered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotRegistered {
    pub lot: String,
    pub contents: Contents,
    /// The last day on which it may be used, as its label says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub best_before: Option<Day>,
    /// Where bottles of it stand.
    pub place: String,
}

/// Fluid was filled into the sprayer, its label read and its bottle shaken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SprayerFilled {
    pub lot: String,
    pub grams: Grams,
    /// Whether the lot's code was scanned; else it was typed.
    pub scanned: bool,
    /// By how much the account would have run over what the sprayer holds: so much more must have been sprayed
    /// before than was known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<Grams>,
    /// What was said of the fluid; None: nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluid: Option<Mixture>,
}

/// The sprayer was emptied and flushed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SprayerFlushed {}

/// What somebody said when asked whether the fan runs; None: not seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FanSaid {
    pub running: Option<bool>,
}

/// Somebody came to the bench; the first one opens the shift.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SignedIn {
    pub who: String,
    #[serde(default, skip_serializing_if = "down")]
    pub opens_shift: bool,
}

/// Somebody left the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SignedOut {
    pub who: String,
}

/// The shift was closed, and what was left lying then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShiftClosed {
    pub who: Vec<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left: Vec<String>,
}

/// A garment is kept back to be washed, with what is known of its coat.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WashSampled {
    pub garment: Tag,
    pub recipe: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coat: Option<GramsPerSquareMetre>,
    /// The coat was told by its steam, not by the scale.
    #[serde(default, skip_serializing_if = "down")]
    pub estimated: bool,
}

/// A wash sample was washed so often, and graded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Washed {
    pub garment: Tag,
    pub cycles: u32,
    pub grade: Grade,
    /// The CIELAB difference, where two colours were measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delta_e: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
}
