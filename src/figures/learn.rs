//! A beginner's hand, from a cup of water to the first garments: what to do next, and what not to change yet.
//!
//! The way is common practice, no source: water before fluid, cardboard before a shirt, one change at a time. So are its
//! figures: a catch that repeats within 10 %, three coats in a row within 15 % of the target, five garments inside.
//! A pace is changed only where two coats in a row lie outside on the same side: what lies on both is scatter, and
//! whoever corrects scatter makes it larger.

use serde::{Deserialize, Serialize};

use super::coat::{self, NoCoat, Verdict};
use super::coverage::Coverage;
use super::spray::{self, NoPace, Pace, Task};
use super::units::{Grams, GramsPerSquareMetre};

/// Two catches that differ by more of the larger do not tell the flow.
const REPEATS: f64 = 0.1;
/// How far off the target a coat may be.
pub const NEAR: f64 = 0.15;

/// What was said, in order.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Said {
    /// So much was caught in a cup.
    Caught { seconds: f64, grams: Grams },
    /// Weighed before the spray and after.
    Weighed { before: Grams, after: Grams },
    /// What was said last was wrong.
    TakenBack,
}

/// What is sprayed, and with what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Water into a cup.
    Catch,
    /// Water on cardboard.
    Cardboard,
    /// Water on a rag shirt.
    Rag,
    /// Fluid on garments, each weighed.
    Garments,
    Done,
}

impl Stage {
    /// How many in a row end it.
    pub fn wanted(self) -> usize {
        match self {
            Stage::Catch => 2,
            Stage::Cardboard => 1,
            Stage::Rag => 3,
            Stage::Garments => 5,
            Stage::Done => 0,
        }
    }

    fn next(self) -> Stage {
        match self {
            Stage::Catch => Stage::Cardboard,
            Stage::Cardboard => Stage::Rag,
            Stage::Rag => Stage::Garments,
            Stage::Garments | Stage::Done => Stage::Done,
        }
    }
}

/// A coat that was weighed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Try {
    pub stage: Stage,
    pub on: Grams,
    pub coat: GramsPerSquareMetre,
    /// Of the target: -0.2 is a fifth too light.
    pub off: f64,
    /// Seconds in all that the pace asked for.
    pub paced: f64,
    pub counts: bool,
}

/// What to do about the coat before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Advice {
    /// It counts: change nothing.
    Same,
    /// One miss may be chance: once more, just so.
    Again,
    /// It lies on both sides: no other pace helps, an even hand does.
    Scatters,
    /// Two on one side: the pace is another from now on, and nothing else is changed.
    Pace { from: f64, to: f64 },
}

/// How far the last coats at one pace lie apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    pub count: usize,
    pub low: GramsPerSquareMetre,
    pub high: GramsPerSquareMetre,
    /// Standard deviation over mean, of three and more.
    pub cv: Option<f64>,
}

/// What is learned by now.
#[derive(Debug, Clone)]
pub struct Lesson {
    task: Task,
    coverage: Coverage,
    window: (GramsPerSquareMetre, GramsPerSquareMetre),
    pub stage: Stage,
    /// Grams a second of each catch.
    pub catches: Vec<f64>,
    pub tries: Vec<Try>,
    /// How many in a row count on this stage.
    pub in_a_row: usize,
    pub advice: Option<Advice>,
    /// The speed of the hand over that of the sums: what it turned out to take.
    factor: f64,
    /// Tries since the pace or the surface changed.
    since: usize,
}

impl Lesson {
    /// Everything that was said, from the first word on. `task` has the profile's flow until one is caught; `window` is
    /// what a garment's coat must lie in.
    ///
    /// # Errors
    /// A task for which there is no pace, weights that are none of a coat.
    pub fn of(
        task: Task,
        coverage: Coverage,
        window: (GramsPerSquareMetre, GramsPerSquareMetre),
        said: &[Said],
    ) -> Result<Self, NoLesson> {
        let mut lesson = Self {
            task,
            coverage,
            window,
            stage: Stage::Catch,
            catches: Vec::new(),
            tries: Vec::new(),
            in_a_row: 0,
            advice: None,
            factor: 1.0,
            since: 0,
        };
        lesson.pace()?;
        for one in standing(said) {
            match one {
                Said::Caught { seconds, grams } => lesson.caught(grams.0 / seconds),
                Said::Weighed { before, after } => lesson.weighed(before, after)?,
                Said::TakenBack => {}
            }
        }
        Ok(lesson)
    }

    /// What comes out a second, where it is known by now.
    pub fn flow(&self) -> Option<f64> {
        let [.., first, second] = self.catches.as_slice() else { return None };
        let repeats = (first - second).abs() <= REPEATS * first.max(*second);
        repeats.then_some((first + second) / 2.0)
    }

