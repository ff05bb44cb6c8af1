//! A plan gone through with times that are drawn, of whatever law.

use super::jobshop::{Run, Schedule, seconds};
use super::plan::layout::Layout;
use super::plan::{Move, Plan, Problem};

/// A plan's order of moves, kept; who does a move and in which machine is whoever and whatever is free first, so
/// one kind of move in the order of arrival is a queue with as many servers as there are operators. Where presses are not
/// alike, each garment lies in that of the plan, and waits until it has settled.
#[derive(Debug, Clone)]
pub struct Simulation {
    layout: Layout,
    schedule: Schedule,
    /// What each operation takes by plan, in seconds.
    planned: Vec<f64>,
    run: Run<f64>,
}

impl Simulation {
    /// What is needed for many runs of a plan.
    pub fn new(problem: &Problem, plan: &Plan) -> Self {
        let layout = problem.layout();
        let schedule = layout.schedule_of(problem, plan);
        let planned = (0..layout.instance.operations().len())
            .map(|number| seconds(schedule.takes(number)))
            .collect();
        let run = Run::new(&layout.instance);
        Self { layout, schedule, planned, run }
    }

    /// Goes through the moves in their order, each as soon as it can be; `takes` draws a move's time, in seconds,
    /// from the planned one. Gives when the last ends, in seconds.
    pub fn run(&mut self, mut takes: impl FnMut(f64) -> f64) -> f64 {
        let schedule = &self.schedule;
        let planned = &self.planned;
        self.run.go(&self.layout.instance, schedule, |number| takes(planned[number]));
        self.run.makespan
    }

    /// The moves of the last run, in seconds, in the plan's order: with several operators a later one may begin first.
    pub fn moves(&self) -> Vec<Move<f64>> {
        self.layout.moves(&self.schedule, &self.run)
    }
}
