//! The window of coats for one garment, fluid and cure, found by a trial: some garments are sprayed with coats across
//! the window, weighed, printed, cured, graded, washed and graded again.
//!
//! Each of the window's two edges is the coat at which half of the garments still get the limit grade: the low edge by
//! the white after the cure, the high edge after the wash. What is known of an edge is a posterior on a grid
//! ([`edge`]); the coats to try next are its thirds; [`answer`] says what is known and when it is enough. Method and
//! settings are our own, chosen on simulated garments: nothing here was proved on cloth, the 90 % are those of curves
//! of the shapes on the grid, and nobody's eye is known to be right. It says nothing of more washes than were made.

pub mod answer;
pub mod edge;
pub mod grid;
pub mod posterior;
pub mod text;

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::fastness::{Grade, NotAGrade};
use super::units::GramsPerSquareMetre;
use edge::Edge;

/// Garments of one round: two about each edge.
pub const ROUND: usize = 4;
/// The share of its likelihood, as a power, at which ordinary work counts. Those garments lie near the target and were
/// not chosen for a trial: at full weight they made the answer overbold in simulation, at half it kept its 90 %.
pub const WORK_COUNTS: f64 = 0.5;

/// What somebody saw on a garment; as a text a grade ("4-5"), "yes" or "no".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Seen {
    Graded(Grade),
    /// By eye, without a scale of grades: it passes, or not.
    Passed(bool),
}

impl Seen {
    /// Whether it reaches a limit.
    pub fn passes(self, limit: Grade) -> bool {
        match self {
            Seen::Graded(grade) => grade >= limit,
            Seen::Passed(passed) => passed,
        }
    }
}

impl FromStr for Seen {
    type Err = NotAGrade;
    fn from_str(text: &str) -> Result<Self, NotAGrade> {
        match text.trim().to_ascii_lowercase().as_str() {
            "yes" => Ok(Seen::Passed(true)),
            "no" => Ok(Seen::Passed(false)),
            grade => Grade::read_half(grade).map(Seen::Graded),
        }
    }
}

impl fmt::Display for Seen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Seen::Graded(grade) => grade.fmt(f),
            Seen::Passed(true) => f.pad("yes"),
            Seen::Passed(false) => f.pad("no"),
        }
    }
}

impl TryFrom<String> for Seen {
    type Error = NotAGrade;
    fn try_from(text: String) -> Result<Self, NotAGrade> {
        text.parse()
    }
}

impl From<Seen> for String {
    fn from(seen: Seen) -> String {
        seen.to_string()
    }
}

/// Where a garment comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Sprayed for the trial.
    Trial,
    /// Ordinary work that happened to be weighed and looked at, or washed as a sample: near the target, so it says
    /// little of the edges.
    Work,
    /// Brought back by a customer: only what fails comes back, so it makes the window look narrower than it is.
    Return,
}

/// One garment that was weighed with its coat on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    pub from: Origin,
    /// The coat that was aimed for.
    pub aimed: Option<GramsPerSquareMetre>,
    /// The coat that it really got.
    pub coat: GramsPerSquareMetre,
    /// Its white after the cure.
    pub white: Option<Seen>,
    /// Its print after the wash.
    pub wash: Option<Seen>,
}

/// What a trial asks: where the edges are thought to lie, and which grade must be reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    low: GramsPerSquareMetre,
    high: GramsPerSquareMetre,
    limit: Grade,
}

/// Something that no trial can ask, or be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoTrial {
    #[error(
        "{low} to {high} is no window: expected a low edge below the high one, such as 138 g/m2 to 270 g/m2"
    )]
    Edges { low: GramsPerSquareMetre, high: GramsPerSquareMetre },
    #[error("grade 1 is reached by every garment: expected a limit of 1-2 to 5, such as 4")]
    Limit,
    #[error(
        "these are all returns, and only what failed comes back: no window can be found from them alone. Spray a trial"
    )]
    OnlyReturns,
    #[error(
        "no. {no} has a result of its wash and none of its white: grade the white after the cure, before the wash"
    )]
    WashedUngraded { no: usize },
}

