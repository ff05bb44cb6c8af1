//! What each press's key would do now: open it, shut it on a certain garment, or nothing, and why.
//!
//! Garments go by the plain rule ([`super::turn`]), one to one press. It rests on recorded steps only, so ten garments
//! may be pre-pressed in a row without one being taken for sprayed. A step is implied only for a garment that the
//! operator chose or scanned.
//!
//! A press takes what suits its heat, so that equals are done heat by heat. It is to be set to another one where
//! nothing else is left, or where something waits for that heat that goes before: see [`Turn::outranks`].

use super::command::By;
use super::heat::Unready;
use super::route::NextPress;
use super::turn::Binds;
use crate::figures::units::Rectangle;
use crate::shop::Shop;
use crate::shop::facts::ids::{OrderId, PressNo, RecipeHash, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::recipe::Pressing;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place, Queue};
use crate::shop::floor::press::Setting;

/// What the operator has chosen beside the board's own proposal.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Choice {
    /// The garment whose tag was scanned.
    pub scanned: Option<Tag>,
    /// The garment that was stepped to, and the press it was stepped to for.
    pub stepped: Option<(PressNo, Tag)>,
}

/// What a plan would have the presses shut on next: kinds of garment that wait for it, in the order of the plan.
/// Empty: the plain rule alone.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Advice {
    pub next: Vec<Waits>,
    /// Seconds by which the plan ends sooner than the plain rule.
    pub gain_s: f64,
    /// What holds the shop back.
    pub binds: Option<Binds>,
}

/// Garments of one line of an order that wait for a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Waits {
    pub order: OrderId,
    pub line: usize,
    pub step: Step,
}

impl Advice {
    /// A press was shut on a garment of a kind: the next in the plan is another's turn.
    pub fn taken(&mut self, kind: Waits) {
        if let Some(place) = self.next.iter().position(|next| *next == kind) {
            self.next.remove(place);
        }
    }
}

/// What a press's key would do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    pub press: PressNo,
    pub act: OfferedAct,
}

/// The act behind a press's key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OfferedAct {
    Open { garment: Tag },
    Shut { garment: Tag, next: NextPress, by: By, suits: bool },
    None(Idle),
}

/// Why a press has nothing to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Idle {
    OutOfUse(OutOfUse),
    /// It heats, soaks or settles: see [`Shop::unready`].
    Unready(Unready),
    /// A garment waits that would want the press set otherwise.
    SetOtherwise {
        garment: Tag,
        wanted: Setting,
    },
    /// Garments wait to be sprayed: the press has nothing until that is recorded.
    SprayFirst,
    /// Garments wait for the printer.
    PrintFirst,
    NothingWaits,
}

/// The queues that a press is fed from.
const QUEUES: [Queue; 3] =
    [Queue::Step(Step::Dry), Queue::Step(Step::Cure), Queue::Step(Step::PrePress)];

/// The most kinds of garment in each queue that can be stepped through by hand.
const MOST_STEPPED: usize = 12;

impl Shop {
    /// What every press's key would do, in the order of the presses, by the plain rule.
    pub fn offers(&self, choice: &Choice, now: Moment) -> Vec<Offer> {
        self.offers_with(choice, &Advice::default(), now)
    }

    /// The same with a plan's advice: what it would have done next goes before the rule's, never before a rush, or a wet
    /// garment or print that has waited for half of what it may.
    pub fn offers_by(&self, choice: &Choice, advice: &Advice, now: Moment) -> Vec<Offer> {
        let rule = Advice { binds: advice.binds, ..Advice::default() };
        let plain = self.offers_with(choice, &rule, now);
        if advice.next.is_empty() || self.something_presses(now) {
            return plain;
        }
        let mut offers = self.offers_with(choice, advice, now);
        for (offer, plain) in offers.iter_mut().zip(&plain) {
            // Where the rule would do the like, it says why in its own words.
            let alike = self.kind(offer.act).zip(self.kind(plain.act)).is_some_and(|(a, b)| a == b);
            if let (OfferedAct::Shut { by: by @ By::Plan, .. }, true) = (&mut offer.act, alike) {
                *by = By::Suggestion;
            }
        }
        offers
    }

    fn kind(&self, act: OfferedAct) -> Option<Waits> {
        let OfferedAct::Shut { garment, next, .. } = act else { return None };
        let garment = self.floor.get(garment)?;
        Some(Waits { order: garment.order(), line: garment.line, step: next.step })
    }

    /// Whether a rush waits for a press, or something that has waited wet for half of what it may.
    fn something_presses(&self, now: Moment) -> bool {
        let first = self.by_turn(&QUEUES, now, false).next();
        first.is_some_and(|garment| self.turn(garment, now).presses())
    }

