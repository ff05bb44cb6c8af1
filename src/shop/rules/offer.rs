//! What each press's key would do now: open it, shut it on a certain garment, or nothing, and why.
//!
//! The plain rule: dry before cure before pre-press, the longest waiting first, one garment to one press.
//! It rests on recorded steps only, so ten garments may be pre-pressed in a row without one being taken for
//! sprayed. A step is implied only for a garment that the operator chose or scanned.

use super::command::By;
use super::route::NextPress;
use crate::shop::Shop;
use crate::shop::facts::ids::{OrderNo, PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::order::Order;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::recipe::Pressing;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Queue};
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
}

/// Garments of one line of an order that wait for a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Waits {
    pub order: OrderNo,
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
    /// A garment waits that would want the press set otherwise.
    SetOtherwise {
        garment: Tag,
        wanted: Setting,
    },
    /// Garments wait to be sprayed: the press has nothing until that is recorded.
    SprayFirst,
    /// Garments wait for the printer.
    PrintFirst,
    /// Nothing waits, but so many of an order that is due lie on the shelf.
    OnShelf {
        order: OrderNo,
        count: usize,
    },
    NothingWaits,
}

/// The queues that a press is fed from, most pressing first.
const ORDER: [Step; 3] = [Step::Dry, Step::Cure, Step::PrePress];

/// The most kinds of garment in each queue that can be stepped through by hand.
const MOST_STEPPED: usize = 12;

impl Shop {
    /// What every press's key would do, in the order of the presses, by the plain rule.
    pub fn offers(&self, choice: &Choice) -> Vec<Offer> {
        self.offers_with(choice, &Advice::default())
    }

