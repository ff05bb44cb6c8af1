//! Work gone through once, with times drawn about their medians.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rand::RngExt;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;

use crate::forecast::dispatch::{self, Going};
use crate::forecast::jobshop::seconds;
use crate::forecast::plan::presses::Stands;
use crate::forecast::plan::{Group, Kind, Millis, Phase, Problem};
use crate::shop::books::hands::Work;

/// What came of a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// When each garment was done, in the order of its end; in seconds.
    done_s: Vec<f64>,
    /// When the last one of each owner was; none of whom there is nothing.
    owners_s: Vec<Option<f64>>,
}

/// How times scatter: sigma of the logarithm of a hand time, and of a print.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    pub hands: f64,
    pub prints: f64,
}

/// Draws times about their medians.
struct Times<'a> {
    hands: Option<LogNormal<f64>>,
    prints: Option<LogNormal<f64>>,
    rng: &'a mut Pcg64,
}

impl<'a> Times<'a> {
    fn new(scatter: Scatter, rng: &'a mut Pcg64) -> Self {
        let law = |sigma| LogNormal::new(0.0, sigma).ok();
        Self { hands: law(scatter.hands), prints: law(scatter.prints), rng }
    }

    fn hands(&mut self, takes: Millis) -> Millis {
        drawn(takes, self.hands, self.rng)
    }

    /// A press runs as long as it is set to.
    fn machine(&mut self, group: Group, runs: Millis) -> Millis {
        match group {
            Group::Press => runs,
            Group::Printer => drawn(runs, self.prints, self.rng),
        }
    }
}

struct Drawn<'a> {
    times: Times<'a>,
    /// Whose each kind is.
    owners: &'a [usize],
    /// The share of garments that are made once more.
    anew: f64,
    run: Run,
}

impl Going for Drawn<'_> {
    fn goes_out(&mut self) -> bool {
        self.times.rng.random_bool(self.anew)
    }

    fn hands(&mut self, takes: Millis) -> Millis {
        self.times.hands(takes)
    }

    fn machine(&mut self, group: Group, runs: Millis) -> Millis {
        self.times.machine(group, runs)
    }

    fn done(&mut self, kind: usize, at: Millis) {
        let at = seconds(at);
        self.run.done_s.push(at);
        let owner = self.owners.get(kind).copied().unwrap_or(0);
        if self.run.owners_s.len() <= owner {
            self.run.owners_s.resize(owner + 1, None);
        }
        let last = &mut self.run.owners_s[owner];
        *last = Some(last.map_or(at, |last| last.max(at)));
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "some minutes in milliseconds"
)]
fn drawn(takes: Millis, law: Option<LogNormal<f64>>, rng: &mut Pcg64) -> Millis {
    law.map_or(takes, |law| (takes as f64 * law.sample(rng)) as Millis)
}

/// Work gone through until so much of it is done.
struct Until<'a> {
    times: Times<'a>,
    /// What each phase of each kind counts.
    counts: Vec<Vec<Millis>>,
    left: Millis,
    /// What is passed from now on: when, and what it counts.
    ahead: BinaryHeap<Reverse<(Millis, Millis)>>,
    /// When so much was done, and when the next was.
    reached: Vec<Millis>,
}

impl Going for Until<'_> {
    fn hands(&mut self, takes: Millis) -> Millis {
        self.times.hands(takes)
    }

    fn machine(&mut self, group: Group, runs: Millis) -> Millis {
        self.times.machine(group, runs)
    }

    fn passed(&mut self, kind: usize, phase: usize, at: Millis) {
        let counts = self.counts.get(kind).and_then(|phases| phases.get(phase)).copied();
        if let Some(counts) = counts.filter(|counts| *counts > 0) {
            self.ahead.push(Reverse((at, counts)));
        }
    }

    fn goes_on(&mut self, now: Millis) -> bool {
        while let Some(Reverse((at, counts))) =
            self.ahead.peek().copied().filter(|one| one.0.0 <= now)
        {
            self.ahead.pop();
            self.left -= counts;
            if self.left <= 0 {
                self.reached.push(at);
            }
        }
        self.reached.len() < 2
    }
}

