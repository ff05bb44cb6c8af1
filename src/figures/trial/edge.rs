//! One edge of the window: what is known of where it lies, as a posterior on a grid.
//!
//! An ordinal regression with a probit link (P. McCullagh, Regression models for ordinal data, Journal of the Royal
//! Statistical Society B 42, 1980) and a share of gross mistakes, summed over a grid of 141 places by 60 curves: 8,460
//! products a sample, and nothing drawn by chance.

use statrs::function::gamma::ln_gamma;

use super::Seen;
use super::grid::{self, CELLS, CURVES, Curve, GRADES, MISTAKE, STEP};
use super::posterior::Posterior;
use crate::figures::fastness::Grade;
use crate::figures::units::GramsPerSquareMetre;

/// On which side of the edge the good coats lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    /// Heavier ones: the low edge.
    Above,
    /// Lighter ones: the high edge.
    Below,
}

/// One reading, and how much it counts.
#[derive(Debug, Clone, Copy)]
struct Reading {
    no: usize,
    ln_coat: f64,
    seen: Seen,
    weight: f64,
}

/// What is known of one edge.
#[derive(Debug, Clone)]
pub struct Edge {
    side: Side,
    limit: Grade,
    /// The mean grade at the edge: half of the grades reach the limit there.
    cut: f64,
    curves: Vec<Curve>,
    /// ln(coat) of each cell.
    places: Vec<f64>,
    /// Cell by cell, in each cell curve by curve.
    posterior: Posterior,
    readings: Vec<Reading>,
    /// The logarithm of the chance of what was seen, and where the trial's own began.
    ln_chance: f64,
    before: usize,
}

impl Edge {
    /// The low edge, thought to lie at a coat.
    pub fn low(guess: GramsPerSquareMetre, limit: Grade) -> Self {
        Self::new(guess, limit, Side::Above)
    }

    /// The high edge.
    pub fn high(guess: GramsPerSquareMetre, limit: Grade) -> Self {
        Self::new(guess, limit, Side::Below)
    }

    fn new(guess: GramsPerSquareMetre, limit: Grade, side: Side) -> Self {
        const HALF_A_STEP: f64 = 0.25;
        let cut = limit.number() - HALF_A_STEP;
        let each = |cell: &f64| std::iter::repeat_n(cell / CURVES as f64, CURVES);
        Self {
            side,
            limit,
            cut,
            curves: grid::curves(cut),
            places: grid::offsets().map(|off| guess.0.ln() + off).collect(),
            posterior: Posterior::new(grid::prior().iter().flat_map(each)),
            readings: Vec::new(),
            ln_chance: 0.0,
            before: 0,
        }
    }

    /// Whether it is the low edge: heavier coats pass.
    pub fn is_low(&self) -> bool {
        self.side == Side::Above
    }

    /// What was seen on a garment; its likelihood counts to the power of `weight`.
    pub fn add(&mut self, no: usize, coat: GramsPerSquareMetre, seen: Seen, weight: f64) {
        let reading = Reading { no, ln_coat: coat.0.ln(), seen, weight };
        let likelihood = self.likelihood(reading);
        self.ln_chance += self.posterior.learn(&likelihood, weight);
        self.readings.push(reading);
    }

    /// From here on the evidence is counted.
    pub fn own_evidence_begins(&mut self) {
        self.ln_chance = 0.0;
        self.before = self.readings.len();
    }

    /// The chance of a reading for each place and curve.
    fn likelihood(&self, reading: Reading) -> Vec<f64> {
        let mut all = Vec::with_capacity(CELLS * CURVES);
        for place in &self.places {
            all.extend(self.curves.iter().map(|curve| {
                let mean = curve.mean(self.cut, self.inside(reading.ln_coat, *place));
                self.chance(*curve, mean, reading.seen)
            }));
        }
        all
    }

    /// How far a coat lies inside an edge at a place, in ln(coat).
    fn inside(&self, ln_coat: f64, place: f64) -> f64 {
        match self.side {
            Side::Above => ln_coat - place,
            Side::Below => place - ln_coat,
        }
    }

    /// The chance of what was seen on one curve.
    fn chance(&self, curve: Curve, mean: f64, seen: Seen) -> f64 {
        match seen {
            Seen::Graded(grade) => curve.chance_of(grade.number(), mean),
            Seen::Passed(passed) => {
                let passing = Grade::all().filter(|grade| *grade >= self.limit).count();
                let chance = curve.chance_of_passing(self.cut, mean, passing);
                if passed { chance } else { 1.0 - chance }
            }
        }
    }

