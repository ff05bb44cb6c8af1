//! A plan: who does what when, for garments whose way leads through presses, hands and a printer.
//!
//! A machine is held from the start of its loading to the end of its unloading; between them it runs alone. An
//! operator does one thing at a time, unbroken. Garments wait anywhere else as long as they like; where they may
//! not wait in a machine (`Dwell::None`) the unloading begins the moment the run ends.
//!
//! The search is a beam: move by move the most promising beginnings are kept, by the time that operators have
//! stood idle. Times are in milliseconds.

use std::collections::{HashSet, VecDeque};

/// Milliseconds.
pub type Millis = i64;

/// What a machine is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Group {
    Press,
    Printer,
}

/// One part of a garment's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Phase {
    /// An operator's hands, without a machine.
    Hand { name: &'static str, takes: Millis },
    /// An operator loads a machine, it runs, an operator unloads it.
    Machine { name: &'static str, group: Group, load: Millis, run: Millis, unload: Millis },
}

impl Phase {
    /// How long it takes an operator's hands.
    pub fn work(&self) -> Millis {
        match self {
            Phase::Hand { takes, .. } => *takes,
            Phase::Machine { load, unload, .. } => load + unload,
        }
    }

    /// How long it holds a machine of a group; 0 for none.
    pub fn holds(&self, wanted: Group) -> Millis {
        match self {
            Phase::Machine { group, load, run, unload, .. } if *group == wanted => {
                load + run + unload
            }
            _ => 0,
        }
    }

    fn moves(&self) -> usize {
        match self {
            Phase::Hand { .. } => 1,
            Phase::Machine { .. } => 2,
        }
    }

    /// How long it takes one garment that waits for nothing.
    pub fn lasts(&self) -> Millis {
        match self {
            Phase::Hand { takes, .. } => *takes,
            Phase::Machine { load, run, unload, .. } => load + run + unload,
        }
    }
}

/// Whether a garment may stay in a machine after its run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dwell {
    Free,
    None,
}

/// So many garments that have the same way before them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    pub route: Vec<Phase>,
    pub count: usize,
}

/// Work for an answer that somebody waits for: about half a second a plan.
pub const THOROUGH: usize = 60_000;
/// Work for one that is made again and again while a board runs.
pub const BRISK: usize = 6_000;

/// What is to be planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    pub presses: usize,
    pub printers: usize,
    pub operators: usize,
    pub dwell: Dwell,
    pub kinds: Vec<Kind>,
    /// Garments that are in machines already, beside those that the kinds count.
    pub begun: Vec<Begun>,
}

/// A garment in a machine: the kind and phase of its way, and how long its run still takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begun {
    pub kind: usize,
    pub phase: usize,
    pub left: Millis,
}

/// What cannot be planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoPlan {
    #[error("no operator: nothing moves by itself")]
    NoOperator,
    #[error("no heat press, and garments that want one")]
    NoPress,
    #[error("no printer, and garments that want one")]
    NoPrinter,
    #[error("no order of moves was found in which every garment comes out in time")]
    Stuck,
}

/// One move of an operator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Move {
    pub garment: usize,
    /// The phase of its way, and which part of it.
    pub phase: usize,
    pub part: Part,
    /// The machine within its group, for a part that has one.
    pub machine: usize,
    pub operator: usize,
    pub start: Millis,
    pub end: Millis,
}

/// Part of a phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    Hand,
    Load,
    Unload,
}

/// A plan, move by move in the order of their starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    pub moves: Vec<Move>,
    pub makespan: Millis,
}

/// A machine while plans are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Machine {
    /// When it is free, or when its run ends.
    at: Millis,
    /// The kind, phase and garment in it.
    holds: Option<(usize, usize, usize)>,
}

