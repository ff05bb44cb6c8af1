//! What of a garment asks for care at the press: something thick in the printed area, a colour that heat harms.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::words::clean;
use crate::figures::units::table::MILLIMETRE;
use crate::figures::units::{Centimetres, Typed, bounds};

/// Something that keeps the platen off the print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    Zip,
    Hood,
    Pocket,
    Seam,
}

impl Over {
    /// All of them, in the order of a list.
    pub const ALL: [Over; 4] = [Over::Zip, Over::Hood, Over::Pocket, Over::Seam];

    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            Over::Zip => "zip",
            Over::Hood => "hood",
            Over::Pocket => "pocket",
            Over::Seam => "seam",
        }
    }

    /// How thick the pad is that is usual, in millimetres. From memory.
    fn usual_mm(self) -> f64 {
        match self {
            Over::Zip => 6.0,
            Over::Hood => 10.0,
            Over::Pocket | Over::Seam => 3.0,
        }
    }
}

/// A pad under the print, as it is written: "zip", or "zip 8 mm".
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Pad {
    over: Over,
    /// None: as is usual.
    thick: Option<Typed<Centimetres>>,
}

impl Pad {
    /// What is said when such a garment is laid in.
    pub fn in_words(self) -> String {
        let thick = self.thick.unwrap_or_else(|| Typed::new(self.over.usual_mm(), &MILLIMETRE));
        format!("{}: a pad of {thick} under the print", self.over.name())
    }
}

/// A text that is no pad.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "found \"{found}\"{why}, expected zip, hood, pocket or seam, and a thickness where it is another: \"zip 8 mm\""
)]
pub struct NoPad {
    found: String,
    why: String,
}

impl FromStr for Pad {
    type Err = NoPad;
    fn from_str(text: &str) -> Result<Self, NoPad> {
        let wrong = |why: &str| NoPad { found: clean(text, 30), why: why.to_owned() };
        let (name, thick) = match text.trim().split_once(' ') {
            Some((name, thick)) => (name, Some(thick.trim())),
            None => (text.trim(), None),
        };
        let found = Over::ALL.into_iter().find(|over| over.name().eq_ignore_ascii_case(name));
        let over = found.ok_or_else(|| wrong(""))?;
        let thick = thick.map(str::parse::<Typed<Centimetres>>).transpose();
        let thick = thick.map_err(|_| wrong(""))?;
        if thick.is_some_and(|thick| !bounds::PAD.holds(thick.quantity().0)) {
            return Err(wrong(", which is no pad of 1 mm to 10 cm"));
        }
        Ok(Self { over, thick })
    }
}

impl TryFrom<String> for Pad {
    type Error = NoPad;
    fn try_from(text: String) -> Result<Self, NoPad> {
        text.parse()
    }
}

impl From<Pad> for String {
    fn from(pad: Pad) -> String {
        pad.to_string()
    }
}

impl fmt::Display for Pad {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.over.name();
        match self.thick {
            Some(thick) => f.pad(&format!("{name} {thick}")),
            None => f.pad(name),
        }
    }
}

/// What heat does to a colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Tender {
    Scorches,
    /// The platen leaves its mark.
    Marks,
    /// Its dye wanders into the print.
    Migrates,
}

impl Tender {
    /// What is said when such a garment is laid in. From memory: confirm it on a test garment.
    pub fn words(self) -> &'static str {
        match self {
            Tender::Scorches => "scorches: try it cooler, look at the first",
            Tender::Marks => "marks: a silicone pad, light pressure",
            Tender::Migrates => "its dye migrates: cooler, with a blocker",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pad_is_read_with_its_usual_thickness_or_its_own() {
        let read = |text: &str| text.parse::<Pad>();
        assert_eq!(read("zip").unwrap().in_words(), "zip: a pad of 6 mm under the print");
        assert_eq!(read("Hood 8 mm").unwrap().in_words(), "hood: a pad of 8 mm under the print");
        assert_eq!(read("zip 0.5 in").unwrap().to_string(), "zip 0.5 in");
        for text in ["", "button", "zip 8", "zip 2 m", "zip thick"] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
