//! A problem of the shop as a job shop: garments are jobs, moves of the hands are operations, operators, presses
//! and printers are pools.

use super::{Group, Millis, Move, Part, Phase, Plan, Problem};
use crate::forecast::jobshop::{Choice, Instance, Kept, Run, Schedule, Time};

/// The pools of an instance, by number.
const OPERATORS: usize = 0;
const PRESSES: usize = 1;
const PRINTERS: usize = 2;

fn pool(group: Group) -> usize {
    match group {
        Group::Press => PRESSES,
        Group::Printer => PRINTERS,
    }
}

/// What an operation is to the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Label {
    garment: usize,
    phase: usize,
    part: Part,
    machine: Option<Group>,
}

/// A problem as an instance, and what its operations are.
#[derive(Debug, Clone)]
pub(in crate::forecast) struct Layout {
    pub instance: Instance,
    labels: Vec<Label>,
    /// The first operation of each garment, and the phase that it belongs to.
    garments: Vec<usize>,
}

impl Problem {
    /// The problem as a job shop.
    pub(in crate::forecast) fn layout(&self) -> Layout {
        let pools = [self.operators, self.presses, self.printers];
        let mut layout =
            Layout { instance: Instance::new(&pools), labels: Vec::new(), garments: Vec::new() };
        for kind in &self.kinds {
            for _ in 0..kind.count {
                layout.job(kind.arrives());
                layout.phases(&kind.route, 0);
            }
        }
        for (begun, machine) in self.begun.iter().zip(self.machines_of_begun()) {
            let route = self.kinds.get(begun.kind).map_or(&[][..], |kind| &kind.route);
            layout.job(begun.left.max(0));
            if let Some(Phase::Machine { group, unload, rest, .. }) = route.get(begun.phase) {
                let pool = pool(*group);
                layout.operation(begun.phase, Part::Unload, Some(*group), *unload, *rest, None);
                let choice = Choice { pool, takes: None };
                layout.instance.held_before(choice, machine);
                layout.phases(route, begun.phase + 1);
            }
        }
        layout
    }
}

impl Layout {
    fn job(&mut self, release: Millis) {
        self.garments.push(self.labels.len());
        self.instance.job(release);
    }

    fn phases(&mut self, route: &[Phase], from: usize) {
        for (phase, step) in route.iter().enumerate().skip(from) {
            match *step {
                Phase::Arrival { .. } => {}
                Phase::Hand { takes, .. } => {
                    self.operation(phase, Part::Hand, None, takes, 0, None);
                }
                Phase::Machine { group, load, run, unload, rest, .. } => {
                    self.operation(phase, Part::Load, Some(group), load, run, Some(pool(group)));
                    self.operation(phase, Part::Unload, Some(group), unload, rest, None);
                }
            }
        }
    }

    /// An operation of the last garment, by an operator; a load takes a machine until after its unload.
    fn operation(
        &mut self,
        phase: usize,
        part: Part,
        machine: Option<Group>,
        takes: Millis,
        lag: Millis,
        loads: Option<usize>,
    ) -> usize {
        let hold = |pool, spans| (vec![Choice { pool, takes: None }], spans);
        let holds = [Some(hold(OPERATORS, 1)), loads.map(|pool| hold(pool, 2))];
        let garment = self.garments.len().saturating_sub(1);
        self.labels.push(Label { garment, phase, part, machine });
        self.instance.operation(takes, lag, holds.into_iter().flatten())
    }

    /// A plan's order as a schedule. Moves of garments that the problem does not have are left out.
    pub fn schedule(&self, plan: &Plan) -> Schedule {
        let number = |one: &Move| self.number(one.garment, one.phase, one.part);
        self.instance.schedule(plan.moves.iter().filter_map(number).collect())
    }

    /// The same; where it matters which press is which, each garment lies in the press that the plan lays it into, and that
    /// is turned and settles before, as in the plan.
    pub fn schedule_of(&self, problem: &Problem, plan: &Plan) -> Schedule {
        let mut schedule = self.schedule(plan);
        if problem.as_it_matters().tells_presses_apart() {
            for laid in problem.laid(plan) {
                let (unit, from, settles) = (laid.press, laid.from, laid.settles);
                if let Some(number) = self.number(laid.garment, laid.phase, Part::Load) {
                    schedule.keep(&self.instance, (number, PRESSES), Kept { unit, from, settles });
                }
            }
        }
        schedule
    }

    /// The operation that is part of a garment's phase.
    fn number(&self, garment: usize, phase: usize, part: Part) -> Option<usize> {
        let first = *self.garments.get(garment)?;
        let own = self.labels[first..].iter().take_while(|label| label.garment == garment);
        let place = own.into_iter().position(|l| l.phase == phase && l.part == part)?;
        Some(first + place)
    }

    /// The moves of a run, in the schedule's order: that in which operators turn to them.
    pub fn moves<T: Time>(&self, schedule: &Schedule, run: &Run<T>) -> Vec<Move<T>> {
        let told = |number: &usize| {
            let label = self.labels[*number];
            let unit = |pool| run.unit(&self.instance, schedule, *number, pool).unwrap_or(0);
            Move {
                garment: label.garment,
                phase: label.phase,
                part: label.part,
                machine: label.machine.map_or(0, |group| unit(pool(group))),
                operator: unit(OPERATORS),
                start: run.start[*number],
                end: run.end[*number],
            }
        };
        schedule.order.iter().map(told).collect()
    }

    /// The plan that the local search makes of a plan; the plan itself where it finds none better.
    pub fn improve(&self, plan: Plan, work: usize, bound: Millis) -> Plan {
        let schedule = self.instance.improve(self.schedule(&plan), work, bound, 1);
        let mut run = Run::<Millis>::new(&self.instance);
        let whole = run.go(&self.instance, &schedule, |number| schedule.takes(number));
        if whole && run.makespan < plan.makespan {
            let mut moves = self.moves(&schedule, &run);
            moves.sort_by_key(|one| one.start);
            Plan { moves, makespan: run.makespan }
        } else {
            plan
        }
    }
}
