//! One opening of a press on a garment: losses, the standard figures, the report and the traces count from this.

use serde::{Deserialize, Serialize};

use crate::shop::facts::fact::Timing;
use crate::shop::facts::ids::{ActNo, PressNo, Tag};
use crate::shop::facts::step::Step;

/// An opening. Nothing in it depends on what became of the garment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    pub act: ActNo,
    pub press: PressNo,
    pub garment: Tag,
    pub step: Step,
    pub again: bool,
    /// The room was damp: it was shut for longer than usual.
    pub damp: bool,
    pub over_restart: bool,
    /// Seconds that the recipe wants it shut; None where that is not known.
    pub target: Option<f64>,
    /// Seconds shut; None where they are not known.
    pub seconds: Option<f64>,
    /// How they lie to the recipe's times.
    pub timing: Timing,
}

impl Opening {
    /// Seconds past the target; 0 where it was not reached, or is not known.
    pub fn past(&self) -> f64 {
        let past = self.seconds.zip(self.target).map(|(shut, target)| shut - target);
        past.map_or(0.0, |past| past.max(0.0))
    }
}
