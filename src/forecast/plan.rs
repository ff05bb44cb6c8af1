//! A plan: who does what when, for garments whose way leads through presses, hands and a printer.
//!
//! A machine is held from the start of its loading to the end of its unloading; between them it runs alone. An
//! operator does one thing at a time, unbroken. Garments wait anywhere else as long as they like; where they may
//! not wait in a machine (`Dwell::None`) the unloading begins the moment the run ends.
//!
//! The search is a beam: move by move the most promising beginnings are kept, by the time that operators have
//! stood idle. Where its plan does not meet the lower bound, the local search of the job shop ([`super::jobshop`])
//! goes on from it. Times are in milliseconds.

mod beam;
pub(in crate::forecast) mod layout;
mod merge;
pub mod presses;
mod queue;

pub use super::jobshop::Millis;
use presses::{Asks, Stands};

use crate::shop::rules::turn::{Binds, Urgency};

/// What a machine is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Group {
    Press,
    Printer,
}

/// One part of a garment's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Phase {
    /// Only ever the first: the garment comes later, at this moment of the plan.
    Arrival { at: Millis },
    /// An operator's hands, without a machine.
    Hand { name: &'static str, takes: Millis },
    /// An operator loads a machine, it runs, an operator unloads it; afterwards the garment rests so long before it goes on.
    Machine {
        name: &'static str,
        group: Group,
        load: Millis,
        run: Millis,
        unload: Millis,
        rest: Millis,
    },
}

impl Phase {
    /// How long it takes an operator's hands.
    pub fn work(&self) -> Millis {
        match self {
            Phase::Arrival { .. } => 0,
            Phase::Hand { takes, .. } => *takes,
            Phase::Machine { load, unload, .. } => load + unload,
        }
    }

    /// The group of its machine; None where hands do it alone.
    pub fn group(&self) -> Option<Group> {
        match self {
            Phase::Machine { group, .. } => Some(*group),
            Phase::Arrival { .. } | Phase::Hand { .. } => None,
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

    /// How long it takes what holds a shop back.
    pub fn held_by(&self, binds: Option<Binds>) -> Millis {
        match binds {
            Some(Binds::Presses) => self.holds(Group::Press),
            Some(Binds::Printers) => self.holds(Group::Printer),
            Some(Binds::Hands) | None => self.work(),
        }
    }

    fn moves(&self) -> usize {
        match self {
            Phase::Arrival { .. } => 0,
            Phase::Hand { .. } => 1,
            Phase::Machine { .. } => 2,
        }
    }

    /// How long it takes one garment that waits for nothing.
    pub fn lasts(&self) -> Millis {
        match self {
            Phase::Arrival { at } => *at,
            Phase::Hand { takes, .. } => *takes,
            Phase::Machine { load, run, unload, rest, .. } => load + run + unload + rest,
        }
    }

    /// How long a garment rests after it.
    pub fn rests(&self) -> Millis {
        match self {
            Phase::Machine { rest, .. } => *rest,
            Phase::Arrival { .. } | Phase::Hand { .. } => 0,
        }
    }
}

/// How long a garment may stay in its machine once the run is over: unlimited, limited or no wait, as scheduling has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dwell {
    Unlimited,
    /// For so long in a press; as long as it likes in a printer.
    Limited(Millis),
    None,
}

/// So many garments that have the same way before them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    pub route: Vec<Phase>,
    pub count: usize,
    /// What the plain rule goes by: a plan does not.
    pub claim: Claim,
    /// How long those who are there have waited already, the longest first; whoever is not named, no time at all.
    pub waited: Vec<Millis>,
    /// What each phase asks of its press; what is not named asks nothing.
    pub asks: Vec<Asks>,
}

/// What the plain rule goes by when it looks for whose turn it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Claim {
    pub urgency: Urgency,
    /// How long it may wait wet for the dryer, and as a print for its cure. None: as long as it likes.
    pub wet_at_most: Option<Millis>,
    pub print_at_most: Option<Millis>,
    /// It lies on the shelf, and is fetched when nothing else is to be done.
    pub shelved: bool,
}

