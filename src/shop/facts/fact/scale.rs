//! What a scale said of a garment and its coat.

use serde::{Deserialize, Serialize};

use super::down;
use crate::figures::coat::Verdict;
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::facts::ids::{RecipeHash, Tag};
use crate::shop::facts::mixture::Mixture;

/// A garment was weighed, dry, just before its spray.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Weighed {
    pub garment: Tag,
    pub grams: Grams,
}

/// A garment was weighed with its coat on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoatWeighed {
    pub garment: Tag,
    /// The recipe's name, and the text that it had.
    pub recipe: String,
    pub hash: RecipeHash,
    pub before: Grams,
    pub after: Grams,
    pub coat: GramsPerSquareMetre,
    pub verdict: Verdict,
    /// Nobody has confirmed the recipe's window from a data sheet, or fluid or cloth are others than it is for.
    #[serde(default, skip_serializing_if = "down")]
    pub unconfirmed: bool,
    /// The lots of fluid in the sprayer: several after a top-up.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<String>,
    /// What was said of the fluids in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fluids: Vec<Mixture>,
    /// What that took out of the sprayer, where its filling is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub used: Option<Grams>,
    /// Whoever sprayed corrects back and forth by more than twice the error.
    #[serde(default, skip_serializing_if = "down")]
    pub overcorrects: bool,
}

/// Something was done about a coat that was weighed: it stands behind the weight after that.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoatMended {
    pub garment: Tag,
    /// The coat before, and how that lay to its window.
    pub was: GramsPerSquareMetre,
    pub verdict: Verdict,
    /// Grams on the scale that were short then; below 0: too many.
    pub short: Grams,
    /// Grams that were put on; below 0: taken off.
    pub added: Grams,
}

/// Somebody said that this garment is not weighed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WeighingDeclined {
    pub garment: Tag,
}

impl CoatMended {
    /// Whether more than twice the error was put on, or taken off.
    pub fn overcorrects(&self) -> bool {
        self.added.0.abs() > 2.0 * self.short.0.abs()
    }
}
