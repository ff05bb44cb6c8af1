//! Quantities as a person writes them: "340 F", "171 C", "12 in x 14 in", "32 g", "230 g/m2", "40s".
//!
//! Each type keeps one unit inside, reads the usual ones, and prints in the form that it reads.
//! Conversion factors are the exact ones of NIST SP 811 (2008), appendix B.

use std::fmt;
use std::str::FromStr;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::written::written;

/// Centimetres in an inch, exact (NIST SP 811, appendix B.8).
pub const CM_PER_INCH: f64 = 2.54;
/// Grams in an ounce (avoirdupois), exact (NIST SP 811, appendix B.8).
pub const GRAMS_PER_OUNCE: f64 = 28.349_523_125;
/// Square centimetres in a square metre.
pub const CM2_PER_M2: f64 = 10_000.0;
/// Square metres in a square yard, exact: (0.9144 m)^2.
const M2_PER_YD2: f64 = 0.836_127_36;

/// A text that should have been a quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("found \"{found}\", expected {expected}")]
pub struct NotAQuantity {
    /// What stood there, with control characters taken out.
    pub found: String,
    /// What would have been read, with an example.
    pub expected: &'static str,
}

fn not(found: &str, expected: &'static str) -> NotAQuantity {
    let found = found.chars().filter(|c| !c.is_control()).take(40).collect();
    NotAQuantity { found, expected }
}

/// Splits "230 g/m2" into 230 and "g/m2"; refuses infinities and NaN.
fn number_and_unit(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
        .unwrap_or(text.len());
    let number: f64 = text[..end].parse().ok()?;
    number.is_finite().then(|| (number, text[end..].trim()))
}

/// Prints a number without a tail of zeros: 340, 12.5, 3.937.
fn plain(number: f64) -> String {
    let text = format!("{number:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Text in files and in the journal is the written form, so that a person can read both.
macro_rules! as_text {
    ($type:ty) => {
        impl TryFrom<String> for $type {
            type Error = NotAQuantity;
            fn try_from(text: String) -> Result<Self, NotAQuantity> {
                // What is kept is what is printed, so that a text read from the journal is the same quantity.
                text.parse::<$type>()?.to_string().parse()
            }
        }
        impl $type {
            /// The same quantity as it is read back once it has been written: so facts hold it.
            pub fn as_written(self) -> Self {
                self.to_string().parse().unwrap_or(self)
            }
        }
        impl From<$type> for String {
            fn from(quantity: $type) -> String {
                quantity.to_string()
            }
        }
    };
}

mod rates;
pub use rates::{GramsPerSecond, HeatSpan, Share};

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

impl FromStr for Temperature {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a temperature such as \"340 F\" or \"171 C\"";
        match number_and_unit(text) {
            Some((degrees, "F" | "f" | "°F")) => Ok(Self::fahrenheit(degrees)),
            Some((degrees, "C" | "c" | "°C")) => Ok(Self::celsius(degrees)),
            _ => Err(not(text, WANTED)),
        }
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let scale = match self.scale {
            Scale::Fahrenheit => 'F',
            Scale::Celsius => 'C',
        };
        write!(f, "{} {scale}", plain(self.degrees))
    }
}
as_text!(Temperature);
written!(Temperature, (f64, Scale), |heat| (heat.degrees, heat.scale), |(degrees, scale)| {
    Temperature { degrees, scale }
});

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

impl FromStr for Centimetres {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a length such as \"12 in\" or \"30 cm\"";
        let centimetres = match number_and_unit(text) {
            Some((n, "in" | "\"")) => n * CM_PER_INCH,
            Some((n, "ft")) => n * 12.0 * CM_PER_INCH,
            Some((n, "cm")) => n,
            Some((n, "mm")) => n / 10.0,
            Some((n, "m")) => n * 100.0,
            _ => return Err(not(text, WANTED)),
        };
        Ok(Self(centimetres))
    }
}

impl fmt::Display for Centimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} cm", plain(self.0))
    }
}
as_text!(Centimetres);

