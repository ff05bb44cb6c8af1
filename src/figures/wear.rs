//! The health of a sprayer, from coats that were paced and weighed over weeks: a tip that wears drifts up, a clog falls
//! suddenly, and most of what a scale shows is neither.
//!
//! A day's coats are one figure: their hand, its fluid and its weather are alike, so the days are what is charted. The
//! chart is the tabular cumulative sum of NIST/SEMATECH e-Handbook 6.3.2.3 over standardised days. Its k is half the
//! shift that is looked for: two sigmas. With the usual k of a half and a sigma of few days, four series in ten of a
//! sprayer that has nothing called out within forty days; with these settings one in twenty does, and a drift of one per
//! cent a day is called out within about two weeks (simulated: tests/figures/wear.rs).

use std::ops::AddAssign;

use serde::{Deserialize, Serialize};

use super::chart::{Sums, cusum, individuals};

/// Days from which the usual is learned.
pub const BASE: usize = 10;
/// A day with fewer weighed coats says nothing of its own.
pub const LEAST_A_DAY: u32 = 3;
/// In sigmas of a day: half the shift that is looked for, and where the sum calls out.
const K: f64 = 1.0;
const H: f64 = 5.0;
/// A coat that lies below the usual by so many times the scatter of single coats, twice in a row, is no chance.
const SUDDEN: f64 = 3.0;
/// From so many single coats on their scatter is known.
const LEAST_SINGLES: u32 = 12;

/// A day's coats: ln(coat / target) of each, summed up.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Day {
    pub count: u32,
    pub sum: f64,
    pub squares: f64,
}

impl Day {
    /// Takes one in.
    pub fn add(&mut self, off: f64) {
        self.count += 1;
        self.sum += off;
        self.squares += off * off;
    }

    /// The same without one that was taken in.
    #[must_use]
    pub fn without(self, off: f64) -> Self {
        let Self { count, sum, squares } = self;
        Self { count: count.saturating_sub(1), sum: sum - off, squares: squares - off * off }
    }

    /// Their mean.
    pub fn mean(&self) -> f64 {
        self.sum / f64::from(self.count.max(1))
    }

    /// Squares about their mean.
    fn about_mean(&self) -> f64 {
        (self.squares - self.sum * self.sum / f64::from(self.count.max(1))).max(0.0)
    }
}

impl AddAssign for Day {
    fn add_assign(&mut self, other: Self) {
        self.count += other.count;
        self.sum += other.sum;
        self.squares += other.squares;
    }
}

/// Where it is going.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Course {
    /// Too few days to know the usual: so many are wanted still.
    Learning(usize),
    Steady,
    /// Since so many days it lays more, or less, than was usual: by this part of it.
    Drifts {
        days: usize,
        by: f64,
    },
}

/// What the days say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Health {
    /// Days that count.
    pub days: usize,
    /// Coats of all days.
    pub coats: u32,
    /// What was laid over what was asked for, of all coats: 0.05 is 5 % more.
    pub against_plan: f64,
    /// The scatter of single coats about their day: 0.12 is 12 %. None with too few.
    pub scatter: Option<f64>,
    pub course: Course,
}

/// What the days say, oldest first, all at one setting of the sprayer. None without a coat.
pub fn health(days: &[Day]) -> Option<Health> {
    let coats: u32 = days.iter().map(|day| day.count).sum();
    if coats == 0 {
        return None;
    }
    let sum: f64 = days.iter().map(|day| day.sum).sum();
    let means: Vec<f64> =
        days.iter().filter(|day| day.count >= LEAST_A_DAY).map(Day::mean).collect();
    Some(Health {
        days: means.len(),
        coats,
        against_plan: (sum / f64::from(coats)).exp() - 1.0,
        scatter: scatter(days),
        course: course(&means, days),
    })
}

/// The standard deviation of single coats about the mean of their day, pooled.
pub fn scatter(days: &[Day]) -> Option<f64> {
    let coats: u32 = days.iter().map(|day| day.count).sum();
    let freedom = days.iter().map(|day| day.count.saturating_sub(1)).sum::<u32>();
    let squares: f64 = days.iter().map(Day::about_mean).sum();
    (coats >= LEAST_SINGLES && freedom > 0).then(|| (squares / f64::from(freedom)).sqrt())
}

/// The same with the ends between which it lies nine times in ten: by chi square, for coats that scatter normally.
pub fn scatter_90(days: &[Day]) -> Option<(f64, f64, f64)> {
    use statrs::distribution::{ChiSquared, ContinuousCDF};
    let at = scatter(days)?;
    let freedom = f64::from(days.iter().map(|day| day.count.saturating_sub(1)).sum::<u32>());
    let spread = ChiSquared::new(freedom).ok()?;
    let end = |part: f64| at * (freedom / spread.inverse_cdf(part)).sqrt();
    Some((at, end(0.95), end(0.05)))
}

fn course(means: &[f64], days: &[Day]) -> Course {
    let Some((base, since)) = means.split_at_checked(BASE) else {
        return Course::Learning(BASE - means.len());
    };
    // A sigma of ten days may be small by chance: it is never less than what single coats alone make of a day.
    let of_days = individuals(base).map_or(0.0, |chart| chart.sigma());
    let counting: Vec<f64> = days
        .iter()
        .map(|day| f64::from(day.count))
        .filter(|n| *n >= f64::from(LEAST_A_DAY))
        .collect();
    let usual = counting.iter().sum::<f64>() / counting.len() as f64;
    let of_coats = scatter(days).unwrap_or(0.0) / usual.sqrt();
    let sigma = of_days.max(of_coats);
    if sigma <= 0.0 {
        return Course::Steady;
    }
    let middle = base.iter().sum::<f64>() / base.len() as f64;
    let distances: Vec<f64> = since.iter().map(|mean| (mean - middle) / sigma).collect();
    let sums = cusum(&distances, 0.0, K);
    let Some(last) = sums.last() else { return Course::Steady };
    let above = last.high >= last.low;
    let side = |sum: &Sums| if above { sum.high } else { sum.low };
    let began = sums.iter().rposition(|sum| side(sum) <= 0.0).map_or(0, |zero| zero + 1);
    // One that came back to its middle is well again: what went out before that says nothing of it.
    if !sums[began..].iter().any(|sum| side(sum) > H) {
        return Course::Steady;
    }
    let drifted = &since[began..];
    let by = (drifted.iter().sum::<f64>() / drifted.len() as f64 - middle).exp() - 1.0;
    Course::Drifts { days: drifted.len(), by }
}

/// Whether the last two coats fell suddenly: both lie further below the usual than chance takes them. By how much the
/// second does, as a part of the usual. `days` are those before the two.
pub fn fell(days: &[Day], last: [f64; 2]) -> Option<f64> {
    let coats: u32 = days.iter().map(|day| day.count).sum();
    let sum: f64 = days.iter().map(|day| day.sum).sum();
    let usual = sum / f64::from(coats.max(1));
    let limit = usual - SUDDEN * scatter(days)?;
    last.iter().all(|off| *off < limit).then(|| (last[1] - usual).exp() - 1.0)
}
