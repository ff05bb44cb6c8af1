//! What hands do next, by the plain rule: the acts that can be done now, the one that comes first first.

use super::command::By;
use super::offer::{Idle, Offer, OfferedAct};
use super::turn::{self, Act, Binds};
use crate::shop::Shop;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Place, Queue};
use crate::shop::floor::press::Setting;
use crate::shop::rules::turn::Turn;

/// An act that can be done now. Opening a press is none of them: an alarm says so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NextAct {
    /// A press is shut on a garment.
    Load {
        press: PressNo,
        garment: Tag,
        step: Step,
    },
    /// A press is set to another heat or pressure.
    Set {
        press: PressNo,
        garment: Tag,
        wanted: Setting,
    },
    Print(Tag),
    Spray(Tag),
}

/// The press that is loaded next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadNext {
    pub act: NextAct,
    /// The turn of its garment, and whether it leads to the printer.
    pub turn: Turn,
    pub feeds: bool,
}

impl Shop {
    /// The acts that the rule names, the one that comes first first; none where hands have to wait.
    pub fn acts_by_rule(
        &self,
        offers: &[Offer],
        binds: Option<Binds>,
        now: Moment,
    ) -> Vec<NextAct> {
        let mut found: Vec<NextAct> = Vec::new();
        let hungry = self.is_hungry(binds, now);
        let empty = offers.iter().any(|offer| matches!(offer.act, OfferedAct::None(_)));
        let load = self.load_next(offers, hungry, now);
        let feeding = load.filter(|load| load.feeds || load.turn.presses());
        for act in turn::acts(binds, hungry, empty) {
            let next = match act {
                Act::Open => None,
                Act::Feed => feeding.map(|load| load.act),
                Act::Load => load.map(|load| load.act),
                Act::Print => self.print_due(now).map(|garment| NextAct::Print(garment.tag)),
                Act::Spray => self.spray_next(),
                Act::Fetch => self.fetch_next(offers),
            };
            found.extend(next.filter(|next| !found.contains(next)));
        }
        found
    }

    /// Everything that can be done now, one act of each kind: first by the rule, then what it would wait with.
    pub fn next_acts(&self, offers: &[Offer], binds: Option<Binds>, now: Moment) -> Vec<NextAct> {
        let mut found: Vec<NextAct> = self.set_first(offers, now).into_iter().collect();
        found.extend(self.acts_by_rule(offers, binds, now));
        let blank = first_load(offers, |_| true);
        let later = [self.print_next(now), self.set_next(offers), self.first_to_spray(), blank];
        for next in later.into_iter().flatten() {
            let alike =
                |one: &NextAct| std::mem::discriminant(one) == std::mem::discriminant(&next);
            if !found.iter().any(alike) {
                found.push(next);
            }
        }
        found
    }

    /// The press that is loaded next. What was chosen comes first; a blank only while not too many are ahead.
    pub fn load_next(&self, offers: &[Offer], hungry: bool, now: Moment) -> Option<LoadNext> {
        let could = |offer: &Offer| {
            let OfferedAct::Shut { garment, next, by, .. } = offer.act else { return None };
            let one = self.garment(garment)?;
            let chosen = matches!(by, By::Choice | By::Scan);
            let act = NextAct::Load { press: offer.press, garment, step: next.step };
            let feeds = self.leads_to_print(one);
            let turn = Turn { feeds_nothing: !(hungry && feeds), ..self.turn(one, now) };
            let by_rule = one.place != Place::Shelf && !turn.too_soon;
            let order = (!chosen, by != By::Plan, turn, one.since_seq, garment);
            (chosen || by_rule).then_some((order, LoadNext { act, turn, feeds }))
        };
        offers.iter().filter_map(could).min_by_key(|(order, _)| *order).map(|(_, load)| load)
    }

    fn print_next(&self, now: Moment) -> Option<NextAct> {
        self.to_print(now).next().map(|garment| NextAct::Print(garment.tag))
    }

    pub fn spray_next(&self) -> Option<NextAct> {
        let wet = self.floor().count(Queue::Step(Step::Dry));
        let next = self.to_spray().next()?;
        let rank = self.urgency(next.order()).rank;
        let sprays = turn::sprays(wet, self.press_numbers().len(), rank);
        sprays.then_some(NextAct::Spray(next.tag))
    }

    fn first_to_spray(&self) -> Option<NextAct> {
        self.to_spray().next().map(|garment| NextAct::Spray(garment.tag))
    }

    pub fn fetch_next(&self, offers: &[Offer]) -> Option<NextAct> {
        let on_shelf = |tag| self.garment(tag).is_some_and(|one| one.place == Place::Shelf);
        first_load(offers, on_shelf)
    }

    /// The first press that is to be set otherwise.
    fn set_next(&self, offers: &[Offer]) -> Option<NextAct> {
        offers.iter().find_map(|offer| match offer.act {
            OfferedAct::None(Idle::SetOtherwise { garment, wanted }) => {
                Some(NextAct::Set { press: offer.press, garment, wanted })
            }
            _ => None,
        })
    }

    /// A press that is to be set before anything else: for what goes before all that presses are offered, or where they
    /// are offered nothing.
    fn set_first(&self, offers: &[Offer], now: Moment) -> Option<NextAct> {
        let set = self.set_next(offers)?;
        let NextAct::Set { garment, .. } = set else { return None };
        let own = self.turn(self.garment(garment)?, now);
        let loads = || {
            offers.iter().filter_map(|offer| match offer.act {
                OfferedAct::Shut { garment, .. } => Some(self.turn(self.garment(garment)?, now)),
                _ => None,
            })
        };
        loads().all(|load| own.outranks(&load)).then_some(set)
    }
}

/// The first press that is offered a garment of a kind.
fn first_load(offers: &[Offer], is_it: impl Fn(Tag) -> bool) -> Option<NextAct> {
    offers.iter().find_map(|offer| match offer.act {
        OfferedAct::Shut { garment, next, .. } if is_it(garment) => {
            Some(NextAct::Load { press: offer.press, garment, step: next.step })
        }
        _ => None,
    })
}
