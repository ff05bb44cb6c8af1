//! Wash samples: garments kept back, washed, and graded, so that a coat's weight meets its consequence.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::garment::Place;
use crate::figures::coat::Verdict;
use crate::figures::fastness::Grade;
use crate::figures::units::GramsPerSquareMetre;
use crate::shop::Shop;
use crate::shop::facts::fact::{WashSampled, Washed};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::recipe::Recipe;
use crate::shop::rules::command::Refusal;
use crate::shop::rules::decide::Facts;
use crate::shop::rules::trail::Before;

/// The most samples that are kept in mind.
const MOST_SAMPLES: usize = 500;
/// More washes than any test has.
const MOST_CYCLES: u32 = 200;
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

/// What the samples of a recipe say of its window.
#[derive(Debug, Clone, PartialEq)]
pub struct WashVerdict {
    /// Coat and grade of each sample that has both, by the coat.
    pub points: Vec<(GramsPerSquareMetre, Grade)>,
    /// What looks wrong with the window, in words; None where nothing does, or too few samples carry it.
    pub doubt: Option<String>,
}

impl Shop {
    /// All wash samples by their tags.
    pub fn samples(&self) -> &BTreeMap<Tag, Sample> {
        &self.samples
    }

    pub(in crate::shop) fn sample(&self, tag: Tag) -> Result<Facts, Refusal> {
        let garment = self.garment(tag).ok_or(Refusal::NoSuchGarment(tag))?;
        if self.samples.contains_key(&tag) {
            return Err(Refusal::SampleKnown(tag));
        }
        let recipe = self.recipe_name(garment).ok_or(Refusal::NoRecipe(tag))?.to_owned();
        let coat = garment.coat;
        Ok(vec![
            WashSampled {
                garment: tag,
                recipe,
                coat: coat.map(|(coat, _)| coat),
                estimated: coat.is_some_and(|(_, estimated)| estimated),
            }
            .into(),
        ])
    }

    pub(in crate::shop) fn note_wash(&self, wash: &Washed) -> Result<Facts, Refusal> {
        let tag = wash.garment;
        if wash.file.as_deref().is_some_and(|file| self.has_taken(file)) {
            return Err(Refusal::WashKnown(tag));
        }
        if !self.samples.contains_key(&tag) {
            return Err(Refusal::NoSample(tag));
        }
        let unfinished = |place| !matches!(place, Place::Finished | Place::Out);
        if self.garment(tag).is_some_and(|garment| unfinished(garment.place)) {
            return Err(Refusal::NotYetCured(tag));
        }
        if !(1..=MOST_CYCLES).contains(&wash.cycles) {
            return Err(Refusal::NoCycles(wash.cycles));
        }
        Ok(vec![wash.clone().into()])
    }

    pub(in crate::shop) fn keep_sample(&mut self, fact: &WashSampled) {
        self.trail.keep(Before::Samples(Arc::clone(&self.samples)));
        let samples = Arc::make_mut(&mut self.samples);
        if samples.len() == MOST_SAMPLES {
            samples.pop_first();
        }
        let sample = Sample {
            recipe: fact.recipe.clone(),
            coat: fact.coat,
            estimated: fact.estimated,
            result: None,
        };
        samples.insert(fact.garment, sample);
    }

    pub(in crate::shop) fn washed(&mut self, fact: &Washed) {
        self.trail.keep(Before::Samples(Arc::clone(&self.samples)));
        if let Some(sample) = Arc::make_mut(&mut self.samples).get_mut(&fact.garment) {
            sample.result = Some((fact.cycles, fact.grade));
        }
        if let Some(file) = &fact.file {
            self.remember_file(file);
        }
    }

    /// What the wash has said of a recipe's coats, by the recipe's name.
    pub fn wash_verdict(&self, name: &str) -> Option<WashVerdict> {
        let recipe = self.recipe(self.names.get(name)?)?;
        let of_it = self.samples.values().filter(|sample| sample.recipe == name);
        let mut points: Vec<(GramsPerSquareMetre, Grade)> =
            of_it.filter_map(|sample| Some((sample.coat?, sample.result?.1))).collect();
        points.sort_by(|a, b| a.0.0.total_cmp(&b.0.0));
        let doubt = doubt(recipe, &points);
        (!points.is_empty()).then_some(WashVerdict { points, doubt })
    }
}

/// Where poor grades lie inside the window, at one of its ends, while good ones lie elsewhere in it.
fn doubt(recipe: &Recipe, points: &[(GramsPerSquareMetre, Grade)]) -> Option<String> {
    let inside: Vec<&(GramsPerSquareMetre, Grade)> =
        points.iter().filter(|(coat, _)| recipe.verdict(*coat) == Verdict::Inside).collect();
    let poor = |point: &&&(GramsPerSquareMetre, Grade)| point.1.number() < POOR;
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
