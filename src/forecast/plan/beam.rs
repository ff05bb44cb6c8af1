//! The search: a beam of beginnings, extended move by move.

use std::collections::HashSet;
use std::rc::Rc;

use super::presses::{Asks, Stands};
use super::queue::{Queue, whole};
use super::{Dwell, Group, Millis, Move, NoPlan, Part, Phase, Plan, Problem};

/// A machine while plans are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Machine {
    /// When it is free, or when its run ends.
    at: Millis,
    /// The kind, phase and garment in it.
    holds: Option<(usize, usize, usize)>,
    /// When its unloading must have begun.
    by: Millis,
    /// As it stands; of a printer nothing.
    stands: Stands,
}

impl Machine {
    fn empty(at: Millis, stands: Stands) -> Self {
        Self { at, holds: None, by: Millis::MAX, stands }
    }

    /// From when on it can be loaded with what asks so much.
    fn ready_for(&self, asks: &Asks) -> Millis {
        self.stands.made_ready(asks, self.at).ready.max(self.at)
    }
}

/// The beginning of a plan.
#[derive(Debug, Clone)]
struct Beginning {
    operators: Vec<Millis>,
    machines: [Vec<Machine>; 2],
    /// For each kind and phase, when the garments that wait for it became ready. A kind is shared by all that begin alike: a
    /// move touches one of them.
    waiting: Vec<Rc<Vec<Queue>>>,
    /// For a plan without dwell, the spans in which unloading is already bound, and whose hands it binds.
    bound: Vec<(Millis, Millis, usize)>,
    idle: Millis,
    work_done: Millis,
    makespan: Millis,
    /// The last move, and the beginning that it was added to.
    last: Option<usize>,
}

fn slot(group: Group) -> usize {
    match group {
        Group::Press => 0,
        Group::Printer => 1,
    }
}

impl Problem {
    /// Plans with a beam of so many beginnings.
    ///
    /// # Errors
    /// A problem without the hands or machines that it wants, or one in which no garment can come out in time.
    pub fn plan(&self, width: usize) -> Result<Plan, NoPlan> {
        self.check()?;
        let apart = self.tells_presses_apart();
        let mut moves: Vec<(Option<usize>, Move)> = Vec::new();
        let mut beam = vec![self.empty()];
        loop {
            let mut next: Vec<(Beginning, Move)> = Vec::new();
            for beginning in &beam {
                self.extend(beginning, &mut next);
            }
            if next.is_empty() {
                break;
            }
            next.sort_by_cached_key(|(beginning, _)| self.rank(beginning));
            let mut seen = HashSet::new();
            // The best of each kind, up to the width: those behind them are not looked at.
            let unlike =
                |(beginning, _): &(Beginning, Move)| seen.insert(beginning.state_key(apart));
            beam = next
                .into_iter()
                .filter(unlike)
                .take(width)
                .map(|(mut beginning, one)| {
                    moves.push((beginning.last, one));
                    beginning.last = Some(moves.len() - 1);
                    beginning
                })
                .collect();
        }
        let over = |one: &&Beginning| one.is_over();
        let best = beam.iter().filter(over).min_by_key(|one| one.makespan).ok_or(NoPlan::Stuck)?;
        let mut moves = in_order(best, &moves);
        if self.dwell == Dwell::None {
            self.add_bound(&mut moves);
        }
        Ok(Plan { moves, makespan: best.makespan })
    }

    /// Unloadings that were bound to their loads are moves too: by the hands that loaded.
    fn add_bound(&self, moves: &mut Vec<Move>) {
        let ways = self.ways();
        let unloads: Vec<Move> = moves
            .iter()
            .filter(|one| one.part == Part::Load)
            .filter_map(|load| {
                let phase = ways.get(load.garment)?.get(load.phase)?;
                let Phase::Machine { run, unload, .. } = phase else { return None };
                let start = load.end + run;
                Some(Move { part: Part::Unload, start, end: start + unload, ..*load })
            })
            .collect();
        moves.extend(unloads);
        moves.sort_by_key(|one| one.start);
    }

