//! What a plan means: when it ends with hands that are never twice alike, what holds it back, what would help.

use rand::SeedableRng;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;
use serde::Serialize;

use crate::shop::books::outlook::{NoOutlook, Outlook, Ready};
use crate::shop::facts::moment::{Moment, Wall};

use super::dispatch;
pub use super::finish::{DRAWS, Finish};
use super::habit::{Foreseen, Habit};
use super::jobshop::seconds;
use super::plan::{Group, Millis, Move, NoPlan, Part, Phase, Plan, Problem};
use super::simulation::Simulation;
use super::workload::{OpenOrder, Owner, Workload};

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
    /// How long the plan takes then; None where it is told by the forecast.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub makespan_s: Option<f64>,
    /// When all of it is done then, in half of all draws; None where it is told by the plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finish_p50: Option<f64>,
    pub saves_s: f64,
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
pub fn changes(problem: &Problem) -> Vec<(&'static str, Problem)> {
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

/// What one more of each would bring to a bare plan, the most first.
///
/// # Errors
/// As the planning itself.
pub fn what_if(problem: &Problem, plan: &Plan, work: usize) -> Result<Vec<WhatIf>, NoPlan> {
    let mut all = Vec::new();
    for (change, other) in changes(problem) {
        // What there is already can do what it did.
        let makespan = other.best(work)?.makespan.min(plan.makespan);
        let saves_s = seconds(plan.makespan - makespan);
        let makespan_s = Some(seconds(makespan));
        all.push(WhatIf { change, makespan_s, finish_p50: None, saves_s });
    }
    all.sort_by(|a, b| b.saves_s.total_cmp(&a.saves_s));
    Ok(all)
}

/// The work ahead as it is foreseen: whatever is said of one shop at one moment is said from here.
#[derive(Debug, Clone, PartialEq)]
pub struct Ahead<'a> {
    work: &'a Workload,
    habit: &'a Habit,
    now: Moment,
    seed: u64,
    /// Who has something to do, and whose each kind of the problem is by its place among them.
    owners: Vec<Owner>,
    whose: Vec<usize>,
    pub foreseen: Foreseen,
}

impl<'a> Ahead<'a> {
    /// Goes through the work by the plain rule with drawn times. The same seed draws the same.
    pub fn of(work: &'a Workload, habit: &'a Habit, now: Moment, seed: u64) -> Self {
        let all: Vec<Owner> = work.sources.iter().map(|whose| Owner::from(*whose)).collect();
        let mut owners = all.clone();
        owners.sort_unstable();
        owners.dedup();
        let place = |owner: &Owner| owners.binary_search(owner).unwrap_or(0);
        let whose: Vec<usize> = all.iter().map(place).collect();
        let foreseen = habit.foresee(&work.problem, &whose, seed);
        Self { work, habit, now, seed, owners, whose, foreseen }
    }

    /// A moment so many seconds of work from now, by the wall clock.
    pub fn at(&self, after_s: f64) -> Wall {
        self.work.calendar.done_at(self.now.at, after_s)
    }

    /// Seconds of work from now until a moment.
    pub fn work_until(&self, at: Wall) -> f64 {
        self.work.calendar.work_between(self.now.at, at)
    }

    /// When an owner's garments are done, in seconds of work; None where nothing of it is to be done.
    pub fn finish_of(&self, owner: Owner) -> Option<Finish> {
        self.foreseen.finish_of(self.owners.binary_search(&owner).ok()?)
    }

    /// The share of draws in which an owner's garments are done by a moment.
    pub fn chance(&self, owner: Owner, by: Wall) -> f64 {
        let place = self.owners.binary_search(&owner);
        place.map_or(1.0, |place| self.foreseen.chance(place, self.work_until(by)))
    }

