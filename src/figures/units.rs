//! Quantities as a person writes them: "340 F", "171 C", "12 in x 14 in", "32 g", "230 g/m2", "40s".
//!
//! Each type keeps one unit inside, reads every spelling of `table`, and prints in a form that it reads. What was
//! written keeps its unit (`typed`), what a shop can have is in `bounds`, and verdicts are taken by `compare`.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// Centimetres in an inch, exact (NIST SP 811, appendix B.8).
pub const CM_PER_INCH: f64 = 2.54;
/// Grams in an ounce (avoirdupois), exact (NIST SP 811, appendix B.8).
pub const GRAMS_PER_OUNCE: f64 = 28.349_523_125;
/// Square centimetres in a square metre.
pub const CM2_PER_M2: f64 = 10_000.0;

/// A text that should have been a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct NotAQuantity {
    /// What stood there, with control characters taken out.
    pub found: String,
    /// What is wrong with it, as "which is below zero"; empty where it is nothing of the kind.
    pub why: String,
    /// What would have been read, with an example.
    pub expected: String,
}

impl std::error::Error for NotAQuantity {}

impl fmt::Display for NotAQuantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.found.as_str() {
            "" => write!(f, "found nothing, ")?,
            found if self.why.is_empty() => write!(f, "found \"{found}\", ")?,
            found => write!(f, "found \"{found}\", {}: ", self.why)?,
        }
        write!(f, "expected {}", self.expected)
    }
}

impl NotAQuantity {
    /// Nothing of the kind.
    pub(crate) fn new(found: &str, expected: &str) -> Self {
        Self::because(found, "", expected)
    }

    /// Something of the kind, with what is wrong with it.
    pub(crate) fn because(found: &str, why: &str, expected: &str) -> Self {
        Self { found: shown(found.trim()), why: why.to_owned(), expected: expected.to_owned() }
    }
}

/// What was typed, to be repeated: without control characters, and no more than a line's worth.
fn shown(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(40).collect()
}

/// Text in files and in the journal is the written form, so that a person can read both.
macro_rules! as_text {
    ($type:ty) => {
        as_text!($type, |quantity: $type| quantity.to_string());
    };
    ($type:ty, $text:expr) => {
        impl TryFrom<String> for $type {
            type Error = NotAQuantity;
            fn try_from(text: String) -> Result<Self, NotAQuantity> {
                // What is kept is what is printed, so that a text read from the journal is the same quantity.
                String::from(text.parse::<$type>()?).parse()
            }
        }
        impl $type {
            /// The same quantity as it is read back once it has been written: so facts hold it.
            pub fn as_written(self) -> Self {
                String::from(self).parse().unwrap_or(self)
            }
        }
        impl From<$type> for String {
            fn from(quantity: $type) -> String {
                let text: fn($type) -> String = $text;
                text(quantity)
            }
        }
    };
}

pub mod bounds;
pub mod compare;
mod heat;
mod number;
mod rates;
mod size;
pub mod spans;
pub mod table;
mod time;
mod typed;
mod weight;

pub use heat::{HeatSpan, Scale, Temperature};
pub use number::{number, whole, whole_reader};
pub use rates::{Degrees, GramsPerSecond, Share};
pub use size::{Centimetres, Rectangle, SquareCentimetres};
pub use time::{Days, Seconds, Span};
pub use typed::{Measured, Typed};
pub use weight::{Grams, GramsPerSquareMetre};

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
        let digits = number::in_plain_letters(text);
        let digits = digits.strip_prefix('#').ok_or_else(|| NotAQuantity::new(text, WANTED))?;
        let hex: Option<Vec<u8>> =
            digits.chars().map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok())).collect();
        match hex.as_deref() {
            Some(&[r, g, b]) => Ok(Self { red: r * 17, green: g * 17, blue: b * 17 }),
            Some(&[r, s, g, h, b, c]) => {
                Ok(Self { red: r * 16 + s, green: g * 16 + h, blue: b * 16 + c })
            }
            _ => Err(NotAQuantity::new(text, WANTED)),
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
