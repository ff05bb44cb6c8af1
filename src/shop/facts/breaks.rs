//! When nobody works, every day.

use serde::{Deserialize, Serialize};

use super::station::ClockTime;
use crate::figures::units::Span;

/// A break: "12:00" by the shop's clock, for so long.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Break {
    pub at: ClockTime,
    pub lasts: Span,
}
