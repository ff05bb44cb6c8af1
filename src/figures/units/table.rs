//! The one table of units: every spelling that is read, in profiles, in forms and on the command line.
//!
//! Factors are the exact ones of NIST SP 811 (2008), appendix B.8: an inch is 2.54 cm, a foot 12 of them, a yard 3
//! feet, a pound 453.59237 g, an ounce a sixteenth of it. Letters may be large or small, except where that would be
//! another unit.

use super::{CM_PER_INCH, CM2_PER_M2, GRAMS_PER_OUNCE};

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Length,
    Mass,
    /// Mass on an area.
    Coat,
    /// Mass in a time.
    Flow,
    Angle,
}

impl Kind {
    /// What would have been read, with an example.
    pub(super) fn wanted(self) -> &'static str {
        match self {
            Kind::Length => "a length such as \"12 in\" or \"30 cm\"",
            Kind::Mass => "a weight such as \"152.4 g\" or \"5.4 oz\"",
            Kind::Coat => "a coat such as \"230 g/m2\" or \"6.8 oz/yd2\"",
            Kind::Flow => "a flow such as \"1.9 g/s\"",
            Kind::Angle => "an angle such as \"65\" or \"65 degrees\"",
        }
    }

    /// Its name, as in "no unit of length".
    pub(super) fn name(self) -> &'static str {
        match self {
            Kind::Length => "length",
            Kind::Mass => "weight",
            Kind::Coat => "coat",
            Kind::Flow => "flow",
            Kind::Angle => "angle",
        }
    }
}

/// A unit, and how many of the kind's own unit it is worth: centimetres, grams, g/m2, g/s, degrees.
#[derive(Debug, PartialEq)]
pub struct Unit {
    pub kind: Kind,
    /// As it is printed.
    pub symbol: &'static str,
    /// Other spellings, in small letters, with "2" for a square, without blanks and without a full stop at the end.
    others: &'static [&'static str],
    pub worth: f64,
    /// What its worth rests on beside its definition.
    pub assumes: Option<&'static str>,
}

const fn unit(
    kind: Kind,
    symbol: &'static str,
    others: &'static [&'static str],
    worth: f64,
) -> Unit {
    Unit { kind, symbol, others, worth, assumes: None }
}

/// A millilitre of pretreatment fluid weighs about a gram, as water does (common practice, no source).
const AS_WATER: &str =
    "a millilitre is counted as a gram, as of water: catch it and weigh it to know";

