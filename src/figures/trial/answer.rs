//! What a trial knows by now, and whether that is enough.

use serde::{Deserialize, Serialize};

use super::edge::Edge;
use super::{Asked, NoTrial, ROUND, Sample, Trial};
use crate::figures::robust::median;
use crate::figures::units::GramsPerSquareMetre;

/// No answer with fewer garments.
pub const LEAST: usize = 8;
/// No more garments than these: then what is not known stays unknown.
pub const MOST: usize = 24;
/// From so many on, grades that do not follow the coat are called contradictory.
const CONTRADICTS: usize = 16;
/// An answer wants a Bayes factor of ten against "the coat does not matter".
const LEAST_EVIDENCE: f64 = std::f64::consts::LN_10;
/// Both edges are known where half of their 90 % is at most this, in ln(coat): 13 %.
const KNOWN: f64 = 0.12;
/// A chance that is enough.
const SURE: f64 = 0.9;
/// A side of an edge is seen by so many garments at least.
const SEEN: usize = 2;
/// A sprayer scatters by so much of its aim, in ln(coat): what is believed before four garments, the least and the
/// most (M).
const SCATTER: f64 = 0.12;
const LEAST_SCATTER: f64 = 0.05;
const MOST_SCATTER: f64 = 0.25;

/// Why a trial is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Stop {
    #[serde(rename = "edges known")]
    EdgesKnown,
    #[serde(rename = "target safe")]
    TargetSafe,
    #[serde(rename = "no coat does both")]
    NoCoat,
    #[serde(rename = "not settled")]
    NotSettled,
    #[serde(rename = "contradictory")]
    Contradictory,
}

impl Stop {
    /// As it is said and stored.
    pub fn words(self) -> &'static str {
        match self {
            Stop::EdgesKnown => "edges known",
            Stop::TargetSafe => "target safe",
            Stop::NoCoat => "no coat does both",
            Stop::NotSettled => "not settled",
            Stop::Contradictory => "contradictory",
        }
    }

    /// What to do now: an act, then why.
    pub fn advice(self) -> &'static str {
        match self {
            Stop::EdgesKnown => "Sign the window: both edges are known to about 13 %",
            Stop::TargetSafe => {
                "Sign the window: the target lies inside both edges with 9 chances in 10"
            }
            Stop::NoCoat => "Change fluid, dilution or garment: no coat does both",
            Stop::NotSettled => {
                "Stop here: 24 garments did not settle it. Look for what differs between garments, then try again"
            }
            Stop::Contradictory => {
                "Check labels, weights and the wash load: the grades do not follow the coat"
            }
        }
    }

    /// Whether there is a window or a target to sign.
    pub fn is_found(self) -> bool {
        matches!(self, Stop::EdgesKnown | Stop::TargetSafe)
    }
}

/// Whether an edge was seen from both sides by the trial's own garments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    Found,
    /// Too few failed, or passed, so it may lie further on that side.
    Below,
    Above,
    /// Too few of either.
    Unseen,
}

/// What is known of an edge, in g/m2.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct EdgeKnown {
    /// It lies above and below with even chances.
    pub at: GramsPerSquareMetre,
    /// It lies between these nine times in ten.
    pub from: GramsPerSquareMetre,
    pub upto: GramsPerSquareMetre,
    pub found: Found,
}

/// What a trial knows by now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// Garments of the trial whose white was graded.
    pub garments: usize,
    pub low: EdgeKnown,
    pub high: EdgeKnown,
    /// The geometric mean of both edges.
    pub target: GramsPerSquareMetre,
    /// The working window: nine times in ten the low edge lies below its lower end, and the high edge above its upper
    /// one. Where they cross there is none.
    pub working: (GramsPerSquareMetre, GramsPerSquareMetre),
    /// The sprayer's scatter and its miss on the whole: ln(coat / aim), standard deviation and median.
    pub scatter: f64,
    pub offset: f64,
    /// Chances: that no coat does both, that the target lies inside by a standard deviation of the scatter.
    pub p_none: f64,
    pub p_safe: f64,
    /// The share of garments that pass both, sprayed at the target with that scatter.
    pub share: f64,
    /// ln of the Bayes factor against "the coat does not matter".
    pub ln_bf: f64,
    /// Numbers of garments that do not fit: swapped, or misweighed.
    pub doubtful: Vec<usize>,
    /// None: go on.
    pub stop: Option<Stop>,
    pub next: [GramsPerSquareMetre; ROUND],
}

impl Answer {
    /// What samples say of what is asked: the one way from garments to an answer, for the board and for `dwell trial`.
    ///
    /// # Errors
    /// Returns alone; a garment of the trial that was washed and whose white nobody graded.
    pub fn of(asked: Asked, samples: &[Sample]) -> Result<Self, NoTrial> {
        Ok(Trial::of(asked, samples)?.answer())
    }

