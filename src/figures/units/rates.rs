//! Shares, flows and angles.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::NotAQuantity;
use super::number::{in_plain_letters, plain, split};
use super::table::{DEGREE, Kind, Unit};
use super::typed::{Measured, Typed};

/// A part of a whole, 0 to 1; reads "30%", "30", "30 per cent" and "0.3", prints "30%".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Share(pub f64);

impl FromStr for Share {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a share, 0% to 100%, such as \"30%\"";
        let letters = in_plain_letters(text).to_lowercase();
        let (number, unit) = split(&letters).map_err(|reason| reason.error(text, WANTED))?;
        let wrong = |why: &str| Err(NotAQuantity::because(text, why, WANTED));
        let percent = match unit {
            "%" | "percent" | "per cent" | "pct" => number,
            // A whole is rarely meant, and so is a hundredth.
            "" if number == 1.0 => return wrong("which may be 1% or all of it: write 1% or 100%"),
            "" if number < 1.0 => number * 100.0,
            "" => number,
            _ => return Err(NotAQuantity::new(text, WANTED)),
        };
        match percent {
            percent if percent < 0.0 => wrong("which is below zero"),
            percent if percent > 100.0 => wrong("which is more than all of it"),
            percent => Ok(Self(percent / 100.0)),
        }
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}%", plain(self.0 * 100.0, 3))
    }
}
as_text!(Share);

/// A flow; reads "1.9 g/s", "114 g/min", "4 oz/min", and "1.9 ml/s" as of water.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct GramsPerSecond(pub f64);

impl Measured for GramsPerSecond {
    const KIND: Kind = Kind::Flow;
    fn of(number: f64) -> Self {
        Self(number)
    }
    fn number(self) -> f64 {
        self.0
    }
}

impl FromStr for GramsPerSecond {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        text.parse().map(Typed::quantity)
    }
}

/// An angle in degrees; a bare number can only be that.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Degrees(pub f64);

impl Measured for Degrees {
    const KIND: Kind = Kind::Angle;
    const BARE: Option<&'static Unit> = Some(&DEGREE);
    fn of(number: f64) -> Self {
        Self(number)
    }
    fn number(self) -> f64 {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_number_is_a_share_where_only_one_can_be_meant() {
        let share = |text: &str| text.parse::<Share>().map(|share| share.to_string());
        for text in ["30%", "30 %", "30", "0.3", "0,3", "30 per cent", "３０％"] {
            assert_eq!(share(text).as_deref(), Ok("30%"), "{text}");
        }
        assert_eq!(share("0").as_deref(), Ok("0%"));
        for text in ["", "1", "130%", "130", "-1%", "NaN", "inf%", "much"] {
            assert!(share(text).is_err(), "{text:?}");
        }
        assert!(share("1").unwrap_err().to_string().contains("write 1% or 100%"));
    }
}
