//! The trial that runs: its garments, what is known by now, and what is to be done next.
//!
//! Its garments are blanks or rags of one kind, numbered from 1; they belong to no order and lie in no queue.

use serde::{Deserialize, Serialize};

use crate::figures::trial::answer::{Answer, Stop};
use crate::figures::trial::{Asked, NoTrial, Origin, ROUND, Sample, Seen};
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::facts::fact::{
    GradedAfter, TrialAnswered, TrialBegun, TrialGraded, TrialSampled, TrialWeighed,
};

/// What is known of a grade.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Graded {
    NotYet,
    /// The garment was spoiled or lost.
    Lost,
    Seen(Seen),
}

impl Graded {
    /// What was seen.
    pub fn seen(self) -> Option<Seen> {
        match self {
            Graded::Seen(seen) => Some(seen),
            Graded::NotYet | Graded::Lost => None,
        }
    }
}

/// One garment of the trial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TrialGarment {
    pub aimed: GramsPerSquareMetre,
    pub before: Grams,
    /// The coat by the scale, once it is sprayed.
    pub coat: Option<GramsPerSquareMetre>,
    pub white: Graded,
    pub wash: Graded,
}

/// What is to be done next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TrialStep {
    /// Weigh the garment of this number before its spray.
    WeighDry { no: u32, aim: GramsPerSquareMetre },
    /// Spray it, and weigh it again.
    WeighCoated { no: u32, aim: GramsPerSquareMetre, before: Grams },
    /// Grade it.
    Grade { no: u32, after: GradedAfter },
    /// Nothing: it is over.
    Over(Stop),
}

/// A trial that runs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialRun {
    pub begun: TrialBegun,
    pub garments: Vec<TrialGarment>,
    /// Rounds that were begun.
    pub rounds: usize,
    /// What was known before the last of them.
    pub answer: Answer,
    /// Whose eye grades: the people who were at the bench at the first grade.
    pub eye: Vec<String>,
}

impl TrialRun {
    /// What it asks.
    ///
    /// # Errors
    /// Edges that are none.
    pub fn asked(&self) -> Result<Asked, NoTrial> {
        Asked::new(self.begun.low, self.begun.high, self.begun.limit)
    }

    /// What is to be done next: all are sprayed, then all are graded, then those whose white passed are washed in one
    /// load and graded again.
    pub fn next(&self) -> TrialStep {
        if let Some(stop) = self.answer.stop {
            return TrialStep::Over(stop);
        }
        let numbered = || (1..).zip(&self.garments);
        if let Some((no, one)) = numbered().find(|(_, one)| one.coat.is_none()) {
            return TrialStep::WeighCoated { no, aim: one.aimed, before: one.before };
        }
        let place = self.garments.len();
        let round_is_sprayed = place >= self.rounds * ROUND;
        let waits = |after| move |(no, _): (u32, &TrialGarment)| TrialStep::Grade { no, after };
        let white = numbered().find(|(_, one)| one.white == Graded::NotYet);
        let wash = numbered().find(|(_, one)| self.is_washed(one) && one.wash == Graded::NotYet);
        let graded = white
            .map(waits(GradedAfter::Cure))
            .or_else(|| wash.map(waits(GradedAfter::Wash)))
            .filter(|_| round_is_sprayed);
        graded.unwrap_or_else(|| TrialStep::WeighDry {
            no: u32::try_from(place + 1).unwrap_or(u32::MAX),
            aim: self.answer.next[place % ROUND],
        })
    }

    /// Whether a garment goes into the wash: its white passed.
    pub fn is_washed(&self, garment: &TrialGarment) -> bool {
        garment.white.seen().is_some_and(|white| white.passes(self.begun.limit))
    }

    /// Whether every garment of the rounds so far is sprayed and graded.
    pub fn is_round_done(&self) -> bool {
        let done = |one: &TrialGarment| {
            let washed = !self.is_washed(one) || one.wash != Graded::NotYet;
            one.coat.is_some() && one.white != Graded::NotYet && washed
        };
        self.garments.len() >= self.rounds * ROUND && self.garments.iter().all(done)
    }

    /// The garments as the trial's arithmetic takes them, in their order.
    pub fn samples(&self) -> Vec<Sample> {
        let sample = |one: &TrialGarment| {
            Some(Sample {
                from: Origin::Trial,
                aimed: Some(one.aimed),
                coat: one.coat?,
                white: one.white.seen(),
                wash: one.wash.seen(),
            })
        };
        self.garments.iter().filter_map(sample).collect()
    }

    /// What all its garments say.
    ///
    /// # Errors
    /// Edges that are none.
    pub fn weighed_up(&self) -> Result<Answer, NoTrial> {
        Ok(Answer::of(self.asked()?, &self.samples())?.as_written())
    }
}

impl TrialRun {
    /// A trial as it begins; None where its edges are none, as a damaged row may have them.
    pub(in crate::shop) fn begin(fact: &TrialBegun) -> Option<Self> {
        let asked = Asked::new(fact.low, fact.high, fact.limit);
        let answer = asked.and_then(|asked| Answer::of(asked, &[])).ok()?;
        let (begun, garments, eye) = (fact.clone(), Vec::new(), Vec::new());
        Some(Self { begun, garments, rounds: 0, answer, eye })
    }

    /// A dry garment was weighed: it comes into the trial.
    pub(in crate::shop) fn weigh(&mut self, fact: &TrialWeighed) {
        let (white, wash) = (Graded::NotYet, Graded::NotYet);
        let (aimed, before) = (fact.aimed, fact.grams);
        self.garments.push(TrialGarment { aimed, before, coat: None, white, wash });
    }

    /// It was weighed with its coat on.
    pub(in crate::shop) fn sample(&mut self, fact: &TrialSampled) {
        if let Some(one) = self.garment(fact.no) {
            one.coat = Some(fact.coat);
        }
    }

    /// What is known after a round; the next one begins where that is not enough.
    pub(in crate::shop) fn answer(&mut self, fact: &TrialAnswered) {
        self.rounds += usize::from(fact.answer.stop.is_none());
        self.answer = fact.answer.clone();
    }

    fn garment(&mut self, no: u32) -> Option<&mut TrialGarment> {
        self.garments.get_mut(usize::try_from(no).ok()?.checked_sub(1)?)
    }

    /// An eye has said something of a garment.
    pub(in crate::shop) fn grade(&mut self, fact: &TrialGraded) {
        if self.eye.is_empty() {
            self.eye.clone_from(&fact.who);
        }
        let graded = fact.seen.map_or(Graded::Lost, Graded::Seen);
        if let Some(one) = self.garment(fact.no) {
            match fact.after {
                GradedAfter::Cure => one.white = graded,
                GradedAfter::Wash => one.wash = graded,
            }
        }
    }
}
