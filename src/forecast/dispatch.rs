//! The work done as people do it who go by the board's plain rule ([`crate::shop::rules::turn`]), and not by a plan.
//!
//! Hands that come free take the first act that the rule names. Forecasts are made of it: see [`super::habit`].

mod ready;

use ready::{First, Lane, Ready, is_hand, is_print};

use super::plan::presses::{Asks, Stands};
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

/// An operator who is as quick as usual, in thousandths.
const USUAL: Millis = 1000;

struct Floor<'a> {
    problem: &'a Problem,
    ready: Ready,
    machines: [Vec<Option<Inside>>; 2],
    /// Until when hands are at each machine that a garment is taken out of: nobody else lays one in meanwhile.
    freed: [Vec<Millis>; 2],
    /// The presses as they stand, and whether any may be turned to another heat.
    stands: Vec<Stands>,
    turns: bool,
    binds: Option<Binds>,
}

fn slot(group: Group) -> usize {
    usize::from(group == Group::Printer)
}

impl<'a> Floor<'a> {
    fn new(problem: &'a Problem) -> Self {
        let ready = Ready::of(&problem.kinds);
        let machines = [vec![None; problem.presses], vec![None; problem.printers]];
        let mut stands = problem.stands.clone();
        stands.resize(problem.presses, Stands::default());
        let turns = problem.turns_presses();
        let freed = [vec![0; problem.presses], vec![0; problem.printers]];
        let binds = problem.binds();
        let mut floor = Self { problem, ready, machines, freed, stands, turns, binds };
        for begun in &problem.begun {
            let inside = Inside { kind: begun.kind, phase: begun.phase, over: begun.left };
            let Some(group) = problem.group_of(begun) else { continue };
            let machines = &mut floor.machines[slot(group)];
            let own = machines.get(begun.machine).is_some_and(Option::is_none);
            let place =
                if own { Some(begun.machine) } else { machines.iter().position(Option::is_none) };
            if let Some(place) = place {
                machines[place] = Some(inside);
            }
        }
        floor
    }

