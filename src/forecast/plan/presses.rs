//! The presses of a station, one by one: what each serves, how it is set, from when on it can be used.
//!
//! The plain rule goes by it ([`crate::forecast::dispatch`]), and so does a plan: what wants another heat waits for a press
//! to be turned and to settle. Of the hands that turn a dial nothing is counted.

use super::{Begun, Group, Millis, Part, Phase, Plan, Problem};
use crate::figures::units::Temperature;
use crate::shop::floor::press::OTHER_HEAT_C;

/// The heat of a press, in tenths of a degree Celsius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Heat(i32);

impl Heat {
    #[expect(clippy::cast_possible_truncation, reason = "some hundred degrees")]
    pub fn of(temperature: Temperature) -> Self {
        Self((temperature.as_celsius() * 10.0).round() as i32)
    }

    /// As [`crate::shop::floor::press::Setting::suits`] has it.
    fn suits(self, wanted: Heat) -> bool {
        f64::from((self.0 - wanted.0).abs()) < 10.0 * OTHER_HEAT_C
    }
}

/// What a phase asks of its press beside being one. Nothing: any press will do, as it is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Asks {
    /// The presses of the station that it cannot be in, a bit each. One that comes beside them serves everything.
    not_in: u16,
    heat: Option<Heat>,
}

impl Asks {
    /// Of a phase at a heat that the presses of the station serve or do not.
    pub fn of(heat: Temperature, serves: impl Iterator<Item = bool>) -> Self {
        let bit =
            |(no, serves): (u32, bool)| if serves { 0 } else { 1u16.checked_shl(no).unwrap_or(0) };
        let not_in = (0..).zip(serves).map(bit).fold(0, |all, one| all | one);
        Self { not_in, heat: Some(Heat::of(heat)) }
    }

    /// Whether a press serves it, counted from 0, whatever its heat.
    pub fn is_served_by(&self, press: usize) -> bool {
        let bit = u32::try_from(press).ok().and_then(|no| 1u16.checked_shl(no)).unwrap_or(0);
        self.not_in & bit == 0
    }
}

/// A press as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Stands {
    /// How it is set; None: as whatever is laid into it first wants it.
    pub heat: Option<Heat>,
    /// From when on it can be used.
    pub ready: Millis,
    /// How long it settles for a degree Celsius hotter, and colder.
    pub up: Millis,
    pub down: Millis,
}

impl Stands {
    /// Whether it is set for a phase.
    pub fn suits(&self, asks: &Asks) -> bool {
        self.heat.zip(asks.heat).is_none_or(|(set, wanted)| set.suits(wanted))
    }

    /// Something is laid into it.
    pub fn load(&mut self, asks: &Asks) {
        self.heat = self.heat.or(asks.heat);
    }

    /// It is turned at a moment to the heat that a phase asks for, and settles.
    pub fn turn(&mut self, asks: &Asks, now: Millis) {
        if self.heat.is_some() && asks.heat.is_some() {
            self.ready = now + self.settles_for(asks);
        }
        self.heat = asks.heat.or(self.heat);
    }

    /// How long it settles once it is turned to the heat that a phase asks for.
    fn settles_for(&self, asks: &Asks) -> Millis {
        let by = self.heat.zip(asks.heat).map_or(0, |(set, wanted)| Millis::from(wanted.0 - set.0));
        by.abs() * if by < 0 { self.down } else { self.up } / 10
    }

    /// All that counts of it, in a row.
    pub(super) fn told(&self) -> [Millis; 2] {
        [self.heat.map_or(-1, |heat| Millis::from(heat.0)), self.ready]
    }

    /// The same once it is as a phase asks: turned as soon as it stands empty, where it is set otherwise.
    pub fn made_ready(mut self, asks: &Asks, empty: Millis) -> Self {
        if self.suits(asks) {
            self.load(asks);
        } else {
            self.turn(asks, empty.max(self.ready));
        }
        self
    }
}

impl Heat {
    /// In degrees Celsius.
    pub fn celsius(self) -> f64 {
        f64::from(self.0) / 10.0
    }
}

/// What a plan asks of a press when it lays something into it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    pub garment: usize,
    pub phase: usize,
    pub press: usize,
    /// It is turned once it stands empty and this moment has come, and settles so long; 0 where it is set as it should be.
    pub from: Millis,
    pub settles: Millis,
    /// From when on it could be laid in; None: never, the press does not serve it.
    pub ready: Option<Millis>,
    /// When it is laid in.
    pub start: Millis,
    /// The heat that the press is turned to before, in degrees Celsius.
    pub turned_to: Option<f64>,
}

