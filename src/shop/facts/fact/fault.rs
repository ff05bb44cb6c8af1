//! What was measured of a garment and lay outside.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::shop::facts::ids::Tag;

/// What it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FaultKind {
    DriedShort,
    DriedLong,
    /// On a place of print before this one.
    CuredLong,
    CoatLight,
    CoatHeavy,
}

/// What was measured, and the limit that it lay beyond: both in seconds, or in g/m2.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Fault {
    pub kind: FaultKind,
    pub found: f64,
    pub limit: f64,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Fault { kind, found, limit } = self;
        // As many places as tell the two apart.
        let places = usize::from(found.round() == limit.round());
        match kind {
            FaultKind::DriedShort => write!(f, "dried {found:.places$} s of {limit:.0}"),
            FaultKind::DriedLong => write!(f, "dried {found:.places$} s, at most {limit:.0}"),
            FaultKind::CuredLong => write!(f, "cured {found:.places$} s, at most {limit:.0}"),
            FaultKind::CoatLight => write!(f, "coat {found:.places$} g/m2, at least {limit:.0}"),
            FaultKind::CoatHeavy => write!(f, "coat {found:.places$} g/m2, at most {limit:.0}"),
        }
    }
}

/// A garment was printed though the board had named its faults before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeldShown {
    pub garment: Tag,
    pub faults: Vec<Fault>,
}
