//! What things cost the shop, as the profile says: each price may be missing, and is then no zero.

use serde::{Deserialize, Serialize};

use crate::figures::money::Money;

/// Prices in the shop's own money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Costs {
    /// An unprinted garment.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub blank: Option<Money>,
    /// A kilogram of pretreatment fluid as it is sprayed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fluid_kg: Option<Money>,
    /// A cover sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<Money>,
    /// An hour of somebody's work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hour: Option<Money>,
    /// The ink of a print.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub print: Option<Money>,
    /// A garment that a customer brings back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refund: Option<Money>,
    /// An hour of a heat press, and of a printer, at work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub press_hour: Option<Money>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub printer_hour: Option<Money>,
    /// What a finished garment brings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sale: Option<Money>,
}

impl Costs {
    /// Whether no price at all is known.
    pub fn is_unknown(&self) -> bool {
        *self == Self::default()
    }
}
