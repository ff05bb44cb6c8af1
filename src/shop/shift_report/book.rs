//! Gathers a shift, event by event, as they are applied.

use std::collections::BTreeSet;

use super::{At, Note};
use crate::shop::Shop;
use crate::shop::fact::{CoatWeighed, Event, Fact};
use crate::shop::garment::{Place, Queue};
use crate::shop::ids::{ActNo, OrderNo, Tag};
use crate::shop::losses::Losses;
use crate::shop::moment::Moment;
use crate::shop::press_spans::PressSpans;
use crate::shop::production::Production;

/// A clock and a boot clock that differ by more have been set.
const SET_US: i64 = 120_000_000;

/// Something that counts, by the act that it goes with.
#[derive(Debug, Clone)]
pub(super) enum Item {
    Sheet { kind: SheetWork, late: bool },
    PressPastWipe,
    WeighIn(CoatWeighed),
    Filled(Moment, String, f64),
    Flushed,
    Sprayed(Vec<String>),
    Stored,
    Taken { past_day: bool },
    Implied,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SheetWork {
    Wiped,
    Changed,
    Swapped,
}

/// What is known of a shift so far. It is shown the whole history, since garments and the shelf come from before.
#[derive(Debug, Default)]
pub struct Book {
    pub(super) losses: Losses,
    pub(super) spans: PressSpans,
    pub(super) production: Production,
    pub(super) items: Vec<(ActNo, Item)>,
    pub(super) orders: BTreeSet<OrderNo>,
    pub(super) people: Vec<String>,
    shelf: BTreeSet<Tag>,
    pub(super) clock: Vec<Note>,
    /// The moment of the event before, where it belongs to the shift.
    newest: Option<Moment>,
}

impl Book {
    /// Takes an event that the shop has applied already; `inside` where it belongs to the shift.
    pub fn take(&mut self, event: &Event, shop: &Shop, inside: bool) {
        self.losses.take(event, shop);
        self.spans.take(event, shop);
        let taken = self.follow_shelf(event, shop);
        if inside {
            self.production.take(event, shop);
            self.follow_people(&event.fact, shop);
            self.follow_clock(event.moment);
            self.orders.extend(event.fact.garment().map(|tag| tag.order));
            if let Some(past_day) = taken {
                self.items.push((event.act, Item::Taken { past_day }));
            }
            self.note(event, shop);
        }
        self.newest = inside.then_some(event.moment);
    }

    /// Whether the event took a garment from the shelf, and whether that was past its last day.
    fn follow_shelf(&mut self, event: &Event, shop: &Shop) -> Option<bool> {
        if matches!(event.fact, Fact::Undone(_)) {
            self.shelf = shop.floor().queue(Queue::Shelf).map(|garment| garment.tag).collect();
            return None;
        }
        let tag = event.fact.garment()?;
        let garment = shop.garment(tag)?;
        if garment.place == Place::Shelf {
            self.shelf.insert(tag);
            return None;
        }
        if !self.shelf.remove(&tag) {
            return None;
        }
        Some(match &event.fact {
            Fact::PressShut(fact) => fact.past_day,
            Fact::Printed(fact) => fact.past_day,
            _ => false,
        })
    }

    fn follow_people(&mut self, fact: &Fact, shop: &Shop) {
        let signed = match fact {
            Fact::SignedIn(fact) => Some(&fact.who),
            _ => None,
        };
        for who in shop.desk().people.iter().chain(signed) {
            if !self.people.contains(who) {
                self.people.push(who.clone());
            }
        }
    }

    fn follow_clock(&mut self, now: Moment) {
        let wrong = now.is_before_any_clock();
        if wrong && !self.clock.iter().any(|note| matches!(note, Note::ClockWrong { .. })) {
            self.clock.push(Note::ClockWrong { at: At(now.at) });
        }
        let Some(before) = self.newest else { return };
        if before.boot != now.boot {
            self.clock.push(Note::Restarted { at: At(now.at) });
            return;
        }
        let set = now.at.saturating_sub(before.at).saturating_sub(now.up.saturating_sub(before.up));
        if set.abs() > SET_US {
            let seconds = set as f64 / 1e6;
            self.clock.push(Note::ClockSet { at: At(now.at), seconds });
        }
    }

    fn note(&mut self, event: &Event, shop: &Shop) {
        let wipe_by = shop.station().map_or(u32::MAX, |station| station.sheet.wipe_by);
        let sheet = |kind, presses: u32| Item::Sheet { kind, late: presses > wipe_by };
        let mut push = |item| self.items.push((event.act, item));
        match &event.fact {
            Fact::OrderTaken(fact) => drop(self.orders.insert(fact.order)),
            Fact::PressShut(fact) if fact.past_wipe => push(Item::PressPastWipe),
            Fact::SheetWiped(fact) => push(sheet(SheetWork::Wiped, fact.presses)),
            Fact::SheetChanged(fact) => push(sheet(SheetWork::Changed, fact.presses)),
            Fact::SheetSwapped(fact) => push(sheet(SheetWork::Swapped, fact.presses)),
            Fact::CoatWeighed(fact) => push(Item::WeighIn(fact.clone())),
            Fact::SprayerFilled(fact) => {
                push(Item::Filled(event.moment, fact.lot.clone(), fact.grams.0));
            }
            Fact::SprayerFlushed(_) => push(Item::Flushed),
            Fact::Stored(_) => push(Item::Stored),
            Fact::HandworkDone(fact) => {
                push(Item::Sprayed(fact.lots.clone()));
                if fact.implied {
                    push(Item::Implied);
                }
            }
            Fact::Printed(fact) if fact.implied => push(Item::Implied),
            Fact::Undone(fact) => self.items.retain(|(act, _)| *act != fact.undoes),
            _ => {}
        }
    }
}
