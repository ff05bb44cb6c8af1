//! Weights, and the weight of a coat on its area.

use std::fmt;
use std::str::FromStr;

use super::NotAQuantity;
use super::number::plain;
use super::table::{Kind, Unit};
use super::typed::{Measured, Typed};
use crate::figures::written::written;

/// A mass in grams; reads "32 g", "0.4 kg", "1.1 oz", "0.4 lb".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Grams(pub f64);

impl Grams {
    /// What was worked out, to a thousandth: its further places say nothing.
    pub fn rounded(self) -> Self {
        Self((self.0 * 1000.0).round() / 1000.0).as_written()
    }

    /// The same mass, told in a unit of weight.
    pub fn told_in(self, unit: &'static Unit) -> Typed<Self> {
        Typed::new(self.0 / unit.worth, unit)
    }
}

impl Measured for Grams {
    const KIND: Kind = Kind::Mass;
    fn of(number: f64) -> Self {
        Self(number)
    }
    fn number(self) -> f64 {
        self.0
    }
}

impl FromStr for Grams {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        text.parse().map(Typed::quantity)
    }
}

impl fmt::Display for Grams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g", plain(self.0, 3))
    }
}
// What was typed in ounces is no round number of grams: a millionth keeps every verdict.
as_text!(Grams, |grams: Grams| format!("{} g", plain(grams.0, 6)));
written!(Grams, f64, |grams| grams.0, Grams, |grams: &Grams| String::from(*grams));

/// The weight of a coat, in grams on a square metre; reads "230 g/m2", "0.15 g/in2", "6.8 oz/yd2".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct GramsPerSquareMetre(pub f64);

impl Measured for GramsPerSquareMetre {
    const KIND: Kind = Kind::Coat;
    fn of(number: f64) -> Self {
        Self(number)
    }
    fn number(self) -> f64 {
        self.0
    }
}

impl FromStr for GramsPerSquareMetre {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        text.parse().map(Typed::quantity)
    }
}

impl fmt::Display for GramsPerSquareMetre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g/m2", plain(self.0, 3))
    }
}
as_text!(GramsPerSquareMetre);
written!(GramsPerSquareMetre, f64, |coat| coat.0, GramsPerSquareMetre);