    fn offers_with(&self, choice: &Choice, advice: &Advice, now: Moment) -> Vec<Offer> {
        let mut set: Vec<Offer> = Vec::new();
        loop {
            let (mut offers, unset) = self.offers_beside(&set, choice, advice, now);
            let more = self.set_for_what_goes_before(&mut offers, &unset, now);
            if more.is_empty() {
                self.give_from_shelf(&mut offers);
                return offers;
            }
            // What such a press was offered goes to another: all is given anew beside it.
            set.extend(more);
        }
    }

    /// What the presses are offered beside those that are to be set, and what suits none as it is.
    fn offers_beside(
        &self,
        set: &[Offer],
        choice: &Choice,
        advice: &Advice,
        now: Moment,
    ) -> (Vec<Offer>, Vec<Unset>) {
        let numbers = self.press_numbers();
        let mut given: Given = numbers.iter().map(|no| (*no, self.settled(*no))).collect();
        self.give_chosen(choice, &mut given);
        for (press, act) in given.iter_mut().filter(|(_, act)| act.is_none()) {
            *act = set.iter().find(|one| one.press == *press).map(|one| one.act);
        }
        for (press, act) in given.iter_mut().filter(|(_, act)| act.is_none()) {
            let waits = self.unready(*press, now).map(|(why, _)| Idle::Unready(why));
            *act = waits.map(OfferedAct::None);
        }
        // No plan knows of it: it goes behind what is wet, and before all else.
        let waits = |step| self.floor.count(Queue::Step(step)) > 0;
        if !waits(Step::Dry) && !waits(Step::Cure) {
            self.give_held(&mut given, now);
        }
        self.give_advised(advice, &mut given);
        let unset = self.give_waiting(&mut given, now, self.is_hungry(advice.binds, now));
        let idle = |press| OfferedAct::None(self.why_idle(press, &unset));
        let offers = given
            .into_iter()
            .map(|(press, act)| Offer { press, act: act.unwrap_or_else(|| idle(press)) })
            .collect();
        (offers, unset)
    }

    /// The garments that could be stepped through for a press: those that wait for one, then those whose
    /// handwork the shutting would imply, then the shelf.
    pub fn candidates(&self) -> Vec<Tag> {
        let queues = [
            Queue::Step(Step::Dry),
            Queue::Step(Step::Cure),
            Queue::Step(Step::PrePress),
            Queue::Step(Step::Spray),
            Queue::Step(Step::Print),
            Queue::Shelf,
        ];
        let mut found: Vec<Tag> = Vec::new();
        for queue in queues {
            // Garments of one line are alike: the one whose turn is first stands for them.
            let mut lines: Vec<(OrderId, usize)> = Vec::new();
            let by_turn = |garment: &Garment| self.urgency(garment.order());
            let mut waiting = self.floor.ordered(&[queue], &[], by_turn);
            while let Some(garment) = waiting.next().filter(|_| lines.len() < MOST_STEPPED) {
                waiting.pass_over_its_kind();
                let line = (garment.order(), garment.line);
                if !lines.contains(&line) {
                    lines.push(line);
                    found.push(garment.tag);
                }
            }
        }
        found
    }

    /// What is not for choice to change: a shut press is opened, one out of use does nothing.
    fn settled(&self, press: PressNo) -> Option<OfferedAct> {
        if let Some(load) = self.load(press) {
            return Some(OfferedAct::Open { garment: load.garment });
        }
        self.out_of_use(press).map(|reason| OfferedAct::None(Idle::OutOfUse(reason)))
    }

    fn give_chosen(&self, choice: &Choice, given: &mut Given) {
        let stepped = choice.stepped;
        for (press, act) in given.iter_mut().filter(|(_, act)| act.is_none()) {
            let chosen = stepped
                .filter(|(for_press, _)| for_press == press)
                .map(|(_, tag)| (tag, By::Choice))
                .or(choice.scanned.map(|tag| (tag, By::Scan)));
            let Some((tag, by)) = chosen else { continue };
            let Some(garment) = self.floor.get(tag) else { continue };
            let Some(next) = self.next_press(garment) else { continue };
            let fit = self.fit(*press, garment, next);
            if by == By::Scan && fit == Fit::NotForThis {
                continue;
            }
            *act = Some(OfferedAct::Shut { garment: tag, next, by, suits: fit == Fit::Suits });
        }
    }

    fn give_advised(&self, advice: &Advice, given: &mut Given) {
        for kind in &advice.next {
            let (queue, line) = (Queue::Step(kind.step), (kind.order, kind.line));
            let first = self.floor.first_of_line(queue, line, |tag| !is_given(given, tag));
            let Some(garment) = first else { continue };
            let next = self.next_press(garment).filter(|next| next.step == kind.step);
            let Some(next) = next.filter(|next| next.implies.is_none()) else { continue };
            self.give(given, garment, next, By::Plan);
        }
    }