    /// What beginnings are sorted by: the soonest that each could end, then idle hands, then work done.
    fn rank(&self, one: &Beginning) -> (Millis, Millis, Millis) {
        let first = one.operators.iter().copied().min().unwrap_or(0);
        let (mut work, mut holds) = (0, [0; 2]);
        let mut tail = [Millis::MAX; 2];
        for (kind, phases) in self.kinds.iter().zip(&one.waiting) {
            let (mut later, mut held, mut after) = (0, [0; 2], 0);
            // From the end of the way: what is still to come for a garment that waits for each phase.
            for (phase, queue) in kind.route.iter().zip(phases.iter()).rev() {
                later += phase.work();
                let count = whole(queue.len());
                for group in [Group::Press, Group::Printer] {
                    let hold = phase.holds(group);
                    if hold > 0 && held[slot(group)] == 0 {
                        tail[slot(group)] = tail[slot(group)].min(after);
                    }
                    held[slot(group)] += hold;
                    holds[slot(group)] += held[slot(group)] * count;
                }
                work += later * count;
                after += phase.lasts();
            }
        }
        let mut soonest = one.makespan;
        for (group, machines) in one.machines.iter().enumerate() {
            let mut free = if group == slot(Group::Press) { self.settling_ahead(one) } else { 0 };
            for machine in machines {
                let Some((kind, phase, _)) = machine.holds else {
                    free += machine.at.max(machine.stands.ready).max(first);
                    continue;
                };
                let route = &self.kinds[kind].route[phase..];
                let Some(Phase::Machine { unload, rest, .. }) = route.first() else { continue };
                work += unload;
                let out = machine.at.max(first) + unload;
                free += out;
                for later in &route[1..] {
                    work += later.work();
                    for other in [Group::Press, Group::Printer] {
                        holds[slot(other)] += later.holds(other);
                    }
                }
                soonest =
                    soonest.max(out + rest + route[1..].iter().map(Phase::lasts).sum::<Millis>());
            }
            let count = i64::try_from(machines.len().max(1)).unwrap_or(1);
            if holds[group] > 0 {
                let tail = if tail[group] == Millis::MAX { 0 } else { tail[group] };
                soonest = soonest.max((free + holds[group]) / count + tail);
            }
        }
        let hands: Millis = one.operators.iter().sum::<Millis>() + work;
        let operators = i64::try_from(self.operators.max(1)).unwrap_or(1);
        (soonest.max(hands / operators), one.idle, -one.work_done)
    }

    /// How long presses are still to settle for what has yet to be laid into them.
    fn settling_ahead(&self, one: &Beginning) -> Millis {
        // Where it does not matter which press is which, nothing is said of them.
        if self.stands.is_empty() {
            return 0;
        }
        let asked = |kind: usize, from: usize| {
            let asks = self.kinds.get(kind).map_or(&[][..], |kind| &kind.asks);
            asks.iter().skip(from).filter(|asks| **asks != Asks::default()).copied()
        };
        let first = |(kind, phases): (usize, &Rc<Vec<Queue>>)| {
            Some((kind, phases.iter().position(|queue| !queue.is_empty())?))
        };
        let waiting = one.waiting.iter().enumerate().filter_map(first);
        let held = one.machines.iter().flatten().filter_map(|machine| machine.holds);
        let all = waiting.chain(held.map(|(kind, phase, _)| (kind, phase + 1)));
        let wanted: Vec<Asks> = all.flat_map(|(kind, from)| asked(kind, from)).collect();
        self.still_to_settle(
            &wanted,
            one.machines[slot(Group::Press)].iter().map(|press| press.stands),
        )
    }

    fn empty(&self) -> Beginning {
        let stands = |no: usize| self.stands.get(no).copied().unwrap_or_default();
        let presses = (0..self.presses).map(|no| Machine::empty(0, stands(no))).collect();
        let printers = vec![Machine::empty(0, Stands::default()); self.printers];
        let mut garment = 0;
        let waiting = self.kinds.iter().map(|kind| {
            let mut phases = vec![Queue::default(); kind.route.len()];
            if let Some(first) = phases.get_mut(kind.first()) {
                *first = Queue::of(kind.arrives(), garment, kind.count);
            }
            garment += kind.count;
            Rc::new(phases)
        });
        let waiting = waiting.collect();
        let mut machines: [Vec<Machine>; 2] = [presses, printers];
        for (begun, machine) in self.begun.iter().zip(self.machines_of_begun()) {
            let Some(group) = self.group_of(begun) else { continue };
            let empty = machines[slot(group)].get_mut(machine);
            if let Some(one) = empty.filter(|one| one.holds.is_none()) {
                *one = Machine {
                    at: begun.left.max(0),
                    holds: Some((begun.kind, begun.phase, garment)),
                    // It lies as it lies: nothing that is planned now can have it out sooner.
                    by: Millis::MAX,
                    stands: one.stands,
                };
                garment += 1;
            }
        }
        Beginning {
            waiting,
            operators: vec![0; self.operators],
            machines,
            bound: Vec::new(),
            idle: 0,
            work_done: 0,
            makespan: 0,
            last: None,
        }
    }

