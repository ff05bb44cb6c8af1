//! What is in the printers. Nobody states that a printer is loaded: it is worked out from the prints that came out.

use std::time::Duration;

use crate::shop::Shop;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place, Queue};

/// A garment that is taken to be in a printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InPrinter {
    pub garment: Tag,
    /// How long ago it was begun, and how long loading and printing take.
    pub gone: Duration,
    pub whole: Duration,
}

impl Shop {
    /// What is in the printers at `now`: whose turn it was when the last print came out, among those that waited then,
    /// else whoever came first since. None of them where the last one came out long ago: nobody prints.
    pub fn in_printers(&self, now: Moment) -> Vec<InPrinter> {
        let printers = self.station().map_or(1, |station| usize::from(station.printers));
        if self.floor().count(Queue::Step(Step::Print)) == 0 {
            return Vec::new();
        }
        let printed = self.books().hands.last_printed();
        let span = |since: Moment| now.since(since).span;
        // Who still rests is in none.
        let rested = |garment: &Garment| span(garment.since).checked_sub(self.rest_of(garment));
        let waited = |garment: &&Garment| {
            let rested = rested(garment);
            printed.zip(rested).is_some_and(|(printed, rested)| rested >= span(printed))
        };
        let there = self.by_turn(&[Queue::Step(Step::Print)], now, false).filter(waited);
        let mut first: Vec<&Garment> = there.take(printers).collect();
        let since = self.floor().waiting(Step::Print);
        let since = since.filter(|garment| !waited(garment) && rested(garment).is_some());
        first.extend(since.take(printers - first.len()));
        let mut found = Vec::new();
        for (garment, no) in first.into_iter().zip(1u32..) {
            let Some((hash, _)) = self.recipe_of(garment) else { continue };
            let whole = self.print_time(hash);
            let waits = rested(garment).unwrap_or_default();
            let gone = printed.map_or(waits, |printed| span(printed).min(waits));
            if gone > 2 * whole {
                break;
            }
            // Several printers are taken to be begun one after the other.
            let count = u32::try_from(printers).unwrap_or(1).max(1);
            let later = whole / count * count.saturating_sub(no);
            let gone = gone + later;
            found.push(InPrinter { garment: garment.tag, gone, whole });
        }
        found
    }

    /// The garment with which a printer is to be served: its print is done, or it waits and a printer stands empty. None
    /// while all printers run, as far as is known, or nothing waits.
    pub fn print_due(&self, now: Moment) -> Option<&Garment> {
        let printers = self.station().map_or(1, |station| usize::from(station.printers));
        let known = self.in_printers(now);
        if let Some(done) = known.iter().find(|one| one.gone >= one.whole) {
            return self.garment(done.garment);
        }
        let runs = |garment: &&Garment| known.iter().any(|one| one.garment == garment.tag);
        if known.len() >= printers {
            return None;
        }
        self.to_lay_in(now).find(|garment| !runs(garment))
    }

    /// Who can be laid into a printer, by turn: what still rests after its press waits for that.
    pub fn to_lay_in(&self, now: Moment) -> impl Iterator<Item = &Garment> {
        self.to_print(now).filter(move |garment| self.rests(garment.tag, now).is_none())
    }

    /// How long a garment rests before its print, where it comes from a press.
    pub(in crate::shop) fn rest_of(&self, garment: &Garment) -> Duration {
        let pressed = garment.last_step.is_some_and(|(step, _)| step.is_pressed());
        let rest = self.recipe_of(garment).and_then(|(_, recipe)| recipe.rest);
        rest.filter(|_| pressed).map_or(Duration::ZERO, |rest| rest.0)
    }

    /// How much longer a garment rests before it is printed; None where it may be printed now.
    pub fn rests(&self, tag: Tag, now: Moment) -> Option<Duration> {
        let garment = self.garment(tag).filter(|one| one.place == Place::Waiting(Step::Print))?;
        let left = self.rest_of(garment).checked_sub(now.since(garment.since).span)?;
        (!left.is_zero()).then_some(left)
    }
}
