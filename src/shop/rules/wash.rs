//! Keeping a garment back as a wash sample, and noting what the wash did to it.

use std::sync::Arc;

use super::command::Refusal;
use super::decide::Facts;
use super::trail::Before;
use crate::shop::Shop;
use crate::shop::facts::fact::{WashSampled, Washed};
use crate::shop::facts::ids::Tag;
use crate::shop::floor::garment::Place;
use crate::shop::floor::wash::Sample;

/// The most samples that are kept in mind.
const MOST_SAMPLES: usize = 500;
/// More washes than any test has.
pub(super) const MOST_CYCLES: u32 = 200;

impl Shop {
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
        if wash.file.as_deref().is_some_and(|file| self.taken_files().has(file)) {
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
        let sample = Sample {
            recipe: fact.recipe.clone(),
            coat: fact.coat,
            estimated: fact.estimated,
            result: None,
        };
        let samples = Arc::make_mut(&mut self.samples);
        if samples.len() == MOST_SAMPLES
            && let Some((oldest, gone)) = samples.pop_first()
        {
            self.trail.keep(Before::Sample(oldest, Some(gone)));
        }
        let before = samples.insert(fact.garment, sample);
        self.trail.keep(Before::Sample(fact.garment, before));
    }

    pub(in crate::shop) fn washed(&mut self, fact: &Washed) {
        if let Some(sample) = Arc::make_mut(&mut self.samples).get_mut(&fact.garment) {
            let before = sample.clone();
            sample.result = Some((fact.cycles, fact.grade));
            // What comes by a file is no act of the bench: it stays where the act before it is taken back.
            if fact.file.is_none() {
                self.trail.keep(Before::Sample(fact.garment, Some(before)));
            }
        }
        if let Some(file) = &fact.file {
            self.files.remember(file);
        }
    }
}