    /// Every move that the operator who is free first could make.
    fn extend(&self, from: &Beginning, next: &mut Vec<(Beginning, Move)>) {
        let operator = from.first_free();
        for (kind, phases) in from.waiting.iter().enumerate() {
            for (phase, queue) in phases.iter().enumerate() {
                let Some((ready, garment)) = queue.front() else { continue };
                let step = self.kinds[kind].route[phase];
                let what = (kind, phase, garment);
                let Phase::Machine { group, .. } = step else {
                    next.extend(self.begin(from, operator, what, ready, 0));
                    continue;
                };
                let machines = self.machines_for(from, group, &self.asks(kind, phase));
                let begin = |machine| self.begin(from, operator, what, ready, machine);
                next.extend(machines.into_iter().flatten().filter_map(begin));
            }
        }
        if self.dwell == Dwell::None {
            return;
        }
        for (group, machines) in from.machines.iter().enumerate() {
            for (no, machine) in machines.iter().enumerate() {
                let Some((kind, phase, garment)) = machine.holds else { continue };
                let Phase::Machine { unload, rest, .. } = self.kinds[kind].route[phase] else {
                    continue;
                };
                let start = from.operators[operator].max(machine.at);
                if start > machine.by {
                    continue;
                }
                let mut after = from.clone();
                after.take(operator, start, start + unload);
                after.machines[group][no] = Machine::empty(start + unload, machine.stands);
                after.pass_on(kind, phase, garment, start + unload + rest);
                let part = Part::Unload;
                let end = start + unload;
                if after.is_too_late() {
                    continue;
                }
                next.push((
                    after,
                    Move { garment, phase, part, machine: no, operator, start, end },
                ));
            }
        }
    }

    /// The empty machine of a group that can be loaded first; where that is one to be turned to another heat, beside it the
    /// first that stands as it is wanted.
    fn machines_for(&self, from: &Beginning, group: Group, asks: &Asks) -> [Option<usize>; 2] {
        let machines = from.machines[slot(group)].iter().enumerate();
        let serves = |no: usize| group == Group::Printer || asks.is_served_by(no);
        let empty = machines.filter(|(no, one)| one.holds.is_none() && serves(*no));
        let first = empty.clone().min_by_key(|(_, one)| one.ready_for(asks));
        let as_set = empty.filter(|(_, one)| one.stands.suits(asks));
        let as_set = as_set.min_by_key(|(_, one)| one.ready_for(asks));
        let (first, as_set) = (first.map(|one| one.0), as_set.map(|one| one.0));
        [first, as_set.filter(|_| as_set != first)]
    }

    /// A garment's next phase is begun: by hand, or by loading a machine.
    fn begin(
        &self,
        from: &Beginning,
        operator: usize,
        (kind, phase, garment): (usize, usize, usize),
        ready: Millis,
        machine: usize,
    ) -> Option<(Beginning, Move)> {
        let step = self.kinds[kind].route[phase];
        let free = from.operators[operator].max(ready);
        let mut after = from.clone();
        Rc::make_mut(&mut after.waiting[kind])[phase].pop_front();
        match step {
            Phase::Arrival { .. } => None,
            Phase::Hand { takes, .. } => {
                let start = from.gap(operator, free, takes, None);
                after.take(operator, start, start + takes);
                after.pass_on(kind, phase, garment, start + takes);
                if after.is_too_late() {
                    return None;
                }
                let (part, end) = (Part::Hand, start + takes);
                Some((after, Move { garment, phase, part, machine: 0, operator, start, end }))
            }
            Phase::Machine { group, load, run, unload, rest, .. } => {
                let there = from.machines[slot(group)].get(machine)?;
                let asks = self.asks(kind, phase);
                let stands = there.stands.made_ready(&asks, there.at);
                let bound = (self.dwell == Dwell::None).then_some((load + run, unload));
                let start = from.gap(operator, free.max(there.ready_for(&asks)), load, bound);
                after.take(operator, start, start + load);
                let over = start + load + run;
                let by = match self.dwell {
                    Dwell::Limited(most) if group == Group::Press => over + most,
                    _ => Millis::MAX,
                };
                let holds = Some((kind, phase, garment));
                let mut one = Machine { at: over, holds, by, stands };
                if bound.is_some() {
                    // Its unloading is bound already: it is as good as done.
                    after.bound.push((over, over + unload, operator));
                    after.bound.sort_unstable();
                    after.work_done += unload;
                    after.pass_on(kind, phase, garment, over + unload + rest);
                    after.makespan = after.makespan.max(over + unload);
                    one = Machine::empty(over + unload, stands);
                }
                after.machines[slot(group)][machine] = one;
                if after.is_too_late() {
                    return None;
                }
                let (part, end) = (Part::Load, start + load);
                Some((after, Move { garment, phase, part, machine, operator, start, end }))
            }
        }
    }
}

