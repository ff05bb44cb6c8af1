//! What the plain rule leaves out: how much longer the work really takes, told by the shop's own hours.
//!
//! Nobody works by the best plan, and even the plain rule ([`super::dispatch`]) knows no troubles, looks and answers. And
//! what hands and printer take is known only so well: by the profile, or by what was learned.
//!
//! So many guesses are made of the shop, each with hands and printer a little otherwise. What lies behind is gone through
//! by the rule with each of them, with times drawn as they scatter, and held against how long it really took: an hour at a
//! time, from where garments stood when it began, until as much was done of what holds the shop back (minutes of presses,
//! of printers or of hands). Garments that are finished would lag behind by as much as lies on the way, and what hands did
//! otherwise than the rule in one hour would be held against all that come after. A guess that would have had it take much longer or shorter than shops differ
//! from the rule is dropped for one that would not: a wrong time of a printer in the profile goes as soon as it explains
//! nothing. What lies ahead is gone through with those that are left, each as much longer as the shop was by that guess. A
//! morning in which hands held everything back is thereby held against a rule that they hold back as well, and says nothing
//! wrong of an afternoon that waits for the printer.
//!
//! What nobody's profile tells of comes as often as it came: pauses, and garments that are made once more, since one went
//! out or is of second quality.

mod drawn;
mod past;

use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, LogNormal, Poisson, StandardNormal};
use rand_pcg::Pcg64;
use statrs::distribution::{ContinuousCDF, Normal};

use drawn::{Run, Scatter, about_when, scaled};
use past::{Behind, whole};
pub use past::{Counts, Past, Way, anew, doubts};

use super::finish::{DRAWS, Finish};
use super::plan::{Phase, Problem};
use crate::shop::books::hands::Work;

/// The logarithm of the truth over the rule: its mean and how far shops differ from it. These were set by the made-up shops
/// 1 to 60; tests/benches/README.md has what came of it at others.
const REHEARSED: f64 = 0.04;
const SHOPS: f64 = 0.06;
/// What one garment is off by beside its own hand and print times: troubles, mostly. Of many it evens out by the root of
/// their number. From memory.
const GARMENT: f64 = 0.10;
/// What no number of garments evens out: people do not quite go by the rule, and no hour is like the one before. By the
/// same shops.
const RULE: f64 = 0.035;
/// How far the rule over what was done may be off for it: steps that were done are not always of whole garments. From memory.
const PARTS: f64 = 0.02;

/// How many guesses are made of a shop, and how often at most work is gone through with them.
const RUNS: usize = 100;
/// Of much work one run is long and like any other: fewer will do.
const GARMENTS_RUN: usize = 8_000;

/// Before any hour was worked, pauses are taken to come as if one had been seen in so many hours. From memory.
const PAUSE_PRIOR: (f64, f64) = (0.02, 0.5);

/// One guess of a shop.
#[derive(Debug, Clone, PartialEq)]
struct Guess {
    /// By how much each work takes longer than is gone by.
    factors: [f64; Work::ALL.len()],
    /// The logarithm of how much longer the work takes than by the rule, and how far that may be off.
    longer: f64,
    off: f64,
}

/// How the shop works, beside the plain rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    scatter: Scatter,
    /// The share of garments that are made once more.
    anew: f64,
    guesses: Vec<Guess>,
    /// Hours of the shop's own work that it is told by.
    pub hours: f64,
    pauses: Vec<Duration>,
}

/// What was foreseen of some work: a thousand draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Foreseen {
    runs: Vec<Run>,
    /// Of each draw, which run it is of and by how much it is longer.
    draws: Vec<(usize, f64)>,
}