    /// The same with a plan's advice: what it would have done next goes before the rule's, never before a wet
    /// garment or print that has waited for half of what it may.
    pub fn offers_by(&self, choice: &Choice, advice: &Advice, now: Moment) -> Vec<Offer> {
        let plain = self.offers(choice);
        if advice.next.is_empty() || self.waits_long(now) {
            return plain;
        }
        let mut offers = self.offers_with(choice, advice);
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

    /// Whether a garment waits wet for the dryer, or a print for its cure, since half of what it may.
    fn waits_long(&self, now: Moment) -> bool {
        [Step::Dry, Step::Cure].into_iter().any(|step| {
            let longest = self.floor.waiting(step).next();
            longest.is_some_and(|garment| {
                let limit = self.wait_limit(garment);
                limit.is_some_and(|limit| now.since(garment.since).span > limit / 2)
            })
        })
    }

    fn offers_with(&self, choice: &Choice, advice: &Advice) -> Vec<Offer> {
        let numbers = self.press_numbers();
        let mut given: Vec<(PressNo, Option<OfferedAct>)> =
            numbers.iter().map(|press| (*press, self.settled(*press))).collect();
        self.give_chosen(choice, &mut given);
        // No plan knows of it: it goes behind what is wet, and before all else.
        let waits = |step| self.floor.count(Queue::Step(step)) > 0;
        if !waits(Step::Dry) && !waits(Step::Cure) {
            self.give_held(&mut given);
        }
        self.give_advised(advice, &mut given);
        let mut unset = Vec::new();
        self.give_waiting(&mut given, &mut unset);
        let idle = |press| OfferedAct::None(self.why_idle(press, &unset));
        given
            .into_iter()
            .map(|(press, act)| Offer { press, act: act.unwrap_or_else(|| idle(press)) })
            .collect()
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
            // Garments of one line are alike: the one that has waited longest stands for them.
            let mut lines: Vec<(OrderNo, usize)> = Vec::new();
            let mut waiting = self.floor.by_kind(queue);
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

    fn give_chosen(&self, choice: &Choice, given: &mut [(PressNo, Option<OfferedAct>)]) {
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

    fn give_advised(&self, advice: &Advice, given: &mut [(PressNo, Option<OfferedAct>)]) {
        for kind in &advice.next {
            let (queue, line) = (Queue::Step(kind.step), (kind.order, kind.line));
            let first = self.floor.first_of_line(queue, line, |tag| !is_given(given, tag));
            let Some(garment) = first else { continue };
            let next = self.next_press(garment).filter(|next| next.step == kind.step);
            let Some(next) = next.filter(|next| next.implies.is_none()) else { continue };
            let suits = |press| self.fit(press, garment, next) == Fit::Suits;
            let place = given.iter_mut().find(|(press, act)| act.is_none() && suits(*press));
            if let Some((_, act)) = place {
                let (garment, by) = (garment.tag, By::Plan);
                *act = Some(OfferedAct::Shut { garment, next, by, suits: true });
            }
        }
    }

    fn give_waiting(
        &self,
        given: &mut [(PressNo, Option<OfferedAct>)],
        unset: &mut Vec<(PressNo, Tag, Setting)>,
    ) {
        for step in ORDER {
            if step == Step::PrePress {
                self.give_held(given);
            }
            let mut waiting = self.floor.by_kind(Queue::Step(step));
            while let Some(garment) = waiting.next() {
                if given.iter().all(|(_, act)| act.is_some()) {
                    return;
                }
                let Some(next) = self.next_press(garment) else { continue };
                if is_given(given, garment.tag) {
                    continue;
                }
                let mut free = given.iter_mut().filter(|(_, act)| act.is_none());
                let suits = |press| self.fit(press, garment, next) == Fit::Suits;
                if let Some((_, act)) = free.find(|(press, _)| suits(*press)) {
                    let by = By::Suggestion;
                    *act = Some(OfferedAct::Shut { garment: garment.tag, next, by, suits: true });
                    continue;
                }
                // Those of one kind fare alike at every press: one that finds none stands for all.
                waiting.pass_over_its_kind();
                for (press, _) in given.iter().filter(|(_, act)| act.is_none()) {
                    let said = |(no, ..): &(PressNo, Tag, Setting)| no == press;
                    if let Fit::SetOtherwise(wanted) = self.fit(*press, garment, next)
                        && !unset.iter().any(said)
                    {
                        unset.push((*press, garment.tag, wanted));
                    }
                }
            }
        }
    }

    /// What the printer would take next and was dried for too short a time is dried again.
    fn give_held(&self, given: &mut [(PressNo, Option<OfferedAct>)]) {
        let Some((garment, _)) = self.held_at_printer() else { return };
        let Some(next) = self.dry_again(garment) else { return };
        if is_given(given, garment.tag) {
            return;
        }
        let suits = |press| self.fit(press, garment, next) == Fit::Suits;
        let free = given.iter_mut().find(|(press, act)| act.is_none() && suits(*press));
        if let Some((_, act)) = free {
            let (garment, by) = (garment.tag, By::Suggestion);
            *act = Some(OfferedAct::Shut { garment, next, by, suits: true });
        }
    }

    fn why_idle(&self, press: PressNo, unset: &[(PressNo, Tag, Setting)]) -> Idle {
        if let Some((_, garment, wanted)) = unset.iter().find(|(for_press, ..)| *for_press == press)
        {
            return Idle::SetOtherwise { garment: *garment, wanted: *wanted };
        }
        let waits = |step| self.floor.count(Queue::Step(step)) > 0;
        match () {
            () if waits(Step::Spray) => Idle::SprayFirst,
            () if waits(Step::Print) => Idle::PrintFirst,
            () => self.wanted_from_shelf().unwrap_or(Idle::NothingWaits),
        }
    }

    /// The garments on the shelf of the order that is due first. Those of an order without a due time are a store.
    fn wanted_from_shelf(&self) -> Option<Idle> {
        if self.floor.count(Queue::Shelf) == 0 {
            return None;
        }
        let shelved = |order: &Order| {
            let stored = self.floor.count_of_order(Queue::Shelf, order.no);
            Some((order.form.due?.at(self.zone())?, order.no, stored))
        };
        let due = self.orders().filter(|order| order.form.due.is_some()).filter_map(shelved);
        let (_, order, count) = due.filter(|(.., count)| *count > 0).min()?;
        Some(Idle::OnShelf { order, count })
    }

    fn fit(&self, press: PressNo, garment: &Garment, next: NextPress) -> Fit {
        let Some(profile) = self.station().and_then(|station| station.press(press)) else {
            return Fit::NotForThis;
        };
        let print = self
            .order(garment.order())
            .and_then(|order| order.form.lines.get(garment.line))
            .and_then(|line| line.print_of(garment.round));
        let too_big = print.zip(profile.size).is_some_and(|(print, platen)| !print.fits_on(platen));
        if !profile.uses.contains(&next.step) || too_big {
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
        self.recipe_of(garment)?.1.pressing(next.step, next.again)
    }
}

fn is_given(given: &[(PressNo, Option<OfferedAct>)], tag: Tag) -> bool {
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