    fn phase(&self, kind: usize, phase: usize) -> Option<&'a Phase> {
        self.problem.phase(kind, phase)
    }

    fn asks(&self, kind: usize, phase: usize) -> Asks {
        self.problem.asks(kind, phase)
    }

    /// The presses that stand empty and can be used.
    fn empty(&self, now: Millis) -> impl Iterator<Item = usize> {
        self.free(Group::Press, now).filter(move |press| self.stands[*press].ready <= now)
    }

    /// The machines of a group that hold nothing, and nobody is at.
    fn free(&self, group: Group, now: Millis) -> impl Iterator<Item = usize> {
        let (machines, freed) = (&self.machines[slot(group)], &self.freed[slot(group)]);
        let all = machines.iter().zip(freed).enumerate();
        all.filter(move |(_, (holds, freed))| holds.is_none() && **freed <= now).map(|one| one.0)
    }

    /// An empty press that suits a phase.
    fn press_for(&self, kind: usize, phase: usize, now: Millis) -> Option<usize> {
        let asks = self.asks(kind, phase);
        self.empty(now).find(|press| asks.is_served_by(*press) && self.stands[*press].suits(&asks))
    }

    /// The act that the rule names at `now`.
    fn task(&self, now: Millis) -> Option<Task> {
        let hungry = self.is_hungry(now);
        let empty = self.empty(now).next().is_some();
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
                let machine = self.free(Group::Printer, now).next()?;
                let First { kind, phase, .. } = self.ready.first(now, &[Lane::Printer], false)?;
                Some(Task::Load { group: Group::Printer, machine, kind, phase })
            }),
            Act::Spray => self.hand(now),
            Act::Fetch => self.load_first(now, &[Lane::Shelf], false, |_| true),
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
        let all = [Lane::ToPrinter, Lane::Press, Lane::Blank];
        let lanes = if self.presses_blanks(now) { &all[..] } else { &all[..2] };
        self.load_first(now, lanes, hungry, taken)
    }

    /// Whether the next blank is not too soon.
    fn presses_blanks(&self, now: Millis) -> bool {
        let blank = self.ready.first(now, &[Lane::Blank], false);
        blank.is_some_and(|blank| turn::presses_blank(self.ahead(), blank.turn.urgency.rank))
    }

    /// Whoever comes first of those whom an empty press suits.
    fn load_first(
        &self,
        now: Millis,
        lanes: &[Lane],
        hungry: bool,
        taken: impl Fn(&First) -> bool,
    ) -> Option<Task> {
        self.empty(now).next()?;
        let suits = |kind, phase| self.press_for(kind, phase, now).is_some();
        let First { kind, phase, .. } =
            self.ready.first_of(now, lanes, hungry, suits).filter(taken)?;
        let machine = self.press_for(kind, phase, now)?;
        Some(Task::Load { group: Group::Press, machine, kind, phase })
    }

    /// What is begun by hand is finished by hand; a new one only while the dryer keeps up.
    fn hand(&self, now: Millis) -> Option<Task> {
        let (wet, presses) = (self.ready.for_dryer, self.machines[0].len());
        let sprays = |new: &First| turn::sprays(wet, presses, new.turn.urgency.rank);
        let begun = self.ready.first(now, &[Lane::Begun], false);
        let first = begun.or_else(|| self.ready.first(now, &[Lane::Hand], false).filter(sprays))?;
        Some(Task::Hand { kind: first.kind, phase: first.phase })
    }

    /// Whether nothing is ready for the printer, nor rests or is in a press on the way to it.
    fn is_hungry(&self, now: Millis) -> bool {
        let leads =
            |inside: &Inside| self.phase(inside.kind, inside.phase + 1).is_some_and(is_print);
        self.binds == Some(Binds::Printers)
            && !self.ready.waits_or_rests(now, Lane::Printer)
            && !self.machines[0].iter().flatten().any(leads)
    }

    /// Garments between their first press and the dryer.
    fn ahead(&self) -> usize {
        let pressed = self.machines[0].iter().flatten();
        let leads =
            |inside: &&Inside| self.phase(inside.kind, inside.phase + 1).is_some_and(is_hand);
        self.ready.ahead + pressed.filter(leads).count()
    }

    /// Does a task from `now` on; when the hands are free again. `go` says what it really takes an operator.
    fn do_it(
        &mut self,
        task: Task,
        (now, operator): (Millis, usize),
        go: &mut impl Going,
    ) -> Millis {
        let pace = self.problem.paces.get(operator).copied().unwrap_or(USUAL);
        let mut hands = |takes: Millis| go.hands(takes * pace / USUAL);
        let (kind, no) = task.of();
        let Some(phase) = self.phase(kind, no) else { return now };
        let free = match (task, phase) {
            (Task::Unload { group, machine, .. }, Phase::Machine { unload, .. }) => {
                let free = now + hands(*unload);
                self.machines[slot(group)][machine] = None;
                self.freed[slot(group)][machine] = free;
                free
            }
            (Task::Load { group, machine, .. }, Phase::Machine { load, run, .. }) => {
                self.ready.pop(kind, no);
                let loaded = now + hands(*load);
                let over = loaded + go.machine(group, *run);
                self.machines[slot(group)][machine] = Some(Inside { kind, phase: no, over });
                if group == Group::Press {
                    let asks = self.asks(kind, no);
                    self.stands[machine].load(&asks);
                }
                return loaded;
            }
            _ => {
                self.ready.pop(kind, no);
                now + hands(phase.work())
            }
        };
        go.passed(kind, no, free);
        match self.phase(kind, no + 1) {
            _ if is_print(phase) && go.goes_out() => {
                let first = self.problem.kinds[kind].first();
                self.ready.push(kind, first, free);
            }
            Some(_) => self.ready.push(kind, no + 1, free + phase.rests()),
            None => go.done(kind, free),
        }
        free
    }

    /// The next moment after `now` at which something can have changed.
    fn next(&self, now: Millis) -> Option<Millis> {
        let runs = self.machines.iter().flatten().flatten().map(|inside| inside.over);
        let presses = self.stands.iter().map(|stands| stands.ready);
        let freed = self.freed.iter().flatten().copied();
        runs.chain(presses).chain(freed).chain(self.ready.next(now)).filter(|at| *at > now).min()
    }

    /// Turns the presses that stand empty to the heat of what waits, where nothing wants them as they are set: neither
    /// waits, nor will come from hands or printer; `at_last` where they are turned in any case. Whether one was.
    fn turn_presses(&mut self, now: Millis, at_last: bool) -> bool {
        if !self.turns {
            return false;
        }
        let lanes = [Lane::ToPrinter, Lane::Press, Lane::Shelf, Lane::Blank];
        let lanes = if self.presses_blanks(now) { &lanes[..] } else { &lanes[..3] };
        let mut turned = false;
        for press in self.empty(now).collect::<Vec<usize>>() {
            let serves = |kind, phase| self.asks(kind, phase).is_served_by(press);
            let suits = |kind, phase| {
                serves(kind, phase) && self.stands[press].suits(&self.asks(kind, phase))
            };
            let first =
                |fits: &dyn Fn(usize, usize) -> bool| self.ready.first_of(now, lanes, false, fits);
            if first(&suits).is_some() || (!at_last && self.comes_for(&suits)) {
                continue;
            }
            let wanted = first(&serves).map(|first| self.asks(first.kind, first.phase));
            if let Some(asks) = wanted {
                self.stands[press].turn(&asks, now);
                turned = true;
            }
        }
        turned
    }

    /// Whether something waits for hands or the printer, or is in it, that will want such a press.
    fn comes_for(&self, suits: &dyn Fn(usize, usize) -> bool) -> bool {
        let pressed_next = |(kind, phase): (usize, usize)| {
            let later = phase + 1..self.problem.kinds[kind].route.len();
            let next = later.into_iter().find(|no| {
                self.phase(kind, *no).is_some_and(|phase| phase.holds(Group::Press) > 0)
            });
            next.is_some_and(|next| suits(kind, next))
        };
        let prints = self.machines[1].iter().flatten().map(|inside| (inside.kind, inside.phase));
        let waits = [Lane::Hand, Lane::Begun, Lane::Printer].map(|lane| self.ready.all_in(lane));
        prints.chain(waits.into_iter().flatten()).any(pressed_next)
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
    /// A garment of a kind has gone through a phase.
    fn passed(&mut self, _kind: usize, _phase: usize, _at: Millis) {}
    /// Whether a garment that was printed goes out, and another is made instead.
    fn goes_out(&mut self) -> bool {
        false
    }
    /// A garment of a kind is done.
    fn done(&mut self, _kind: usize, _at: Millis) {}
    /// Whether it is gone on with at a moment: nothing that is told of afterwards lies before it.
    fn goes_on(&mut self, _now: Millis) -> bool {
        true
    }
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
        let first = hands.iter_mut().enumerate().min_by_key(|(_, free)| **free);
        let Some((operator, free)) = first else { return last };
        let now = *free;
        if !go.goes_on(now) {
            return last;
        }
        floor.turn_presses(now, false);
        *free = match floor.task(now) {
            Some(task) => {
                let end = floor.do_it(task, (now, operator), go);
                last = last.max(end);
                end
            }
            None => match floor.next(now) {
                Some(at) => at,
                // Each press is kept for what cannot come before others were pressed elsewhere.
                None if floor.turn_presses(now, true) => now,
                None => return last,
            },
        };
    }
}
