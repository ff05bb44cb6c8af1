//! What may be done with the shelf, and what follows: storing, naming a stack, disturbing one, coating anew.

use std::sync::Arc;

use super::command::{Refusal, Which};
use super::decide::Facts;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Renewed, StackDisturbed, StackNamed, Stored};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::clean;
use crate::shop::floor::garment::{Garment, Place, Queue};
use crate::shop::floor::shelf::OnStack;
use crate::shop::floor::shelved::Shelved;

/// The most letters of a stack's name.
const STACK_LETTERS: usize = 12;

impl Shop {
    pub(in crate::shop) fn store(&self, which: Which, now: Moment) -> Result<Facts, Refusal> {
        let ready = |garment: &&Garment| garment.coated;
        let dry = self.floor().waiting(Step::Print).filter(ready);
        let garments: Vec<&Garment> = match which {
            Which::All => dry.collect(),
            Which::First(count) => {
                let garments: Vec<&Garment> = dry.take(count.into()).collect();
                if !garments.is_empty() && garments.len() < usize::from(count) {
                    let there = garments.len();
                    return Err(Refusal::FewerWait { step: Step::Print, there, asked: count });
                }
                garments
            }
            Which::Tagged(tag) => dry.filter(|dry| dry.tag == tag).collect(),
        };
        if garments.is_empty() {
            return Err(Refusal::NoneToStore);
        }
        let places = std::iter::successors(Some(self.floor().next_on(self.desk().stack())), |on| {
            Some(on.above())
        });
        let stored = places.zip(garments).map(|(on, garment)| self.stored(garment, on, now).into());
        Ok(stored.collect())
    }

    /// The days of a garment that was stored before go on from the first time: its coat is no younger.
    pub(in crate::shop) fn stored(&self, garment: &Garment, on: OnStack, now: Moment) -> Stored {
        let today = self.today(now);
        let keep = self.recipe_of(garment).map(|(_, recipe)| recipe.keep);
        let before = garment.shelved.as_deref();
        let day = before.map_or(today, |before| before.day);
        Stored {
            garment: garment.tag,
            stack: self.desk().stack().to_owned(),
            position: on.position,
            down: Some(on.down),
            day: Some(day),
            good_until: keep.map(|keep| day.plus(keep.good_for)),
            last_day: keep.map(|keep| day.plus(keep.at_most)),
            unsure: before.is_some_and(|before| before.unsure) || self.clock_is_wrong(now),
        }
    }

    pub(in crate::shop) fn name_stack(&self, stack: &str) -> Result<Facts, Refusal> {
        let stack = clean(stack.trim(), STACK_LETTERS);
        if stack.is_empty() {
            return Err(Refusal::NoStack);
        }
        Ok(vec![StackNamed { stack }.into()])
    }

    pub(in crate::shop) fn disturb(&self, stack: &str) -> Result<Facts, Refusal> {
        if self.floor().on_stack(stack).next().is_none() {
            return Err(Refusal::NothingOnStack(clean(stack, STACK_LETTERS)));
        }
        Ok(vec![StackDisturbed { stack: stack.to_owned() }.into()])
    }

    /// A coat that has lain too long is laid anew: the garment goes through it all again.
    pub(in crate::shop) fn renew(&self, tag: Tag) -> Result<Facts, Refusal> {
        let garment = self.garment(tag).ok_or(Refusal::NoSuchGarment(tag))?;
        match garment.place {
            Place::Shelf | Place::Waiting(Step::Print) if garment.coated => {
                Ok(vec![Renewed { garment: tag }.into()])
            }
            _ => Err(Refusal::NothingToRenew(tag)),
        }
    }

    /// The name of a stack, shared with the garment below where that lies on the same.
    pub(super) fn name_of(&self, stack: &str) -> Arc<str> {
        let below = self.floor().queue(Queue::Shelf).next_back();
        let below = below.and_then(|garment| garment.shelved.as_deref());
        match below.filter(|shelved| *shelved.stack == *stack) {
            Some(shelved) => Arc::clone(&shelved.stack),
            None => stack.into(),
        }
    }

    pub(in crate::shop) fn put_on_shelf(&mut self, event: &Event, fact: &Stored) {
        // Journals from before there were stacks hold no days: the event's own day stands for them.
        let day = fact.day.unwrap_or_else(|| self.today(event.moment));
        let keep = self.garment(fact.garment).and_then(|garment| self.recipe_of(garment));
        let keep = keep.map(|(_, recipe)| recipe.keep);
        let (good, last) =
            keep.map_or((day, day), |keep| (day.plus(keep.good_for), day.plus(keep.at_most)));
        let shelved = Shelved {
            stack: self.name_of(&fact.stack),
            down: fact.lies_down(),
            day,
            good_until: fact.good_until.unwrap_or(good),
            last_day: fact.last_day.unwrap_or(last),
            unsure: fact.unsure,
            disturbed: false,
        };
        self.with_garment(fact.garment, |garment| {
            garment.stored = true;
            garment.shelved = Some(Box::new(shelved));
            if let Some(dried) = garment.dried.as_deref_mut() {
                dried.stored = true;
            }
            garment.go(event, Place::Shelf);
        });
    }

    pub(in crate::shop) fn shift_stack(&mut self, fact: &StackDisturbed) {
        let tags: Vec<Tag> =
            self.floor().on_stack(&fact.stack).map(|(garment, _)| garment.tag).collect();
        for tag in tags {
            self.with_garment(tag, |garment| {
                if let Some(shelved) = garment.shelved.as_deref_mut() {
                    shelved.disturbed = true;
                }
            });
        }
    }

    pub(in crate::shop) fn begin_anew(&mut self, event: &Event, fact: &Renewed) {
        self.with_garment(fact.garment, |garment| {
            garment.coated = false;
            garment.stored = false;
            garment.shelved = None;
            garment.forget_coat();
            garment.dried = None;
            garment.coat = None;
            garment.go(event, Place::Waiting(Step::PrePress));
        });
    }
}
