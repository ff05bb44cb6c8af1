//! The work done as people do it who go by the board's plain rule, and not by a plan.
//!
//! Hands that come free take the most pressing thing: open a press whose time is up, load one (what is furthest on
//! its way first), serve the printer, then the spray gun; blanks only while not too many are ahead. Forecasts are
//! made of it: see [`super::habit`].

use std::collections::VecDeque;

use super::plan::{Group, Kind, Millis, Phase, Problem};

/// The most garments that wait for spray or dryer before the next blank is pressed.
const MOST_AHEAD: usize = 3;

/// A garment in a machine.
#[derive(Debug, Clone, Copy)]
struct Inside {
    kind: usize,
    phase: usize,
    /// When its run is over.
    over: Millis,
}

/// What hands can do.
#[derive(Debug, Clone, Copy)]
enum Task {
    Unload(usize, usize),
    Load { kind: usize, phase: usize, group: usize, machine: usize },
    Hand { kind: usize, phase: usize },
}

struct Floor<'a> {
    kinds: &'a [Kind],
    /// For each kind, how many phases its garments have before them beyond the end of its route.
    beyond: &'a [usize],
    /// For each kind and phase, since when garments wait.
    waiting: Vec<Vec<VecDeque<Millis>>>,
    machines: [Vec<Option<Inside>>; 2],
}

fn slot(group: Group) -> usize {
    usize::from(group == Group::Printer)
}

impl Floor<'_> {
    /// The most pressing thing that can be done at `now`.
    fn task(&self, now: Millis) -> Option<Task> {
        self.over(0, now)
            .or_else(|| self.load(0, now))
            .or_else(|| self.over(1, now))
            .or_else(|| self.load(1, now))
            .or_else(|| self.hand(now))
    }

    fn over(&self, group: usize, now: Millis) -> Option<Task> {
        let over = |(machine, inside): (usize, &Option<Inside>)| {
            inside.filter(|one| one.over <= now).map(|one| (one.over, machine))
        };
        let (_, machine) = self.machines[group].iter().enumerate().filter_map(over).min()?;
        Some(Task::Unload(group, machine))
    }

    /// Garments that wait at `now` for a phase that `wanted` names, what is furthest on its way first.
    fn furthest(
        &self,
        now: Millis,
        wanted: impl Fn(&[Phase], usize) -> bool,
    ) -> Option<(usize, usize)> {
        let mut best: Option<(usize, Millis, usize, usize)> = None;
        for (n, (kind, phases)) in self.kinds.iter().zip(&self.waiting).enumerate() {
            for (phase, queue) in phases.iter().enumerate() {
                let Some(since) = queue.front().copied().filter(|since| *since <= now) else {
                    continue;
                };
                if !wanted(&kind.route, phase) {
                    continue;
                }
                let beyond = self.beyond.get(n).copied().unwrap_or(0);
                let key = (kind.route.len() + beyond - phase, since, n, phase);
                if best.is_none_or(|best| key < best) {
                    best = Some(key);
                }
            }
        }
        best.map(|(_, _, kind, phase)| (kind, phase))
    }

    fn load(&self, group: usize, now: Millis) -> Option<Task> {
        let machine = self.machines[group].iter().position(Option::is_none)?;
        let ahead = self.ahead() < MOST_AHEAD;
        let (kind, phase) = self.furthest(now, |route, phase| match &route[phase] {
            Phase::Machine { group: of, .. } if slot(*of) == group => {
                ahead || !matches!(route.get(phase + 1), Some(Phase::Hand { .. }))
            }
            _ => false,
        })?;
        Some(Task::Load { kind, phase, group, machine })
    }

    fn hand(&self, now: Millis) -> Option<Task> {
        let wet = self.count(|route, phase| {
            phase > 0 && is_hand(&route[phase - 1]) && !is_hand(&route[phase])
        });
        let (kind, phase) = self.furthest(now, |route, phase| {
            // What is begun by hand is finished by hand; a new one only while the dryer keeps up.
            let begun = phase > 0 && is_hand(&route[phase - 1]);
            is_hand(&route[phase]) && (begun || wet <= self.machines[0].len())
        })?;
        Some(Task::Hand { kind, phase })
    }

    fn count(&self, wanted: impl Fn(&[Phase], usize) -> bool) -> usize {
        let of = |(kind, phases): (&Kind, &Vec<VecDeque<Millis>>)| -> usize {
            let there = phases.iter().enumerate().filter(|(phase, _)| wanted(&kind.route, *phase));
            there.map(|(_, queue)| queue.len()).sum()
        };
        self.kinds.iter().zip(&self.waiting).map(of).sum()
    }

    /// Garments between their first press and the dryer.
    fn ahead(&self) -> usize {
        let wait = self.count(|route, phase| {
            is_hand(&route[phase]) || (phase > 0 && is_hand(&route[phase - 1]))
        });
        let pressed = self.machines[0].iter().flatten().filter(|inside| {
            self.kinds[inside.kind].route.get(inside.phase + 1).is_some_and(is_hand)
        });
        wait + pressed.count()
    }

    /// Does a task from `now` on; when the hands are free again. `hands` says what they really take.
    fn do_it(
        &mut self,
        task: Task,
        now: Millis,
        hands: &mut impl FnMut(Millis) -> Millis,
    ) -> Millis {
        match task {
            Task::Unload(group, machine) => {
                let Some(inside) = self.machines[group][machine].take() else { return now };
                let unload = match &self.kinds[inside.kind].route[inside.phase] {
                    Phase::Machine { unload, .. } => *unload,
                    Phase::Hand { .. } | Phase::Arrival { .. } => 0,
                };
                self.send_on(inside.kind, inside.phase, now + hands(unload))
            }
            Task::Load { kind, phase, group, machine } => {
                self.waiting[kind][phase].pop_front();
                let Phase::Machine { load, run, .. } = &self.kinds[kind].route[phase] else {
                    return now;
                };
                let loaded = now + hands(*load);
                let over = loaded + run;
                self.machines[group][machine] = Some(Inside { kind, phase, over });
                loaded
            }
            Task::Hand { kind, phase } => {
                self.waiting[kind][phase].pop_front();
                let takes = hands(self.kinds[kind].route[phase].work());
                self.send_on(kind, phase, now + takes)
            }
        }
    }

    fn send_on(&mut self, kind: usize, phase: usize, at: Millis) -> Millis {
        if let Some(queue) = self.waiting[kind].get_mut(phase + 1) {
            queue.push_back(at);
        }
        at
    }

    /// The next moment after `now` at which something can have changed.
    fn next(&self, now: Millis) -> Option<Millis> {
        let runs = self.machines.iter().flatten().flatten().map(|inside| inside.over);
        let waits = self.waiting.iter().flatten().flatten().copied();
        runs.chain(waits).filter(|at| *at > now).min()
    }
}

