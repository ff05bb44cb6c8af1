//! The shop's garments by where they are, as far as something is still to be done with them.

use std::collections::BTreeMap;
use std::time::Duration;

use super::Source;
use crate::forecast::plan::Millis;
use crate::shop::Shop;
use crate::shop::facts::ids::{OrderId, PressNo};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::rules::offer::Waits;
use crate::shop::rules::turn::Urgency;

/// What makes garments of one kind, in the order in which kinds stand: by turn, then by order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Key {
    urgency: Urgency,
    order: OrderId,
    line: usize,
    pub step: Step,
    round: usize,
    pub shelved: bool,
    pub coated: bool,
    /// It leaves once it is dried or cured.
    leaving: bool,
    /// So long it still rests before its print.
    pub rests: Millis,
}

impl Key {
    pub fn source(self) -> Source {
        let Key { order, line, step, .. } = self;
        if self.shelved { Source::Shelf(order) } else { Source::Shop(Waits { order, line, step }) }
    }
}

/// Garments by where they are.
#[derive(Default)]
pub(super) struct Gathered<'a> {
    /// What waits, each kind with one of its garments, and how long each has waited.
    pub counts: BTreeMap<Key, (&'a Garment, Vec<Millis>)>,
    pub shut: Vec<(&'a Garment, PressNo)>,
    /// What is in a printer, and for how long.
    pub printing: Vec<(&'a Garment, Millis)>,
    pub kept: usize,
    /// The last order that was looked up.
    last: Option<(OrderId, Urgency)>,
}

impl<'a> Gathered<'a> {
    pub fn take(&mut self, shop: &Shop, garment: &'a Garment, now: Moment) {
        let step = match garment.place {
            Place::Waiting(step) => step,
            Place::Undecided => Step::Spray,
            Place::InPress(press) => return self.shut.push((garment, press)),
            Place::Shelf => Step::PrePress,
            Place::Finished | Place::Out | Place::Away(_) => return,
        };
        // Garments come order by order, and thousands may lie on the shelf: each order is looked up once.
        let order = garment.order();
        if self.last.is_none_or(|(known, _)| known != order) {
            self.last = Some((order, shop.urgency(order)));
        }
        let urgency = self.last.map(|(_, urgency)| urgency).unwrap_or_default();
        let shelved = garment.place == Place::Shelf;
        if shelved && !(garment.is_wanted() && shop.wants_from_shelf(order)) {
            self.kept += 1;
            return;
        }
        // In steps of half a minute: else each garment that rests would be a kind of its own, and a plan be as slow as
        // there are of them.
        const STEP: Millis = 30_000;
        let rests = shop.rests(garment.tag, now).map_or(0, as_millis);
        let rests = (rests + STEP - 1) / STEP * STEP;
        let key = Key { rests, ..key(garment, urgency, step, shelved) };
        // What is still to come has not waited.
        let waited = if rests > 0 { -rests } else { as_millis(now.since(garment.since).span) };
        self.counts.entry(key).or_insert((garment, Vec::new())).1.push(waited);
    }

    /// What is in the printers waits for them no more. Without that, half a print too much would lie ahead on average.
    pub fn begin_prints(&mut self, shop: &'a Shop, now: Moment) {
        for one in shop.in_printers(now) {
            let Some(garment) = shop.garment(one.garment) else { continue };
            let key = key(garment, shop.urgency(garment.order()), Step::Print, false);
            let waits = as_millis(now.since(garment.since).span);
            if let Some((_, waited)) = self.counts.get_mut(&key)
                && let Some(place) = waited.iter().position(|one| *one == waits)
            {
                waited.remove(place);
                self.printing.push((garment, as_millis(one.gone)));
            }
        }
    }
}

fn as_millis(span: Duration) -> Millis {
    Millis::try_from(span.as_millis()).unwrap_or(Millis::MAX / 1000)
}

fn key(garment: &Garment, urgency: Urgency, step: Step, shelved: bool) -> Key {
    Key {
        urgency,
        order: garment.order(),
        line: garment.line,
        step,
        round: garment.round,
        shelved,
        coated: garment.coated || shelved,
        leaving: !garment.is_wanted(),
        rests: 0,
    }
}
