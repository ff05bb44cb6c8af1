//! Shares, flows and differences of heat.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{NotAQuantity, not, number_and_unit, plain};

/// A part of a whole, 0 to 1; reads "30%" and "0.3", prints "30%".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Share(pub f64);

impl FromStr for Share {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        let share = match number_and_unit(text) {
            Some((n, "%")) => n / 100.0,
            Some((n, "")) => n,
            _ => f64::NAN,
        };
        if (0.0..=1.0).contains(&share) {
            return Ok(Self(share));
        }
        Err(not(text, "a share such as \"30%\""))
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}%", plain(self.0 * 100.0))
    }
}
as_text!(Share);

/// A flow; reads "1.9 g/s", "114 g/min".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct GramsPerSecond(pub f64);

impl FromStr for GramsPerSecond {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        let flow = match number_and_unit(text) {
            Some((n, "g/s")) => n,
            Some((n, "g/min")) => n / 60.0,
            _ => f64::NAN,
        };
        if flow >= 0.0 {
            return Ok(Self(flow));
        }
        Err(not(text, "a flow such as \"1.9 g/s\""))
    }
}

impl fmt::Display for GramsPerSecond {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g/s", plain(self.0))
    }
}
as_text!(GramsPerSecond);

/// A difference of two temperatures in Celsius degrees (kelvins); reads "5 C" and "9 F".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct HeatSpan(pub f64);

impl HeatSpan {
    /// The same difference in Fahrenheit degrees: 1.8 to one (NIST SP 811, appendix B.8).
    pub fn as_fahrenheit(self) -> f64 {
        self.0 * 1.8
    }
}

impl FromStr for HeatSpan {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        let degrees = match number_and_unit(text) {
            Some((n, "C" | "K")) => n,
            Some((n, "F")) => n / 1.8,
            _ => f64::NAN,
        };
        if degrees >= 0.0 {
            return Ok(Self(degrees));
        }
        Err(not(text, "a difference of heat such as \"5 C\" or \"9 F\""))
    }
}

impl fmt::Display for HeatSpan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} C", plain(self.0))
    }
}
as_text!(HeatSpan);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_printed_reads_back() {
        assert_eq!("30%".parse::<Share>().unwrap().to_string(), "30%");
        assert_eq!("0.3".parse::<Share>().unwrap(), "30 %".parse().unwrap());
        assert_eq!("1.9 g/s".parse::<GramsPerSecond>().unwrap().to_string(), "1.9 g/s");
        assert_eq!("9 F".parse::<HeatSpan>().unwrap().to_string(), "5 C");
    }

    #[test]
    fn nonsense_is_refused() {
        for text in ["", "130%", "-1%", "NaN", "inf%", "much"] {
            assert!(text.parse::<Share>().is_err(), "{text:?}");
        }
        assert!("-1 g/s".parse::<GramsPerSecond>().is_err());
        assert!("-5 C".parse::<HeatSpan>().is_err());
    }
}
