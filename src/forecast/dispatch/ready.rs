//! Who waits on the floor of a forecast, found by turn: thousands of kinds are not looked through for each act.

use std::collections::{BTreeSet, VecDeque};

use crate::forecast::plan::{Claim, Group, Kind, Millis, Phase};
use crate::shop::facts::step::Step;
use crate::shop::rules::turn::{Turn, Urgency};

/// What garments wait for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lane {
    /// A press, and the printer after it.
    ToPrinter,
    /// A press, and hands after it: a blank.
    Blank,
    /// A press, and a press or nothing after it.
    Press,
    Printer,
    Hand,
    /// Hands that finish what hands have begun.
    Begun,
    /// They lie on the shelf.
    Shelf,
}

/// A phase of a kind, as the rule looks at it.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    pub lane: Option<Lane>,
    /// Whether it waits wet, and since how long that is over half of what it may.
    wet: bool,
    long_after: Option<Millis>,
    /// Between its first press and the dryer; waiting for the dryer.
    pub ahead: bool,
    pub for_dryer: bool,
    /// How long it has rested by the time that it is ready.
    rests: Millis,
}

/// Where a kind waits: the less, the sooner it is its turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Place {
    urgency: Urgency,
    dry: bool,
    since: Millis,
    kind: usize,
    phase: usize,
}

/// Whose turn it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct First {
    pub turn: Turn,
    since: Millis,
    pub kind: usize,
    pub phase: usize,
}

/// Who waits.
#[derive(Debug, Clone)]
pub struct Ready {
    looks: Vec<Vec<Look>>,
    claims: Vec<Claim>,
    /// For each kind and phase, since when garments wait.
    queues: Vec<Vec<VecDeque<Millis>>>,
    /// The first of each queue, by lane.
    lanes: [BTreeSet<Place>; LANES],
    /// The first of each queue that may not wait for ever, by when it has waited for long.
    long: BTreeSet<(Millis, Place)>,
    pub ahead: usize,
    pub for_dryer: usize,
}

const LANES: usize = 7;

impl Ready {
    /// Garments that wait for the first phase of their way.
    pub fn of(kinds: &[Kind]) -> Self {
        let looks = kinds.iter().map(|kind| (0..kind.route.len()).map(|n| look(kind, n)).collect());
        let queues = kinds.iter().map(|kind| vec![VecDeque::new(); kind.route.len()]);
        let mut ready = Self {
            looks: looks.collect(),
            claims: kinds.iter().map(|kind| kind.claim).collect(),
            queues: queues.collect(),
            lanes: Default::default(),
            long: BTreeSet::new(),
            ahead: 0,
            for_dryer: 0,
        };
        for (no, kind) in kinds.iter().enumerate() {
            let waited = kind.waited.iter().map(|waited| -waited);
            // What comes later waits for its first phase from then on.
            let since = waited.chain(std::iter::repeat(kind.arrives())).take(kind.count);
            since.for_each(|since| ready.push(no, kind.first(), since));
        }
        ready
    }

    pub fn look(&self, kind: usize, phase: usize) -> Option<Look> {
        self.looks.get(kind)?.get(phase).copied()
    }

    /// A garment waits from a moment on.
    pub fn push(&mut self, kind: usize, phase: usize, since: Millis) {
        let Some(look) = self.look(kind, phase) else { return };
        let Some(queue) = self.queues.get_mut(kind).and_then(|phases| phases.get_mut(phase)) else {
            return;
        };
        queue.push_back(since);
        self.ahead += usize::from(look.ahead);
        self.for_dryer += usize::from(look.for_dryer);
        if queue.len() == 1 {
            self.stand(kind, phase);
        }
    }

    /// The first of a kind that waits for a phase is taken.
    pub fn pop(&mut self, kind: usize, phase: usize) {
        let Some((look, place)) = self.look(kind, phase).zip(self.place(kind, phase)) else {
            return;
        };
        if let Some(lane) = look.lane {
            self.lanes[lane as usize].remove(&place);
        }
        if let Some(after) = look.long_after {
            self.long.remove(&(place.since + after, place));
        }
        self.queues[kind][phase].pop_front();
        self.ahead -= usize::from(look.ahead);
        self.for_dryer -= usize::from(look.for_dryer);
        self.stand(kind, phase);
    }

    fn stand(&mut self, kind: usize, phase: usize) {
        let Some((look, place)) = self.look(kind, phase).zip(self.place(kind, phase)) else {
            return;
        };
        if let Some(lane) = look.lane {
            self.lanes[lane as usize].insert(place);
        }
        if let Some(after) = look.long_after {
            self.long.insert((place.since + after, place));
        }
    }

    fn place(&self, kind: usize, phase: usize) -> Option<Place> {
        let since = *self.queues.get(kind)?.get(phase)?.front()?;
        let dry = !self.look(kind, phase)?.wet;
        Some(Place { urgency: self.claims.get(kind)?.urgency, dry, since, kind, phase })
    }

