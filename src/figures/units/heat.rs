//! Temperatures, and differences of them, on the scale on which they were written.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::number::{in_plain_letters, plain, split};
use super::{NotAQuantity, shown};
use crate::figures::written::written;

/// The scale on which a temperature was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Scale {
    Fahrenheit,
    Celsius,
}

/// A temperature, remembered on the scale on which it was written, so that a dial reads as it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Temperature {
    degrees: f64,
    scale: Scale,
}

impl Temperature {
    /// A temperature in degrees Fahrenheit.
    pub const fn fahrenheit(degrees: f64) -> Self {
        Self { degrees, scale: Scale::Fahrenheit }
    }

    /// A temperature in degrees Celsius.
    pub const fn celsius(degrees: f64) -> Self {
        Self { degrees, scale: Scale::Celsius }
    }

    /// Degrees Celsius: (F - 32) / 1.8 (NIST SP 811, appendix B.8).
    pub fn as_celsius(self) -> f64 {
        match self.scale {
            Scale::Celsius => self.degrees,
            Scale::Fahrenheit => (self.degrees - 32.0) / 1.8,
        }
    }

    /// The same scale as this one, for so many degrees Celsius.
    pub fn of_celsius(self, degrees: f64) -> Self {
        let celsius = Self::celsius(degrees);
        match self.scale {
            Scale::Celsius => celsius,
            Scale::Fahrenheit => Self::fahrenheit(celsius.as_fahrenheit()),
        }
    }

    /// A difference of so many degrees Celsius, in degrees of this one's scale.
    pub fn span_of(self, celsius: f64) -> HeatSpan {
        HeatSpan { degrees: 0.0, scale: self.scale }.of_celsius(celsius)
    }

    /// Its degrees, in its own scale.
    pub fn degrees(self) -> f64 {
        self.degrees
    }

    /// The letter of its scale: F or C.
    pub fn letter(self) -> char {
        match self.scale {
            Scale::Celsius => 'C',
            Scale::Fahrenheit => 'F',
        }
    }

    /// A difference of so many degrees Celsius, in whole degrees of this one's scale: "+5 F".
    pub fn difference(self, celsius: f64) -> String {
        let degrees = match self.scale {
            Scale::Celsius => celsius,
            Scale::Fahrenheit => celsius * 1.8,
        };
        // Without the sum a small negative one would read "-0".
        format!("{:+.0} {}", degrees.round() + 0.0, self.letter())
    }

    /// Degrees Fahrenheit: 1.8 C + 32 (NIST SP 811, appendix B.8).
    pub fn as_fahrenheit(self) -> f64 {
        match self.scale {
            Scale::Fahrenheit => self.degrees,
            Scale::Celsius => self.degrees * 1.8 + 32.0,
        }
    }
}

/// Reads degrees and their scale; a bare number is on `bare`.
fn degrees(text: &str, bare: Option<Scale>, wanted: &str) -> Result<(f64, Scale), NotAQuantity> {
    let letters = in_plain_letters(text);
    let (degrees, typed) = split(&letters).map_err(|reason| reason.error(text, wanted))?;
    let name = typed.to_lowercase().replace(['\u{b0}', ' ', '.'], "");
    let name = ["degrees", "degree", "deg"]
        .iter()
        .find_map(|word| name.strip_prefix(word))
        .unwrap_or(&name);
    let scale = match name {
        "f" | "fahrenheit" | "\u{2109}" => Scale::Fahrenheit,
        "c" | "celsius" | "\u{2103}" => Scale::Celsius,
        "" => bare.ok_or_else(|| NotAQuantity::because(text, "which is on no scale", wanted))?,
        _ => {
            let why = format!("where \"{}\" is no scale of heat", shown(typed));
            return Err(NotAQuantity::because(text, &why, wanted));
        }
    };
    Ok((degrees, scale))
}

impl Temperature {
    /// Reads a text in which a bare number is on the scale of this one, as on its dial.
    ///
    /// # Errors
    /// No temperature.
    pub fn read_alike(self, text: &str) -> Result<Self, NotAQuantity> {
        Self::read(text, Some(self.scale))
    }

    fn read(text: &str, bare: Option<Scale>) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a temperature such as \"340 F\" or \"171 C\"";
        let (degrees, scale) = degrees(text, bare, WANTED)?;
        Ok(Self { degrees, scale })
    }
}

impl FromStr for Temperature {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        Self::read(text, None)
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", plain(self.degrees, 3), self.letter())
    }
}
as_text!(Temperature);
written!(Temperature, (f64, Scale), |heat| (heat.degrees, heat.scale), |(degrees, scale)| {
    Temperature { degrees, scale }
});

/// A difference of two temperatures, in degrees of the scale on which it was written; reads "5 C" and "9 F".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatSpan {
    degrees: f64,
    scale: Scale,
}

impl HeatSpan {
    /// A difference in Celsius degrees.
    pub const fn celsius(degrees: f64) -> Self {
        Self { degrees, scale: Scale::Celsius }
    }

    /// The same difference in Celsius degrees (kelvins): 1.8 Fahrenheit degrees to one (NIST SP 811, appendix B.8).
    pub fn as_celsius(self) -> f64 {
        match self.scale {
            Scale::Celsius => self.degrees,
            Scale::Fahrenheit => self.degrees / 1.8,
        }
    }

    /// So many Celsius degrees, in degrees of the scale of this one.
    pub fn of_celsius(self, degrees: f64) -> Self {
        match self.scale {
            Scale::Celsius => Self::celsius(degrees),
            Scale::Fahrenheit => Self { degrees: degrees * 1.8, scale: self.scale },
        }
    }

    /// In its own degrees.
    pub fn degrees(self) -> f64 {
        self.degrees
    }

    /// The letter of its scale: F or C.
    pub fn letter(self) -> char {
        match self.scale {
            Scale::Celsius => 'C',
            Scale::Fahrenheit => 'F',
        }
    }
}

impl FromStr for HeatSpan {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a difference of heat such as \"5 C\" or \"9 F\"";
        // A kelvin is a Celsius degree.
        let celsius = text.trim().strip_suffix(['K', 'k']).map(|number| format!("{number} C"));
        let read = degrees(celsius.as_deref().unwrap_or(text), None, WANTED);
        let (degrees, scale) =
            read.map_err(|wrong| NotAQuantity { found: shown(text.trim()), ..wrong })?;
        if degrees < 0.0 {
            return Err(NotAQuantity::because(text, "which is below zero", WANTED));
        }
        Ok(Self { degrees, scale })
    }
}

impl fmt::Display for HeatSpan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", plain(self.degrees, 3), self.letter())
    }
}
as_text!(HeatSpan);
written!(HeatSpan, (f64, Scale), |span| (span.degrees, span.scale), |(degrees, scale)| {
    HeatSpan { degrees, scale }
});
