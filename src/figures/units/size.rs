//! Lengths, areas and sizes.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::number::{in_plain_letters, plain, split};
use super::table::{INCH, Kind, MILLIMETRE, Unit};
use super::typed::{Measured, Typed};
use super::{CM_PER_INCH, NotAQuantity};

/// A length in centimetres; reads "12 in", "30 cm", "305 mm", "0.3 m", "1 ft".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Centimetres(pub f64);

impl Centimetres {
    /// The same length in inches.
    pub fn as_inches(self) -> f64 {
        self.0 / CM_PER_INCH
    }
}

impl Measured for Centimetres {
    const KIND: Kind = Kind::Length;
    fn of(number: f64) -> Self {
        Self(number)
    }
    fn number(self) -> f64 {
        self.0
    }
}

impl FromStr for Centimetres {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        text.parse().map(Typed::quantity)
    }
}

impl fmt::Display for Centimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} cm", plain(self.0, 3))
    }
}

as_text!(Centimetres, |length: Centimetres| format!("{} cm", plain(length.0, 6)));

/// An area in square centimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct SquareCentimetres(pub f64);

/// Width by height, as a print or a platen is named: "12 in x 14 in", "14x16in", "30 cm x 36 cm".
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Rectangle {
    pub width: Centimetres,
    pub height: Centimetres,
    /// In which it was written.
    unit: &'static Unit,
}

impl Rectangle {
    /// So many inches wide and high.
    pub const fn inches(width: f64, height: f64) -> Self {
        Self {
            width: Centimetres(width * CM_PER_INCH),
            height: Centimetres(height * CM_PER_INCH),
            unit: &INCH,
        }
    }

    /// So many millimetres wide and high.
    pub const fn millimetres(width: f64, height: f64) -> Self {
        Self {
            width: Centimetres(width / 10.0),
            height: Centimetres(height / 10.0),
            unit: &MILLIMETRE,
        }
    }

    /// The area inside.
    pub fn area(self) -> SquareCentimetres {
        SquareCentimetres(self.width.0 * self.height.0)
    }

    /// The unit in which it was written.
    pub fn unit(self) -> &'static Unit {
        self.unit
    }

    /// Whether it lies on `platen`, either way round. A tenth of a millimetre is forgiven.
    pub fn fits_on(self, platen: Rectangle) -> bool {
        const SLACK_CM: f64 = 0.01;
        let inside =
            |w: f64, h: f64| w <= platen.width.0 + SLACK_CM && h <= platen.height.0 + SLACK_CM;
        inside(self.width.0, self.height.0) || inside(self.height.0, self.width.0)
    }

    /// Reads a text in which bare numbers are of `bare`.
    ///
    /// # Errors
    /// No two sides above 0, or no unit.
    pub fn read_in(text: &str, bare: Option<&'static Unit>) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a size such as \"12 in x 14 in\" or \"30 cm x 36 cm\"";
        let letters = in_plain_letters(text).to_lowercase().replace(" by ", "x");
        let (width, height) =
            letters.split_once(['x', '\u{d7}']).ok_or_else(|| NotAQuantity::new(text, WANTED))?;
        let of = |wrong: NotAQuantity| {
            let why = if wrong.why.is_empty() { String::new() } else { wrong.why };
            NotAQuantity::because(text, &why, WANTED)
        };
        let unit_of = |side: &str| match split(side.trim()) {
            Ok((_, "")) | Err(_) => Ok(None),
            Ok(_) => side.parse::<Typed<Centimetres>>().map(|side| Some(side.unit())).map_err(of),
        };
        // A unit behind one side is that of both: "14 x 16 in".
        let (first, second) = (unit_of(width)?, unit_of(height)?);
        let unit = second.or(first).or(bare);
        let side = |side: &str, own: Option<&'static Unit>| {
            Typed::<Centimetres>::read_in(side, own.or(unit)).map_err(of)
        };
        let (width, height) = (side(width, first)?, side(height, second)?);
        let rectangle =
            Self { width: width.quantity(), height: height.quantity(), unit: height.unit() };
        if rectangle.width.0 <= 0.0 || rectangle.height.0 <= 0.0 {
            return Err(NotAQuantity::because(text, "with a side that is not above 0", WANTED));
        }
        Ok(rectangle)
    }

    /// Both sides in its unit, to so many places.
    fn sides(self, places: usize) -> String {
        let side = |side: Centimetres| self.unit.behind(&plain(side.0 / self.unit.worth, places));
        format!("{} x {}", side(self.width), side(self.height))
    }
}

impl FromStr for Rectangle {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        Self::read_in(text, None)
    }
}

impl fmt::Display for Rectangle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sides(3))
    }
}
as_text!(Rectangle, |size: Rectangle| size.sides(6));