/// An area in square centimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct SquareCentimetres(pub f64);

/// Width by height, as a print or a platen is named: "12 in x 14 in", "30 cm x 36 cm".
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Rectangle {
    pub width: Centimetres,
    pub height: Centimetres,
    inches: bool,
}

impl Rectangle {
    /// So many inches wide and high.
    pub const fn inches(width: f64, height: f64) -> Self {
        Self {
            width: Centimetres(width * CM_PER_INCH),
            height: Centimetres(height * CM_PER_INCH),
            inches: true,
        }
    }

    /// The area inside.
    pub fn area(self) -> SquareCentimetres {
        SquareCentimetres(self.width.0 * self.height.0)
    }

    /// Whether it lies on `platen`, either way round. A tenth of a millimetre is forgiven.
    pub fn fits_on(self, platen: Rectangle) -> bool {
        const SLACK_CM: f64 = 0.01;
        let inside =
            |w: f64, h: f64| w <= platen.width.0 + SLACK_CM && h <= platen.height.0 + SLACK_CM;
        inside(self.width.0, self.height.0) || inside(self.height.0, self.width.0)
    }
}

impl FromStr for Rectangle {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a size such as \"12 in x 14 in\" or \"30 cm x 36 cm\"";
        let (width, height) = text.split_once(['x', '×']).ok_or_else(|| not(text, WANTED))?;
        let side = |s: &str| s.parse::<Centimetres>().map_err(|_| not(text, WANTED));
        let rectangle = Self {
            width: side(width)?,
            height: side(height)?,
            inches: height.trim_end().ends_with("in"),
        };
        if rectangle.width.0 <= 0.0 || rectangle.height.0 <= 0.0 {
            return Err(not(text, "a size with both sides above 0"));
        }
        Ok(rectangle)
    }
}

impl fmt::Display for Rectangle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.inches {
            let (w, h) = (self.width.as_inches(), self.height.as_inches());
            write!(f, "{} in x {} in", plain(w), plain(h))
        } else {
            write!(f, "{} x {}", self.width, self.height)
        }
    }
}
as_text!(Rectangle);

/// A mass in grams; reads "32 g", "0.4 kg", "1.1 oz".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Grams(pub f64);

impl FromStr for Grams {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        match number_and_unit(text) {
            Some((n, "g")) => Ok(Self(n)),
            Some((n, "kg")) => Ok(Self(n * 1000.0)),
            Some((n, "oz")) => Ok(Self(n * GRAMS_PER_OUNCE)),
            _ => Err(not(text, "a weight such as \"152.4 g\"")),
        }
    }
}

impl fmt::Display for Grams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g", plain(self.0))
    }
}
as_text!(Grams);
written!(Grams, f64, |grams| grams.0, Grams);

/// The weight of a coat, in grams on a square metre; reads "230 g/m2", "0.15 g/in2", "6.8 oz/yd2".
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct GramsPerSquareMetre(pub f64);

impl FromStr for GramsPerSquareMetre {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        // 1 g/in2 = 1 / (0.0254 m)^2 g/m2; 1 oz/yd2 = 28.349523125 g / 0.83612736 m2 (NIST SP 811).
        match number_and_unit(text) {
            Some((n, "g/m2" | "g/m²")) => Ok(Self(n)),
            Some((n, "g/in2" | "g/in²")) => Ok(Self(n * CM2_PER_M2 / (CM_PER_INCH * CM_PER_INCH))),
            Some((n, "oz/yd2" | "oz/yd²")) => Ok(Self(n * GRAMS_PER_OUNCE / M2_PER_YD2)),
            _ => Err(not(text, "a coat such as \"230 g/m2\"")),
        }
    }
}

impl fmt::Display for GramsPerSquareMetre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g/m2", plain(self.0))
    }
}
as_text!(GramsPerSquareMetre);
written!(GramsPerSquareMetre, f64, |coat| coat.0, GramsPerSquareMetre);