/// The beginning of a plan.
#[derive(Debug, Clone)]
struct Beginning {
    operators: Vec<Millis>,
    machines: [Vec<Machine>; 2],
    /// For each kind and phase, when the garments that wait for it became ready.
    waiting: Vec<Vec<VecDeque<(Millis, usize)>>>,
    /// For a plan without dwell, the spans in which unloading is already bound.
    bound: Vec<(Millis, Millis)>,
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
    fn machines(&self, group: Group) -> usize {
        match group {
            Group::Press => self.presses,
            Group::Printer => self.printers,
        }
    }

    fn check(&self) -> Result<(), NoPlan> {
        let wants = |group| {
            let phases = self.kinds.iter().filter(|kind| kind.count > 0).flat_map(|k| &k.route);
            phases.into_iter().any(|phase| phase.holds(group) > 0)
        };
        match () {
            () if self.operators == 0 => Err(NoPlan::NoOperator),
            () if self.presses == 0 && wants(Group::Press) => Err(NoPlan::NoPress),
            () if self.printers == 0 && wants(Group::Printer) => Err(NoPlan::NoPrinter),
            () => Ok(()),
        }
    }

    fn sum(&self, of: impl Fn(&Phase) -> Millis) -> Millis {
        let count = |kind: &Kind| i64::try_from(kind.count).unwrap_or(0);
        let each = |kind: &Kind| kind.route.iter().map(&of).sum::<Millis>() * count(kind);
        self.kinds.iter().map(each).sum()
    }

    /// A time below which no plan can end: what operators have to do, with the idle time that the first run and
    /// the last one force on them; what each group of machines has to hold; the longest way of one garment.
    pub fn lower_bound(&self) -> Millis {
        let there = || self.kinds.iter().filter(|kind| kind.count > 0 && !kind.route.is_empty());
        let operators = i64::try_from(self.operators.max(1)).unwrap_or(1);
        let work = self.sum(Phase::work);
        let by_hands = (work + self.forced_idle()) / operators;
        let by_machines = [Group::Press, Group::Printer].into_iter().map(|group| {
            let count = i64::try_from(self.machines(group).max(1)).unwrap_or(1);
            let ends = |kind: &Kind| {
                // What must come before the first hold and after the last one.
                let first = kind.route.iter().take_while(|phase| phase.holds(group) == 0);
                let last = kind.route.iter().rev().take_while(|phase| phase.holds(group) == 0);
                first.map(Phase::lasts).sum::<Millis>() + last.map(Phase::lasts).sum::<Millis>()
            };
            let holds = self.sum(|phase| phase.holds(group));
            let ends = there().map(ends).min().unwrap_or(0);
            if holds == 0 { 0 } else { holds / count + ends }
        });
        let way = |kind: &Kind| kind.route.iter().map(Phase::lasts).sum::<Millis>();
        let longest = there().map(way).max().unwrap_or(0);
        by_machines.chain([by_hands, longest]).max().unwrap_or(0)
    }

    /// With one operator and ways that begin and end in presses: before the first run is over only loads can be
    /// done, one a machine; after the last load only unloads remain, and the last run must pass.
    fn forced_idle(&self) -> Millis {
        if self.operators != 1 {
            return 0;
        }
        let machines = i64::try_from(self.presses + self.printers).unwrap_or(i64::MAX);
        let mut before = Millis::MAX;
        let mut after = Millis::MAX;
        for kind in self.kinds.iter().filter(|kind| kind.count > 0) {
            let (Some(first), Some(last)) = (kind.route.first(), kind.route.last()) else {
                return 0;
            };
            match (first, last) {
                (
                    Phase::Machine { load, run, .. },
                    Phase::Machine { run: last_run, unload, .. },
                ) => {
                    before = before.min((load + run - machines * load).max(0));
                    after = after.min((last_run + unload - machines * unload).max(0));
                }
                _ => return 0,
            }
        }
        if before == Millis::MAX { 0 } else { before + after }
    }

