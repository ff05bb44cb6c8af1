//! What lies behind: the last stretches of work, the ways of the garments in them, and what of the shop is known how well.

use std::time::Duration;

use crate::forecast::plan::presses::Asks;
use crate::forecast::plan::{Begun, Claim, Dwell, Group, Kind, Millis, Phase, Problem};
use crate::shop::books::hands::{SCATTER, Stretch, Work};
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::step::Step;

/// How far a profile is off what a work really takes, as sigma of the logarithm: printers more than hands. From memory.
const PROFILE_HANDS: f64 = 0.1;
const PROFILE_PRINT: f64 = 0.15;
/// How prints scatter about their median until it is known. From memory.
const PRINT_SCATTER: f64 = 0.1;

/// The way of a recipe's garments.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pub recipe: RecipeHash,
    /// The phases of each step, with what they ask of presses.
    pub steps: [Vec<(Phase, Asks)>; Step::ALL.len()],
    pub claim: Claim,
    /// How many of them stand before each step now, or are in a machine for it.
    pub before: Counts,
}

/// How many garments, by step.
pub type Counts = [usize; Step::ALL.len()];

/// Stretches of ten minutes.
const AN_HOUR: usize = 6;

/// Some of what lies behind as work of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Behind {
    /// As it stood before. First come the kinds of those that were begun since, one for each way from its beginning.
    pub problem: Problem,
    /// How many garments have gone through each phase of those kinds.
    passed: Vec<Vec<usize>>,
    /// How long it took.
    pub worked_s: f64,
}

impl Behind {
    /// Whether anything was done.
    pub fn is_told(&self) -> bool {
        self.passed.iter().flatten().any(|passed| *passed > 0) && self.problem.check().is_ok()
    }

    /// About how many garments were at work in it.
    pub fn garments(&self) -> usize {
        self.passed.iter().filter_map(|phases| phases.iter().max()).sum()
    }

    /// What of it was done, where work is the same at other speeds, by a measure of each phase.
    pub fn done(&self, work: &Problem, of: impl Fn(&Phase) -> Millis) -> Millis {
        let each = |(kind, passed): (&Kind, &Vec<usize>)| -> Millis {
            let counts = passed.iter().map(|count| Millis::try_from(*count).unwrap_or(0));
            kind.route.iter().zip(counts).map(|(phase, count)| of(phase) * count).sum()
        };
        work.kinds.iter().zip(&self.passed).map(each).sum()
    }
}

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
    pub ways: Vec<Way>,
    /// Pauses between acts that no profile tells of.
    pub pauses: Vec<Duration>,
    /// Of so many garments one is made once more, since one went out or is of second quality.
    pub anew: f64,
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
            anew: anew(0, 0),
        }
    }
}

/// The share of garments that are made once more, where so many of so many were: by the mean of a beta law whose first
/// guess is two of a hundred, as sure as fifty garments make it (from memory).
pub fn anew(again: usize, done: usize) -> f64 {
    ((whole(again) + 1.0) / (whole(done) + 50.0)).min(0.2)
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
    /// What lies behind, an hour at a time, the newest first: each as work of its own, from where garments stood when it
    /// began. So what hands did otherwise than the rule in one hour is not held against the next.
    pub fn behind(&self) -> Vec<Behind> {
        let mut before: Vec<Counts> = self.ways.iter().map(|way| way.before).collect();
        let hours = self.stretches.rchunks(AN_HOUR);
        hours.map(|hour| self.hour(hour, &mut before)).collect()
    }

    /// One of them; `before` says of each way how many garments stood before each step at its end, then at its beginning.
    fn hour(&self, hour: &[Stretch], before: &mut [Counts]) -> Behind {
        let (mut begun, mut rest, mut passed) = (Vec::new(), Vec::new(), Vec::new());
        for (way, before) in self.ways.iter().zip(before) {
            let done = done(hour, &way.recipe);
            // A step that a recipe does not have breaks no way.
            let wanted: Vec<usize> =
                (0..done.len()).filter(|n| !way.steps[*n].is_empty()).collect();
            let Some(first) = wanted.first() else { continue };
            let kind = |from: usize, count: usize| {
                let phases = wanted[from..].iter().flat_map(|n| way.steps[*n].iter().copied());
                let (route, asks) = phases.unzip();
                Kind { asks, claim: way.claim, ..Kind::new(route, count) }
            };
            let each = |n: &usize| std::iter::repeat_n(done[*n], way.steps[*n].len());
            passed.push(wanted.iter().flat_map(each).collect());
            begun.push(kind(0, done[*first]));
            rest.push(kind(0, before[*first]));
            before[*first] += done[*first];
            for (from, two) in wanted.windows(2).enumerate() {
                // What has come to a step since and did not pass it stands there at the end.
                before[two[1]] = (before[two[1]] + done[two[1]]).saturating_sub(done[two[0]]);
                rest.push(kind(from + 1, before[two[1]]));
            }
        }
        let problem = Problem {
            presses: self.presses,
            printers: self.printers,
            operators: self.operators,
            dwell: Dwell::Unlimited,
            kinds: begun.into_iter().chain(rest).collect(),
            begun: Vec::new(),
            stands: Vec::new(),
            paces: self.paces.clone(),
        };
        let worked_s = hour.iter().map(|one| one.span).sum::<Duration>().as_secs_f64();
        Behind { problem: in_machines(problem), passed, worked_s }
    }
}

/// How many garments of a recipe went through each step, less those that go through it again.
fn done(hour: &[Stretch], recipe: &RecipeHash) -> Counts {
    let mut done = [0i64; Step::ALL.len()];
    let all = hour.iter().flat_map(|one| &one.done);
    for (_, steps) in all.filter(|(known, _)| known == recipe) {
        done.iter_mut().zip(steps).for_each(|(sum, step)| *sum += i64::from(*step));
    }
    done.map(|sum| usize::try_from(sum).unwrap_or(0))
}

/// What was under way stood in machines as far as there were any, what was furthest on its way first, and their runs were
/// anywhere: spread evenly over what they take.
fn in_machines(mut problem: Problem) -> Problem {
    for (group, machines) in [(Group::Press, problem.presses), (Group::Printer, problem.printers)] {
        let mut machine = 0;
        for kind in (0..problem.kinds.len()).rev() {
            let Some(run) = run_in(group, &problem.kinds[kind]) else { continue };
            while machine < machines && problem.kinds[kind].count > 0 {
                let [part, parts] =
                    [2 * machine + 1, 2 * machines].map(|n| Millis::try_from(n).unwrap_or(1));
                problem.kinds[kind].count -= 1;
                problem.begun.push(Begun { kind, phase: 0, left: run * part / parts, machine });
                machine += 1;
            }
        }
    }
    problem
}

/// How long a machine of a group runs that garments of a kind stand before; none before which blanks stand.
fn run_in(wanted: Group, kind: &Kind) -> Option<Millis> {
    let presses = kind.route.iter().filter(|phase| phase.holds(Group::Press) > 0).count();
    match kind.route.first()? {
        Phase::Machine { group, run, .. } if *group == wanted => {
            let is_blank = wanted == Group::Press && presses > 1;
            (!is_blank).then_some(*run)
        }
        _ => None,
    }
}

#[expect(clippy::cast_precision_loss, reason = "some thousand garments or prints")]
pub fn whole(count: usize) -> f64 {
    count as f64
}
