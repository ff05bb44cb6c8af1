//! What the plain rule leaves out: how much longer the work really takes, told by rehearsals and the last hours.
//!
//! Nobody works by the best plan, and even the plain rule ([`super::dispatch`]) knows no troubles, looks and answers.
//! How far the truth lay from it was measured on rehearsed shifts, for want of real ones: that is what a forecast
//! begins with. Then the shop's own stretches of work are held against what the same garments take by the rule from
//! step to step, and the more of them there are the less the rehearsals count. So a morning in which hands held
//! everything back is held against a rule that they hold back as well, and says nothing wrong of an afternoon in
//! which everything waits for the printer.

use std::time::Duration;

use rand::SeedableRng;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;

use super::dispatch;
use super::outlook::{DRAWS, Finish, seconds};
use super::plan::{Kind, Phase, Problem};
use crate::shop::books::hands::{SCATTER, Stretch};
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::step::Step;
use crate::shop::rules::turn::Binds;

/// The logarithm of the truth over the rule: its mean, as rehearsed shifts had it (between -0.04 and 0.05).
const REHEARSED: f64 = 0.03;
/// How far shops differ from them, as a standard deviation of that logarithm. From memory: nobody has measured it.
const SHOPS: f64 = 0.06;
/// What one garment is off by, likewise: of many it evens out by the root of their number. Measured on rehearsals.
const GARMENT: f64 = 0.20;
/// What no number of garments evens out: people do not quite go by the rule. From memory.
const RULE: f64 = 0.02;
/// How far the rule over what was done may be off for it: steps that were done are not always of whole garments.
/// Measured on rehearsals, where every shop is alike: there it should have said nothing.
const PARTS: f64 = 0.04;
/// What is under way at either end of a stretch of work is counted whole or not at all: so many seconds of doubt.
const EDGE_S: f64 = 300.0;

/// Of what the printer's time is off by, squared, so much is left: the shop's own hours, which are held against the same
/// figure, set the rest right again. Measured on rehearsals.
const NOT_SET_RIGHT: f64 = 0.4;

/// So often at most the work is gone through with drawn hand times; of what comes of it as many ends are drawn as of a
/// plan.
const RUNS: usize = 200;
/// Of much work one run is long and like any other: fewer will do.
const GARMENTS_RUN: usize = 40_000;

/// What lies behind: the last stretches of work, and the way of a garment of each recipe in them.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Sigma of the logarithm of a hand time about its median.
    pub scatter: f64,
    /// How many prints tell what a print takes; none where the station does.
    pub prints: usize,
    pub stretches: Vec<Stretch>,
    /// For each recipe the phases of each step.
    pub ways: Vec<(RecipeHash, [Vec<Phase>; Step::ALL.len()])>,
}

impl Default for Past {
    fn default() -> Self {
        Self { scatter: SCATTER, prints: 0, stretches: Vec::new(), ways: Vec::new() }
    }
}

impl Past {
    /// What was done, as work of its own at the same machines. What went through steps that follow one another is
    /// taken for the same garments.
    fn done(&self, problem: &Problem) -> Problem {
        let mut kinds = Vec::new();
        for (recipe, ways) in &self.ways {
            let mut done = [0i64; Step::ALL.len()];
            let own = self.stretches.iter().flat_map(|one| &one.done);
            for (_, steps) in own.filter(|(known, _)| known == recipe) {
                done.iter_mut().zip(steps).for_each(|(sum, step)| *sum += i64::from(*step));
            }
            // A step that a recipe does not have breaks no way.
            let wanted: Vec<usize> = (0..ways.len()).filter(|n| !ways[*n].is_empty()).collect();
            while let Some(first) = wanted.iter().position(|n| done[*n] > 0) {
                let run = wanted[first..].iter().take_while(|n| done[**n] > 0);
                let run: Vec<usize> = run.copied().collect();
                let count = run.iter().map(|n| done[*n]).min().unwrap_or(0);
                run.iter().for_each(|n| done[*n] -= count);
                let route = run.iter().flat_map(|n| ways[*n].iter().copied()).collect();
                kinds.push(Kind::new(route, usize::try_from(count).unwrap_or(0)));
            }
        }
        Problem { kinds, begun: Vec::new(), ..problem.clone() }
    }

