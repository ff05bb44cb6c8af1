//! How heavy a coat is: grams on, over the area, against the recipe's window.

use super::units::{CM2_PER_M2, Grams, GramsPerSquareMetre, SquareCentimetres};

/// How a coat lies to its window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    Under,
    Inside,
    Over,
}

impl Verdict {
    /// The verdict in a word, as a board says it.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Under => "TOO LIGHT",
            Verdict::Inside => "inside",
            Verdict::Over => "TOO HEAVY",
        }
    }

    /// Where a weight lies between two limits; the limits themselves are inside.
    pub fn of(
        coat: GramsPerSquareMetre,
        low: GramsPerSquareMetre,
        high: GramsPerSquareMetre,
    ) -> Self {
        match coat {
            coat if coat < low => Verdict::Under,
            coat if coat > high => Verdict::Over,
            _ => Verdict::Inside,
        }
    }
}

/// Two weights that cannot be those of a garment before and after its spray.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoCoat {
    #[error("after ({after}) is lighter than before ({before}): were they swapped?")]
    Lighter { before: Grams, after: Grams },
    #[error("a garment weighs more than nothing: found {0}")]
    Nothing(Grams),
}

/// The fluid that went on: the wet pick-up.
///
/// # Errors
/// A garment that lost weight, or that weighs nothing.
pub fn picked_up(before: Grams, after: Grams) -> Result<Grams, NoCoat> {
    if before.0 <= 0.0 {
        return Err(NoCoat::Nothing(before));
    }
    if after < before {
        return Err(NoCoat::Lighter { before, after });
    }
    Ok(Grams(after.0 - before.0))
}

/// Grams over an area, by definition of the unit.
pub fn per_area(fluid: Grams, area: SquareCentimetres) -> GramsPerSquareMetre {
    GramsPerSquareMetre(fluid.0 / area.0 * CM2_PER_M2)
}

/// The grams of a coat over an area: the other way round.
pub fn over(coat: GramsPerSquareMetre, area: SquareCentimetres) -> Grams {
    Grams(coat.0 * area.0 / CM2_PER_M2)
}
