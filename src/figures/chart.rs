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
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    pub n: usize,
    pub mean: f64,
    pub mr_mean: f64,
    pub upper: f64,
    pub lower: f64,
    pub mr_upper: f64,
    /// Standard deviation of the sample, n - 1.
    pub sd: f64,
    pub signals: Vec<Signal>,
}

/// Values that carry no chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{0} values: expected at least 2")]
pub struct TooFew(pub usize);

/// Charts individual values in the order in which they came.
///
/// # Errors
/// Fewer than two values.
pub fn individuals(values: &[f64]) -> Result<Chart, TooFew> {
    let n = values.len();
    if n < 2 {
        return Err(TooFew(n));
    }
    let count = n as f64;
    let mean = values.iter().sum::<f64>() / count;
    let mr_mean = values.windows(2).map(|two| (two[1] - two[0]).abs()).sum::<f64>() / (count - 1.0);
    let sigma = mr_mean / D2;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Ok(Chart {
        n,
        mean,
        mr_mean,
        upper: mean + 3.0 * sigma,
        lower: mean - 3.0 * sigma,
        mr_upper: D4 * mr_mean,
        sd: (squares / (count - 1.0)).sqrt(),
        signals: signals(values, mean, sigma),
    })
}

/// The rules in the order in which they are told: the plainest first.
const RUNS: [(Rule, usize, usize, f64); 4] = [
    (Rule::BeyondLimit, 1, 1, 3.0),
    (Rule::TwoOfThree, 2, 3, 2.0),
    (Rule::FourOfFive, 4, 5, 1.0),
    (Rule::EightOneSide, 8, 8, 0.0),
];

/// Every point at which a rule is broken. Where nothing varies there is nothing to break.
fn signals(values: &[f64], mean: f64, sigma: f64) -> Vec<Signal> {
    let mut signals = Vec::new();
    if sigma <= 0.0 {
        return signals;
    }
    for last in 0..values.len() {
        for (rule, wanted, window, sigmas) in RUNS {
            let Some(first) = (last + 1).checked_sub(window) else { continue };
            for (side, above) in [(1.0, true), (-1.0, false)] {
                let beyond = |value: &f64| side * (value - mean) > sigmas * sigma;
                let met = values[first..=last].iter().filter(|value| beyond(value)).count();
                if met >= wanted && beyond(&values[last]) {
                    signals.push(Signal { index: last + 1, rule, above });
                }
            }
        }
    }
    signals
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

/// Limits of the EWMA in the long run: target +- k s sqrt(lambda / (2 - lambda)) (NIST 6.3.2.4).
pub fn ewma_limits(target: f64, s: f64, lambda: f64, k: f64) -> (f64, f64) {
    let margin = k * s * (lambda / (2.0 - lambda)).sqrt();
    (target - margin, target + margin)
}