    /// Gives a garment to the first free press that suits it; whether there was one.
    fn give(&self, given: &mut Given, garment: &Garment, next: NextPress, by: By) -> bool {
        let suits = |press| self.fit(press, garment, next) == Fit::Suits;
        let free = given.iter_mut().find(|(press, act)| act.is_none() && suits(*press));
        let Some((_, act)) = free else { return false };
        *act = Some(OfferedAct::Shut { garment: garment.tag, next, by, suits: true });
        true
    }

    /// Gives presses what waits, by turn; what suits none of them as they are set is returned, by turn.
    fn give_waiting(&self, given: &mut Given, now: Moment, hungry: bool) -> Vec<Unset> {
        let mut unset = Vec::new();
        let mut waiting = self.by_turn(&QUEUES, now, hungry);
        let mut held = false;
        let mut unsuited: Vec<Wants> = Vec::new();
        while let Some(garment) = waiting.next() {
            if !held && garment.place == Place::Waiting(Step::PrePress) {
                // What is wet goes before what is dried once more, and that before the next blank.
                held = true;
                self.give_held(given, now);
            }
            if given.iter().all(|(_, act)| act.is_some()) {
                break;
            }
            let Some(next) = self.next_press(garment) else { continue };
            if is_given(given, garment.tag) {
                continue;
            }
            // What wants the same of a press fares alike at each: the first that finds none stands for all, whatever
            // their order.
            let wants = self.wants(garment, next);
            if !unsuited.contains(&wants) && self.give(given, garment, next, By::Suggestion) {
                continue;
            }
            waiting.pass_over_its_kind();
            if unsuited.contains(&wants) {
                continue;
            }
            unsuited.push(wants);
            let suits = |press| self.fit(press, garment, next) == Fit::Suits;
            let served = self.press_numbers().into_iter().any(suits);
            unset.extend(given.iter().map(|(press, _)| *press).filter_map(|press| {
                match self.fit(press, garment, next) {
                    Fit::SetOtherwise(wanted) => {
                        Some(Unset { press, garment: garment.tag, wanted, served })
                    }
                    _ => None,
                }
            }));
        }
        if !held {
            self.give_held(given, now);
        }
        unset
    }

    /// A press is to be set for what goes before all that the presses are offered, and that none of them is set for: the
    /// one whose own offer comes last by turn.
    fn set_for_what_goes_before(
        &self,
        offers: &mut [Offer],
        unset: &[Unset],
        now: Moment,
    ) -> Vec<Offer> {
        let mut done: Vec<Setting> = Vec::new();
        let mut set = Vec::new();
        for Unset { garment, wanted, .. } in unset.iter().filter(|unset| !unset.served) {
            let says = |offer: &Offer| matches!(offer.act, OfferedAct::None(Idle::SetOtherwise { wanted: said, .. }) if said == *wanted);
            if done.contains(wanted) || offers.iter().any(says) {
                continue;
            }
            let Some(turn) = self.garment(*garment).map(|garment| self.turn(garment, now)) else {
                continue;
            };
            let could = |press: PressNo| {
                unset.iter().any(|one| one.press == press && one.garment == *garment)
            };
            let later = |offer: &Offer| match offer.act {
                OfferedAct::Shut { garment, by: By::Suggestion | By::Plan, .. } => {
                    let other = self.turn(self.garment(garment)?, now);
                    turn.outranks(&other).then_some(other)
                }
                _ => None,
            };
            let all = offers.iter_mut().filter(|offer| could(offer.press));
            let last = all.filter_map(|offer| Some((later(offer)?, offer))).max_by_key(|one| one.0);
            if let Some((_, offer)) = last {
                let (garment, wanted) = (*garment, *wanted);
                offer.act = OfferedAct::None(Idle::SetOtherwise { garment, wanted });
                done.push(wanted);
                set.push(*offer);
            }
        }
        set
    }

    /// What the printer would take next and was dried for too short a time is dried again.
    fn give_held(&self, given: &mut Given, now: Moment) {
        let Some((garment, _)) = self.held_at_printer(now) else { return };
        let Some(next) = self.dry_again(garment) else { return };
        if !is_given(given, garment.tag) {
            self.give(given, garment, next, By::Suggestion);
        }
    }

    fn why_idle(&self, press: PressNo, unset: &[Unset]) -> Idle {
        let waits = |step| self.floor.count(Queue::Step(step)) > 0;
        let wanted = unset.iter().find(|one| one.press == press);
        match (wanted, waits(Step::Spray), waits(Step::Print)) {
            // Dialled back and forth, a press only settles: what will suit it comes first.
            (Some(Unset { garment, wanted, .. }), ..) if !self.is_awaited(press) => {
                Idle::SetOtherwise { garment: *garment, wanted: *wanted }
            }
            (_, true, _) => Idle::SprayFirst,
            (_, _, true) => Idle::PrintFirst,
            _ => Idle::NothingWaits,
        }
    }