fn is_hand(phase: &Phase) -> bool {
    matches!(phase, Phase::Hand { .. })
}

/// When the last garment is done, from now, where hands go by the rule and take their median times.
pub fn makespan(problem: &Problem) -> Millis {
    run(problem, |takes| takes)
}

/// The same where the routes are parts of longer ways: what is furthest on its whole way goes first.
pub fn makespan_of_parts(problem: &Problem, beyond: &[usize]) -> Millis {
    go(problem, beyond, |takes| takes)
}

/// The same where `takes` says how long hands really take for what takes so long by its median.
pub fn run(problem: &Problem, takes: impl FnMut(Millis) -> Millis) -> Millis {
    go(problem, &[], takes)
}

fn go(problem: &Problem, beyond: &[usize], mut takes: impl FnMut(Millis) -> Millis) -> Millis {
    let waiting = problem.kinds.iter().map(|kind| {
        let mut phases = vec![VecDeque::new(); kind.route.len()];
        // What comes later waits for its first phase from then on.
        if let Some(first) = phases.get_mut(kind.first()) {
            first.extend(std::iter::repeat_n(kind.arrives(), kind.count));
        }
        phases
    });
    let machines = [vec![None; problem.presses], vec![None; problem.printers]];
    let mut floor = Floor { kinds: &problem.kinds, beyond, waiting: waiting.collect(), machines };
    for begun in &problem.begun {
        let inside = Inside { kind: begun.kind, phase: begun.phase, over: begun.left };
        let phase = problem.kinds.get(begun.kind).and_then(|kind| kind.route.get(begun.phase));
        let Some(Phase::Machine { group, .. }) = phase else { continue };
        let machines = &mut floor.machines[slot(*group)];
        if let Some(free) = machines.iter_mut().find(|machine| machine.is_none()) {
            *free = Some(inside);
        }
    }
    let mut hands = vec![0; problem.operators.max(1)];
    let mut last = 0;
    loop {
        let Some(free) = hands.iter_mut().min() else { return last };
        let now = *free;
        *free = match floor.task(now) {
            Some(task) => {
                let end = floor.do_it(task, now, &mut takes);
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
