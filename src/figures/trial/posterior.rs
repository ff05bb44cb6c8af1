//! What is believed of the cells of a grid, and how results change it: Bayes' rule, cell by cell.

/// What is believed of each cell of a grid; sums to 1.
#[derive(Debug, Clone)]
pub struct Posterior(Vec<f64>);

impl Posterior {
    /// What is believed before anything was seen, up to a factor.
    pub fn new(prior: impl IntoIterator<Item = f64>) -> Self {
        let mut mass: Vec<f64> = prior.into_iter().collect();
        to_one(&mut mass);
        Self(mass)
    }

    /// Takes in a result by its likelihood in each cell, which counts to the power of `weight`. Returns the logarithm
    /// of the chance that the result had.
    pub fn learn(&mut self, likelihood: &[f64], weight: f64) -> f64 {
        for (mass, likelihood) in self.0.iter_mut().zip(likelihood) {
            *mass *= if weight == 1.0 { *likelihood } else { likelihood.powf(weight) };
        }
        to_one(&mut self.0).ln()
    }

    /// The belief in each cell.
    pub fn mass(&self) -> &[f64] {
        &self.0
    }

    /// The mean of something that has a value in each cell.
    pub fn mean(&self, values: impl IntoIterator<Item = f64>) -> f64 {
        self.0.iter().zip(values).map(|(mass, value)| mass * value).sum()
    }
}

/// Makes the sum one; returns what it was.
fn to_one(mass: &mut [f64]) -> f64 {
    let sum: f64 = mass.iter().sum();
    mass.iter_mut().for_each(|mass| *mass /= sum);
    sum
}