    /// The pace that is asked for now.
    ///
    /// # Errors
    /// A flow with which there is none.
    pub fn pace(&self) -> Result<Pace, NoPace> {
        let flow_g_s = self.flow().unwrap_or(self.task.flow_g_s);
        let pace = spray::pace(&Task { flow_g_s, ..self.task })?;
        Ok(Pace {
            speed_cm_s: pace.speed_cm_s * self.factor,
            seconds_a_stroke_across: pace.seconds_a_stroke_across / self.factor,
            seconds_a_stroke_down: pace.seconds_a_stroke_down / self.factor,
            seconds: pace.seconds / self.factor,
            ..pace
        })
    }

    /// What the scale shows for the target.
    pub fn grams_right(&self) -> Grams {
        self.coverage.grams(self.task.coat)
    }

    fn caught(&mut self, flow: f64) {
        self.catches.push(flow);
        self.in_a_row = if self.flow().is_some() { 2 } else { 1 };
        self.go_on();
    }

    fn weighed(&mut self, before: Grams, after: Grams) -> Result<(), NoLesson> {
        let on = coat::picked_up(before, after)?;
        let coat = self.coverage.per_area(on);
        let off = coat.0 / self.task.coat.0 - 1.0;
        let near = off.abs() <= NEAR;
        let inside = Verdict::of(coat, self.window.0, self.window.1) == Verdict::Inside;
        let counts = if self.stage == Stage::Garments { inside } else { near };
        let paced = self.pace()?.seconds;
        self.tries.push(Try { stage: self.stage, on, coat, off, paced, counts });
        self.since += 1;
        self.in_a_row = if counts { self.in_a_row + 1 } else { 0 };
        self.advise(paced)?;
        self.go_on();
        Ok(())
    }

    /// The last tries at this pace on this surface.
    fn at_this_pace(&self) -> &[Try] {
        &self.tries[self.tries.len() - self.since.min(self.tries.len())..]
    }

    /// What the last coat says of the pace; two in a row outside on one side change it.
    fn advise(&mut self, paced: f64) -> Result<(), NoPace> {
        let before_last = |tries: &[Try]| match tries {
            [.., before, last] if !last.counts && !before.counts => Some((*before, *last)),
            _ => None,
        };
        self.advice = Some(match (self.at_this_pace(), before_last(self.at_this_pace())) {
            ([.., last], _) if last.counts => Advice::Same,
            (_, Some((before, last))) if before.off * last.off < 0.0 => Advice::Scatters,
            (_, Some((before, last))) => {
                // A coat of nothing says nothing of the pace that would lay one.
                self.factor *= (1.0 + f64::midpoint(before.off, last.off)).clamp(0.25, 4.0);
                self.since = 0;
                Advice::Pace { from: paced, to: self.pace()?.seconds }
            }
            _ => Advice::Again,
        });
        Ok(())
    }

    fn go_on(&mut self) {
        if self.stage != Stage::Done && self.in_a_row >= self.stage.wanted() {
            self.stage = self.stage.next();
            (self.in_a_row, self.since) = (0, 0);
        }
    }

    /// How far the last coats lie apart, since the surface or the pace changed: of the five newest at most.
    pub fn spread(&self) -> Option<Spread> {
        const MOST: usize = 5;
        let last = self.tries.last()?;
        let alike = |one: &&Try| one.stage == last.stage && one.paced == last.paced;
        let coats: Vec<f64> =
            self.tries.iter().rev().take_while(alike).take(MOST).map(|one| one.coat.0).collect();
        let count = coats.len();
        let low = coats.iter().copied().fold(f64::INFINITY, f64::min);
        let high = coats.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mean = coats.iter().sum::<f64>() / count as f64;
        let squares: f64 = coats.iter().map(|coat| (coat - mean).powi(2)).sum();
        let cv = (count >= 3).then(|| (squares / (count as f64 - 1.0)).sqrt() / mean);
        let (low, high) = (GramsPerSquareMetre(low), GramsPerSquareMetre(high));
        Some(Spread { count, low, high, cv })
    }
}

/// What stands of what was said: without what was taken back.
fn standing(said: &[Said]) -> Vec<Said> {
    let mut standing = Vec::new();
    for one in said {
        match one {
            Said::TakenBack => drop(standing.pop()),
            one => standing.push(*one),
        }
    }
    standing
}

/// Why there is no lesson.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoLesson {
    #[error("{0}")]
    Pace(#[from] NoPace),
    #[error("{0}")]
    Coat(#[from] NoCoat),
}
