//! Which of some pairs do not belong to a straight line through the origin that the others lie on.
//!
//! Each pair has a slope of its own, y / x. Their middle is taken by Huber's M-estimate (P. J. Huber, Robust
//! estimation of a location parameter, Annals of Mathematical Statistics 35, 1964) with the median absolute
//! deviation as its scale, which a few pairs that are far off, in x or in y, cannot draw away. Pairs far from that
//! middle are suspects: they are tested from the nearest to the farthest against a line through all that passed
//! before, by the Student residual of a pair that the line has not seen (A. S. Hadi and J. S. Simonoff, Procedures
//! for the identification of multiple outliers in linear models, Journal of the American Statistical Association 88,
//! 1993). The first that fails is left out, and whatever lies farther. The line itself is one of least squares
//! through the rest, so that of clean pairs nothing is lost.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::line::NoLine;

/// Beyond so many scales a pair counts less: 95 % efficient for normal errors (Huber's usual constant).
const HUBER: f64 = 1.345;
/// A median absolute deviation over this is the standard deviation of normal errors: the normal's upper quartile.
const QUARTILE: f64 = 0.674_489_750_196_081_7;
/// In so many of a hundred sets of clean pairs one pair, or more, is taken for far off.
const FALSE_ALARM: f64 = 0.005;
/// Pairs scatter by this part of themselves at least: no eye and no clock is better (from memory).
const LEAST_SPREAD: f64 = 0.01;
/// A pair within so many standard deviations is never far off.
const NEAR: f64 = 3.0;
/// At most one pair in so many is suspect.
const SUSPECTS: usize = 4;

/// Huber's M-estimate of where values lie, and their scale: the median absolute deviation from it, as that of normal
/// errors. Both are those at which iterated weights come to rest. None without values.
pub fn huber(values: &[f64]) -> Option<(f64, f64)> {
    const ROUNDS: usize = 200;
    const RESTS: f64 = 1e-13;
    let mut at = median(values.to_vec())?;
    let mut scale = 0.0;
    for _ in 0..ROUNDS {
        scale = median(values.iter().map(|value| (value - at).abs()).collect())? / QUARTILE;
        let weight = |value: f64| {
            let off = (value - at).abs();
            if off <= HUBER * scale { 1.0 } else { HUBER * scale / off }
        };
        let sum: f64 = values.iter().map(|value| weight(*value)).sum();
        let next = values.iter().map(|value| weight(*value) * value).sum::<f64>() / sum;
        // More than half of the values are alike: that is where they lie.
        if !next.is_finite() || (next - at).abs() <= RESTS * at.abs() {
            break;
        }
        at = next;
    }
    Some((at, scale))
}

/// The middle of values, or between the two in the middle. None without values.
pub fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let upper = *values.get(values.len() / 2)?;
    let lower = *values.get(values.len().checked_sub(1)? / 2)?;
    Some(f64::midpoint(lower, upper))
}

/// The places of pairs (x, y) that are far off the line of the others, x being above 0; sorted.
///
/// # Errors
/// Fewer than three pairs.
pub fn far_off(pairs: &[(f64, f64)]) -> Result<Vec<usize>, NoLine> {
    let slopes: Vec<f64> = pairs.iter().map(|(x, y)| y / x).collect();
    let few = NoLine::TooFew(pairs.len());
    let (slope, _) = huber(&slopes).filter(|_| pairs.len() >= 3).ok_or(few)?;
    let mut order: Vec<usize> = (0..pairs.len()).collect();
    let off = |n: &usize| (slopes[*n] - slope).abs();
    order.sort_by(|a, b| off(a).total_cmp(&off(b)));
    let mut passed = pairs.len() - (pairs.len() / SUSPECTS).max(1);
    while passed < pairs.len() {
        let seen: Vec<(f64, f64)> = order[..passed].iter().map(|n| pairs[*n]).collect();
        if is_far(&seen, pairs[order[passed]]) {
            break;
        }
        passed += 1;
    }
    let mut far = order.split_off(passed);
    far.sort_unstable();
    Ok(far)
}

/// Whether a pair lies farther from the line through others than chance explains, it being the farthest of all.
fn is_far(seen: &[(f64, f64)], (x, y): (f64, f64)) -> bool {
    let sum = |of: fn(f64, f64) -> f64| seen.iter().map(|(x, y)| of(*x, *y)).sum::<f64>();
    let (xx, xy) = (sum(|x, _| x * x), sum(|x, y| x * y));
    let slope = xy / xx;
    let squares: f64 = seen.iter().map(|(x, y)| (y - slope * x).powi(2)).sum();
    let freedom = (seen.len() - 1) as f64;
    let spread = (squares / freedom * (1.0 + x * x / xx)).sqrt();
    // Pairs that agree to a hair by luck say nothing of how far others may lie.
    let spread = spread.max(LEAST_SPREAD * y.abs().min((slope * x).abs()));
    // No quantile below is nearer than that.
    if (y - slope * x).abs() <= NEAR * spread {
        return false;
    }
    let chance = FALSE_ALARM / (2.0 * (seen.len() + 1) as f64);
    let bound =
        StudentsT::new(0.0, 1.0, freedom).map_or(f64::INFINITY, |t| t.inverse_cdf(1.0 - chance));
    (y - slope * x).abs() > bound * spread
}
