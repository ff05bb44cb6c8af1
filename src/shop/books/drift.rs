//! What the weigh-ins of a recipe say together: where the coats lie, and whether they wander.

use super::coats::WeighIn;
use crate::figures::chart::{self, Chart, Signal};
use crate::figures::units::GramsPerSquareMetre;
use crate::shop::Shop;
use crate::shop::facts::recipe::Recipe;

/// From so many weigh-ins limits are worked out: of fewer they would say more of chance than of the hand.
pub const LEAST_FOR_LIMITS: usize = 8;
/// How much the newest weigh-in counts in the moving average: 0.2 to 0.3 are usual (NIST 6.3.2.4).
const LAMBDA: f64 = 0.3;

/// The last weigh-ins of a recipe as they were sprayed, in g/m2, oldest first, and what they say. What was mended since
/// says nothing of the hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    pub values: Vec<f64>,
    /// None with too few of them.
    pub chart: Option<Chart>,
    pub signals: Vec<Signal>,
    /// The moving average, started at the target.
    pub average: GramsPerSquareMetre,
    /// Cp and Cpk against the recipe's window; None with too few, or where all are alike.
    pub capability: Option<(f64, f64)>,
}

impl Drift {
    fn of<'a>(recipe: &Recipe, weighed: impl Iterator<Item = &'a WeighIn>) -> Option<Self> {
        let values: Vec<f64> = weighed.map(|one| one.sprayed.0).collect();
        let window = recipe.coat;
        let average = chart::ewma(&values, window.target.0, LAMBDA).last().copied()?;
        let enough = values.len() >= LEAST_FOR_LIMITS;
        let chart = chart::individuals(&values).ok().filter(|_| enough);
        let signals = chart.map_or_else(Vec::new, |chart| chart.signals(&values).collect());
        let capability = chart
            .filter(|chart| chart.sd > 0.0)
            .map(|chart| chart::capability(chart.mean, chart.sd, window.low.0, window.high.0));
        Some(Self { values, chart, signals, average: GramsPerSquareMetre(average), capability })
    }

    /// The signal of the newest weigh-in, the plainest first; None where chance alone explains it.
    pub fn news(&self) -> Option<Signal> {
        self.signals.iter().find(|signal| signal.index == self.values.len()).copied()
    }
}

/// What a signal of coats tells an operator: the pattern, and the likeliest causes (common practice, no source).
pub fn advice(signal: Signal) -> [String; 2] {
    let (side, causes) = if signal.above {
        ("heavier", "the trigger has been opened, or the hand slowed")
    } else {
        ("lighter", "nozzle clogged, trigger closed, or a faster hand")
    };
    [format!("{}, {side}:", signal.rule.words()), causes.to_owned()]
}

impl Shop {
    /// What the last weigh-ins of a recipe say, by its name. None before the first.
    pub fn drift(&self, recipe: &str) -> Option<Drift> {
        let text = self.recipes().named(recipe)?;
        Drift::of(text, self.coat_book(recipe)?.weighed.iter())
    }
}