    /// Whose turn it is at `now` among those that wait for something; `hungry` where what leads to the printer goes
    /// before all but a rush.
    pub fn first(&self, now: Millis, wanted: &[Lane], hungry: bool) -> Option<First> {
        self.first_of(now, wanted, hungry, |_, _| true)
    }

    /// The same among those that fit, by their kind and the phase that they wait for.
    pub fn first_of(
        &self,
        now: Millis,
        wanted: &[Lane],
        hungry: bool,
        fits: impl Fn(usize, usize) -> bool,
    ) -> Option<First> {
        let lane_of = |place: &Place| self.look(place.kind, place.phase).and_then(|one| one.lane);
        let long = self.long.iter().take_while(|(long, _)| *long < now).map(|(_, place)| place);
        let long = long.filter(|place| {
            lane_of(place).is_some_and(|lane| wanted.contains(&lane))
                && fits(place.kind, place.phase)
        });
        let soonest = wanted.iter().filter_map(|lane| {
            // What hands are still busy with comes later: few, and not for long.
            let there = |place: &&Place| place.since <= now && fits(place.kind, place.phase);
            self.lanes[*lane as usize].iter().find(there)
        });
        let first = |(in_time, place): (bool, &Place)| {
            let Place { urgency, dry, since, kind, phase } = *place;
            let feeds_nothing = !(hungry && lane_of(place) == Some(Lane::ToPrinter));
            // Blanks that come too soon are not looked for.
            let turn = Turn { too_soon: false, in_time, urgency, feeds_nothing, dry };
            First { turn, since, kind, phase }
        };
        long.map(|place| (false, place)).chain(soonest.map(|place| (true, place))).map(first).min()
    }

    /// The kinds and phases for which something waits in a lane, or will as soon as hands are done with it.
    pub fn all_in(&self, lane: Lane) -> impl Iterator<Item = (usize, usize)> {
        self.lanes[lane as usize].iter().map(|place| (place.kind, place.phase))
    }

    /// Whether something waits in a lane at `now`, or rests until it does.
    pub fn waits_or_rests(&self, now: Millis, lane: Lane) -> bool {
        let rests = |place: &Place| self.look(place.kind, place.phase).map_or(0, |one| one.rests);
        self.lanes[lane as usize].iter().any(|place| place.since - rests(place) <= now)
    }

    /// The next moment after `now` from which somebody waits, or has waited for long.
    pub fn next(&self, now: Millis) -> Option<Millis> {
        let fronts = self.queues.iter().flatten().flat_map(|queue| queue.iter().copied());
        fronts.filter(|at| *at > now).min()
    }
}

/// How the rule looks at a phase.
fn look(kind: &Kind, no: usize) -> Look {
    let route = &kind.route;
    let before = no.checked_sub(1).and_then(|before| route.get(before));
    let phase = route[no];
    let dries = is_named(&phase, Step::Dry) || before.is_some_and(is_hand);
    let cures = is_named(&phase, Step::Cure) || before.is_some_and(is_print);
    let pressed = phase.holds(Group::Press) > 0;
    let next = route.get(no + 1);
    let lane = match &phase {
        Phase::Arrival { .. } => None,
        Phase::Hand { .. } if before.is_some_and(is_hand) => Some(Lane::Begun),
        Phase::Hand { .. } => Some(Lane::Hand),
        Phase::Machine { group: Group::Printer, .. } => Some(Lane::Printer),
        _ if kind.claim.shelved && no == kind.first() => Some(Lane::Shelf),
        _ if next.is_some_and(is_hand) => Some(Lane::Blank),
        _ if next.is_some_and(is_print) => Some(Lane::ToPrinter),
        _ => Some(Lane::Press),
    };
    let limit = match () {
        () if !pressed => None,
        () if dries => kind.claim.wet_at_most,
        () if cures => kind.claim.print_at_most,
        () => None,
    };
    let rests = match before {
        // What is to be printed has been pressed before: it comes once it has rested.
        Some(Phase::Arrival { at }) if lane == Some(Lane::Printer) => *at,
        before => before.map_or(0, Phase::rests),
    };
    Look {
        lane,
        wet: pressed && (dries || cures),
        long_after: limit.map(|limit| limit / 2),
        ahead: is_hand(&phase) || (pressed && dries),
        for_dryer: pressed && dries,
        rests,
    }
}

fn is_named(phase: &Phase, step: Step) -> bool {
    matches!(phase, Phase::Machine { name, .. } if *name == step.name())
}

pub fn is_hand(phase: &Phase) -> bool {
    matches!(phase, Phase::Hand { .. })
}

pub fn is_print(phase: &Phase) -> bool {
    matches!(phase, Phase::Machine { group: Group::Printer, .. })
}
