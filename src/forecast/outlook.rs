//! What a plan means: when it ends with hands that are never twice alike, what holds it back, what would help.

use rand::SeedableRng;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;
use serde::Serialize;

use crate::shop::moment::Moment;
use crate::shop::outlook::Outlook;

use super::breaks;
use super::habit::Habit;
use super::jobshop::Time;
use super::plan::{BRISK, Group, Millis, Move, NoPlan, Part, Phase, Plan, Problem};
use super::simulation::Simulation;
use super::workload::Workload;

/// So often the plan is gone through with drawn hand times.
pub const DRAWS: usize = 1000;

/// Seconds until everything is done, of a thousand draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Finish {
    pub p10: f64,
    pub p50: f64,
    pub p90: f64,
}

/// How long each resource is busy, as a share of the plan's time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Busy {
    pub operators: f64,
    pub presses: f64,
    pub printers: f64,
}

impl Busy {
    /// The busiest resource, in a word, and its share.
    pub fn bottleneck(&self) -> (&'static str, f64) {
        self.ranked()[0]
    }

    /// All of them, the busiest first.
    pub fn ranked(&self) -> [(&'static str, f64); 3] {
        let mut all =
            [("operator", self.operators), ("presses", self.presses), ("printer", self.printers)];
        all.sort_by(|a, b| b.1.total_cmp(&a.1));
        all
    }
}

/// A change and what it would bring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    pub change: &'static str,
    pub makespan_s: f64,
    pub saves_s: f64,
}

/// Seconds of a time in milliseconds.
pub fn seconds(time: Millis) -> f64 {
    Time::of(time)
}

/// How busy the plan keeps its resources.
pub fn busy(problem: &Problem, plan: &Plan) -> Busy {
    let ways = problem.ways();
    let (mut work, mut holds) = (0, [0; 2]);
    for one in &plan.moves {
        work += one.end - one.start;
        if let (Part::Unload, Some(phase)) =
            (one.part, ways.get(one.garment).and_then(|way| way.get(one.phase)))
        {
            holds[0] += phase.holds(Group::Press);
            holds[1] += phase.holds(Group::Printer);
        }
    }
    let share = |time: Millis, count: usize| {
        #[expect(clippy::cast_precision_loss, reason = "a handful of machines")]
        let there = seconds(plan.makespan) * count.max(1) as f64;
        if there > 0.0 { (seconds(time) / there).min(1.0) } else { 0.0 }
    };
    Busy {
        operators: share(work, problem.operators),
        presses: share(holds[0], problem.presses),
        printers: share(holds[1], problem.printers),
    }
}

/// Goes through a plan so often with hand times drawn about their medians; machines run as long as they are set
/// to. The same seed draws the same. `each` sees when each run ends, in seconds, and the run itself.
fn draw(
    problem: &Problem,
    plan: &Plan,
    scatter: f64,
    seed: u64,
    times: usize,
    mut each: impl FnMut(f64, &Simulation),
) {
    let mut rng = Pcg64::seed_from_u64(seed);
    let law = LogNormal::new(0.0, scatter).ok();
    let mut simulation = Simulation::new(problem, plan);
    for _ in 0..times {
        let end = simulation.run(|planned| planned * law.map_or(1.0, |law| law.sample(&mut rng)));
        each(end, &simulation);
    }
}

/// When it ends, with hand times drawn, and all of it longer than planned as the shop's habit is.
pub fn finish(problem: &Problem, plan: &Plan, habit: &Habit, seed: u64) -> Finish {
    let mut runs = Vec::with_capacity(DRAWS);
    draw(problem, plan, habit.scatter, seed, DRAWS, |end, _| runs.push(end));
    // Draws of their own: the runs are the same with and without a history.
    let mut ends = habit.applied(runs, &mut Pcg64::seed_from_u64(seed ^ 0x5eed));
    ends.sort_by(f64::total_cmp);
    let at = |share: usize| ends.get(DRAWS * share / 100).copied().unwrap_or(0.0);
    Finish { p10: at(10), p50: at(50), p90: at(90) }
}

/// The moves of one of the draws that `finish` is made of, counted from 1: in seconds, in the plan's order.
pub fn drawn(problem: &Problem, plan: &Plan, scatter: f64, seed: u64, no: usize) -> Vec<Move<f64>> {
    let (mut left, mut moves) = (no, Vec::new());
    draw(problem, plan, scatter, seed, no, |_, simulation| {
        left -= 1;
        if left == 0 {
            moves = simulation.moves();
        }
    });
    moves
}

/// What one more of each would bring, the most first.
///
/// # Errors
/// As the planning itself.
pub fn what_if(problem: &Problem, plan: &Plan, work: usize) -> Result<Vec<WhatIf>, NoPlan> {
    let mut changes = vec![
        ("one more press", Problem { presses: problem.presses + 1, ..problem.clone() }),
        ("one more operator", Problem { operators: problem.operators + 1, ..problem.clone() }),
    ];
    let prints = |phase: &Phase| phase.holds(Group::Printer) > 0;
    if problem.kinds.iter().any(|kind| kind.route.iter().any(prints)) {
        let more = Problem { printers: problem.printers + 1, ..problem.clone() };
        changes.push(("one more printer", more));
    }
    let mut all = Vec::new();
    for (change, other) in changes {
        // What there is already can do what it did.
        let makespan = other.best(work)?.makespan.min(plan.makespan);
        let saves_s = seconds(plan.makespan - makespan);
        all.push(WhatIf { change, makespan_s: seconds(makespan), saves_s });
    }
    all.sort_by(|a, b| b.saves_s.total_cmp(&a.saves_s));
    Ok(all)
}

/// The most garments that are planned while a board runs: more take longer than they are worth.
pub const MOST_GARMENTS: usize = 300;

/// All of it at once, as a board shows it. None where nothing is left, too much is, or nothing can be planned.
pub fn of(work: &Workload, now: Moment) -> Option<Outlook> {
    let problem = &work.problem;
    let garments = problem.kinds.iter().map(|kind| kind.count).sum::<usize>() + problem.begun.len();
    if !(1..=MOST_GARMENTS).contains(&garments) {
        return None;
    }
    let plan = problem.best(BRISK).ok()?;
    let busy = busy(problem, &plan);
    let finish = finish(problem, &plan, &Habit::of(&work.past, problem), 1);
    let best = what_if(problem, &plan, BRISK).ok()?.into_iter().next();
    let helps = best.filter(|change| change.saves_s >= 60.0);
    let at = |after: f64| breaks::done_at(now.at, after, &work.breaks, &work.zone);
    Some(Outlook {
        likely: at(finish.p50),
        latest: at(finish.p90),
        garments,
        busy: busy.ranked(),
        helps: helps.map(|change| (change.change, change.saves_s)),
    })
}
