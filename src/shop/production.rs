//! What the presses did over a time, as the elements of the standard figures.
//!
//! The work unit is all presses together, an item is one press of a garment. Value is added from the shutting to
//! the recipe's target, no longer; a press that stays shut is busy, not productive. An item is good unless it was
//! opened early or its garment had a trouble noted at that step that it was not simply let go on with.

use std::collections::{BTreeMap, BTreeSet};

use super::Shop;
use super::fact::{Event, Fact, Timing};
use super::garment::Quality;
use super::ids::{ActNo, PressNo, Tag};
use super::moment::Moment;
use super::press::OutOfUse;
use super::step::Step;
use super::trouble::Outcome;
use crate::figures::kpi::Elements;

/// One press of a garment.
#[derive(Debug, Clone, Copy)]
struct Item {
    act: ActNo,
    garment: Tag,
    step: Step,
    shut: f64,
    target: f64,
    early: bool,
}

/// Gathers events as they are applied; which time it tells of is the caller's to choose.
#[derive(Debug, Default)]
pub struct Production {
    items: Vec<Item>,
    troubles: Vec<(ActNo, Tag, Option<Step>, Outcome)>,
    finished: Vec<(ActNo, Tag)>,
    undone: BTreeSet<ActNo>,
    out: BTreeMap<PressNo, i64>,
    /// Microseconds for which presses were out of use as planned: heating up, being cleaned.
    planned_down: i64,
    first: Option<i64>,
}

impl Production {
    /// Takes an event that the shop has applied already.
    pub fn take(&mut self, event: &Event, shop: &Shop) {
        match &event.fact {
            Fact::PressShut(_) => drop(self.first.get_or_insert(event.moment.at)),
            Fact::PressOpened(fact) => {
                let pressing = shop.garment(fact.garment).and_then(|garment| {
                    let (_, recipe) = shop.recipe_of(garment)?;
                    recipe.pressing(fact.step, fact.again)
                });
                let Some((pressing, shut)) = pressing.zip(fact.seconds) else { return };
                self.items.push(Item {
                    act: event.act,
                    garment: fact.garment,
                    step: fact.step,
                    shut,
                    target: pressing.target.as_seconds(),
                    early: fact.timing == Timing::Early,
                });
                if shop.garment(fact.garment).is_some_and(|garment| garment.is_done()) {
                    self.finished.push((event.act, fact.garment));
                }
            }
            Fact::TroubleNoted(fact) => {
                self.troubles.push((event.act, fact.garment, fact.step, fact.outcome));
            }
            Fact::PressOutOfUse(fact) if fact.reason != OutOfUse::Broken => {
                self.out.insert(fact.press, event.moment.at);
            }
            Fact::PressInUse(fact) => {
                let since = self.out.remove(&fact.press);
                self.planned_down += since.map_or(0, |since| event.moment.at - since);
            }
            Fact::Undone(fact) => drop(self.undone.insert(fact.undoes)),
            _ => {}
        }
    }

    /// The elements up to `now`.
    #[expect(clippy::cast_precision_loss, reason = "counts of garments, microseconds of a shift")]
    pub fn elements(&self, shop: &Shop, now: Moment) -> Elements {
        const SECOND_US: f64 = 1e6;
        let counts = |act: &ActNo| !self.undone.contains(act);
        let items: Vec<&Item> = self.items.iter().filter(|item| counts(&item.act)).collect();
        let troubles = || self.troubles.iter().filter(|(act, ..)| counts(act));
        let spoiled = |item: &&&Item| {
            item.early
                || troubles().any(|(act, tag, step, outcome)| {
                    *tag == item.garment
                        && *step == Some(item.step)
                        && *act > item.act
                        && !matches!(outcome, Outcome::GoOn | Outcome::NotNoted)
                })
        };
        let pq = items.len() as f64;
        let targets: f64 = items.iter().map(|item| item.target).sum();
        let of =
            |wanted: Outcome| troubles().filter(|(.., outcome)| *outcome == wanted).count() as f64;
        let first = self.first.unwrap_or(now.at);
        let since = (now.at - first).max(0) as f64 / SECOND_US;
        let still_out: i64 = self.out.values().map(|since| now.at - since).sum();
        let down = (self.planned_down + still_out) as f64 / SECOND_US;
        let done: BTreeSet<Tag> =
            self.finished.iter().filter(|(act, _)| counts(act)).map(|(_, tag)| *tag).collect();
        let lost: BTreeSet<Tag> = troubles()
            .filter(|(.., outcome)| matches!(outcome, Outcome::Out | Outcome::SecondQuality))
            .map(|(_, tag, ..)| *tag)
            .collect();
        let clean = |tag: &&Tag| {
            let first_quality =
                shop.garment(**tag).is_none_or(|garment| garment.quality == Quality::First);
            first_quality && !troubles().any(|(_, other, ..)| other == *tag)
        };
        Elements {
            // Not bare sums: those of nothing are -0.
            apt: items.iter().fold(0.0, |sum, item| sum + item.shut.min(item.target)),
            pbt: (since * shop.press_numbers().len() as f64 - down).max(0.0),
            aubt: items.iter().fold(0.0, |sum, item| sum + item.shut),
            aoet: since,
            pri: if pq > 0.0 { targets / pq } else { 0.0 },
            pq,
            gq: pq - items.iter().filter(spoiled).count() as f64,
            sq: of(Outcome::Out),
            rq: of(Outcome::StepAgain),
            gp: done.iter().filter(clean).count() as f64,
            ip: done.union(&lost).count() as f64,
        }
    }
}
