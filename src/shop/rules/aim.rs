//! What a garment's coat is counted over: one answer for the scale, the pace, the steam and the account of fluid.

use crate::figures::coat;
use crate::figures::coverage::Coverage;
use crate::figures::spray::Task;
use crate::figures::strokes::Aim;
use crate::figures::units::Grams;
use crate::shop::Shop;
use crate::shop::floor::garment::Garment;

impl Shop {
    /// The print of the round that a garment is on, and its margin; the recipe's area where its line names none.
    pub fn aim(&self, garment: &Garment) -> Option<Aim> {
        let (_, recipe) = self.recipe_of(garment)?;
        let line = self.order(garment.order())?.form.lines.get(garment.line);
        let print = line.and_then(|line| line.aim(garment.round));
        Some(print.unwrap_or(Aim::Area(recipe.area)))
    }

    /// How what the scale shows and what lies under the print hang together for a garment.
    pub fn coverage(&self, garment: &Garment) -> Option<Coverage> {
        let motion = self.station()?.sprayer.map(|sprayer| sprayer.motion());
        Some(Coverage::of(self.aim(garment)?, motion.as_ref()))
    }

    /// What the sprayer has to do for a garment; None without a sprayer.
    pub fn spray_task(&self, garment: &Garment) -> Option<Task> {
        let (_, recipe) = self.recipe_of(garment)?;
        Some(self.station()?.sprayer?.task(self.aim(garment)?, recipe.coat.target))
    }

    /// The grams that the scale shows for a coat as it is aimed for.
    pub fn grams_right(&self, garment: &Garment) -> Option<Grams> {
        let (_, recipe) = self.recipe_of(garment)?;
        Some(self.coverage(garment)?.grams(recipe.coat.target))
    }

    /// What to do about the coat of a garment that was just weighed; None where it is inside, or not weighed.
    pub fn mend(&self, garment: &Garment) -> Option<String> {
        let (_, recipe) = self.recipe_of(garment)?;
        let (coat, grams) = (garment.coat_by_scale()?, garment.weighed?.coat()?);
        coat::mend(recipe.verdict(coat), grams, self.grams_right(garment)?)
    }

    /// What the scale shows where a light pass over a light coat is to stop: garment and coat. None where no pass is due.
    pub fn stop_at(&self, garment: &Garment) -> Option<Grams> {
        let (_, recipe) = self.recipe_of(garment)?;
        let (coat, weighing) = (garment.coat_by_scale()?, garment.weighed?);
        let light = recipe.verdict(coat) == coat::Verdict::Under;
        let stop = coat::stop_at(weighing.coat()?, self.grams_right(garment)?);
        light.then_some(Grams(weighing.before.0 + stop.0))
    }
}