    /// Whether something that waits for hands or the printer will want a press as it is set.
    fn is_awaited(&self, press: PressNo) -> bool {
        [Step::Spray, Step::Print].into_iter().any(|step| {
            let mut waiting = self.floor.by_kind(Queue::Step(step));
            while let Some(garment) = waiting.next() {
                waiting.pass_over_its_kind();
                let next = self.next_press(garment);
                if next.is_some_and(|next| self.fit(press, garment, next) == Fit::Suits) {
                    return true;
                }
            }
            false
        })
    }

    /// Presses for which nothing waits take what is wanted from the shelf.
    fn give_from_shelf(&self, offers: &mut [Offer]) {
        if self.floor.count(Queue::Shelf) == 0 {
            return;
        }
        // One that was stepped to is a press's already.
        let shut = |offer: &Offer| match offer.act {
            OfferedAct::Shut { garment, .. } => Some(garment),
            _ => None,
        };
        let given: Vec<Tag> = offers.iter().filter_map(shut).collect();
        let mut idle = offers
            .iter_mut()
            .filter(|offer| offer.act == OfferedAct::None(Idle::NothingWaits))
            .peekable();
        let mut waiting =
            self.floor.ordered(&[Queue::Shelf], &[], |garment| self.urgency(garment.order()));
        while let Some(garment) = waiting.next() {
            let Some(offer) = idle.peek() else { return };
            if !garment.is_wanted() || given.contains(&garment.tag) {
                continue;
            }
            let next = self.next_press(garment).filter(|_| self.wants_from_shelf(garment.order()));
            match next.map(|next| (next, self.fit(offer.press, garment, next))) {
                Some((next, Fit::Suits)) => {
                    let (garment, by) = (garment.tag, By::Suggestion);
                    let act = OfferedAct::Shut { garment, next, by, suits: true };
                    idle.next().into_iter().for_each(|offer| offer.act = act);
                }
                _ => waiting.pass_over_its_kind(),
            }
        }
    }

    /// Whether what lies on the shelf of an order is wanted: it is due, or others of it are finished. Else it is a store.
    pub fn wants_from_shelf(&self, order: OrderId) -> bool {
        self.order(order).is_some_and(|known| {
            let finished = || self.floor.count_of_order(Queue::Finished, order) > 0;
            !known.cancelled && (known.form.due.is_some() || finished())
        })
    }

    /// All that says how a garment fares at a press.
    fn wants(&self, garment: &Garment, next: NextPress) -> Wants {
        let recipe = self.recipe_of(garment).map(|(hash, _)| *hash);
        Wants { recipe, next, print: self.print_of(garment) }
    }

    fn print_of(&self, garment: &Garment) -> Option<Rectangle> {
        let line = self.order(garment.order())?.form.lines.get(garment.line)?;
        line.print_of(garment.round)
    }

    fn fit(&self, press: PressNo, garment: &Garment, next: NextPress) -> Fit {
        let Some(profile) = self.station().and_then(|station| station.press(press)) else {
            return Fit::NotForThis;
        };
        if !profile.serves(next.step, self.print_of(garment)) {
            return Fit::NotForThis;
        }
        match self.pressing_of(garment, next).zip(self.setting(press)) {
            Some((wanted, set)) if set.suits(&wanted) => Fit::Suits,
            Some((wanted, _)) => {
                Fit::SetOtherwise(Setting { dial: wanted.set_point, pressure: wanted.pressure })
            }
            None => Fit::NotForThis,
        }
    }

    /// What a press would do to a garment.
    pub fn pressing_of(&self, garment: &Garment, next: NextPress) -> Option<Pressing> {
        self.recipe_of(garment)?.1.pressing_when(next.step, next.again, self.is_damp())
    }
}

/// What each press is given so far.
type Given = Vec<(PressNo, Option<OfferedAct>)>;

/// What a garment wants of a press.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Wants {
    recipe: Option<RecipeHash>,
    next: NextPress,
    print: Option<Rectangle>,
}

/// What waits for a press that would have to be set for it; `served` where another is set so.
struct Unset {
    press: PressNo,
    garment: Tag,
    wanted: Setting,
    served: bool,
}

fn is_given(given: &Given, tag: Tag) -> bool {
    given
        .iter()
        .any(|(_, act)| matches!(act, Some(OfferedAct::Shut { garment, .. }) if *garment == tag))
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Fit {
    Suits,
    /// It would, once it is set so.
    SetOtherwise(Setting),
    NotForThis,
}
