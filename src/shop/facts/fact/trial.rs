//! What happens in a trial that looks for a garment's window of coats, and the window that somebody signs.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::figures::fastness::Grade;
use crate::figures::trial::Seen;
use crate::figures::trial::answer::{Answer, Stop};
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::facts::coat::CoatWindow;
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::mixture::Mixture;

/// A trial was begun: of one recipe, one filling of the sprayer, one kind of garment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialBegun {
    pub recipe: String,
    pub hash: RecipeHash,
    /// Where the edges are thought to lie: the recipe's window.
    pub low: GramsPerSquareMetre,
    pub high: GramsPerSquareMetre,
    /// The grade that must be reached, after the cure and after so many washes.
    pub limit: Grade,
    pub cycles: u32,
    /// The lots in the sprayer, and what was said of them: kind and dilution.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fluids: Vec<Mixture>,
}

/// A garment of the trial was weighed, dry, just before its spray.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialWeighed {
    pub no: u32,
    pub aimed: GramsPerSquareMetre,
    pub grams: Grams,
}

/// It was weighed with its coat on: that coat counts, however far it is from its aim.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialSampled {
    pub no: u32,
    pub aimed: GramsPerSquareMetre,
    pub before: Grams,
    pub after: Grams,
    pub coat: GramsPerSquareMetre,
}

/// What was graded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GradedAfter {
    /// Its white.
    Cure,
    /// Its print.
    Wash,
}

impl fmt::Display for GradedAfter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            GradedAfter::Cure => "cure",
            GradedAfter::Wash => "wash",
        })
    }
}

/// A garment of the trial was graded by eye; None: it was spoiled or lost, and says nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialGraded {
    pub no: u32,
    pub after: GradedAfter,
    pub seen: Option<Seen>,
    /// Who was at the bench.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub who: Vec<String>,
}

/// What the trial knew when all garments of its rounds so far were graded: the next round rests on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialAnswered {
    pub answer: Answer,
}

/// A trial was ended without a window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialEnded {
    pub recipe: String,
    /// Why; None: somebody broke it off.
    pub stop: Option<Stop>,
    pub garments: usize,
}

/// Somebody has signed the window that a trial found: it is the recipe's as long as it stands (`facts/recipes/signed.rs`). The
/// recipe as it is with that window stands behind it in the same act.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WindowSigned {
    pub recipe: String,
    /// The recipe without it, and with it.
    pub of: RecipeHash,
    pub hash: RecipeHash,
    pub coat: CoatWindow,
    pub who: String,
    /// What it rests on.
    pub lots: Vec<String>,
    pub limit: Grade,
    pub cycles: u32,
    pub evidence: Answer,
}

impl TrialGraded {
    /// In words.
    pub fn in_words(&self) -> String {
        let TrialGraded { no, after, .. } = self;
        match self.seen {
            Some(Seen::Graded(grade)) => format!("trial no. {no} after the {after}: grade {grade}"),
            Some(Seen::Passed(true)) => format!("trial no. {no} after the {after}: passes"),
            Some(Seen::Passed(false)) => format!("trial no. {no} after the {after}: fails"),
            None => format!("trial no. {no} after the {after}: spoiled or lost"),
        }
    }
}

impl TrialAnswered {
    /// In words.
    pub fn in_words(&self) -> String {
        match self.answer.stop {
            Some(stop) => {
                format!("trial over after {} garments: {}", self.answer.garments, stop.words())
            }
            None => format!("trial: {}", self.answer.next_round()),
        }
    }
}

impl TrialEnded {
    /// In words.
    pub fn in_words(&self) -> String {
        let why = self.stop.map_or("broken off", Stop::words);
        format!("trial of {} ended after {} garments: {why}", self.recipe, self.garments)
    }
}

impl WindowSigned {
    /// In words.
    pub fn in_words(&self) -> String {
        let (CoatWindow { low, target, high }, garments) = (self.coat, self.evidence.garments);
        format!(
            "window of {} signed by {}: {:.0} to {:.0} g/m2, target {:.0}, by a trial of {garments} garments",
            self.recipe, self.who, low.0, high.0, target.0
        )
    }
}
