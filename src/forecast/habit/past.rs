//! What lies behind: the last stretches of work, the ways of the garments in them, and what of the shop is known how well.

use std::time::Duration;

use crate::forecast::plan::presses::Asks;
use crate::forecast::plan::{Dwell, Kind, Millis, Phase, Problem};
use crate::shop::books::hands::{SCATTER, Stretch, Work};
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::step::Step;

/// How far a profile is off what a work really takes, as sigma of the logarithm: printers more than hands. From memory.
const PROFILE_HANDS: f64 = 0.1;
const PROFILE_PRINT: f64 = 0.15;
/// How prints scatter about their median until it is known. From memory.
const PRINT_SCATTER: f64 = 0.1;

/// The phases of each step, with what they ask of presses.
pub type Ways = [Vec<(Phase, Asks)>; Step::ALL.len()];

/// What lies behind.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Sigma of the logarithm of a hand time about its median; of a print likewise.
    pub scatter: f64,
    pub print_scatter: f64,
    /// For each work, how far what is gone by may be off: sigma of its logarithm.
    pub doubts: [f64; Work::ALL.len()],
    /// What there was, whatever is asked of what lies ahead.
    pub presses: usize,
    pub printers: usize,
    pub operators: usize,
    /// How slow each of them is, in thousandths of the usual.
    pub paces: Vec<Millis>,
    pub stretches: Vec<Stretch>,
    /// For each recipe the ways of its garments.
    pub ways: Vec<(RecipeHash, Ways)>,
    /// Pauses between acts that no profile tells of.
    pub pauses: Vec<Duration>,
}

impl Default for Past {
    fn default() -> Self {
        Self {
            scatter: SCATTER,
            print_scatter: PRINT_SCATTER,
            doubts: doubts(|_| None),
            presses: 1,
            printers: 1,
            operators: 1,
            paces: Vec::new(),
            stretches: Vec::new(),
            ways: Vec::new(),
            pauses: Vec::new(),
        }
    }
}

/// How far each work may be off, where `known` says how many gaps tell of it and how they scatter.
pub fn doubts(known: impl Fn(Work) -> Option<(usize, f64)>) -> [f64; Work::ALL.len()] {
    Work::ALL.map(|work| match known(work) {
        // A few that lie close together by chance are not surer than others.
        Some((gaps, scatter)) => scatter.max(PRINT_SCATTER) / whole(gaps.max(1)).sqrt(),
        None if work == Work::Print => PROFILE_PRINT,
        None => PROFILE_HANDS,
    })
}

impl Past {
    /// What was done, as work of its own at the machines that there were, and how many garments were finished of it. What
    /// went through steps that follow one another is taken for the same garments. What was under way at the end goes the
    /// rest of its way too, behind the others: without it the machines would run dry at the end, as they did not.
    pub fn done(&self) -> (Problem, usize) {
        let (mut whole, mut begun) = (Vec::new(), Vec::new());
        for (recipe, ways) in &self.ways {
            let mut done = [0i64; Step::ALL.len()];
            let own = self.stretches.iter().flat_map(|one| &one.done);
            for (_, steps) in own.filter(|(known, _)| known == recipe) {
                done.iter_mut().zip(steps).for_each(|(sum, step)| *sum += i64::from(*step));
            }
            // A step that a recipe does not have breaks no way.
            let wanted: Vec<usize> = (0..ways.len()).filter(|n| !ways[*n].is_empty()).collect();
            while let Some(first) = wanted.iter().position(|n| done[*n] > 0) {
                let run = wanted[first..].iter().take_while(|n| done[**n] > 0);
                let run: Vec<usize> = run.copied().collect();
                let count = run.iter().map(|n| done[*n]).min().unwrap_or(0);
                run.iter().for_each(|n| done[*n] -= count);
                let rest = wanted[first..].iter().flat_map(|n| ways[*n].iter().copied());
                let (route, asks) = rest.unzip();
                let count = usize::try_from(count).unwrap_or(0);
                let finished = run.last() == wanted.last();
                let kinds = if finished { &mut whole } else { &mut begun };
                kinds.push(Kind { asks, ..Kind::new(route, count) });
            }
        }
        let finished = whole.iter().map(|kind| kind.count).sum();
        let problem = Problem {
            presses: self.presses,
            printers: self.printers,
            operators: self.operators,
            dwell: Dwell::Free,
            kinds: whole.into_iter().chain(begun).collect(),
            begun: Vec::new(),
            stands: Vec::new(),
            paces: self.paces.clone(),
        };
        (problem, finished)
    }

    /// How long was worked.
    pub fn worked_s(&self) -> f64 {
        self.stretches.iter().map(|one| one.span).sum::<Duration>().as_secs_f64()
    }
}

#[expect(clippy::cast_precision_loss, reason = "some thousand garments or prints")]
pub fn whole(count: usize) -> f64 {
    count as f64
}