    /// When each order will be ready that is worked on by its turn.
    pub fn ready(&self) -> Vec<Ready> {
        let ready = |order: &OpenOrder| {
            let finish = self.finish_of(order.owner)?;
            let (likely, latest) = (self.at(finish.p50), self.at(finish.p90));
            let no = match order.owner {
                Owner::Order(no) => Some(no),
                Owner::File(_) => None,
            };
            let (name, due, short) = (order.name.clone(), order.due, order.short);
            Some(Ready { order: no, name, due, likely, latest, short })
        };
        self.work.orders.iter().filter_map(ready).collect()
    }

    /// Whose the orders that are ready are, by their place among them.
    pub fn owner_of(&self, ready: usize) -> Option<Owner> {
        let open = self.work.orders.iter().map(|order| order.owner);
        open.filter(|owner| self.owners.binary_search(owner).is_ok()).nth(ready)
    }

    /// The same work foreseen at other machines, by other hands.
    fn changed(&self) -> impl Iterator<Item = (&'static str, Foreseen)> {
        changes(&self.work.problem)
            .into_iter()
            .map(|(change, problem)| (change, self.habit.foresee(&problem, &self.whose, self.seed)))
    }

    /// What one more of each would bring, the most first.
    pub fn what_if(&self) -> Vec<WhatIf> {
        let now = self.foreseen.finish().p50;
        let what_if = |(change, foreseen): (_, Foreseen)| {
            // What there is already can do what it did.
            let finish = foreseen.finish().p50.min(now);
            WhatIf { change, makespan_s: None, finish_p50: Some(finish), saves_s: now - finish }
        };
        let mut all: Vec<WhatIf> = self.changed().map(what_if).collect();
        all.sort_by(|a, b| b.saves_s.total_cmp(&a.saves_s));
        all
    }

    /// The one change by which a late order would be ready in time: of several the one that shortens it least. None
    /// where no single one does.
    pub fn meets(&self, owner: Owner, due: Wall) -> Option<&'static str> {
        let place = self.owners.binary_search(&owner).ok()?;
        let end = |(change, foreseen): (_, Foreseen)| {
            Some((self.at(foreseen.finish_of(place)?.p50), change))
        };
        let ends = self.changed().filter_map(end).filter(|(end, _)| *end <= due);
        ends.max().map(|(_, change)| change)
    }
}

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
    problem.check().map_err(|reason: NoPlan| NoOutlook(reason.to_string()))?;
    let habit = Habit::of(&work.past);
    let ahead = Ahead::of(work, &habit, now, SEED);
    let finish = ahead.foreseen.finish();
    let best = ahead.what_if().into_iter().next();
    let worth = best.filter(|change| change.saves_s >= LEAST_HELP_S);
    Ok(Some(Outlook {
        likely: ahead.at(finish.p50),
        latest: ahead.at(finish.p90),
        garments,
        per_hour: per_hour(garments, finish.p50),
        orders: ahead.ready(),
        busy: busy_by_rule(problem).ranked(),
        helps: worth.map(|change| (change.change, change.saves_s)),
    }))
}

/// Garments in an hour of work, of so many that take so long.
#[expect(clippy::cast_precision_loss, reason = "some thousand garments")]
pub fn per_hour(garments: usize, work_s: f64) -> Option<f64> {
    (work_s > 0.0).then(|| garments as f64 * 3600.0 / work_s)
}

/// The draws of a board, and of a command that is not told otherwise: always the same, so that what stands there moves only
/// with the work, and that both say the same.
pub const SEED: u64 = 1;
/// What saves less is not worth saying.
const LEAST_HELP_S: f64 = 60.0;

/// How busy the plain rule keeps the resources.
pub fn busy_by_rule(problem: &Problem) -> Busy {
    let holds = |group: Group| problem.sum(|phase| phase.holds(group));
    let works = (problem.sum(Phase::work), holds(Group::Press), holds(Group::Printer));
    let end = dispatch::makespan(&problem.merged_by_turn(&[]).0);
    shares(problem, end - problem.nothing_before(), works)
}