impl Problem {
    /// What a phase of a kind asks of its press.
    pub(in crate::forecast) fn asks(&self, kind: usize, phase: usize) -> Asks {
        let kind = self.kinds.get(kind);
        kind.and_then(|kind| kind.asks.get(phase)).copied().unwrap_or_default()
    }

    /// The phase of a kind; None past the end of its way.
    pub fn phase(&self, kind: usize, phase: usize) -> Option<&Phase> {
        self.kinds.get(kind)?.route.get(phase)
    }

    /// The group of the machine that a garment is in.
    pub fn group_of(&self, begun: &Begun) -> Option<Group> {
        self.phase(begun.kind, begun.phase)?.group()
    }

    /// How many machines of a group hold something already.
    pub fn held(&self, group: Group) -> usize {
        self.begun.iter().filter(|begun| self.group_of(begun) == Some(group)).count()
    }

    /// Whether it matters in which press something lies. Where it does not, `as_it_matters` says nothing of presses.
    pub(super) fn tells_presses_apart(&self) -> bool {
        !self.stands.is_empty() || self.kinds.iter().any(|kind| !kind.asks.is_empty())
    }

    /// The same problem; where every press serves everything as it is set, and is ready, with nothing said of presses.
    pub(super) fn as_it_matters(&self) -> Problem {
        let mut same = self.clone();
        let asks = || self.kinds.iter().flat_map(|kind| &kind.asks);
        let serves_all = asks().all(|asks| (0..self.presses).all(|press| asks.is_served_by(press)));
        let are_ready = self.stands.iter().all(|press| press.ready <= 0);
        if serves_all && are_ready && !self.turns_presses() {
            same.stands.clear();
            same.kinds.iter_mut().for_each(|kind| kind.asks.clear());
        }
        same
    }

    /// The machine of each garment that is in one already: its own where it matters which that is, else the first of its
    /// group that are left.
    pub(super) fn machines_of_begun(&self) -> Vec<usize> {
        let mut taken: Vec<(Group, usize)> = Vec::new();
        let apart = self.tells_presses_apart();
        let place = |begun: &Begun| {
            let group = self.group_of(begun).unwrap_or(Group::Press);
            let count = if group == Group::Press { self.presses } else { self.printers };
            let free = |no: &usize| !taken.contains(&(group, *no));
            let own = Some(begun.machine).filter(|no| apart && *no < count && free(no));
            let place = own.or_else(|| (0..count.max(1)).find(free)).unwrap_or(0);
            taken.push((group, place));
            place
        };
        self.begun.iter().map(place).collect()
    }

    /// What a plan asks of the presses, load by load in its order.
    pub fn laid(&self, plan: &Plan) -> Vec<Laid> {
        let (ways, kinds) = (self.ways(), self.kind_of_each());
        let mut stands = self.stands.clone();
        stands.resize(self.presses, Stands::default());
        let mut empty = vec![0; self.presses];
        let mut all = Vec::new();
        for one in &plan.moves {
            let phase = ways.get(one.garment).and_then(|way| way.get(one.phase));
            let Some(Phase::Machine { group: Group::Press, .. }) = phase else { continue };
            let (Some(press), Some(empty)) =
                (stands.get_mut(one.machine), empty.get_mut(one.machine))
            else {
                continue;
            };
            if one.part == Part::Unload {
                *empty = one.end;
                continue;
            }
            let asks = self.asks(kinds[one.garment], one.phase);
            let turned_to = asks.heat.filter(|_| !press.suits(&asks)).map(Heat::celsius);
            let (from, before) = (press.ready, press.ready.max(*empty));
            *press = press.made_ready(&asks, *empty);
            let settles = (press.ready - before).max(0);
            let served = asks.is_served_by(one.machine);
            let ready = served.then_some(press.ready.max(*empty));
            let (garment, phase, start) = (one.garment, one.phase, one.start);
            let press = one.machine;
            all.push(Laid { garment, phase, press, from, settles, ready, start, turned_to });
        }
        all
    }

