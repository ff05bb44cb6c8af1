//! Facts about the beginning of a shift, and about the heat of a press.

use serde::{Deserialize, Serialize};

use super::down;
use crate::figures::units::Temperature;
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::morning::{HeatWord, MorningCheck};
use crate::shop::facts::step::Pressure;

/// Somebody said something of a press's heat.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeatSaid {
    pub press: PressNo,
    pub said: HeatWord,
    /// What it was turned to, where it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dial: Option<Temperature>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure: Option<Pressure>,
}

/// Something was looked at before the first garment, or skipped.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MorningSaid {
    pub check: MorningCheck,
    #[serde(default, skip_serializing_if = "down")]
    pub skipped: bool,
    /// Per cent, where the humidity was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub percent: Option<u8>,
    /// The day of the shop's calendar: where no shifts are opened, a day is one.
    pub day: Day,
}

/// Somebody looked at the first garment of an order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SampleSaid {
    pub garment: Tag,
    pub approved: bool,
}
