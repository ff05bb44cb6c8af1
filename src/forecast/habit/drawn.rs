//! Work gone through once, with times drawn about their medians.

use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;

use crate::forecast::dispatch::{self, Going};
use crate::forecast::outlook::seconds;
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

struct Drawn<'a> {
    hands: Option<LogNormal<f64>>,
    prints: Option<LogNormal<f64>>,
    rng: &'a mut Pcg64,
    /// Whose each kind is.
    owners: &'a [usize],
    run: Run,
}

impl Going for Drawn<'_> {
    fn hands(&mut self, takes: Millis) -> Millis {
        drawn(takes, self.hands, self.rng)
    }

    fn machine(&mut self, group: Group, runs: Millis) -> Millis {
        match group {
            Group::Press => runs,
            Group::Printer => drawn(runs, self.prints, self.rng),
        }
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

impl Run {
    /// Goes through a problem once, where `owners` says whose each of its kinds is.
    pub fn of(problem: &Problem, scatter: Scatter, owners: &[usize], rng: &mut Pcg64) -> Self {
        let law = |sigma| LogNormal::new(0.0, sigma).ok();
        let (hands, prints) = (law(scatter.hands), law(scatter.prints));
        let mut going = Drawn { hands, prints, rng, owners, run: Run::default() };
        dispatch::run(problem, &mut going);
        let mut run = going.run;
        run.done_s.sort_by(f64::total_cmp);
        run
    }

    /// When the last garment was done.
    pub fn end_s(&self) -> f64 {
        self.done_s.last().copied().unwrap_or(0.0)
    }

    /// When so many were done, and it will be a while until the next: in the middle between the last of them and the next.
    pub fn about_when(&self, done: usize) -> f64 {
        let at = |n: usize| self.done_s.get(n).copied();
        let last = done.checked_sub(1).and_then(at).unwrap_or(0.0);
        at(done).map_or(last, |next| f64::midpoint(last, next))
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
        Phase::Machine { name, group: Group::Press, load, run, unload } => Phase::Machine {
            name,
            group: Group::Press,
            load: times(load, factor(Work::Load)),
            run,
            unload: times(unload, factor(Work::Unload)),
        },
        Phase::Machine { name, group: Group::Printer, load, run, unload } => {
            let run = times(run, factor(Work::Print));
            Phase::Machine { name, group: Group::Printer, load, run, unload }
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
