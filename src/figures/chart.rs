//! The control chart: individuals and moving range with run rules, EWMA, and capability.
//!
//! Limits by NIST/SEMATECH e-Handbook 6.3.2.2: mean +- 3 MR / d2 with d2 = 1.128 as printed there; the moving
//! range's by D4 = 3.267. Run rules of the Western Electric handbook (1956; NIST 6.3.2). Capability by NIST
//! 6.1.6, with the standard deviation of the sample.

/// d2 for ranges of two, as printed (exact: 1.12838).
const D2: f64 = 1.128;
/// D4 for ranges of two, as printed.
const D4: f64 = 3.267;

/// What breaks the pattern of chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    BeyondLimit,
    TwoOfThree,
    FourOfFive,
    EightOneSide,
}

impl Rule {
    /// The rule in words.
    pub fn words(self) -> &'static str {
        match self {
            Rule::BeyondLimit => "one beyond a limit",
            Rule::TwoOfThree => "two of three in the outer third, same side",
            Rule::FourOfFive => "four of five beyond the inner third, same side",
            Rule::EightOneSide => "eight in a row on one side of the middle",
        }
    }
}

/// A point at which a rule is broken, counted from 1, and whether it lies above the middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signal {
    pub index: usize,
    pub rule: Rule,
    pub above: bool,
}

/// A chart of individual values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chart {
    pub n: usize,
    pub mean: f64,
    pub mr_mean: f64,
    pub upper: f64,
    pub lower: f64,
    pub mr_upper: f64,
    /// Standard deviation of the sample, n - 1.
    pub sd: f64,
}

/// Values that carry no chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoChart {
    #[error("{0} values: expected at least 2")]
    TooFew(usize),
    #[error("the values are too large to be added up: give them in a larger unit")]
    TooLarge,
}

/// Charts individual values in the order in which they came.
///
/// # Errors
/// Fewer than two values, or values whose sums are beyond what a number can hold.
pub fn individuals(values: &[f64]) -> Result<Chart, NoChart> {
    let n = values.len();
    if n < 2 {
        return Err(NoChart::TooFew(n));
    }
    let count = n as f64;
    let mean = values.iter().sum::<f64>() / count;
    let mr_mean = values.windows(2).map(|two| (two[1] - two[0]).abs()).sum::<f64>() / (count - 1.0);
    let margin = 3.0 * mr_mean / D2;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let chart = Chart {
        n,
        mean,
        mr_mean,
        upper: mean + margin,
        lower: mean - margin,
        mr_upper: D4 * mr_mean,
        sd: (squares / (count - 1.0)).sqrt(),
    };
    let all = [chart.upper, chart.lower, chart.mr_upper, chart.sd];
    if all.iter().all(|figure| figure.is_finite()) { Ok(chart) } else { Err(NoChart::TooLarge) }
}

/// A run rule: so many of so many values, further from the middle than so many sigmas.
struct Run {
    rule: Rule,
    wanted: u32,
    window: u32,
    sigmas: f64,
}

/// The rules in the order in which they are told: the plainest first.
const RUNS: [Run; 4] = [
    Run { rule: Rule::BeyondLimit, wanted: 1, window: 1, sigmas: 3.0 },
    Run { rule: Rule::TwoOfThree, wanted: 2, window: 3, sigmas: 2.0 },
    Run { rule: Rule::FourOfFive, wanted: 4, window: 5, sigmas: 1.0 },
    Run { rule: Rule::EightOneSide, wanted: 8, window: 8, sigmas: 0.0 },
];

impl Chart {
    /// The standard deviation that the moving ranges tell of.
    pub fn sigma(&self) -> f64 {
        self.mr_mean / D2
    }

    /// Every point of the charted values at which a rule is broken, in order, worked out as they are asked
    /// for. Where nothing varies there is nothing to break.
    pub fn signals<'a>(&self, values: &'a [f64]) -> impl Iterator<Item = Signal> + use<'a> {
        let (mean, sigma) = (self.mean, self.sigma());
        let values = if sigma > 0.0 { values } else { &[] };
        let mut above = Side::default();
        let mut below = Side::default();
        (1..).zip(values).flat_map(move |(index, value)| {
            let distance = (value - mean) / sigma;
            let signal = move |rule, above| Signal { index, rule, above };
            // A value lies on one side: only there can it break a rule.
            let broken = [(above.take(distance), true), (below.take(-distance), false)];
            broken.into_iter().flat_map(move |(rules, above)| {
                rules.into_iter().flatten().map(move |rule| signal(rule, above))
            })
        })
    }
}

/// What the last eight values were on one side of the middle: for each rule a bit a value, the newest lowest.
#[derive(Debug, Clone, Copy, Default)]
struct Side {
    beyond: [u8; RUNS.len()],
}

impl Side {
    /// Takes the next value as its distance from the middle in sigmas, and tells the rules that it breaks.
    fn take(&mut self, distance: f64) -> [Option<Rule>; RUNS.len()] {
        let mut broken = [None; RUNS.len()];
        for ((run, beyond), broken) in RUNS.iter().zip(&mut self.beyond).zip(&mut broken) {
            let met = distance > run.sigmas;
            *beyond = *beyond << 1 | u8::from(met);
            let seen = *beyond & (u8::MAX >> (u8::BITS - run.window));
            *broken = (met && seen.count_ones() >= run.wanted).then_some(run.rule);
        }
        broken
    }
}

/// Cp and Cpk between two limits (NIST 6.1.6).
pub fn capability(mean: f64, sd: f64, low: f64, high: f64) -> (f64, f64) {
    let cp = (high - low) / (6.0 * sd);
    let cpk = ((high - mean).min(mean - low)) / (3.0 * sd);
    (cp, cpk)
}

/// The exponentially weighted moving average after each value, started at `start` (NIST 6.3.2.4).
pub fn ewma(values: &[f64], start: f64, lambda: f64) -> Vec<f64> {
    let mut last = start;
    values
        .iter()
        .map(|value| {
            last = lambda * value + (1.0 - lambda) * last;
            last
        })
        .collect()
}

/// What the tabular cumulative sum has gathered on either side after a value.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Sums {
    pub high: f64,
    pub low: f64,
}

/// The tabular cumulative sums after each value (NIST 6.3.2.3): what lies further from the target than `k` on either
/// side is gathered, and no sum is below 0.
pub fn cusum(values: &[f64], target: f64, k: f64) -> Vec<Sums> {
    let mut sums = Sums::default();
    values
        .iter()
        .map(|value| {
            let off = value - target;
            sums =
                Sums { high: (sums.high + off - k).max(0.0), low: (sums.low - off - k).max(0.0) };
            sums
        })
        .collect()
}

/// Limits of the EWMA in the long run: target +- k s sqrt(lambda / (2 - lambda)) (NIST 6.3.2.4).
pub fn ewma_limits(target: f64, s: f64, lambda: f64, k: f64) -> (f64, f64) {
    let margin = k * s * (lambda / (2.0 - lambda)).sqrt();
    (target - margin, target + margin)
}
