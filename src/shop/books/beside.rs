//! A shift beside the one before it, and beside the usual one.

use serde::Serialize;

use super::groups::Group;
use crate::figures::robust::median;

/// The usual shift is the middle one of so many before, in each figure by itself.
const USUAL: usize = 10;
/// With fewer than this nothing is usual.
const LEAST: usize = 3;

/// The figures of a shift that are set side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figures {
    pub finished: Option<f64>,
    pub per_hour: Option<f64>,
    pub first_pass_yield: Option<f64>,
    pub rejects: Option<f64>,
    pub lost_minutes: Option<f64>,
    /// Grams of fluid for a garment.
    pub each_g: Option<f64>,
}

/// The shift before, and the usual one of those before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    /// What the shift before is known by.
    pub last_name: String,
    pub last: Figures,
    /// Of how many shifts.
    pub usual_of: usize,
    /// None where there are too few.
    pub usual: Option<Figures>,
}

impl Figures {
    fn of(row: &Group) -> Self {
        let count = |count: usize| Some(count as f64);
        Self {
            finished: count(row.made),
            per_hour: row.per_hour,
            first_pass_yield: row.first_pass,
            rejects: count(row.rejects),
            lost_minutes: Some(row.lost_minutes),
            each_g: row.each_g,
        }
    }
}

impl Beside {
    /// Of the shifts before, oldest first; None where there is none.
    pub fn of(before: &[Group]) -> Option<Self> {
        let last = before.last()?;
        let from = before.len().saturating_sub(USUAL);
        let all: Vec<Figures> = before[from..].iter().map(Figures::of).collect();
        let middle = |of: fn(&Figures) -> Option<f64>| median(all.iter().filter_map(of).collect());
        let usual = || Figures {
            finished: middle(|one| one.finished),
            per_hour: middle(|one| one.per_hour),
            first_pass_yield: middle(|one| one.first_pass_yield),
            rejects: middle(|one| one.rejects),
            lost_minutes: middle(|one| one.lost_minutes),
            each_g: middle(|one| one.each_g),
        };
        Some(Self {
            last_name: last.group.clone(),
            last: Figures::of(last),
            usual_of: all.len(),
            usual: (all.len() >= LEAST).then(usual),
        })
    }
}
