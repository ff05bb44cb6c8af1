//! The work done as people do it who go by the board's plain rule ([`crate::shop::rules::turn`]), and not by a plan.
//!
//! Hands that come free take the first act that the rule names. Forecasts are made of it: see [`super::habit`].

mod ready;

use ready::{First, Lane, Ready, is_hand, is_print};

use super::plan::{Group, Millis, Phase, Problem};
use crate::shop::rules::turn::{self, Act, Binds};

/// A garment in a machine.
#[derive(Debug, Clone, Copy)]
struct Inside {
    kind: usize,
    phase: usize,
    /// When its run is over.
    over: Millis,
}

/// What hands can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Task {
    /// A garment comes out of a machine of a group.
    Unload {
        group: Group,
        machine: usize,
        kind: usize,
        phase: usize,
    },
    Load {
        group: Group,
        machine: usize,
        kind: usize,
        phase: usize,
    },
    Hand {
        kind: usize,
        phase: usize,
    },
}

impl Task {
    /// Which kind it is done to, and the phase that it is of.
    pub fn of(self) -> (usize, usize) {
        match self {
            Task::Unload { kind, phase, .. }
            | Task::Load { kind, phase, .. }
            | Task::Hand { kind, phase } => (kind, phase),
        }
    }
}

struct Floor<'a> {
    problem: &'a Problem,
    ready: Ready,
    machines: [Vec<Option<Inside>>; 2],
    binds: Option<Binds>,
}

fn slot(group: Group) -> usize {
    usize::from(group == Group::Printer)
}

impl<'a> Floor<'a> {
    fn new(problem: &'a Problem) -> Self {
        let ready = Ready::of(&problem.kinds);
        let machines = [vec![None; problem.presses], vec![None; problem.printers]];
        let mut floor = Self { problem, ready, machines, binds: problem.binds() };
        for begun in &problem.begun {
            let inside = Inside { kind: begun.kind, phase: begun.phase, over: begun.left };
            let Some(Phase::Machine { group, .. }) = floor.phase(begun.kind, begun.phase) else {
                continue;
            };
            let machines = &mut floor.machines[slot(*group)];
            if let Some(free) = machines.iter_mut().find(|machine| machine.is_none()) {
                *free = Some(inside);
            }
        }
        floor
    }

