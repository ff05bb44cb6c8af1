//! When work ends that was gone through with drawn times: of all draws, the ends that matter.

use serde::Serialize;

/// So often the plan is gone through with drawn hand times.
pub const DRAWS: usize = 1000;

/// Seconds until everything is done, of a thousand draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Finish {
    pub p10: f64,
    pub p50: f64,
    pub p90: f64,
}

impl Finish {
    /// Of the ends that were drawn.
    pub fn of(mut ends: Vec<f64>) -> Self {
        ends.sort_by(f64::total_cmp);
        let at = |share: usize| ends.get(ends.len() * share / 100).copied().unwrap_or(0.0);
        Finish { p10: at(10), p50: at(50), p90: at(90) }
    }
}
