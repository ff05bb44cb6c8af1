//! What a plan means: when it ends with hands that are never twice alike, what holds it back, what would help.

use rand::SeedableRng;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;
use serde::Serialize;

use crate::shop::books::outlook::{NoOutlook, Outlook, Ready};
use crate::shop::facts::moment::{Moment, Wall};

use super::breaks;
use super::dispatch;
use super::habit::Habit;
use super::jobshop::Time;
use super::plan::{BRISK, Group, Millis, Move, NoPlan, Part, Phase, Plan, Problem};
use super::simulation::Simulation;
use super::workload::{DueOrder, Owner, Workload};

/// So often the plan is gone through with drawn hand times.
pub const DRAWS: usize = 1000;

/// Seconds until everything is done, of a thousand draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Finish {
    pub p10: f64,
    pub p50: f64,
    pub p90: f64,
}

impl Finish {
    /// Of the ends that were drawn.
    pub fn of(mut ends: Vec<f64>) -> Self {
        ends.sort_by(f64::total_cmp);
        let at = |share: usize| ends.get(ends.len() * share / 100).copied().unwrap_or(0.0);
        Finish { p10: at(10), p50: at(50), p90: at(90) }
    }
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
    shares(problem, plan.makespan, (work, holds[0], holds[1]))
}

/// How busy operators, presses and printers are that work for so long within a time.
fn shares(
    problem: &Problem,
    within: Millis,
    (operators, presses, printers): (Millis, Millis, Millis),
) -> Busy {
    let share = |time: Millis, count: usize| {
        #[expect(clippy::cast_precision_loss, reason = "a handful of machines")]
        let there = seconds(within) * count.max(1) as f64;
        if there > 0.0 { (seconds(time) / there).min(1.0) } else { 0.0 }
    };
    Busy {
        operators: share(operators, problem.operators),
        presses: share(presses, problem.presses),
        printers: share(printers, problem.printers),
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

/// When a plan ends that is kept to, with hand times drawn.
pub fn by_plan(problem: &Problem, plan: &Plan, scatter: f64, seed: u64) -> Finish {
    let mut ends = Vec::with_capacity(DRAWS);
    draw(problem, plan, scatter, seed, DRAWS, |end, _| ends.push(end));
    Finish::of(ends)
}

/// The moves of one of the draws that `by_plan` is made of, counted from 1: in seconds, in the plan's order.
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

/// A problem with one more of each.
fn changes(problem: &Problem) -> Vec<(&'static str, Problem)> {
    let mut changes = vec![
        ("one more press", Problem { presses: problem.presses + 1, ..problem.clone() }),
        ("one more operator", Problem { operators: problem.operators + 1, ..problem.clone() }),
    ];
    let prints = |phase: &Phase| phase.holds(Group::Printer) > 0;
    if problem.kinds.iter().any(|kind| kind.route.iter().any(prints)) {
        let more = Problem { printers: problem.printers + 1, ..problem.clone() };
        changes.push(("one more printer", more));
    }
    changes
}

/// What one more of each would bring, the most first.
///
/// # Errors
/// As the planning itself.
pub fn what_if(problem: &Problem, plan: &Plan, work: usize) -> Result<Vec<WhatIf>, NoPlan> {
    let mut all = Vec::new();
    for (change, other) in changes(problem) {
        // What there is already can do what it did.
        let makespan = other.best(work)?.makespan.min(plan.makespan);
        let saves_s = seconds(plan.makespan - makespan);
        all.push(WhatIf { change, makespan_s: seconds(makespan), saves_s });
    }
    all.sort_by(|a, b| b.saves_s.total_cmp(&a.saves_s));
    Ok(all)
}

/// A moment so many seconds of work after now, by the wall clock.
fn at(work: &Workload, now: Moment, after: f64) -> Wall {
    breaks::done_at(now.at, after, &work.breaks, &work.zone)
}

/// When each order with a due time will be ready, where the earliest due are done first: if that does not meet
/// every due time, nothing does.
pub fn ready(work: &Workload, habit: &Habit, now: Moment, seed: u64) -> Vec<Ready> {
    let ready = |(n, order): (usize, &DueOrder)| {
        let finish = habit.finish(&work.up_to(n), seed);
        let (likely, latest) = (at(work, now, finish.p50), at(work, now, finish.p90));
        let no = match order.owner {
            Owner::Order(no) => Some(no),
            Owner::File(_) => None,
        };
        let (name, due, short) = (order.name.clone(), order.at, order.short);
        Ready { order: no, name, due, likely, latest, short }
    };
    work.due.iter().enumerate().map(ready).collect()
}

/// The one change by which a late order would be ready in time: of several the one that shortens the work up to it
/// least. None where no single one does.
pub fn meets(
    work: &Workload,
    habit: &Habit,
    now: Moment,
    late: usize,
    seed: u64,
) -> Option<&'static str> {
    let due = work.due.get(late)?.at;
    let ends = changes(&work.up_to(late))
        .into_iter()
        .map(|(change, problem)| (at(work, now, habit.finish(&problem, seed).p50), change));
    ends.filter(|(end, _)| *end <= due).max().map(|(_, change)| change)
}

/// The most garments that are planned while a board runs: more take longer than they are worth.
pub const MOST_GARMENTS: usize = 300;

/// All of it at once, as a board shows it. None where nothing is left.
///
/// # Errors
/// Why nothing can be foreseen.
pub fn of(work: &Workload, now: Moment) -> Result<Option<Outlook>, NoOutlook> {
    let problem = &work.problem;
    let garments = problem.garments();
    if garments == 0 {
        return Ok(None);
    }
    let wrong = |reason: NoPlan| NoOutlook(reason.to_string());
    problem.check().map_err(wrong)?;
    let habit = Habit::of(&work.past, problem);
    let finish = habit.finish(problem, SEED);
    let (mut helps, mut unplanned) = (None, None);
    let busy = if garments <= MOST_GARMENTS {
        let plan = problem.best(BRISK).map_err(wrong)?;
        let best = what_if(problem, &plan, BRISK).map_err(wrong)?.into_iter().next();
        let worth = best.filter(|change| change.saves_s >= LEAST_HELP_S);
        helps = worth.map(|change| (change.change, change.saves_s));
        busy(problem, &plan)
    } else {
        unplanned = Some(MOST_GARMENTS);
        busy_by_rule(problem)
    };
    Ok(Some(Outlook {
        likely: at(work, now, finish.p50),
        latest: at(work, now, finish.p90),
        garments,
        orders: ready(work, &habit, now, SEED),
        busy: busy.ranked(),
        helps,
        unplanned,
    }))
}

/// The draws of a board: always the same, so that what stands there moves only with the work.
const SEED: u64 = 1;
/// What saves less is not worth saying.
const LEAST_HELP_S: f64 = 60.0;

/// How busy the plain rule keeps the resources.
fn busy_by_rule(problem: &Problem) -> Busy {
    let holds = |group: Group| problem.sum(|phase| phase.holds(group));
    let works = (problem.sum(Phase::work), holds(Group::Press), holds(Group::Printer));
    shares(problem, dispatch::makespan(&problem.merged_by_turn()), works)
}