const fn by_volume(symbol: &'static str, others: &'static [&'static str], worth: f64) -> Unit {
    Unit { kind: Kind::Flow, symbol, others, worth, assumes: Some(AS_WATER) }
}

const INCH2_PER_M2: f64 = CM2_PER_M2 / (CM_PER_INCH * CM_PER_INCH);
/// Square metres in a square yard, exact: (0.9144 m)^2.
const M2_PER_YD2: f64 = 0.836_127_36;
const GRAMS_PER_POUND: f64 = 453.592_37;

pub static INCH: Unit =
    unit(Kind::Length, "in", &["inch", "inches", "\"", "\u{2033}", "\u{201d}", "''"], CM_PER_INCH);
pub static CENTIMETRE: Unit =
    unit(Kind::Length, "cm", &["centimetre", "centimetres", "centimeter", "centimeters"], 1.0);
pub static MILLIMETRE: Unit =
    unit(Kind::Length, "mm", &["millimetre", "millimetres", "millimeter", "millimeters"], 0.1);
pub static GRAM: Unit = unit(Kind::Mass, "g", &["gr", "gram", "grams", "gramme", "grammes"], 1.0);
pub static DEGREE: Unit = unit(Kind::Angle, "degrees", &["\u{b0}", "deg", "degree"], 1.0);

static OTHERS: [Unit; 17] = [
    unit(Kind::Length, "ft", &["foot", "feet", "'", "\u{2032}"], 12.0 * CM_PER_INCH),
    unit(Kind::Length, "yd", &["yard", "yards"], 36.0 * CM_PER_INCH),
    unit(Kind::Length, "m", &["metre", "metres", "meter", "meters"], 100.0),
    unit(Kind::Mass, "kg", &["kilo", "kilos", "kilogram", "kilograms"], 1000.0),
    unit(Kind::Mass, "oz", &["ounce", "ounces"], GRAMS_PER_OUNCE),
    unit(Kind::Mass, "lb", &["lbs", "pound", "pounds"], GRAMS_PER_POUND),
    unit(Kind::Coat, "g/m2", &["gsm", "g/sqm"], 1.0),
    unit(Kind::Coat, "g/in2", &["g/sqin"], INCH2_PER_M2),
    unit(Kind::Coat, "oz/yd2", &["oz/sqyd", "osy"], GRAMS_PER_OUNCE / M2_PER_YD2),
    unit(Kind::Coat, "oz/in2", &["oz/sqin"], GRAMS_PER_OUNCE * INCH2_PER_M2),
    unit(
        Kind::Flow,
        "g/s",
        &["g/sec", "g/second", "gram/s", "grams/s", "grams/second", "gps"],
        1.0,
    ),
    unit(Kind::Flow, "g/min", &["g/minute", "grams/min", "grams/minute"], 1.0 / 60.0),
    unit(Kind::Flow, "oz/s", &["oz/sec"], GRAMS_PER_OUNCE),
    unit(Kind::Flow, "oz/min", &["oz/minute", "ounces/minute"], GRAMS_PER_OUNCE / 60.0),
    by_volume("ml/s", &["ml/sec", "cc/s"], 1.0),
    by_volume("ml/min", &["ml/minute", "cc/min"], 1.0 / 60.0),
    by_volume("l/min", &["l/minute", "litre/min", "liter/min"], 1000.0 / 60.0),
];

/// Every unit.
pub fn all() -> impl Iterator<Item = &'static Unit> {
    [&INCH, &CENTIMETRE, &MILLIMETRE, &GRAM, &DEGREE].into_iter().chain(&OTHERS)
}

/// A unit of some kind by any of its spellings.
pub(super) fn find(kind: Kind, text: &str) -> Option<&'static Unit> {
    let name = spelling(text);
    all().filter(|unit| unit.kind == kind).find(|unit| unit.spellings().any(|other| other == name))
}

/// The symbols of a kind, to be told.
pub(super) fn symbols(kind: Kind) -> String {
    let all: Vec<_> = all().filter(|unit| unit.kind == kind).map(|unit| unit.symbol).collect();
    all.join(", ")
}

impl Unit {
    /// How it may be spelt.
    pub fn spellings(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.symbol).chain(self.others.iter().copied())
    }

    /// The symbol as it stands behind a number.
    pub(super) fn behind(&self, number: &str) -> String {
        format!("{number} {}", self.symbol)
    }
}

/// A unit's text as the table spells it: small letters, "2" for a square, no blanks, no full stop at its end.
fn spelling(text: &str) -> String {
    let text = text.to_lowercase().replace(" per ", "/").replace("sq.", "sq");
    let text = text.replace(['^', ' '], "").replace('\u{b2}', "2");
    text.trim_end_matches('.').replace("./", "/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_spelling_means_two_units() {
        let mut seen = std::collections::BTreeSet::new();
        for unit in all() {
            for name in unit.spellings() {
                assert_eq!(spelling(name), name, "{name} cannot be found");
                assert!(seen.insert(name), "{name} twice");
            }
        }
    }

    #[test]
    fn a_unit_is_found_however_it_is_typed() {
        for (kind, text, symbol) in [
            (Kind::Length, "IN", "in"),
            (Kind::Length, "in.", "in"),
            (Kind::Coat, "g/m\u{b2}", "g/m2"),
            (Kind::Coat, "G / m^2", "g/m2"),
            (Kind::Coat, "grams", ""),
            (Kind::Flow, "g per s", "g/s"),
        ] {
            let found = find(kind, text).map_or("", |unit| unit.symbol);
            assert_eq!(found, symbol, "{text}");
        }
    }
}