impl Kind {
    /// Garments of no particular order that have not waited yet.
    pub fn new(route: Vec<Phase>, count: usize) -> Self {
        Self { route, count, claim: Claim::default(), waited: Vec::new(), asks: Vec::new() }
    }

    /// The same from a moment of the plan on: until then the garments are not there.
    pub fn from(mut self, at: Millis) -> Self {
        if at > 0 {
            self.route.insert(0, Phase::Arrival { at });
            self.asks.insert(0, Asks::default());
        }
        self
    }

    /// When the garments become there.
    pub fn arrives(&self) -> Millis {
        match self.route.first() {
            Some(Phase::Arrival { at }) => (*at).max(0),
            _ => 0,
        }
    }

    /// The phase that they wait for once they are there.
    pub fn first(&self) -> usize {
        usize::from(matches!(self.route.first(), Some(Phase::Arrival { .. })))
    }
}

/// Work for an answer that somebody waits for: about half a second a plan.
pub const THOROUGH: usize = 60_000;
/// Work for one that is made again and again while a board runs.
pub const BRISK: usize = 6_000;

/// The local search goes through so many moves for each beginning of the beam's work.
const SEARCH: usize = 40;

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
    /// The presses as they stand; those that are not named are ready, and as whatever is laid into them wants them.
    pub stands: Vec<Stands>,
    /// How slow each operator's hands are, in thousandths of the usual; who is not named is as quick as usual. A plan does
    /// not go by it.
    pub paces: Vec<Millis>,
}

/// A garment in a machine: the kind and phase of its way, and how long its run still takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begun {
    pub kind: usize,
    pub phase: usize,
    pub left: Millis,
    /// The machine of its group, for the plain rule; to a plan they are the first of it.
    pub machine: usize,
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
    #[error("no press is there that serves {step}; see `uses` and `size` in station.ron")]
    NoPressServes { step: &'static str },
    #[error(
        "line {line}: no press of the station takes these garments for {step}; see `uses` and `size` in station.ron"
    )]
    NoPressFor { line: usize, step: &'static str },
    #[error("no order of moves was found in which every garment comes out in time")]
    Stuck,
}

/// One move of an operator: in a plan with whole milliseconds, in a simulation with seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Move<T = Millis> {
    pub garment: usize,
    /// The phase of its way, and which part of it.
    pub phase: usize,
    pub part: Part,
    /// The machine within its group, for a part that has one.
    pub machine: usize,
    pub operator: usize,
    pub start: T,
    pub end: T,
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

impl Problem {
    /// Whether there is a pair of hands, and a machine of each kind that is wanted.
    ///
    /// # Errors
    /// What there is none of.
    pub fn check(&self) -> Result<(), NoPlan> {
        let wants = |group| {
            let phases = self.kinds.iter().filter(|kind| kind.count > 0).flat_map(|k| &k.route);
            phases.into_iter().any(|phase| phase.holds(group) > 0)
        };
        match () {
            () if self.operators == 0 => Err(NoPlan::NoOperator),
            () if self.presses == 0 && wants(Group::Press) => Err(NoPlan::NoPress),
            () if self.printers == 0 && wants(Group::Printer) => Err(NoPlan::NoPrinter),
            () => self.unserved().map_or(Ok(()), |step| Err(NoPlan::NoPressServes { step })),
        }
    }