impl Beginning {
    fn first_free(&self) -> usize {
        let free = self.operators.iter().enumerate().min_by_key(|(_, at)| **at);
        free.map_or(0, |(no, _)| no)
    }

    /// Whether a garment lies in a press that no operator can be at in time any more.
    fn is_too_late(&self) -> bool {
        let first = self.operators.iter().copied().min().unwrap_or(0);
        self.machines[0].iter().any(|machine| first > machine.by)
    }

    fn is_over(&self) -> bool {
        self.waiting.iter().flat_map(|kind| kind.iter()).all(Queue::is_empty)
            && self.machines.iter().flatten().all(|machine| machine.holds.is_none())
    }

    /// An operator is busy; what he stood about before is idle time, unless he was bound to unload.
    fn take(&mut self, operator: usize, start: Millis, end: Millis) {
        let before = self.operators[operator];
        let bound: Millis = self
            .bound
            .iter()
            .filter(|(from, to, who)| *who == operator && *from >= before && *to <= start)
            .map(|(from, to, _)| to - from)
            .sum();
        self.idle += start - before - bound;
        self.bound.retain(|(_, to, who)| *who != operator || *to > end);
        self.operators[operator] = end;
        self.work_done += end - start;
        self.makespan = self.makespan.max(end);
    }

    fn pass_on(&mut self, kind: usize, phase: usize, garment: usize, ready: Millis) {
        if phase + 1 < self.waiting[kind].len() {
            Rc::make_mut(&mut self.waiting[kind])[phase + 1].insert(ready, garment);
        }
    }

    /// The first moment from `free` on at which an operator's hands are free for so long, and again after a run where the
    /// unloading is bound to it.
    fn gap(
        &self,
        operator: usize,
        free: Millis,
        takes: Millis,
        bound: Option<(Millis, Millis)>,
    ) -> Millis {
        let own = || self.bound.iter().filter(|(.., who)| *who == operator);
        let clash = |from: Millis, to: Millis| {
            own().find(|(start, end, _)| from < *end && *start < to).map(|(_, end, _)| *end)
        };
        let mut start = free;
        loop {
            if let Some(end) = clash(start, start + takes) {
                start = end;
            } else if let Some((after, unload)) = bound
                && let Some(end) = clash(start + after, start + after + unload)
            {
                start = end - after;
            } else {
                return start;
            }
        }
    }

    /// Two beginnings from which the same can follow are one: all that counts of it, in one row. As many operators and machines
    /// stand at the head of each, and each queue says how many entries it has, so no two rows mean the same but by being the same.
    /// `apart` where it matters which press is which.
    fn state_key(&self, apart: bool) -> Vec<Millis> {
        let mut row = self.operators.clone();
        row.sort_unstable();
        let first = row.first().copied().unwrap_or(0);
        for all in &self.machines {
            let machine = |machine: &Machine| {
                let holds = machine.holds.map(|(kind, phase, _)| (kind, phase));
                (machine.at.max(first), holds)
            };
            let mut alike: Vec<_> = all.iter().map(machine).collect();
            if apart {
                row.extend(all.iter().flat_map(|machine| machine.stands.told()));
            } else {
                alike.sort_unstable();
            }
            for (at, holds) in alike {
                let (kind, phase) =
                    holds.map_or((-1, -1), |(kind, phase)| (whole(kind), whole(phase)));
                row.extend([at, kind, phase]);
            }
        }
        for queue in self.waiting.iter().flat_map(|kind| kind.iter()) {
            queue.tell(first, &mut row);
        }
        // Operators are alike but for when they are free and what they are bound to.
        let at = |who: &usize| self.operators.get(*who).copied().unwrap_or(0);
        row.extend(self.bound.iter().flat_map(|(from, _, who)| [*from, at(who)]));
        row
    }
}

/// The moves of a beginning, in the order of their starts.
fn in_order(best: &Beginning, moves: &[(Option<usize>, Move)]) -> Vec<Move> {
    let mut all = Vec::new();
    let mut at = best.last;
    while let Some((before, one)) = at.and_then(|place| moves.get(place)) {
        all.push(*one);
        at = *before;
    }
    // What begins at one moment keeps the order in which it was planned.
    all.reverse();
    all.sort_by_key(|one| one.start);
    all
}
