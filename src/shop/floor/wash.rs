//! Wash samples: garments kept back, washed, and graded, so that a coat's weight meets its consequence.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::figures::coat::Verdict;
use crate::figures::fastness::Grade;
use crate::figures::trial::Seen;
use crate::figures::units::GramsPerSquareMetre;
use crate::shop::Shop;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::recipe::Recipe;

/// Below this grade a print has visibly gone (common practice, no source).
const POOR: f64 = 3.0;
/// So few samples say nothing of a window.
pub const LEAST_SAMPLES: usize = 3;

/// A garment that is kept back for the wash.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sample {
    pub recipe: String,
    pub coat: Option<GramsPerSquareMetre>,
    pub estimated: bool,
    /// The last result: washes, grade.
    pub result: Option<(u32, Grade)>,
}

/// A print that a customer brought back washed out: its recipe, its coat, and how it was graded, where it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CameBack {
    pub recipe: String,
    pub coat: GramsPerSquareMetre,
    pub grade: Option<Grade>,
}

/// What the samples of a recipe say of its window.
#[derive(Debug, Clone, PartialEq)]
pub struct WashVerdict {
    /// Coat and what was seen of each sample and return that has both, by the coat.
    pub points: Vec<(GramsPerSquareMetre, Seen)>,
    /// How many of these came back from customers: only what fails does.
    pub returned: usize,
    /// What looks wrong with the window, in words; None where nothing does, or too few samples carry it.
    pub doubt: Option<String>,
}

impl Shop {
    /// All wash samples by their tags.
    pub fn samples(&self) -> &BTreeMap<Tag, Sample> {
        &self.samples
    }

    /// What the wash has said of a recipe's coats, by the recipe's name.
    pub fn wash_verdict(&self, name: &str) -> Option<WashVerdict> {
        let recipe = self.recipes.named(name)?;
        let of_it = self.samples.values().filter(|sample| sample.recipe == name);
        let point = |sample: &Sample| Some((sample.coat?, Seen::Graded(sample.result?.1)));
        let mut points: Vec<(GramsPerSquareMetre, Seen)> = of_it.filter_map(point).collect();
        let tested = points.len();
        let back = self.came_back.values().filter(|back| back.recipe == name);
        points.extend(
            back.map(|back| (back.coat, back.grade.map_or(Seen::Passed(false), Seen::Graded))),
        );
        let returned = points.len() - tested;
        points.sort_by(|a, b| a.0.0.total_cmp(&b.0.0));
        let doubt = doubt(recipe, &points);
        (!points.is_empty()).then_some(WashVerdict { points, returned, doubt })
    }
}

/// Where poor grades lie inside the window, at one of its ends, while good ones lie elsewhere in it.
fn doubt(recipe: &Recipe, points: &[(GramsPerSquareMetre, Seen)]) -> Option<String> {
    let inside: Vec<&(GramsPerSquareMetre, Seen)> =
        points.iter().filter(|(coat, _)| recipe.verdict(*coat) == Verdict::Inside).collect();
    let poor = |point: &&&(GramsPerSquareMetre, Seen)| match point.1 {
        Seen::Graded(grade) => grade.number() < POOR,
        Seen::Passed(passed) => !passed,
    };
    let bad: Vec<f64> = inside.iter().filter(poor).map(|point| point.0.0).collect();
    if points.len() < LEAST_SAMPLES || bad.is_empty() {
        return None;
    }
    let target = recipe.coat.target.0;
    let (from, of) = (points.len(), bad.len());
    let least = bad.iter().copied().fold(f64::INFINITY, f64::min);
    let most = bad.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(if least > target {
        format!("too wide above {least:.0}? {of} of {from} samples faded there")
    } else if most < target {
        format!("too wide below {most:.0}? {of} of {from} samples faded there")
    } else {
        format!("{of} of {from} samples faded inside the window: look further than the coat")
    })
}