/// A span of time as humantime writes it: "40s", "1min 30s", "3weeks".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Span(pub Duration);

impl Span {
    /// A span of whole seconds.
    pub const fn seconds(seconds: u64) -> Self {
        Self(Duration::from_secs(seconds))
    }

    /// The span in seconds, with the fraction.
    pub fn as_seconds(self) -> f64 {
        self.0.as_secs_f64()
    }
}

impl FromStr for Span {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a time such as \"40s\" or \"1min 30s\"";
        let span = humantime::parse_duration(text.trim()).map_err(|_| not(text, WANTED))?;
        // A hundred years keep all later sums of microseconds far from overflow.
        const LONGEST: Duration = Duration::from_secs(100 * 366 * 86_400);
        if span > LONGEST {
            return Err(not(text, "a time under 100 years"));
        }
        Ok(Self(span))
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", humantime::format_duration(self.0))
    }
}
as_text!(Span);

/// Whole calendar days, whatever their hours; reads "21days", "3weeks".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Days(pub u32);

impl FromStr for Days {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "whole days such as \"21days\" or \"3weeks\"";
        const DAY: u64 = 86_400;
        let span = text.parse::<Span>().map_err(|_| not(text, WANTED))?.0;
        if span.subsec_nanos() != 0 || span.as_secs() % DAY != 0 {
            return Err(not(text, WANTED));
        }
        let days = u32::try_from(span.as_secs() / DAY).map_err(|_| not(text, WANTED))?;
        Ok(Self(days))
    }
}

impl fmt::Display for Days {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plural = if self.0 == 1 { "" } else { "s" };
        write!(f, "{}day{plural}", self.0)
    }
}
as_text!(Days);

/// A colour on the sRGB scale, eight bits a channel; reads "#16181d" and "#fff".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Colour {
    pub red: u8,
    pub green: u8,
    pub blue: u8,
}

impl FromStr for Colour {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        const WANTED: &str = "a colour such as \"#16181d\"";
        let digits = text.trim().strip_prefix('#').ok_or_else(|| not(text, WANTED))?;
        let hex: Option<Vec<u8>> =
            digits.chars().map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok())).collect();
        match hex.as_deref() {
            Some(&[r, g, b]) => Ok(Self { red: r * 17, green: g * 17, blue: b * 17 }),
            Some(&[r, s, g, h, b, c]) => {
                Ok(Self { red: r * 16 + s, green: g * 16 + h, blue: b * 16 + c })
            }
            _ => Err(not(text, WANTED)),
        }
    }
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.red, self.green, self.blue)
    }
}
as_text!(Colour);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_printed_reads_back() {
        for text in ["340 F", "171 C", "168.5 C"] {
            assert_eq!(text.parse::<Temperature>().unwrap().to_string(), text);
        }
        for text in ["12 in x 14 in", "30 cm x 36 cm"] {
            assert_eq!(text.parse::<Rectangle>().unwrap().to_string(), text);
        }
        assert_eq!("3weeks".parse::<Days>().unwrap().to_string(), "21days");
        assert_eq!("1min 30s".parse::<Span>().unwrap().to_string(), "1m 30s");
        assert_eq!("#fff".parse::<Colour>().unwrap().to_string(), "#ffffff");
    }

    #[test]
    fn nonsense_is_refused() {
        for text in ["", "340", "F", "nan F", "inf F", "1e400 F", "hot"] {
            assert!(text.parse::<Temperature>().is_err(), "{text:?}");
        }
        for text in ["12 in", "x", "0 in x 4 in", "-3 in x 4 in", "12 x 14"] {
            assert!(text.parse::<Rectangle>().is_err(), "{text:?}");
        }
        for text in ["36h", "1.5days", "soon"] {
            assert!(text.parse::<Days>().is_err(), "{text:?}");
        }
        for text in ["16181d", "#16181", "#gggggg", "#€€"] {
            assert!(text.parse::<Colour>().is_err(), "{text:?}");
        }
    }
}
