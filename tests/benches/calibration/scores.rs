//! Draws of a moment, and how well they foresaw it.

use std::io::Write;
use std::process::{Command, Stdio};

use support::python;

/// Draws of when something is done, the soonest first, in seconds.
#[derive(Debug, Clone, Default)]
pub struct Draws(Vec<f64>);

impl Draws {
    pub fn of(mut draws: Vec<f64>) -> Self {
        draws.sort_by(f64::total_cmp);
        Self(draws)
    }

    /// So many percent lie below it, as a plan takes its P10, P50 and P90.
    pub fn at(&self, percent: usize) -> f64 {
        self.0.get(self.0.len() * percent / 100).copied().unwrap_or(0.0)
    }

    /// From P10 to P90.
    pub fn band(&self) -> f64 {
        self.at(90) - self.at(10)
    }

    /// The share of the draws below what came.
    #[expect(clippy::cast_precision_loss, reason = "a thousand draws")]
    pub fn below(&self, truth: f64) -> f64 {
        self.0.partition_point(|draw| *draw < truth) as f64 / self.0.len().max(1) as f64
    }

    /// The continuous ranked probability score of draws, in seconds: the mean of |X - y| less half that of |X - X'|
    /// (Gneiting and Raftery 2007, eq. 21). It is twice the pinball loss over all shares; the less, the better.
    #[expect(clippy::cast_precision_loss, reason = "a thousand draws")]
    pub fn crps(&self, truth: f64) -> f64 {
        let count = self.0.len().max(1) as f64;
        let off = self.0.iter().map(|draw| (draw - truth).abs()).sum::<f64>() / count;
        // Of sorted draws the sum over all pairs is one pass: the nth is the larger of n pairs, the smaller of the others.
        let apart =
            self.0.iter().zip(0..).map(|(draw, n)| draw * (2.0 * f64::from(n) + 1.0 - count));
        off - apart.sum::<f64>() / (count * count)
    }
}

/// The same score by SciPy: half the square of the energy distance between the draws and what came. None where no Python
/// has SciPy.
pub fn by_scipy(told: &[(&Draws, f64)]) -> Option<Vec<f64>> {
    const SCORE: &str = "import json, sys; from scipy.stats import energy_distance as d; \
                         print(json.dumps([d(x, [y]) ** 2 / 2 for x, y in json.load(sys.stdin)]))";
    let python = python::python_with("scipy", "scipy")?;
    let mut child = Command::new(python)
        .args(["-c", SCORE])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .ok()?;
    let told: Vec<(&[f64], f64)> =
        told.iter().map(|(draws, truth)| (&draws.0[..], *truth)).collect();
    let asked = serde_json::to_vec(&told).ok()?;
    child.stdin.take()?.write_all(&asked).ok()?;
    serde_json::from_slice(&child.wait_with_output().ok()?.stdout).ok()
}