    /// The working window, where there is one.
    pub fn window(&self) -> Option<(GramsPerSquareMetre, GramsPerSquareMetre)> {
        Some(self.working).filter(|(low, high)| low < high)
    }

    /// As it is stored: coats to the last place that is kept of them.
    #[must_use]
    pub fn as_written(self) -> Self {
        let edge = |edge: EdgeKnown| EdgeKnown {
            at: edge.at.as_written(),
            from: edge.from.as_written(),
            upto: edge.upto.as_written(),
            ..edge
        };
        let (low, high) = self.working;
        Self {
            low: edge(self.low),
            high: edge(self.high),
            target: self.target.as_written(),
            working: (low.as_written(), high.as_written()),
            next: self.next.map(GramsPerSquareMetre::as_written),
            ..self
        }
    }

    /// Whether hardly any coat does both with this sprayer.
    pub fn is_hardly_any(&self) -> bool {
        self.share < 0.5
    }
}

fn coat(ln_coat: f64) -> GramsPerSquareMetre {
    GramsPerSquareMetre(ln_coat.exp())
}

impl EdgeKnown {
    fn of(edge: &Edge) -> Self {
        let heavy_passes = edge.is_low();
        let (passed, failed) = edge.passed_and_failed();
        let found = match (passed >= SEEN, failed >= SEEN) {
            (true, true) => Found::Found,
            (false, false) => Found::Unseen,
            // Hardly any failed: of the low edge, it lies lower than most were sprayed.
            (true, false) if heavy_passes => Found::Below,
            (false, true) if !heavy_passes => Found::Below,
            _ => Found::Above,
        };
        let [from, at, upto] = [0.05, 0.5, 0.95].map(|part| coat(edge.quantile(part)));
        Self { at, from, upto, found }
    }

    /// Half of the 90 %, in ln(coat).
    fn half_width(edge: &Edge) -> f64 {
        (edge.quantile(0.95) - edge.quantile(0.05)) / 2.0
    }
}

impl Trial {
    /// What is known by now.
    fn answer(&self) -> Answer {
        let (low, high) = (&self.low, &self.high);
        let scatter = self.scatter();
        let target = f64::midpoint(low.quantile(0.5), high.quantile(0.5));
        let mut doubtful: Vec<usize> = low.doubtful().chain(high.doubtful()).collect();
        doubtful.sort_unstable();
        doubtful.dedup();
        let mut answer = Answer {
            garments: self.graded,
            low: EdgeKnown::of(low),
            high: EdgeKnown::of(high),
            target: coat(target),
            working: (coat(low.quantile(0.9)), coat(high.quantile(0.1))),
            scatter,
            offset: median(self.missed.clone()).unwrap_or(0.0),
            p_none: 1.0 - low.is_below(high),
            p_safe: low.below(target - scatter) * (1.0 - high.below(target + scatter)),
            share: self.share(target, scatter),
            ln_bf: low.ln_evidence() + high.ln_evidence(),
            doubtful,
            stop: None,
            next: self.aims(),
        };
        answer.stop = self.stop(&answer);
        answer
    }

    /// The standard deviation of ln(coat / aim), by the median absolute deviation, which a few slips do not draw away.
    fn scatter(&self) -> f64 {
        /// A median absolute deviation times this is the standard deviation of normal errors.
        const NORMAL: f64 = 1.4826;
        const FEW: usize = 4;
        let spread = || {
            let middle = median(self.missed.clone())?;
            median(self.missed.iter().map(|missed| (missed - middle).abs()).collect())
        };
        if self.missed.len() < FEW {
            return SCATTER;
        }
        spread().map_or(SCATTER, |spread| (NORMAL * spread).clamp(LEAST_SCATTER, MOST_SCATTER))
    }

    /// The share that passes both, over normal errors of the sprayer out to three standard deviations.
    fn share(&self, target: f64, scatter: f64) -> f64 {
        let steps = || (-12..=12).map(|step| f64::from(step) / 4.0);
        let height = |z: f64| (-z * z / 2.0).exp();
        let all: f64 = steps().map(height).sum();
        let passing = |z: f64| {
            let ln_coat = target + z * scatter;
            height(z) / all * self.low.passes(ln_coat) * self.high.passes(ln_coat)
        };
        steps().map(passing).sum()
    }

    fn stop(&self, answer: &Answer) -> Option<Stop> {
        let half = EdgeKnown::half_width(&self.low).max(EdgeKnown::half_width(&self.high));
        match answer.garments {
            few if few < LEAST => None,
            garments if answer.ln_bf < LEAST_EVIDENCE => {
                (garments >= CONTRADICTS).then_some(Stop::Contradictory)
            }
            _ if answer.p_none >= SURE => Some(Stop::NoCoat),
            _ if half <= KNOWN => Some(Stop::EdgesKnown),
            _ if answer.p_safe >= SURE => Some(Stop::TargetSafe),
            garments => (garments >= MOST).then_some(Stop::NotSettled),
        }
    }
}