impl Asked {
    /// Edges as the recipe has them, and the limit grade.
    ///
    /// # Errors
    /// Edges that are none, a limit that everything reaches.
    pub fn new(
        low: GramsPerSquareMetre,
        high: GramsPerSquareMetre,
        limit: Grade,
    ) -> Result<Self, NoTrial> {
        if !(0.0 < low.0 && low < high && high.0.is_finite()) {
            return Err(NoTrial::Edges { low, high });
        }
        if limit == Grade::WORST {
            return Err(NoTrial::Limit);
        }
        Ok(Self { low, high, limit })
    }

    /// The grade that must be reached.
    pub fn limit(self) -> Grade {
        self.limit
    }
}

/// A trial with all that is known of its two edges. Whoever wants to know what samples say asks [`answer::Answer::of`].
#[derive(Debug, Clone)]
struct Trial {
    asked: Asked,
    low: Edge,
    high: Edge,
    /// Of the samples sprayed for it that have a coat and an aim: ln(coat / aim).
    missed: Vec<f64>,
    /// Samples sprayed for it whose white was graded.
    graded: usize,
}

impl Trial {
    /// What samples say. Ordinary work and returns count at half weight and before the trial's own, so that the
    /// evidence is that of the trial. A wash counts only where the white had passed.
    ///
    /// # Errors
    /// Returns alone; a garment of the trial that was washed and whose white nobody graded.
    fn of(asked: Asked, samples: &[Sample]) -> Result<Self, NoTrial> {
        if !samples.is_empty() && samples.iter().all(|sample| sample.from == Origin::Return) {
            return Err(NoTrial::OnlyReturns);
        }
        let Asked { low, high, limit } = asked;
        let mut trial = Self {
            asked,
            low: Edge::low(low, limit),
            high: Edge::high(high, limit),
            missed: Vec::new(),
            graded: 0,
        };
        let numbered = || (1..).zip(samples);
        for (no, sample) in numbered().filter(|(_, sample)| sample.from != Origin::Trial) {
            trial.add(no, sample)?;
        }
        trial.low.own_evidence_begins();
        trial.high.own_evidence_begins();
        for (no, sample) in numbered().filter(|(_, sample)| sample.from == Origin::Trial) {
            trial.add(no, sample)?;
        }
        Ok(trial)
    }

    fn add(&mut self, no: usize, sample: &Sample) -> Result<(), NoTrial> {
        let is_own = sample.from == Origin::Trial;
        let weight = if is_own { 1.0 } else { WORK_COUNTS };
        if is_own && let Some(aimed) = sample.aimed {
            self.missed.push((sample.coat.0 / aimed.0).ln());
        }
        match sample.white {
            Some(white) => {
                self.graded += usize::from(is_own);
                self.low.add(no, sample.coat, white, weight);
            }
            // What was sold had passed the eye.
            None if is_own && sample.wash.is_some() => return Err(NoTrial::WashedUngraded { no }),
            None => {}
        }
        let passed = sample.white.is_none_or(|white| white.passes(self.asked.limit));
        if let Some(wash) = sample.wash.filter(|_| passed) {
            self.high.add(no, sample.coat, wash, weight);
        }
        Ok(())
    }

    /// The four coats to try next: the 30 and 70 % quantiles of the low edge, then of the high one, which are never
    /// below the middle of the low edge: there is no wash without white.
    fn aims(&self) -> [GramsPerSquareMetre; ROUND] {
        const THIRDS: [f64; 2] = [0.3, 0.7];
        let [first, second] = THIRDS.map(|part| self.low.quantile(part));
        let middle = self.low.quantile(0.5);
        let [third, fourth] = THIRDS.map(|part| self.high.quantile(part).max(middle));
        [first, second, third, fourth].map(|ln_coat| GramsPerSquareMetre(ln_coat.exp()))
    }
}
