//! What a fluid is beside its lot: for which cloth it was made, how it is thinned, when it was mixed.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::day::Day;
use super::words::clean;

/// The cloth that a fluid is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum FluidKind {
    Dark,
    Light,
    Polyester,
}

impl FluidKind {
    /// All of them, in the order of their keys.
    pub const ALL: [FluidKind; 3] = [FluidKind::Dark, FluidKind::Light, FluidKind::Polyester];

    /// As the board says it.
    pub fn words(self) -> &'static str {
        match self {
            FluidKind::Dark => "dark",
            FluidKind::Light => "light",
            FluidKind::Polyester => "polyester",
        }
    }
}

/// How a fluid is thinned, in parts of fluid and of water: "1:1"; "none" where it is used as it comes.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Dilution {
    fluid: u8,
    water: u8,
}

/// A text that is no dilution.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("found \"{0}\", expected parts of fluid and of water such as \"1:1\", or \"none\"")]
pub struct NotADilution(String);

impl Dilution {
    /// As it comes.
    pub const NONE: Dilution = Dilution { fluid: 1, water: 0 };
    /// The most parts of either.
    const MOST: u8 = 20;
}

/// Two parts to two are one to one.
impl PartialEq for Dilution {
    fn eq(&self, other: &Self) -> bool {
        u16::from(self.fluid) * u16::from(other.water)
            == u16::from(other.fluid) * u16::from(self.water)
    }
}

impl Eq for Dilution {}

impl FromStr for Dilution {
    type Err = NotADilution;
    fn from_str(text: &str) -> Result<Self, NotADilution> {
        let wrong = || NotADilution(clean(text, 20));
        // On a keypad there is no colon.
        let text = text.trim();
        if text.eq_ignore_ascii_case("none") || text == "0" {
            return Ok(Self::NONE);
        }
        let (fluid, water) = text.split_once([':', '-']).ok_or_else(wrong)?;
        let parts = |text: &str, least: u8| {
            let parts = text.trim().parse::<u8>().map_err(|_| wrong())?;
            if (least..=Self::MOST).contains(&parts) { Ok(parts) } else { Err(wrong()) }
        };
        Ok(Self { fluid: parts(fluid, 1)?, water: parts(water, 0)? })
    }
}

impl TryFrom<String> for Dilution {
    type Error = NotADilution;
    fn try_from(text: String) -> Result<Self, NotADilution> {
        text.parse()
    }
}

impl From<Dilution> for String {
    fn from(dilution: Dilution) -> String {
        dilution.to_string()
    }
}

impl fmt::Display for Dilution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.water {
            0 => f.pad("none"),
            water => f.pad(&format!("{}:{water}", self.fluid)),
        }
    }
}

/// What was said of a fluid when it was filled in; each part may be left unsaid.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mixture {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<FluidKind>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dilution: Option<Dilution>,
    /// The day on which it was mixed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mixed: Option<Day>,
}

impl Mixture {
    /// Whether nothing was said.
    pub fn is_unsaid(&self) -> bool {
        *self == Self::default()
    }

    /// Whether it is another fluid than one that is wanted; what was not said of either is no other.
    pub fn differs_from(&self, wanted: &Mixture) -> bool {
        self.kind.zip(wanted.kind).is_some_and(|(is, wants)| is != wants)
            || self.dilution.zip(wanted.dilution).is_some_and(|(is, wants)| is != wants)
    }
}

/// "dark fluid, 1:1, mixed 2026-03-02"; only what was said.
impl fmt::Display for Mixture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = self.kind.map(|kind| format!("{} fluid", kind.words()));
        let dilution = self.dilution.map(|dilution| match dilution.water {
            0 => "not thinned".to_owned(),
            _ => format!("thinned {dilution}"),
        });
        let mixed = self.mixed.map(|day| format!("mixed {day}"));
        let said: Vec<String> = [kind, dilution, mixed].into_iter().flatten().collect();
        f.pad(&said.join(", "))
    }
}

/// Several mixtures in words, as after a top-up.
pub fn in_words(mixtures: &[Mixture]) -> String {
    let said: Vec<String> = mixtures.iter().map(Mixture::to_string).collect();
    said.join(" and ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dilution_reads_as_it_is_written_and_a_wrong_one_is_refused() {
        for (text, written) in [
            ("1:1", "1:1"),
            (" 2:1 ", "2:1"),
            ("1-2", "1:2"),
            ("none", "none"),
            ("1:0", "none"),
            ("0", "none"),
        ] {
            let read: Dilution = text.parse().unwrap();
            assert_eq!(read.to_string(), written);
            assert_eq!(read.to_string().parse::<Dilution>().unwrap(), read);
        }
        assert_eq!("2:2".parse::<Dilution>().unwrap(), "1:1".parse().unwrap());
        for wrong in ["", "1", "0:1", "1:21", "1:1:1", "-1:1", "half", "1:x"] {
            let said = wrong.parse::<Dilution>().unwrap_err().to_string();
            assert!(said.contains("expected parts of fluid and of water"), "{wrong}: {said}");
        }
    }
}