    /// The posterior of where the edge lies: cell by cell.
    fn cells(&self) -> impl Iterator<Item = f64> {
        self.posterior.mass().chunks_exact(CURVES).map(|curves| curves.iter().sum())
    }

    /// ln(coat) below which the edge lies with a chance of `part`: the cell in which the sum reaches it, linear within.
    pub fn quantile(&self, part: f64) -> f64 {
        let mut sum = 0.0;
        for (cell, place) in self.cells().zip(&self.places) {
            if sum + cell >= part {
                return place + ((part - sum) / cell - 0.5) * STEP;
            }
            sum += cell;
        }
        self.places.last().map_or(0.0, |last| last + STEP / 2.0)
    }

    /// The chance that the edge lies below ln(coat); linear within a cell.
    pub fn below(&self, ln_coat: f64) -> f64 {
        let Some(first) = self.places.first() else { return 0.0 };
        let cells = ((ln_coat - first) / STEP + 0.5).clamp(0.0, CELLS as f64);
        let whole = cells.floor();
        let mut sum = 0.0;
        for (number, cell) in self.cells().enumerate() {
            let number = number as f64;
            if number >= whole {
                return sum + cell * (cells - whole);
            }
            sum += cell;
        }
        sum
    }

    /// The chance that the edge `other` lies above this one.
    pub fn is_below(&self, other: &Edge) -> f64 {
        other.cells().zip(&other.places).map(|(cell, place)| cell * self.below(*place)).sum()
    }

    /// The chance that a garment with a coat of ln(coat) passes, mistakes apart.
    pub fn passes(&self, ln_coat: f64) -> f64 {
        let mut sum = 0.0;
        for (cell, place) in self.posterior.mass().chunks_exact(CURVES).zip(&self.places) {
            let inside = self.inside(ln_coat, *place);
            for (mass, curve) in cell.iter().zip(&self.curves) {
                sum += mass * curve.passes(self.cut, curve.mean(self.cut, inside));
            }
        }
        sum
    }

    /// The evidence of the trial's own readings, as the natural logarithm of a Bayes factor: that the coat matters as on
    /// the grid, against that it does not matter. What does not matter has one distribution of grades for all coats,
    /// itself unknown: Dirichlet with 1/2 on the nine grades, Beta with 1/2 and 1/2 on pass and fail (H. Jeffreys' prior).
    pub fn ln_evidence(&self) -> f64 {
        let (before, _) = self.readings.split_at(self.before);
        self.ln_chance - (ln_without(&self.readings) - ln_without(before))
    }

    /// The numbers of readings that are more likely gross mistakes than not; of a pass or a fail that cannot be told.
    pub fn doubtful(&self) -> impl Iterator<Item = usize> {
        let is_doubtful = |reading: &&Reading| {
            let by_mistake = |likelihood: f64| MISTAKE / GRADES as f64 / likelihood;
            let likelihood = self.likelihood(**reading);
            let chance = self.posterior.mean(likelihood.into_iter().map(by_mistake));
            matches!(reading.seen, Seen::Graded(_)) && chance > 0.5
        };
        self.readings.iter().filter(is_doubtful).map(|reading| reading.no)
    }

    /// How many of the trial's own readings passed and failed.
    pub fn passed_and_failed(&self) -> (usize, usize) {
        let own = &self.readings[self.before..];
        let passed = own.iter().filter(|reading| reading.seen.passes(self.limit)).count();
        (passed, own.len() - passed)
    }
}

/// The logarithm of the chance of readings, were the coat of no matter.
fn ln_without(readings: &[Reading]) -> f64 {
    const HALF: f64 = 0.5;
    let weights = |is: &dyn Fn(Seen) -> bool| -> f64 {
        readings.iter().filter(|reading| is(reading.seen)).map(|reading| reading.weight).sum()
    };
    let of = |counts: &[f64]| {
        let (kinds, sum) = (counts.len() as f64 * HALF, counts.iter().sum::<f64>());
        let each = counts.iter().map(|count| ln_gamma(count + HALF) - ln_gamma(HALF));
        ln_gamma(kinds) - ln_gamma(kinds + sum) + each.sum::<f64>()
    };
    let graded: Vec<f64> =
        Grade::all().map(|grade| weights(&|seen| seen == Seen::Graded(grade))).collect();
    let passed = [true, false].map(|passed| weights(&|seen| seen == Seen::Passed(passed)));
    of(&graded) + of(&passed)
}
