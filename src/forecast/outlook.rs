//! What a plan means: when it ends with hands that are never twice alike, what holds it back, what would help.

use rand::SeedableRng;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;
use serde::Serialize;

use crate::shop::moment::Moment;
use crate::shop::outlook::Outlook;

use super::breaks;
use super::habit::Habit;
use super::plan::{BRISK, Group, Millis, NoPlan, Part, Phase, Plan, Problem};
use super::workload::Workload;

/// So often the plan is gone through with drawn hand times.
const DRAWS: usize = 1000;

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
    #[expect(clippy::cast_precision_loss, reason = "some weeks in milliseconds")]
    let millis = time as f64;
    millis / 1000.0
}

/// The phases of each garment's way, by its number in the plan.
fn routes(problem: &Problem) -> Vec<&[Phase]> {
    let counted = problem
        .kinds
        .iter()
        .flat_map(|kind| std::iter::repeat_n(kind.route.as_slice(), kind.count));
    let begun = problem
        .begun
        .iter()
        .filter_map(|begun| problem.kinds.get(begun.kind).map(|kind| kind.route.as_slice()));
    counted.chain(begun).collect()
}

/// How busy the plan keeps its resources.
pub fn busy(problem: &Problem, plan: &Plan) -> Busy {
    let routes = routes(problem);
    let (mut work, mut holds) = (0, [0; 2]);
    for one in &plan.moves {
        work += one.end - one.start;
        if let (Part::Unload, Some(phase)) =
            (one.part, routes.get(one.garment).and_then(|r| r.get(one.phase)))
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

/// When it ends, with hand times drawn about their medians; machines run as long as they are set to; and all of
/// it longer than planned as the shop's habit is. The same seed draws the same.
pub fn finish(problem: &Problem, plan: &Plan, habit: &Habit, seed: u64) -> Finish {
    let mut rng = Pcg64::seed_from_u64(seed);
    let law = LogNormal::new(0.0, habit.scatter).ok();
    let runs: Vec<f64> = (0..DRAWS)
        .map(|_| run(problem, plan, || law.map_or(1.0, |law| law.sample(&mut rng))))
        .collect();
    let mut ends = habit.applied(runs, &mut rng);
    ends.sort_by(f64::total_cmp);
    let at = |share: usize| ends.get(DRAWS * share / 100).copied().unwrap_or(0.0);
    Finish { p10: at(10), p50: at(50), p90: at(90) }
}

/// Goes through a plan's moves in their order, each as soon as it can be with its time drawn; when the last ends.
fn run(problem: &Problem, plan: &Plan, mut factor: impl FnMut() -> f64) -> f64 {
    let routes = routes(problem);
    let mut operators = vec![0.0f64; problem.operators];
    let mut machines = [vec![0.0f64; problem.presses], vec![0.0f64; problem.printers]];
    let mut ready = vec![0.0f64; routes.len()];
    let counted: usize = problem.kinds.iter().map(|kind| kind.count).sum();
    for (n, begun) in problem.begun.iter().enumerate() {
        if let Some(ready) = ready.get_mut(counted + n) {
            *ready = seconds(begun.left);
        }
    }
    let mut last = 0.0f64;
    for one in &plan.moves {
        let Some(phase) = routes.get(one.garment).and_then(|route| route.get(one.phase)) else {
            continue;
        };
        let takes = seconds(one.end - one.start) * factor();
        let (group, runs) = match phase {
            Phase::Hand { .. } => (None, 0.0),
            Phase::Machine { group, run, .. } => {
                (Some(usize::from(*group == Group::Printer)), seconds(*run))
            }
        };
        let mut start = operators[one.operator].max(ready[one.garment]);
        if let (Part::Load, Some(group)) = (one.part, group) {
            start = start.max(machines[group][one.machine]);
        }
        let end = start + takes;
        operators[one.operator] = end;
        ready[one.garment] = end;
        match (one.part, group) {
            (Part::Load, _) => ready[one.garment] = end + runs,
            (Part::Unload, Some(group)) => machines[group][one.machine] = end,
            _ => {}
        }
        last = last.max(end);
    }
    last
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