impl Habit {
    /// Learns from what lies behind.
    pub fn of(past: &Past) -> Self {
        // Always the same guesses: what is foreseen moves only with the work.
        let mut rng = Pcg64::seed_from_u64(0);
        let scatter = Scatter { hands: past.scatter, prints: past.print_scatter };
        let behind: Vec<Behind> = past.behind().into_iter().filter(Behind::is_told).collect();
        let real: f64 = behind.iter().map(|hour| hour.worked_s).sum();
        // Before anything is done there is nothing to hold a guess against.
        let told = real > 0.0;
        let garments = behind.iter().map(Behind::garments).sum();
        let count = if told { runs(garments) } else { RUNS };
        let normal = Normal::standard();
        let mut guesses = Vec::with_capacity(count);
        let mut weights = Vec::with_capacity(count);
        for n in 0..count {
            let mut factors = Work::ALL.map(|_| rng.sample(StandardNormal));
            // What everything waits for is guessed evenly over all that it may be.
            let print = Work::ALL.iter().position(|work| *work == Work::Print).unwrap_or(0);
            factors[print] = normal.inverse_cdf((whole(n) + 0.5) / whole(count));
            for (factor, doubt) in factors.iter_mut().zip(past.doubts) {
                *factor = f64::exp(*factor * doubt);
            }
            let mut guess = Guess { factors, longer: REHEARSED, off: SHOPS };
            let mut weight = 1.0;
            if told {
                let held = held_against(&behind, &factors, scatter, &mut rng);
                let Held { rule, edge, garments } = held;
                let doubts = [GARMENT / garments.max(1.0).sqrt(), edge / rule.max(1.0), PARTS];
                let off = doubts.map(|doubt| doubt.powi(2)).iter().sum::<f64>().sqrt();
                let own = (real / rule.max(1.0)).ln();
                weight = f64::exp(-0.5 * (own - REHEARSED).powi(2) / (SHOPS.powi(2) + off.powi(2)));
                // The mean of two that are each as sure as they are (normal laws with known spread).
                let (rehearsed, owns) = (SHOPS.powi(-2), off.powi(-2));
                guess.longer = (REHEARSED * rehearsed + own * owns) / (rehearsed + owns);
                guess.off = (rehearsed + owns).powf(-0.5);
            }
            guesses.push(guess);
            weights.push(weight);
        }
        let guesses = likely_ones(&guesses, &weights);
        let hours = if told { real / 3600.0 } else { 0.0 };
        Self { scatter, anew: past.anew, guesses, hours, pauses: past.pauses.clone() }
    }

    /// How much longer the work takes than by the rule, as a factor.
    pub fn factor(&self) -> f64 {
        let sum: f64 = self.guesses.iter().map(|guess| guess.longer).sum();
        (sum / whole(self.guesses.len().max(1))).exp()
    }

    /// When some work ends. The same seed draws the same.
    pub fn finish(&self, problem: &Problem, seed: u64) -> Finish {
        self.foresee(problem, &[], seed).finish()
    }

    /// How some work goes, where `whose` says whose each of its kinds is, counted from 0. The same seed draws the same.
    pub fn foresee(&self, problem: &Problem, whose: &[usize], seed: u64) -> Foreseen {
        let mut rng = Pcg64::seed_from_u64(seed);
        let (work, owners) = problem.merged_by_turn(whose);
        let runs = runs(work.garments());
        // What comes later does not come later still because the work takes longer, and no press heats more slowly.
        let waits = work.kinds.iter().any(|kind| kind.arrives() > 0)
            || work.turns_presses()
            || work.stands.iter().any(|press| press.ready > 0);
        let each = if waits { 1 } else { (DRAWS / runs).max(1) };
        let mut foreseen = Foreseen { runs: Vec::new(), draws: Vec::new() };
        for n in 0..runs {
            let Some(guess) = self.guesses.get(n * self.guesses.len() / runs) else { break };
            let off = (guess.off.powi(2) + RULE.powi(2) + per_garment(&work).powi(2)).sqrt();
            let law = LogNormal::new(guess.longer, off).ok();
            let longer = |rng: &mut Pcg64| law.map_or(1.0, |law| law.sample(rng));
            let first = longer(&mut rng);
            let arrivals = if waits { first } else { 1.0 };
            let work = scaled(&work, &guess.factors, arrivals);
            let run = Run::of(&work, (self.scatter, self.anew), &owners, &mut rng);
            for k in 0..each {
                let longer = if k == 0 { first } else { longer(&mut rng) };
                let paused = self.paused(run.end_s() * longer, &mut rng);
                let share = if run.end_s() > 0.0 { paused / run.end_s() } else { 0.0 };
                foreseen.draws.push((n, longer + share));
            }
            foreseen.runs.push(run);
        }
        foreseen
    }