    /// The first step that something is still to go through and that none of the presses serves.
    fn unserved(&self) -> Option<&'static str> {
        let begun = |no: usize| self.begun.iter().filter(move |begun| begun.kind == no);
        self.kinds.iter().enumerate().find_map(|(no, kind)| {
            // What is in a machine is where it is.
            let begun = begun(no).map(|begun| begun.phase + 1).min();
            let from = if kind.count > 0 { 0 } else { begun? };
            let ahead = kind.route.iter().zip(&kind.asks).skip(from);
            ahead.into_iter().find_map(|(phase, asks)| match phase {
                Phase::Machine { name, group: Group::Press, .. } => {
                    (!(0..self.presses).any(|press| asks.is_served_by(press))).then_some(*name)
                }
                _ => None,
            })
        })
    }

    /// Whether some press is set otherwise than something asks for, or two things ask for different heats.
    pub fn turns_presses(&self) -> bool {
        let kinds = || self.kinds.iter().flat_map(|kind| &kind.asks);
        let mut press = self.stands.first().copied().unwrap_or_default();
        kinds().for_each(|asks| press.load(asks));
        self.stands.iter().chain([&press]).any(|stands| kinds().any(|asks| !stands.suits(asks)))
    }

    /// What all phases of the counted garments come to.
    pub fn sum(&self, of: impl Fn(&Phase) -> Millis) -> Millis {
        let count = |kind: &Kind| i64::try_from(kind.count).unwrap_or(0);
        let each = |kind: &Kind| kind.route.iter().map(&of).sum::<Millis>() * count(kind);
        self.kinds.iter().map(each).sum()
    }

    /// What holds it back: whatever has most to do for each of its kind. None where nothing is to be done.
    pub fn binds(&self) -> Option<Binds> {
        let each = |work: Millis, count: usize| work / Millis::try_from(count.max(1)).unwrap_or(1);
        let holds = |group: Group| self.sum(|phase| phase.holds(group));
        let all = [
            (each(self.sum(Phase::work), self.operators), Binds::Hands),
            (each(holds(Group::Press), self.presses), Binds::Presses),
            (each(holds(Group::Printer), self.printers), Binds::Printers),
        ];
        let most = all.into_iter().filter(|(work, _)| *work > 0).max_by_key(|(work, _)| *work);
        most.map(|(_, binds)| binds)
    }

    /// A time below which no plan can end: that of the job shop, what presses hold while they settle besides, and what the
    /// only operator has to do, with the idle time that the first run and the last one force on him.
    pub fn lower_bound(&self) -> Millis {
        let by_hands =
            if self.operators == 1 { self.sum(Phase::work) + self.forced_idle() } else { 0 };
        by_hands.max(self.layout().instance.lower_bound()).max(self.settled_bound())
    }

    /// With one operator and ways that begin and end in presses: before the first run is over only loads can be
    /// done, one a machine; after the last load only unloads remain, and the last run must pass. Where each garment has
    /// a machine of its own both may be the same wait, and what lies in a machine already can be taken out in it.
    fn forced_idle(&self) -> Millis {
        if !self.begun.is_empty() {
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
        let loads = self.sum(|phase| i64::from(matches!(phase, Phase::Machine { .. })));
        match before {
            Millis::MAX => 0,
            _ if loads > machines => before + after,
            _ => before.max(after),
        }
    }

    /// The best plan that is found for so much work, over all smaller counts of presses and operators: so more of
    /// them never finish later. Of one way, the kind that stands first is done first.
    ///
    /// # Errors
    /// As `plan`.
    pub fn best(&self, work: usize) -> Result<Plan, NoPlan> {
        self.check()?;
        let (merged, of) = self.as_it_matters().merged();
        let found = match (merged.best_within(work), self.dwell) {
            // No order of moves was found that keeps to it: better a plan that says so than none.
            (Err(NoPlan::Stuck), Dwell::Limited(_)) => {
                Problem { dwell: Dwell::Unlimited, ..merged.clone() }.best_within(work)
            }
            (found, _) => found,
        };
        found.map(|plan| self.dealt(&merged, &of, plan))
    }

    /// Until when nothing at all can be done, for all of it comes later.
    pub fn nothing_before(&self) -> Millis {
        let there = self.kinds.iter().filter(|kind| kind.count > 0).map(Kind::arrives);
        let there = there.chain(self.begun.iter().map(|_| 0));
        there.min().unwrap_or(0)
    }

    /// How many garments it is about.
    pub fn garments(&self) -> usize {
        self.kinds.iter().map(|kind| kind.count).sum::<usize>() + self.begun.len()
    }

    fn best_within(&self, work: usize) -> Result<Plan, NoPlan> {
        let bound = self.lower_bound();
        let mut best: Option<Plan> = None;
        // The machines that hold something now are there in any case.
        let begun = self.begun.iter().zip(self.machines_of_begun());
        let pressed = begun.filter(|(one, _)| self.group_of(one) == Some(Group::Press));
        let last = pressed.map(|(_, machine)| machine).max();
        let held = last.map_or(0, |last| last + 1);
        let least = held.max(self.held(Group::Press)).clamp(1, self.presses.max(1));
        for presses in (least..=self.presses.max(1)).rev() {
            for operators in (1..=self.operators).rev() {
                let fewer =
                    Problem { presses: presses.min(self.presses), operators, ..self.clone() };
                let made = best.as_ref().map_or(Millis::MAX, |plan| plan.makespan);
                if made <= bound {
                    return best.ok_or(NoPlan::Stuck);
                }
                if made > fewer.lower_bound() {
                    let better = |plan: &Plan| plan.makespan < made;
                    best = fewer.of_these(work).filter(better).or(best);
                }
            }
        }
        best.ok_or(NoPlan::Stuck)
    }

    /// The best plan with exactly these presses and operators: beams of two widths, then the local search. What it
    /// finds depends on nothing but the problem and the work.
    fn of_these(&self, work: usize) -> Option<Plan> {
        let bound = self.lower_bound();
        let mut best: Option<Plan> = None;
        for width in self.widths(work) {
            let better = |plan: &Plan| best.as_ref().is_none_or(|b| plan.makespan < b.makespan);
            best = self.plan(width).ok().filter(better).or(best);
            if best.as_ref().is_some_and(|plan| plan.makespan <= bound) {
                return best;
            }
        }
        // The local search knows neither of presses that are not alike nor of garments that must come out: what it finds may
        // not do.
        match self.dwell {
            _ if self.tells_presses_apart() => best,
            Dwell::Unlimited => best.map(|plan| self.layout().improve(plan, work * SEARCH, bound)),
            Dwell::Limited(most) => best.map(|plan| {
                let other = self.layout().improve(plan.clone(), work * SEARCH, bound);
                if self.longest_dwell(&other) <= most { other } else { plan }
            }),
            Dwell::None => best,
        }
    }

    /// The kind of each garment by its number in a plan: those that the kinds count, then those in machines.
    pub fn kind_of_each(&self) -> Vec<usize> {
        let counted = self.kinds.iter().enumerate();
        let counted = counted.flat_map(|(no, kind)| std::iter::repeat_n(no, kind.count));
        counted.chain(self.begun.iter().map(|begun| begun.kind)).collect()
    }

    /// The way of each garment by its number in a plan.
    pub fn ways(&self) -> Vec<&[Phase]> {
        let way = |no: usize| self.kinds.get(no).map_or(&[][..], |kind| &kind.route);
        self.kind_of_each().into_iter().map(way).collect()
    }

    /// How long a garment that the plan lays into a press lies there at most after its run.
    pub fn longest_dwell(&self, plan: &Plan) -> Millis {
        let ways = self.ways();
        let run = |load: &Move| match ways.get(load.garment)?.get(load.phase)? {
            Phase::Machine { group: Group::Press, run, .. } => Some(*run),
            _ => None,
        };
        let mut over: std::collections::BTreeMap<(usize, usize), Millis> = Default::default();
        let mut longest = 0;
        for one in &plan.moves {
            let key = (one.garment, one.phase);
            match one.part {
                Part::Load => drop(run(one).map(|run| over.insert(key, one.end + run))),
                Part::Unload => {
                    longest = longest.max(over.get(&key).map_or(0, |over| one.start - over));
                }
                Part::Hand => {}
            }
        }
        longest
    }

    /// A narrow beam first, then one whose work is about the same for every size of problem.
    fn widths(&self, work: usize) -> Vec<usize> {
        const NARROW: usize = 10;
        const WIDEST: usize = 400;
        let moves: usize = self
            .kinds
            .iter()
            .map(|kind| kind.count * kind.route.iter().map(Phase::moves).sum::<usize>())
            .sum();
        let mut widths = vec![NARROW, (work / moves.max(1)).clamp(NARROW, WIDEST)];
        // Long work leaves time for the narrow one alone: it would find the same twice.
        widths.dedup();
        widths
    }
}
