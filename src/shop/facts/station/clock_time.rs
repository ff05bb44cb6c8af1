//! A time of day, as the station's profile has it.

use serde::{Deserialize, Serialize};

use crate::shop::facts::when::time_of_day;

/// A time of day, "12:00".
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct ClockTime(pub jiff::civil::Time);

impl TryFrom<String> for ClockTime {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        time_of_day(&text).map(Self).map_err(|wrong| wrong.to_string())
    }
}

impl From<ClockTime> for String {
    fn from(time: ClockTime) -> String {
        time.0.strftime("%H:%M").to_string()
    }
}
