//! A straight line through the origin, fitted by least squares, and what it predicts.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// A fit y = slope x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThroughOrigin {
    pub slope: f64,
    /// Standard deviation of the slope.
    pub slope_sd: f64,
    /// Standard deviation of the residuals, with n - 1 degrees of freedom.
    pub residual_sd: f64,
    /// Uncentred: 1 - sum of squared residuals / sum of squared y.
    pub r_squared: f64,
    pub n: usize,
    sum_xx: f64,
}

/// Pairs that carry no line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoLine {
    #[error("{0} pairs: expected at least 3")]
    TooFew(usize),
    #[error("all x are 0: there is nothing to fit")]
    Flat,
}

/// Fits y = slope x: slope = sum xy / sum xx (checked against NIST StRD NoInt1 and NoInt2).
///
/// # Errors
/// Fewer than three pairs, or no x but 0.
pub fn through_origin(pairs: &[(f64, f64)]) -> Result<ThroughOrigin, NoLine> {
    if pairs.len() < 3 {
        return Err(NoLine::TooFew(pairs.len()));
    }
    let sum = |of: fn(f64, f64) -> f64| pairs.iter().map(|(x, y)| of(*x, *y)).sum::<f64>();
    let (sum_xx, sum_xy, sum_yy) = (sum(|x, _| x * x), sum(|x, y| x * y), sum(|_, y| y * y));
    if sum_xx <= 0.0 || !sum_xx.is_finite() {
        return Err(NoLine::Flat);
    }
    let slope = sum_xy / sum_xx;
    let squares: f64 = pairs.iter().map(|(x, y)| (y - slope * x).powi(2)).sum();
    let freedom = (pairs.len() - 1) as f64;
    let residual_sd = (squares / freedom).sqrt();
    Ok(ThroughOrigin {
        slope,
        slope_sd: residual_sd / sum_xx.sqrt(),
        residual_sd,
        r_squared: 1.0 - squares / sum_yy,
        n: pairs.len(),
        sum_xx,
    })
}

impl ThroughOrigin {
    /// Half the width of the interval that holds a new y at `x` with 95 % probability:
    /// t(0.975, n - 1) s sqrt(1 + x^2 / sum xx).
    pub fn prediction(&self, x: f64) -> f64 {
        let t = StudentsT::new(0.0, 1.0, (self.n - 1) as f64)
            .map_or(f64::INFINITY, |t| t.inverse_cdf(0.975));
        t * self.residual_sd * (1.0 + x * x / self.sum_xx).sqrt()
    }
}
