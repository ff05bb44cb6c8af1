//! What a measured window of coats stands on, and whether a recipe that was written anew still has it.
//!
//! A window belongs to fluid, dilution and cloth together; what holds in the wash hangs on the drying and the cure too, and
//! how even a coat lies on how it is laid: common practice, no source. A trial therefore mixes none of them. What the rest
//! of a recipe says (titles, limits of waiting, the printer's time, the pre-press before the first weight, the area: coats
//! are counted per area, and under the print, wherever the strokes end) moves no edge of it.

use std::fmt::Display;

use super::coat::CoatWindow;
use super::recipe::{Pressing, Recipe, Spray};
use super::step::Step;

/// As close as two heats must be to count as one, in degrees C.
const ALIKE: f64 = 0.5;

impl Recipe {
    /// This recipe as `trial` found its coats: the window, who confirmed it and the fluid are those of the trial.
    pub fn with_window_of(&self, trial: &Recipe) -> Recipe {
        Recipe {
            coat: trial.coat,
            confirmed: trial.confirmed.clone(),
            fluid_kind: trial.fluid_kind,
            dilution: trial.dilution,
            ..self.clone()
        }
    }

    /// Whether the window itself, or who confirmed it, is what it was.
    pub fn says_same_window(&self, then: &Recipe) -> bool {
        self.coat == then.coat && self.confirmed == then.confirmed
    }

    /// What `self` does otherwise than `trial`, of all that a window stands on, in words: "cure 120s (was 105s)". Of the fluid
    /// the file counts, where it says another than it said `then`, at the signing: `trial`
    /// says which fluid was really sprayed. What was never said of fluid or garment is no other.
    pub fn measured_otherwise(&self, then: &Recipe, trial: &Recipe) -> Vec<String> {
        let mut found = Vec::new();
        if self.fluid_kind != then.fluid_kind {
            let words = |recipe: &Recipe| recipe.fluid_kind.map(|kind| kind.words());
            found.extend(other("fluid", words(self), words(trial)));
        }
        if self.dilution != then.dilution {
            found.extend(other("thinned", self.dilution, trial.dilution));
        }
        let words = |recipe: &Recipe| recipe.cloth.map(|cloth| cloth.words());
        found.extend(other("cloth", words(self), words(trial)));
        found.extend(other("cloth weight", self.cloth_weight, trial.cloth_weight));
        found.extend(other("blank weight", self.blank_weight, trial.blank_weight));
        found.extend(other("sprayed", Some(sprayed(self.spray)), Some(sprayed(trial.spray))));
        let rolled = |recipe: &Recipe| Some(if recipe.roll { "yes" } else { "no" });
        found.extend(other("rolled", rolled(self), rolled(trial)));
        for step in [Step::Dry, Step::Cure] {
            if let Some((now, then)) = self.pressing(step, false).zip(trial.pressing(step, false)) {
                found.extend(pressed_otherwise(step, &now, &then));
            }
        }
        found
    }
}

/// Two that were said and are not alike.
fn other<T: PartialEq + Display>(what: &str, now: Option<T>, then: Option<T>) -> Option<String> {
    let (now, then) = now.zip(then).filter(|(now, then)| now != then)?;
    Some(format!("{what} {now} (was {then})"))
}

fn sprayed(spray: Spray) -> &'static str {
    match spray {
        Spray::Hand => "by hand",
        Spray::Machine(_) => "by a machine",
        Spray::BoughtTreated => "before it was bought",
    }
}

fn pressed_otherwise(step: Step, now: &Pressing, then: &Pressing) -> Vec<String> {
    let said = |what: &str| format!("{step} {what}").trim_end().to_owned();
    let off = (now.set_point.as_celsius() - then.set_point.as_celsius()).abs();
    let heat = if off > ALIKE { Some((now.set_point, then.set_point)) } else { None };
    let cover =
        |pressing: &Pressing| Some(pressing.cover.map_or("nothing".to_owned(), |c| c.to_string()));
    [
        other(&said(""), Some(now.target), Some(then.target)),
        heat.and_then(|(now, then)| other(&said("at"), Some(now), Some(then))),
        other(&said("pressure"), Some(now.pressure), Some(then.pressure)),
        other(&said("under"), cover(now), cover(then)),
        other(&said("hover"), Some(now.hover), Some(then.hover)),
        other(&said("lift"), Some(now.lift), Some(then.lift)),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The window of a recipe as its file has it, with the fluid that it was found with.
pub fn as_filed(recipe: &Recipe) -> String {
    let CoatWindow { low, target, high } = recipe.coat;
    let window = format!("coat: (low: \"{low}\", target: \"{target}\", high: \"{high}\")");
    let fluid = recipe.fluid_kind.map(|kind| format!("fluid_kind: Some({kind:?})"));
    let thinned = recipe.dilution.map(|dilution| format!("dilution: Some(\"{dilution}\")"));
    [Some(window), fluid, thinned].into_iter().flatten().collect::<Vec<_>>().join(", ")
}