    fn phase(&self, kind: usize, phase: usize) -> Option<&'a Phase> {
        self.problem.kinds.get(kind)?.route.get(phase)
    }

    /// The act that the rule names at `now`.
    fn task(&self, now: Millis) -> Option<Task> {
        let hungry = self.is_hungry(now);
        let empty = self.machines[0].iter().any(Option::is_none);
        let acts = turn::acts(self.binds, hungry, empty);
        acts.iter().find_map(|act| self.done(*act, now, hungry))
    }

    fn done(&self, act: Act, now: Millis, hungry: bool) -> Option<Task> {
        match act {
            Act::Open => self.over(Group::Press, now),
            Act::Feed => {
                self.load(now, true, |first| first.turn.presses() || !first.turn.feeds_nothing)
            }
            Act::Load => self.load(now, hungry, |_| true),
            Act::Print => self.over(Group::Printer, now).or_else(|| {
                let first = self.ready.first(now, &[Lane::Printer], false)?;
                self.into(Group::Printer, first)
            }),
            Act::Spray => self.hand(now),
            Act::Fetch => {
                let first = self.ready.first(now, &[Lane::Shelf], false)?;
                self.into(Group::Press, first)
            }
        }
    }

    fn over(&self, group: Group, now: Millis) -> Option<Task> {
        let over = |(machine, inside): (usize, &Option<Inside>)| {
            inside.filter(|one| one.over <= now).map(|one| (one.over, machine, one))
        };
        let all = self.machines[slot(group)].iter().enumerate().filter_map(over);
        let (_, machine, Inside { kind, phase, .. }) = all.min_by_key(|one| (one.0, one.1))?;
        Some(Task::Unload { group, machine, kind, phase })
    }

    fn load(&self, now: Millis, hungry: bool, taken: impl Fn(&First) -> bool) -> Option<Task> {
        let blank = self.ready.first(now, &[Lane::Blank], false);
        let ahead = self.ahead();
        let blanks = blank.is_some_and(|blank| turn::presses_blank(ahead, blank.turn.urgency.rank));
        let all = [Lane::ToPrinter, Lane::Press, Lane::Blank];
        let lanes = if blanks { &all[..] } else { &all[..2] };
        let first = self.ready.first(now, lanes, hungry).filter(taken)?;
        self.into(Group::Press, first)
    }

    fn into(&self, group: Group, First { kind, phase, .. }: First) -> Option<Task> {
        let machine = self.machines[slot(group)].iter().position(Option::is_none)?;
        Some(Task::Load { group, machine, kind, phase })
    }

    /// What is begun by hand is finished by hand; a new one only while the dryer keeps up.
    fn hand(&self, now: Millis) -> Option<Task> {
        let (wet, presses) = (self.ready.for_dryer, self.machines[0].len());
        let sprays = |new: &First| turn::sprays(wet, presses, new.turn.urgency.rank);
        let begun = self.ready.first(now, &[Lane::Begun], false);
        let first = begun.or_else(|| self.ready.first(now, &[Lane::Hand], false).filter(sprays))?;
        Some(Task::Hand { kind: first.kind, phase: first.phase })
    }

    /// Whether nothing is ready for the printer, nor in a press on the way to it.
    fn is_hungry(&self, now: Millis) -> bool {
        let leads =
            |inside: &Inside| self.phase(inside.kind, inside.phase + 1).is_some_and(is_print);
        self.binds == Some(Binds::Printers)
            && !self.ready.waits(now, Lane::Printer)
            && !self.machines[0].iter().flatten().any(leads)
    }

    /// Garments between their first press and the dryer.
    fn ahead(&self) -> usize {
        let pressed = self.machines[0].iter().flatten();
        let leads =
            |inside: &&Inside| self.phase(inside.kind, inside.phase + 1).is_some_and(is_hand);
        self.ready.ahead + pressed.filter(leads).count()
    }

    /// Does a task from `now` on; when the hands are free again. `go` says what it really takes.
    fn do_it(&mut self, task: Task, now: Millis, go: &mut impl Going) -> Millis {
        let (kind, no) = task.of();
        let Some(phase) = self.phase(kind, no) else { return now };
        let free = match (task, phase) {
            (Task::Unload { group, machine, .. }, Phase::Machine { unload, .. }) => {
                self.machines[slot(group)][machine] = None;
                now + go.hands(*unload)
            }
            (Task::Load { group, machine, .. }, Phase::Machine { load, run, .. }) => {
                self.ready.pop(kind, no);
                let loaded = now + go.hands(*load);
                let over = loaded + go.machine(group, *run);
                self.machines[slot(group)][machine] = Some(Inside { kind, phase: no, over });
                return loaded;
            }
            _ => {
                self.ready.pop(kind, no);
                now + go.hands(phase.work())
            }
        };
        match self.phase(kind, no + 1) {
            Some(_) => self.ready.push(kind, no + 1, free),
            None => go.done(kind, free),
        }
        free
    }

    /// The next moment after `now` at which something can have changed.
    fn next(&self, now: Millis) -> Option<Millis> {
        let runs = self.machines.iter().flatten().flatten().map(|inside| inside.over);
        runs.chain(self.ready.next(now)).filter(|at| *at > now).min()
    }
}

/// What hands that are free now do next; None where they have to wait.
pub fn next_task(problem: &Problem) -> Option<Task> {
    Floor::new(problem).task(0)
}

/// How work goes that is gone through: what hands and machines really take, and who hears of what is done.
pub trait Going {
    /// What hands take for what takes so long by its median.
    fn hands(&mut self, takes: Millis) -> Millis;
    /// How long a machine of a group runs that runs so long by its median.
    fn machine(&mut self, group: Group, runs: Millis) -> Millis;
    /// A garment of a kind is done.
    fn done(&mut self, kind: usize, at: Millis);
}

/// Everything takes its median time.
struct AsUsual;

impl Going for AsUsual {
    fn hands(&mut self, takes: Millis) -> Millis {
        takes
    }

    fn machine(&mut self, _: Group, runs: Millis) -> Millis {
        runs
    }

    fn done(&mut self, _: usize, _: Millis) {}
}

/// When the last garment is done, from now, where hands go by the rule and everything takes its median time.
pub fn makespan(problem: &Problem) -> Millis {
    run(problem, &mut AsUsual)
}

/// The same where it goes otherwise.
pub fn run(problem: &Problem, go: &mut impl Going) -> Millis {
    let mut floor = Floor::new(problem);
    let mut hands = vec![0; problem.operators.max(1)];
    let mut last = 0;
    loop {
        let Some(free) = hands.iter_mut().min() else { return last };
        let now = *free;
        *free = match floor.task(now) {
            Some(task) => {
                let end = floor.do_it(task, now, go);
                last = last.max(end);
                end
            }
            None => match floor.next(now) {
                Some(at) => at,
                None => return last,
            },
        };
    }
}
