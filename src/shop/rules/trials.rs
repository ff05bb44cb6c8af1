//! A trial that looks for a garment's window of coats: what may be said of it, and what follows.
//!
//! A trial is of one recipe, one filling of the sprayer and one eye: what would mix them is no garment of it, and is
//! refused with what to do instead.

use std::sync::Arc;

use super::command::{NoTrialStep, Refusal};
use super::decide::Facts;
use super::trail::Before;
use crate::figures::coat;
use crate::figures::coverage::Coverage;
use crate::figures::fastness::Grade;
use crate::figures::strokes::Aim;
use crate::figures::trial::answer::{Answer, Stop};
use crate::figures::trial::{Asked, Seen};
use crate::figures::units::{Grams, GramsPerSquareMetre, bounds};
use crate::shop::Shop;
use crate::shop::facts::coat::CoatWindow;
use crate::shop::facts::fact::{
    RecipeKept, TrialAnswered, TrialBegun, TrialEnded, TrialGraded, TrialSampled, TrialWeighed,
    WindowSigned,
};
use crate::shop::facts::mixture::Mixture;
use crate::shop::facts::recipe::Recipe;
use crate::shop::floor::trial::{TrialRun, TrialStep};

/// A filling in words.
fn filled_with(lots: &[String], fluids: &[Mixture]) -> String {
    let said = fluids.iter().map(ToString::to_string);
    let all: Vec<String> = lots.iter().cloned().chain(said).collect();
    if all.is_empty() { "an unknown filling".to_owned() } else { all.join(" and ") }
}

/// Kinds and dilutions, each once, whatever day they were mixed on.
fn undated(fluids: &[Mixture]) -> Vec<Mixture> {
    let mut found: Vec<Mixture> = Vec::new();
    for fluid in fluids.iter().map(|fluid| Mixture { mixed: None, ..*fluid }) {
        if !fluid.is_unsaid() && !found.contains(&fluid) {
            found.push(fluid);
        }
    }
    found
}

impl Shop {
    /// The trial that runs.
    pub fn trial(&self) -> Option<&TrialRun> {
        self.trial.as_deref()
    }

    /// The recipe of the trial, as it was when it began.
    pub fn trial_recipe(&self) -> Option<&Recipe> {
        self.recipes().get(&self.trial()?.begun.hash).map(Arc::as_ref)
    }

    /// What the trial is of, in words: its recipe's title, or its name where that is not known any more.
    pub fn trial_title(&self) -> Option<&str> {
        let title = self.trial_recipe().map(|recipe| recipe.title.as_str());
        title.or(self.trial().map(|run| run.begun.recipe.as_str()))
    }

    /// The area that is sprayed in the trial, and what the scale shows of it.
    pub fn trial_coverage(&self) -> Option<Coverage> {
        let motion = self.station()?.sprayer.map(|sprayer| sprayer.motion());
        Some(Coverage::of(Aim::Area(self.trial_recipe()?.area), motion.as_ref()))
    }

    fn running(&self) -> Result<&TrialRun, NoTrialStep> {
        let run = self.trial().ok_or(NoTrialStep::None)?;
        let (now, then) =
            (self.recipes().named(&run.begun.recipe), self.recipes().get(&run.begun.hash));
        let changed = match now.zip(then) {
            Some((now, then)) if now.says_same_window(then) => now.measured_otherwise(then, then),
            Some(_) => vec!["its window".to_owned()],
            None => vec!["its name".to_owned()],
        };
        if changed.is_empty() {
            return Ok(run);
        }
        let (recipe, changed) = (run.begun.recipe.clone(), changed.join(", "));
        Err(NoTrialStep::RecipeChanged { recipe, changed })
    }

    pub(in crate::shop) fn begin_trial(
        &self,
        recipe: &str,
        limit: Grade,
        cycles: u32,
    ) -> Result<Facts, Refusal> {
        if let Some(run) = self.trial() {
            return Err(NoTrialStep::Runs(run.begun.recipe.clone()).into());
        }
        if !(1..=200).contains(&cycles) {
            return Err(NoTrialStep::Cycles(cycles).into());
        }
        let unknown = || NoTrialStep::NoRecipe(recipe.to_owned());
        let hash = *self.recipes().hash_of(recipe).ok_or_else(unknown)?;
        let window = self.recipes().get(&hash).ok_or_else(unknown)?.coat;
        let asked = Asked::new(window.low, window.high, limit).map_err(NoTrialStep::from)?;
        let answer = Answer::of(asked, &[]).map_err(NoTrialStep::from)?.as_written();
        let begun = TrialBegun {
            recipe: recipe.to_owned(),
            hash,
            low: window.low,
            high: window.high,
            limit,
            cycles,
            lots: self.supplies().filling.lots.clone(),
            fluids: undated(&self.supplies().filling.fluids),
        };
        Ok(vec![begun.into(), TrialAnswered { answer }.into()])
    }

