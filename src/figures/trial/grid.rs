//! The grid on which an edge is looked for: where it may lie, and how grades may fall off beside it.

use std::sync::LazyLock;

use statrs::distribution::{Continuous, StudentsT};
use statrs::function::erf::erfc;

/// Steps of ln(coat) between two cells.
pub const STEP: f64 = 0.02;
/// Cells on either side of where the edge is thought to lie: up to a factor of four.
const EACH_WAY: i32 = 70;
/// Cells in all.
pub const CELLS: usize = 141;
/// The chance that a result says nothing: a swapped garment, a slip of the pen (chosen here, no source).
pub const MISTAKE: f64 = 0.05;
/// Grades from 1 to 5 in halves.
pub const GRADES: usize = 9;

/// Grades lost in one unit of ln(coat) beyond the edge: half a grade for each 6 to 36 % of coat (chosen here, no
/// source).
const SLOPES: [f64; 5] = [1.4, 2.2, 3.5, 5.5, 8.5];
/// How far above the edge the mean may rise, as parts of what is left up to grade 5.05 (chosen here, no source).
const RISES: [f64; 4] = [0.31, 0.54, 0.77, 1.0];
const BEST: f64 = 5.05;
/// Standard deviations of garment and eye together, in grades (chosen here, no source).
const SPREADS: [f64; 3] = [0.3, 0.5, 0.8];
/// How grades may fall off: so many curves.
pub const CURVES: usize = SLOPES.len() * RISES.len() * SPREADS.len();

/// How grades fall off beside an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// Grades in one unit of ln(coat).
    pub slope: f64,
    /// The most grades above the edge's own.
    pub rise: f64,
    /// Standard deviation, in grades.
    pub spread: f64,
}

/// Every curve, for an edge at which the mean grade is `cut`.
pub fn curves(cut: f64) -> Vec<Curve> {
    let mut curves = Vec::with_capacity(CURVES);
    for slope in SLOPES {
        for rise in RISES {
            let rise = rise * (BEST - cut);
            curves.extend(SPREADS.map(|spread| Curve { slope, rise, spread }));
        }
    }
    curves
}

impl Curve {
    /// The mean grade of a coat that lies `inside` the edge by so much of ln(coat); below 0 it lies outside.
    pub fn mean(self, cut: f64, inside: f64) -> f64 {
        (cut + self.rise.min(self.slope * inside)).clamp(0.5, 5.5)
    }

    /// The chance of a grade, as 1, 1.5, ... 5, where the mean is `mean`.
    pub fn chance_of(self, grade: f64, mean: f64) -> f64 {
        const HALF_A_STEP: f64 = 0.25;
        let below = |grade: f64| normal((grade - mean) / self.spread);
        let from = if grade > 1.0 { below(grade - HALF_A_STEP) } else { 0.0 };
        let upto = if grade < 5.0 { below(grade + HALF_A_STEP) } else { 1.0 };
        (1.0 - MISTAKE) * (upto - from) + MISTAKE / GRADES as f64
    }

    /// The chance that a garment without a mistake passes.
    pub fn passes(self, cut: f64, mean: f64) -> f64 {
        1.0 - normal((cut - mean) / self.spread)
    }

    /// The chance that an eye lets it pass, where `passing` of the grades do.
    pub fn chance_of_passing(self, cut: f64, mean: f64, passing: usize) -> f64 {
        let by_mistake = passing as f64 / GRADES as f64;
        (1.0 - MISTAKE) * self.passes(cut, mean) + MISTAKE * by_mistake
    }
}

/// The normal distribution up to `z` standard deviations.
fn normal(z: f64) -> f64 {
    erfc(-z * std::f64::consts::FRAC_1_SQRT_2) / 2.0
}

/// Where the cells lie, from where the edge is thought to lie, in ln(coat).
pub fn offsets() -> impl Iterator<Item = f64> {
    (-EACH_WAY..=EACH_WAY).map(|cell| f64::from(cell) * STEP)
}

/// What is believed of an edge before anything was seen, cell by cell: Student's t with four degrees of freedom and a
/// scale of 0.3 (M: a recipe's window, itself from memory or from practice, may be a third out).
pub fn prior() -> &'static [f64] {
    const FREEDOM: f64 = 4.0;
    const SCALE: f64 = 0.3;
    static PRIOR: LazyLock<Vec<f64>> = LazyLock::new(|| {
        // The distribution has no other failure than a scale or a freedom of none.
        let density = |off: f64| {
            StudentsT::new(0.0, SCALE, FREEDOM).map_or(0.0, |believed| believed.pdf(off))
        };
        let heights: Vec<f64> = offsets().map(density).collect();
        let sum: f64 = heights.iter().sum();
        heights.into_iter().map(|height| height / sum).collect()
    });
    &PRIOR
}