    /// Plans with a beam of so many beginnings.
    ///
    /// # Errors
    /// A problem without the hands or machines that it wants, or one in which no garment can come out in time.
    pub fn plan(&self, width: usize) -> Result<Plan, NoPlan> {
        self.check()?;
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
            next.retain(|(beginning, _)| seen.insert(beginning.likeness()));
            next.truncate(width);
            beam = next
                .into_iter()
                .map(|(mut beginning, one)| {
                    moves.push((beginning.last, one));
                    beginning.last = Some(moves.len() - 1);
                    beginning
                })
                .collect();
        }
        let whole = |one: &&Beginning| one.is_over();
        let best = beam.iter().filter(whole).min_by_key(|one| one.makespan).ok_or(NoPlan::Stuck)?;
        let mut moves = told(best, &moves);
        if self.dwell == Dwell::None {
            self.add_bound(&mut moves);
        }
        Ok(Plan { moves, makespan: best.makespan })
    }

    /// Unloadings that were bound to their loads are moves too: by the hands that loaded.
    fn add_bound(&self, moves: &mut Vec<Move>) {
        let kind_of = |garment: usize| {
            let mut first = 0;
            self.kinds.iter().find(|kind| {
                first += kind.count;
                garment < first
            })
        };
        let unloads: Vec<Move> = moves
            .iter()
            .filter(|one| one.part == Part::Load)
            .filter_map(|load| {
                let phase = kind_of(load.garment)?.route.get(load.phase)?;
                let Phase::Machine { run, unload, .. } = phase else { return None };
                let start = load.end + run;
                Some(Move { part: Part::Unload, start, end: start + unload, ..*load })
            })
            .collect();
        moves.extend(unloads);
        moves.sort_by_key(|one| one.start);
    }

    /// The best plan that is found for so much work (moves times beginnings), with a beam as wide as the size of the problem lets it be, over all smaller
    /// counts of presses and operators: so more of them never finish later.
    ///
    /// # Errors
    /// As `plan`.
    pub fn best(&self, work: usize) -> Result<Plan, NoPlan> {
        self.check()?;
        let bound = self.lower_bound();
        let mut best: Option<Plan> = None;
        // The machines that hold something now are there in any case.
        let least = self.begun.len().clamp(1, self.presses.max(1));
        for presses in (least..=self.presses.max(1)).rev() {
            for operators in (1..=self.operators).rev() {
                let fewer =
                    Problem { presses: presses.min(self.presses), operators, ..self.clone() };
                for width in fewer.widths(work) {
                    let found = fewer.plan(width);
                    let better =
                        |plan: &Plan| best.as_ref().is_none_or(|b| plan.makespan < b.makespan);
                    best = found.ok().filter(better).or(best);
                    if best.as_ref().is_some_and(|plan| plan.makespan <= bound) {
                        return best.ok_or(NoPlan::Stuck);
                    }
                }
            }
        }
        best.ok_or(NoPlan::Stuck)
    }

    /// A narrow beam first, then one whose work is about the same for every size of problem.
    fn widths(&self, work: usize) -> [usize; 2] {
        const NARROW: usize = 10;
        const WIDEST: usize = 400;
        let moves: usize = self
            .kinds
            .iter()
            .map(|kind| kind.count * kind.route.iter().map(Phase::moves).sum::<usize>())
            .sum();
        [NARROW, (work / moves.max(1)).clamp(NARROW, WIDEST)]
    }

    /// What beginnings are sorted by: the soonest that each could end, then idle hands, then work done.
    fn rank(&self, one: &Beginning) -> (Millis, Millis, Millis) {
        let first = one.operators.iter().copied().min().unwrap_or(0);
        let (mut work, mut holds) = (0, [0; 2]);
        let mut tail = [Millis::MAX; 2];
        for (kind, phases) in self.kinds.iter().zip(&one.waiting) {
            let (mut later, mut held, mut after) = (0, [0; 2], 0);
            // From the end of the way: what is still to come for a garment that waits for each phase.
            for (phase, queue) in kind.route.iter().zip(phases).rev() {
                later += phase.work();
                let count = i64::try_from(queue.len()).unwrap_or(0);
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
            let mut free = 0;
            for machine in machines {
                let Some((kind, phase, _)) = machine.holds else {
                    free += machine.at.max(first);
                    continue;
                };
                let route = &self.kinds[kind].route[phase..];
                let Some(Phase::Machine { unload, .. }) = route.first() else { continue };
                work += unload;
                let out = machine.at.max(first) + unload;
                free += out;
                for later in &route[1..] {
                    work += later.work();
                    for other in [Group::Press, Group::Printer] {
                        holds[slot(other)] += later.holds(other);
                    }
                }
                soonest = soonest.max(out + route[1..].iter().map(Phase::lasts).sum::<Millis>());
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

    fn empty(&self) -> Beginning {
        let machine = Machine { at: 0, holds: None };
        let mut garment = 0;
        let waiting = self.kinds.iter().map(|kind| {
            let mut phases = vec![VecDeque::new(); kind.route.len()];
            if let Some(first) = phases.first_mut() {
                first.extend((garment..garment + kind.count).map(|n| (0, n)));
            }
            garment += kind.count;
            phases
        });
        let waiting = waiting.collect();
        let mut machines = [vec![machine; self.presses], vec![machine; self.printers]];
        for begun in &self.begun {
            let phase = self.kinds.get(begun.kind).and_then(|kind| kind.route.get(begun.phase));
            let Some(Phase::Machine { group, .. }) = phase else { continue };
            let empty = machines[slot(*group)].iter_mut().find(|one| one.holds.is_none());
            if let Some(one) = empty {
                *one = Machine {
                    at: begun.left.max(0),
                    holds: Some((begun.kind, begun.phase, garment)),
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
                let Some((ready, garment)) = queue.front().copied() else { continue };
                let step = self.kinds[kind].route[phase];
                let what = (kind, phase, garment);
                next.extend(self.begin(from, operator, what, ready, step));
            }
        }
        if self.dwell == Dwell::None {
            return;
        }
        for (group, machines) in from.machines.iter().enumerate() {
            for (no, machine) in machines.iter().enumerate() {
                let Some((kind, phase, garment)) = machine.holds else { continue };
                let Phase::Machine { unload, .. } = self.kinds[kind].route[phase] else { continue };
                let start = from.operators[operator].max(machine.at);
                let mut after = from.clone();
                after.take(operator, start, start + unload);
                after.machines[group][no] = Machine { at: start + unload, holds: None };
                after.pass_on(kind, phase, garment, start + unload);
                let part = Part::Unload;
                let end = start + unload;
                next.push((
                    after,
                    Move { garment, phase, part, machine: no, operator, start, end },
                ));
            }
        }
    }

    /// A garment's next phase is begun: by hand, or by loading the machine that is free first.
    fn begin(
        &self,
        from: &Beginning,
        operator: usize,
        (kind, phase, garment): (usize, usize, usize),
        ready: Millis,
        step: Phase,
    ) -> Option<(Beginning, Move)> {
        let free = from.operators[operator].max(ready);
        let mut after = from.clone();
        after.waiting[kind][phase].pop_front();
        match step {
            Phase::Hand { takes, .. } => {
                let start = from.gap(free, takes, None);
                after.take(operator, start, start + takes);
                after.pass_on(kind, phase, garment, start + takes);
                let (part, end) = (Part::Hand, start + takes);
                Some((after, Move { garment, phase, part, machine: 0, operator, start, end }))
            }
            Phase::Machine { group, load, run, unload, .. } => {
                let machines = &from.machines[slot(group)];
                let empty = machines.iter().enumerate().filter(|(_, one)| one.holds.is_none());
                let (machine, there) = empty.min_by_key(|(_, one)| one.at)?;
                let bound = (self.dwell == Dwell::None).then_some((load + run, unload));
                let start = from.gap(free.max(there.at), load, bound);
                after.take(operator, start, start + load);
                let over = start + load + run;
                let mut one = Machine { at: over, holds: Some((kind, phase, garment)) };
                if bound.is_some() {
                    // Its unloading is bound already: it is as good as done.
                    after.bound.push((over, over + unload));
                    after.bound.sort_unstable();
                    after.work_done += unload;
                    after.pass_on(kind, phase, garment, over + unload);
                    after.makespan = after.makespan.max(over + unload);
                    one = Machine { at: over + unload, holds: None };
                }
                after.machines[slot(group)][machine] = one;
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

    fn is_over(&self) -> bool {
        self.waiting.iter().flatten().all(VecDeque::is_empty)
            && self.machines.iter().flatten().all(|machine| machine.holds.is_none())
    }

    /// An operator is busy; what he stood about before is idle time, unless he was bound to unload.
    fn take(&mut self, operator: usize, start: Millis, end: Millis) {
        let before = self.operators[operator];
        let bound: Millis = self
            .bound
            .iter()
            .filter(|(from, to)| *from >= before && *to <= start)
            .map(|(from, to)| to - from)
            .sum();
        self.idle += start - before - bound;
        self.bound.retain(|(_, to)| *to > end);
        self.operators[operator] = end;
        self.work_done += end - start;
        self.makespan = self.makespan.max(end);
    }

    fn pass_on(&mut self, kind: usize, phase: usize, garment: usize, ready: Millis) {
        if let Some(queue) = self.waiting[kind].get_mut(phase + 1) {
            // Several may become ready out of turn: the earliest goes first.
            let place = queue.partition_point(|(at, _)| *at <= ready);
            queue.insert(place, (ready, garment));
        }
    }

    /// The first moment from `free` on at which hands are free for so long, and again after a run where the
    /// unloading is bound to it.
    fn gap(&self, free: Millis, takes: Millis, bound: Option<(Millis, Millis)>) -> Millis {
        let clash = |from: Millis, to: Millis| {
            self.bound.iter().find(|(start, end)| from < *end && *start < to).map(|(_, end)| *end)
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

    /// Two beginnings from which the same can follow are one.
    #[expect(clippy::type_complexity, reason = "a key for a set, looked at nowhere else")]
    fn likeness(
        &self,
    ) -> (
        Vec<Millis>,
        Vec<(usize, Millis, Option<(usize, usize)>)>,
        Vec<Vec<Vec<Millis>>>,
        Vec<Millis>,
    ) {
        let mut operators = self.operators.clone();
        operators.sort_unstable();
        let mut machines: Vec<(usize, Millis, Option<(usize, usize)>)> = Vec::new();
        let first = operators.first().copied().unwrap_or(0);
        for (group, all) in self.machines.iter().enumerate() {
            machines.extend(all.iter().map(|machine| {
                let holds = machine.holds.map(|(kind, phase, _)| (kind, phase));
                (group, machine.at.max(first), holds)
            }));
        }
        machines.sort_unstable();
        let ready = |queue: &VecDeque<(Millis, usize)>| {
            queue.iter().map(|(at, _)| (*at).max(first)).collect()
        };
        let waiting = self.waiting.iter().map(|kind| kind.iter().map(ready).collect()).collect();
        (operators, machines, waiting, self.bound.iter().map(|(from, _)| *from).collect())
    }
}

/// The moves of a beginning, in the order of their starts.
fn told(best: &Beginning, moves: &[(Option<usize>, Move)]) -> Vec<Move> {
    let mut all = Vec::new();
    let mut at = best.last;
    while let Some((before, one)) = at.and_then(|place| moves.get(place)) {
        all.push(*one);
        at = *before;
    }
    all.sort_by_key(|one| one.start);
    all
}
