//! How heavy a coat is: grams on, over the area, against the recipe's window.

use super::units::compare::{COAT_QUANTUM, above};
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
        if above(low.0, coat.0, COAT_QUANTUM) {
            Verdict::Under
        } else if above(coat.0, high.0, COAT_QUANTUM) {
            Verdict::Over
        } else {
            Verdict::Inside
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

/// Where a light pass over a light coat stops, in grams of coat on the scale: never more than half a coat further.
pub fn stop_at(on_scale: Grams, right: Grams) -> Grams {
    const HALF: f64 = 0.5;
    Grams(right.0.min(on_scale.0 + HALF * right.0))
}

/// What to do about a coat: so many grams on the scale, where so many are right. None where it is inside.
///
/// A light one gets one light pass, and never more than half a coat at once: overshooting is the usual fault. What
/// to do about a heavy one is common practice, no source.
pub fn mend(verdict: Verdict, on_scale: Grams, right: Grams) -> Option<String> {
    // On a small print the tenths of a gram decide.
    let places = usize::from(right.0 < 20.0);
    let off = (right.0 - on_scale.0).abs();
    match verdict {
        Verdict::Inside => None,
        Verdict::Under => {
            let stop = stop_at(on_scale, right).0;
            let text = "one light pass across, weigh again, stop at";
            Some(format!("{off:.places$} g short: {text} {stop:.places$} g"))
        }
        Verdict::Over => {
            let text = "blot it, let it hang, hover the press over it, then dry";
            Some(format!(
                "{off:.places$} g too heavy: {text}; likely to wash out: mark the garment"
            ))
        }
    }
}

/// Whether a hand corrects back and forth by too much: of the last three coats, told by how far each was off what was
/// aimed for, each lies on the other side than the one before, and one correction at least was more than twice the
/// error that it answered. Corrections as large as that make the errors grow (M).
pub fn overcorrects(off: [f64; 3]) -> bool {
    const TWICE: f64 = 2.0;
    let [first, second, third] = off;
    let crossed = |from: f64, to: f64| from * to < 0.0;
    let too_far = |from: f64, to: f64| (to - from).abs() > TWICE * from.abs();
    crossed(first, second)
        && crossed(second, third)
        && (too_far(first, second) || too_far(second, third))
}