    /// A time below which no plan can end that waits for presses to be ready and to settle. The longest way of a garment, each
    /// load of which waits for the first press that could be as it wants it; and what presses hold, the longest settling
    /// that one of them cannot be spared, shared out over all of them, with the least that follows a press. A press that is
    /// turned by way of other heats goes as many degrees at least, so of several heats the longest counts, not their sum.
    pub(super) fn settled_bound(&self) -> Millis {
        let presses =
            || (0..self.presses).map(|no| (no, self.stands.get(no).copied().unwrap_or_default()));
        let settles = |press: &Stands, asks: &Asks| {
            if press.suits(asks) { 0 } else { press.settles_for(asks) }
        };
        let (mut longest, mut spared, mut tail) = (0, 0, Millis::MAX);
        for (no, kind) in self.kinds.iter().enumerate().filter(|(_, kind)| kind.count > 0) {
            let mut at = 0;
            for (place, phase) in kind.route.iter().enumerate() {
                if phase.group() == Some(Group::Press) {
                    let asks = self.asks(no, place);
                    let serve = || presses().filter(|(no, _)| asks.is_served_by(*no));
                    let ready = serve().map(|(_, press)| press.ready + settles(&press, &asks));
                    let settles = serve().map(|(_, press)| settles(&press, &asks));
                    at = at.max(ready.min().unwrap_or(0));
                    spared = spared.max(settles.min().unwrap_or(0));
                    tail = tail.min(follows(&kind.route[place..]));
                }
                at += phase.lasts();
            }
            longest = longest.max(at - kind.route.last().map_or(0, Phase::rests));
        }
        let mut holds = self.sum(|phase| phase.holds(Group::Press)) + spared;
        for begun in self.begun.iter().filter(|one| self.group_of(one) == Some(Group::Press)) {
            let route = &self.kinds[begun.kind].route[begun.phase..];
            let Some(Phase::Machine { unload, .. }) = route.first() else { continue };
            let later = route[1..].iter().map(|phase| phase.holds(Group::Press));
            holds += begun.left.max(0) + unload + later.sum::<Millis>();
            // Behind its last press comes the least; the first is the one that it is in.
            let in_press = |place: &usize| route[*place].group() == Some(Group::Press);
            let tails = (0..route.len()).filter(in_press).map(|place| follows(&route[place..]));
            tail = tails.fold(tail, Millis::min);
        }
        if tail == Millis::MAX {
            return longest;
        }
        let count = Millis::try_from(self.presses.max(1)).unwrap_or(1);
        longest.max((holds + count - 1) / count + tail)
    }

    /// How long presses are still to settle at the least for what is wanted of them: once for each heat at which none stands.
    pub(super) fn still_to_settle(
        &self,
        wanted: &[Asks],
        presses: impl Iterator<Item = Stands> + Clone,
    ) -> Millis {
        let mut heats: Vec<&Asks> = Vec::new();
        for asks in wanted {
            if heats.iter().all(|known| known.heat != asks.heat) {
                heats.push(asks);
            }
        }
        let settles = |asks: &&Asks| {
            let each = presses
                .clone()
                .map(|press| if press.suits(asks) { 0 } else { press.settles_for(asks) });
            each.min().unwrap_or(0)
        };
        heats.iter().map(settles).sum()
    }
}

/// The least that follows the first phase of a way until its end; what a garment rests after the last counts nowhere.
fn follows(route: &[Phase]) -> Millis {
    match route {
        [first, .., last] => {
            let later = route[1..].iter().map(Phase::lasts).sum::<Millis>();
            first.rests() + later - last.rests()
        }
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_press_serves_what_it_is_used_for_and_one_that_comes_beside_it_serves_all() {
        let asks = Asks::of(Temperature::celsius(171.0), [true, false, true].into_iter());
        let served: Vec<bool> = (0..20).map(|no| asks.is_served_by(no)).collect();
        assert!(!served[1] && served.iter().filter(|one| !**one).count() == 1, "{served:?}");
    }

    #[test]
    fn a_press_settles_by_the_degrees_that_it_is_turned_by() {
        let asks = |celsius: f64| Asks::of(Temperature::celsius(celsius), [true].into_iter());
        let heat = Some(Heat::of(Temperature::celsius(170.0)));
        let mut press = Stands { heat, up: 6000, down: 20_000, ready: 0 };
        assert!(press.suits(&asks(171.0)) && !press.suits(&asks(150.0)));
        press.turn(&asks(150.0), 1000);
        assert_eq!(press.ready, 1000 + 20 * 20_000);
        press.turn(&asks(160.5), press.ready);
        assert_eq!(press.ready, 1000 + 400_000 + 63_000);
        assert!(press.suits(&asks(160.0)));
    }
}