    /// What a weight says: the dry garment, or the garment with its coat on.
    pub(in crate::shop) fn weigh_trial(&self, grams: Grams) -> Result<Facts, Refusal> {
        let grams = grams.as_written();
        if !bounds::GARMENT.holds(grams.0) {
            return Err(Refusal::NoGarmentsWeight(grams));
        }
        let run = self.running()?;
        let (begun, filling) = (&run.begun, &self.supplies().filling);
        let fluids = undated(&filling.fluids);
        if begun.lots != filling.lots || begun.fluids != fluids {
            let (now, then) =
                (filled_with(&filling.lots, &fluids), filled_with(&begun.lots, &begun.fluids));
            return Err(NoTrialStep::OtherFluid { now, then }.into());
        }
        match run.next() {
            TrialStep::WeighDry { no, aim } => {
                Ok(vec![TrialWeighed { no, aimed: aim, grams }.into()])
            }
            TrialStep::WeighCoated { no, aim, before } => {
                let on = coat::picked_up(before, grams).map_err(Refusal::Coat)?;
                let coverage = self.trial_coverage().ok_or(Refusal::NoStation)?;
                let coat = coverage.per_area(on).as_written();
                if !bounds::COAT.holds(coat.0) {
                    return Err(NoTrialStep::NoCoat { coat: coat.0 }.into());
                }
                Ok(vec![TrialSampled { no, aimed: aim, before, after: grams, coat }.into()])
            }
            TrialStep::Grade { .. } | TrialStep::Over(_) => Err(NoTrialStep::NotWeighed.into()),
        }
    }

    /// What an eye says of the garment whose turn it is; None: it was spoiled or lost. The last grade of a round is
    /// followed by what the trial knows then.
    pub(in crate::shop) fn grade_trial(&self, seen: Option<Seen>) -> Result<Facts, Refusal> {
        let run = self.running()?;
        let TrialStep::Grade { no, after } = run.next() else {
            return Err(NoTrialStep::NotGraded.into());
        };
        let who = self.desk().people.clone();
        if !run.eye.is_empty() && !who.is_empty() && !who.iter().any(|one| run.eye.contains(one)) {
            let (now, then) = (who.join(", "), run.eye.join(", "));
            return Err(NoTrialStep::OtherEye { now, then }.into());
        }
        let graded = TrialGraded { no, after, seen, who };
        let mut then = run.clone();
        then.grade(&graded);
        let mut facts = vec![graded.into()];
        if then.is_round_done() {
            let answer = then.weighed_up().map_err(NoTrialStep::from)?;
            facts.push(TrialAnswered { answer }.into());
        }
        Ok(facts)
    }

    /// The window that the trial found, in whole g/m2, as a recipe has it.
    pub fn window_found(&self) -> Option<CoatWindow> {
        let answer = &self.trial()?.answer;
        let (low, high) = answer.window().filter(|_| answer.stop.is_some_and(Stop::is_found))?;
        let [low, target, high] =
            [low, answer.target, high].map(|coat| GramsPerSquareMetre(coat.0.round()));
        (low <= target && target <= high).then_some(CoatWindow { low, target, high })
    }

    pub(in crate::shop) fn sign_window(&self, who: &str) -> Result<Facts, Refusal> {
        let run = self.running()?;
        let who = super::people::initials(who).ok_or(Refusal::NoInitials)?;
        let why = || NoTrialStep::NothingToSign(run.answer.advice());
        let coat = self.window_found().ok_or_else(why)?;
        let now = self.recipes().named(&run.begun.recipe).ok_or_else(why)?;
        let of = self.recipes().signed_upon(&run.begun.recipe).ok_or_else(why)?;
        let TrialBegun { recipe, limit, cycles, lots, fluids, .. } = run.begun.clone();
        let garments = run.answer.garments;
        // The window is that of the fluid that was sprayed, as far as it was said which.
        let sprayed = match fluids.as_slice() {
            [one] => *one,
            _ => Mixture::default(),
        };
        let text = Recipe {
            coat,
            confirmed: Some(format!("{who}, by a trial of {garments} garments")),
            fluid_kind: sprayed.kind.or(now.fluid_kind),
            dilution: sprayed.dilution.or(now.dilution),
            ..Recipe::clone(now)
        };
        let hash = text.hash();
        let signed = WindowSigned {
            recipe: recipe.clone(),
            of,
            hash,
            coat,
            who,
            lots,
            limit,
            cycles,
            evidence: run.answer.clone(),
        };
        Ok(vec![signed.into(), RecipeKept { recipe, hash, text: Arc::new(text) }.into()])
    }

    pub(in crate::shop) fn end_trial(&self) -> Result<Facts, Refusal> {
        let run = self.trial().ok_or(NoTrialStep::None)?;
        let ended = TrialEnded {
            recipe: run.begun.recipe.clone(),
            stop: run.answer.stop,
            garments: run.garments.len(),
        };
        Ok(vec![ended.into()])
    }

    /// Changes the trial that runs.
    pub(in crate::shop) fn with_trial(&mut self, change: impl FnOnce(&mut TrialRun)) {
        self.trail.keep(Before::Trial(self.trial.clone()));
        if let Some(run) = &mut self.trial {
            change(Arc::make_mut(run));
        }
    }

    /// Another trial runs from now on, or none.
    pub(in crate::shop) fn set_trial(&mut self, run: Option<TrialRun>) {
        self.trail.keep(Before::Trial(std::mem::replace(&mut self.trial, run.map(Arc::new))));
    }

    /// The window is the recipe's from now on, and the trial is over.
    pub(in crate::shop) fn window_signed(&mut self, fact: &WindowSigned) {
        self.set_trial(None);
        let before = self.recipes.sign(&fact.recipe, fact.of, fact.hash);
        self.trail.keep(Before::Signed(Box::new(before)));
    }
}