    /// The logarithm of what lies behind over the rule, and how far it may be off. None where nothing lies there.
    fn told(&self, problem: &Problem) -> Option<(f64, f64)> {
        let done = self.done(problem);
        let real = self.stretches.iter().map(|one| one.span).sum::<Duration>().as_secs_f64();
        let rule = seconds(dispatch::makespan(&done));
        if real <= 0.0 || rule <= 0.0 || done.check().is_err() {
            return None;
        }
        let off = per_garment(&done).powi(2) + (EDGE_S / real).powi(2) + PARTS.powi(2);
        Some(((real / rule).ln(), off.sqrt()))
    }
}

/// What garments are off by together.
fn per_garment(problem: &Problem) -> f64 {
    GARMENT / whole(problem.garments().max(1)).sqrt()
}

#[expect(clippy::cast_precision_loss, reason = "some thousand garments or prints")]
fn whole(count: usize) -> f64 {
    count as f64
}

/// How the shop works, beside the plain rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// Sigma of the logarithm of a hand time about its median.
    pub scatter: f64,
    prints: usize,
    /// The logarithm of how much longer the work takes than by the rule, and how far that may be off.
    longer: f64,
    off: f64,
    /// Hours of the shop's own work that it is told by.
    pub hours: f64,
}

impl Habit {
    /// Learns from what lies behind, at the machines of what lies ahead.
    pub fn of(past: &Past, problem: &Problem) -> Self {
        let told = past.told(problem);
        // The mean of two that are each as sure as they are (normal laws with known spread).
        let (rehearsed, own) = (SHOPS.powi(-2), told.map_or(0.0, |(_, off)| off.powi(-2)));
        let sum = REHEARSED * rehearsed + told.map_or(0.0, |(longer, _)| longer) * own;
        let spans = past.stretches.iter().map(|one| one.span).sum::<Duration>();
        let hours = told.map_or(0.0, |_| spans.as_secs_f64() / 3600.0);
        let (longer, off) = (sum / (rehearsed + own), (rehearsed + own).powf(-0.5));
        Self { scatter: past.scatter, prints: past.prints, longer, off, hours }
    }

    /// How much longer the work takes than by the rule, as a factor.
    pub fn factor(&self) -> f64 {
        self.longer.exp()
    }

    /// When some work ends: gone through by the rule with drawn hand times, each run as much longer as the shop may
    /// be. The same seed draws the same.
    pub fn finish(&self, problem: &Problem, seed: u64) -> Finish {
        let mut rng = Pcg64::seed_from_u64(seed);
        let work = problem.merged_by_turn();
        let hands = LogNormal::new(0.0, self.scatter).ok();
        // What everything waits for is known as well as so many of it tell; the shop's own hours, which are held against
        // the same figure, set most of that right again. Measured on rehearsals.
        let printer = match problem.binds() {
            Some(Binds::Printers) if self.prints > 0 => {
                SCATTER.powi(2) / whole(self.prints) * NOT_SET_RIGHT
            }
            _ => 0.0,
        };
        let off = (self.off.powi(2) + RULE.powi(2) + per_garment(&work).powi(2) + printer).sqrt();
        let longer = LogNormal::new(self.longer, off).ok();
        let runs = (GARMENTS_RUN / work.garments().max(1)).clamp(1, RUNS);
        let mut ends = Vec::with_capacity(DRAWS);
        for _ in 0..runs {
            let end = dispatch::run(&work, |takes| {
                let factor = hands.map_or(1.0, |law| law.sample(&mut rng));
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_precision_loss,
                    reason = "some minutes in milliseconds"
                )]
                let drawn = (takes as f64 * factor) as i64;
                drawn
            });
            let end = seconds(end);
            let longer = |rng: &mut Pcg64| longer.map_or(1.0, |law| law.sample(rng));
            ends.extend((0..DRAWS / runs).map(|_| end * longer(&mut rng)));
        }
        Finish::of(ends)
    }
}
