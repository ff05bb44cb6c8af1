//! What a garment is made of: what its cloth asks of the heat, and what it weighs in the balance of its drying.
//!
//! All figures are from memory: starting values, to be confirmed with whoever sells the garments.

use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::words::clean;
use crate::figures::steam::USUAL_CLOTH;
use crate::figures::units::{Grams, GramsPerSquareMetre, Temperature};

/// What a garment is made of, as far as it matters at the press.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Cloth {
    Cotton,
    /// Cotton with up to half polyester.
    Blend,
    /// More than half polyester.
    Polyester,
    /// Thick and brushed, mostly of cotton.
    Fleece,
}

impl Cloth {
    /// All of them.
    pub const ALL: [Cloth; 4] = [Cloth::Cotton, Cloth::Blend, Cloth::Polyester, Cloth::Fleece];

    /// As the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Cloth::Cotton => "cotton",
            Cloth::Blend => "blend",
            Cloth::Polyester => "polyester",
            Cloth::Fleece => "fleece",
        }
    }

    /// Above it its dye may migrate into the print; None where dye is not what limits the heat. From memory.
    pub fn dye_holds_to(self) -> Option<Temperature> {
        match self {
            Cloth::Blend => Some(Temperature::fahrenheit(320.0)),
            Cloth::Polyester => Some(Temperature::fahrenheit(300.0)),
            Cloth::Cotton | Cloth::Fleece => None,
        }
    }

    /// A press too hot for its dye, in words.
    pub fn too_hot(self, dial: Temperature) -> Option<String> {
        let most =
            self.dye_holds_to().filter(|most| dial.as_celsius() > most.as_celsius() + 0.5)?;
        let (cloth, most) = (self.words(), dial.of_celsius(most.as_celsius()));
        Some(format!("{cloth} at {dial}: its dye may migrate above {most}; look at the first"))
    }

    /// What it usually weighs. From memory.
    pub(super) fn usual(self) -> Weights {
        let (cloth, blank) = match self {
            Cloth::Cotton => (USUAL_CLOTH.0, 155.0),
            Cloth::Blend => (160.0, 140.0),
            Cloth::Polyester => (150.0, 130.0),
            Cloth::Fleece => (290.0, 520.0),
        };
        Weights { cloth: GramsPerSquareMetre(cloth), blank: Grams(blank) }
    }
}

/// A text that is no cloth.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("found \"{0}\", expected cotton, blend, polyester or fleece")]
pub struct NoCloth(String);

impl FromStr for Cloth {
    type Err = NoCloth;
    fn from_str(text: &str) -> Result<Self, NoCloth> {
        let name = text.trim();
        let found = Cloth::ALL.into_iter().find(|cloth| cloth.words().eq_ignore_ascii_case(name));
        found.ok_or_else(|| NoCloth(clean(text, 30)))
    }
}

/// What cloth weighs, and a whole garment of size M of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    pub cloth: GramsPerSquareMetre,
    pub blank: Grams,
}

/// Each size takes so much more cloth than the one before it. From memory.
const A_SIZE: f64 = 1.08;
/// A weighed garment is believed to be of cloth between these shares of the usual: what lies outside was another one.
const BELIEVED: std::ops::RangeInclusive<f64> = 0.6..=1.6;

impl Weights {
    /// The cloth of a garment by its weight on the scale and its size mark. As usual where the mark says no size, or where
    /// no such garment weighs so much.
    pub fn by_scale(self, grams: Grams, mark: &str) -> GramsPerSquareMetre {
        let Some(sizes) = sizes_over_m(mark) else { return self.cloth };
        let share = grams.0 / (self.blank.0 * A_SIZE.powi(sizes));
        let share = if BELIEVED.contains(&share) { share } else { 1.0 };
        GramsPerSquareMetre(self.cloth.0 * share)
    }
}

/// How many sizes a mark is above M; None where it is no size of letters.
fn sizes_over_m(mark: &str) -> Option<i32> {
    const MOST: i32 = 8;
    let mark = mark.trim().to_ascii_uppercase();
    let letters = |end: char| mark.strip_suffix(end).map(str::to_owned);
    let many = |xs: &str| match xs.trim_end_matches('X') {
        "" => i32::try_from(xs.len()).ok(),
        number if xs.len() == number.len() + 1 => number.parse().ok(),
        _ => None,
    };
    let sizes = match mark.as_str() {
        "M" => 0,
        _ => match (letters('S'), letters('L')) {
            (Some(xs), _) => -1 - many(&xs)?,
            (_, Some(xs)) => 1 + many(&xs)?,
            _ => return None,
        },
    };
    (sizes.abs() <= MOST).then_some(sizes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cloth_is_known_by_the_scale_where_the_size_is() {
        let usual = Cloth::Cotton.usual();
        let heavy = |grams: f64, mark: &str| usual.by_scale(Grams(grams), mark).0;
        assert!((heavy(155.0, "M") - 180.0).abs() < 1e-9);
        assert!((heavy(155.0 * 1.08 * 1.08, "XL") - 180.0).abs() < 1e-9);
        assert!((heavy(155.0 * 1.2, " m ") - 216.0).abs() < 1e-9);
        // Neither a mark that is no size nor a weight of another garment tells anything.
        for (grams, mark) in
            [(200.0, ""), (200.0, "38"), (200.0, "kids"), (520.0, "M"), (60.0, "M")]
        {
            assert!((heavy(grams, mark) - 180.0).abs() < 1e-9, "{grams} g, {mark}");
        }
    }

    #[test]
    fn a_mark_of_letters_is_a_size() {
        let known = [
            ("XS", -2),
            ("S", -1),
            ("M", 0),
            ("L", 1),
            ("xl", 2),
            ("XXL", 3),
            ("2XL", 3),
            ("3XL", 4),
        ];
        for (mark, sizes) in known {
            assert_eq!(sizes_over_m(mark), Some(sizes), "{mark}");
        }
        for mark in ["", "40", "LS", "99XL", "2L", "XLT", "tall"] {
            assert_eq!(sizes_over_m(mark), None, "{mark}");
        }
    }

    #[test]
    fn cloth_is_read_by_its_word() {
        for cloth in Cloth::ALL {
            assert_eq!(cloth.words().parse(), Ok(cloth));
        }
        assert_eq!(" Fleece ".parse(), Ok(Cloth::Fleece));
        let wrong = "wool\x1b".parse::<Cloth>().unwrap_err().to_string();
        assert_eq!(wrong, "found \"wool\", expected cotton, blend, polyester or fleece");
    }

    #[test]
    fn dye_is_warned_of_where_the_press_is_hotter() {
        let (hot, right) = (Temperature::fahrenheit(340.0), Temperature::fahrenheit(300.0));
        assert!(Cloth::Polyester.too_hot(hot).is_some_and(|said| said.contains("above 300 F")));
        assert!(Cloth::Blend.too_hot(hot).is_some());
        assert_eq!(Cloth::Polyester.too_hot(right), None);
        assert_eq!(Cloth::Cotton.too_hot(hot), None);
    }
}