/// When so much of some work was done, in seconds: in the middle between the last of it and the next, and how far that may
/// be off (one sigma of a moment anywhere between the two).
pub fn about_when(
    problem: &Problem,
    scatter: Scatter,
    rng: &mut Pcg64,
    (done, of): (Millis, impl Fn(&Phase) -> Millis),
) -> (f64, f64) {
    let counts = problem.kinds.iter().map(|kind| kind.route.iter().map(&of).collect());
    let mut until = Until {
        times: Times::new(scatter, rng),
        counts: counts.collect(),
        left: done,
        ahead: BinaryHeap::new(),
        reached: Vec::new(),
    };
    let end = dispatch::run(problem, &mut until);
    until.goes_on(end);
    let last = until.reached.first().copied().unwrap_or(end);
    let next = until.reached.get(1).copied().unwrap_or(last);
    (seconds(last + next) / 2.0, seconds(next - last) / 12f64.sqrt())
}

impl Run {
    /// Goes through a problem once, where `owners` says whose each of its kinds is.
    pub fn of(
        problem: &Problem,
        (scatter, anew): (Scatter, f64),
        owners: &[usize],
        rng: &mut Pcg64,
    ) -> Self {
        let times = Times::new(scatter, rng);
        let mut going = Drawn { times, owners, anew, run: Run::default() };
        dispatch::run(problem, &mut going);
        let mut run = going.run;
        run.done_s.sort_by(f64::total_cmp);
        run
    }

    /// When the last garment was done.
    pub fn end_s(&self) -> f64 {
        self.done_s.last().copied().unwrap_or(0.0)
    }

    /// When the last one of an owner was; None where there was none.
    pub fn end_of(&self, owner: usize) -> Option<f64> {
        self.owners_s.get(owner).copied().flatten()
    }

    /// How many were done within so many seconds.
    pub fn done_within(&self, within_s: f64) -> usize {
        self.done_s.partition_point(|done| *done <= within_s)
    }
}

/// A problem whose work takes by some factors longer, and whose later garments come, and presses settle, by a factor
/// sooner.
pub fn scaled(problem: &Problem, factors: &[f64; Work::ALL.len()], sooner: f64) -> Problem {
    let factor = |work: Work| {
        let place = Work::ALL.iter().position(|one| *one == work);
        place.map_or(1.0, |place| factors[place])
    };
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "some hours in milliseconds"
    )]
    let times = |takes: Millis, factor: f64| (takes as f64 * factor) as Millis;
    let phase = |phase: &Phase| match *phase {
        Phase::Arrival { at } => Phase::Arrival { at: times(at, 1.0 / sooner) },
        Phase::Hand { name, takes } => {
            Phase::Hand { name, takes: times(takes, factor(Work::Spray)) }
        }
        Phase::Machine { name, group: Group::Press, load, run, unload, rest } => Phase::Machine {
            name,
            group: Group::Press,
            load: times(load, factor(Work::Load)),
            run,
            unload: times(unload, factor(Work::Unload)),
            rest,
        },
        Phase::Machine { name, group: Group::Printer, load, run, unload, rest } => {
            let run = times(run, factor(Work::Print));
            Phase::Machine { name, group: Group::Printer, load, run, unload, rest }
        }
    };
    let kind = |kind: &Kind| {
        let route = kind.route.iter().map(phase).collect();
        Kind { route, waited: kind.waited.clone(), asks: kind.asks.clone(), ..*kind }
    };
    let sooner_at = |at: Millis| times(at, 1.0 / sooner);
    let stands = |one: &Stands| Stands {
        ready: sooner_at(one.ready),
        up: sooner_at(one.up),
        down: sooner_at(one.down),
        ..*one
    };
    let stands = problem.stands.iter().map(stands).collect();
    Problem { kinds: problem.kinds.iter().map(kind).collect(), stands, ..problem.clone() }
}