    /// Seconds of pauses in so many seconds of work.
    fn paused(&self, work_s: f64, rng: &mut Pcg64) -> f64 {
        if self.pauses.is_empty() {
            return 0.0;
        }
        let rate = (whole(self.pauses.len()) + PAUSE_PRIOR.0) / (self.hours + PAUSE_PRIOR.1);
        let count =
            Poisson::new((rate * work_s / 3600.0).max(1e-9)).map_or(0.0, |law| law.sample(rng));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few dozen")]
        let count = count as usize;
        let one = |_| self.pauses[rng.random_range(0..self.pauses.len())].as_secs_f64();
        (0..count).map(one).sum()
    }
}

/// How often so much work is gone through.
fn runs(garments: usize) -> usize {
    (GARMENTS_RUN / garments.max(1)).clamp(1, RUNS)
}

/// As many guesses as there are, each as often as it is likely: taken at even distances along the sum of the weights.
fn likely_ones(guesses: &[Guess], weights: &[f64]) -> Vec<Guess> {
    let sum: f64 = weights.iter().sum();
    if sum <= 0.0 {
        return guesses.to_vec();
    }
    let step = sum / whole(guesses.len());
    let (mut taken, mut upto, mut next) = (Vec::with_capacity(guesses.len()), 0.0, step / 2.0);
    for (guess, weight) in guesses.iter().zip(weights) {
        upto += weight;
        while next < upto && taken.len() < guesses.len() {
            taken.push(guess.clone());
            next += step;
        }
    }
    taken
}

/// What lies behind, gone through by the rule.
struct Held {
    /// How long it takes by the rule, and how far that may be off, in seconds.
    rule: f64,
    edge: f64,
    /// As many garments were done in it, in parts.
    garments: f64,
}

/// Goes through what lies behind with one guess, each hour of it until as much was done of what held the shop back.
#[expect(clippy::cast_precision_loss, reason = "some weeks in milliseconds")]
fn held_against(
    behind: &[Behind],
    factors: &[f64; Work::ALL.len()],
    scatter: Scatter,
    rng: &mut Pcg64,
) -> Held {
    let mut held = Held { rule: 0.0, edge: 0.0, garments: 0.0 };
    for hour in behind {
        let work = scaled(&hour.problem, factors, 1.0);
        let binds = work.binds();
        let of = |phase: &Phase| phase.held_by(binds);
        let done = hour.done(&work, of);
        let (rule, edge) = about_when(&work, scatter, rng, (done, of));
        held.rule += rule;
        held.edge = held.edge.hypot(edge);
        held.garments += whole(work.garments()) * done as f64 / work.sum(of).max(1) as f64;
    }
    held
}

/// What garments are off by together.
fn per_garment(problem: &Problem) -> f64 {
    GARMENT / whole(problem.garments().max(1)).sqrt()
}

impl Foreseen {
    /// When all of it is done, in each draw.
    pub fn ends(&self) -> impl Iterator<Item = f64> {
        self.draws.iter().map(|(run, longer)| self.runs[*run].end_s() * longer)
    }

    /// When all of it is done.
    pub fn finish(&self) -> Finish {
        Finish::of(self.ends().collect())
    }

    /// When an owner's garments are done; None where there are none.
    pub fn finish_of(&self, owner: usize) -> Option<Finish> {
        let end = |(run, longer): &(usize, f64)| Some(self.runs[*run].end_of(owner)? * longer);
        let ends: Vec<f64> = self.draws.iter().filter_map(end).collect();
        (!ends.is_empty()).then(|| Finish::of(ends))
    }

    /// The share of the draws in which an owner's garments are done within so many seconds of work.
    pub fn chance(&self, owner: usize, within_s: f64) -> f64 {
        let met = |(run, longer): &&(usize, f64)| {
            self.runs[*run].end_of(owner).is_none_or(|end| end * longer <= within_s)
        };
        whole(self.draws.iter().filter(met).count()) / whole(self.draws.len().max(1))
    }

    /// How many garments are done within so many seconds of work: in nine draws of ten at least the first, in half at
    /// least the second.
    pub fn done_within(&self, within_s: f64) -> (usize, usize) {
        let count = |(run, longer): &(usize, f64)| self.runs[*run].done_within(within_s / longer);
        let mut counts: Vec<usize> = self.draws.iter().map(count).collect();
        counts.sort_unstable();
        let at = |share: usize| counts.get(counts.len() * share / 100).copied().unwrap_or(0);
        (at(10), at(50))
    }
}
