//! A garment that a customer brought back: what may be said of it, and what it tells of its coat.

use std::sync::Arc;

use super::command::Refusal;
use super::decide::Facts;
use super::trail::Before;
use super::wash::MOST_CYCLES;
use crate::shop::Shop;
use crate::shop::facts::fact::{Complaint, Returned};
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::floor::wash::CameBack;

/// The most returns that are kept in mind for their coats.
const MOST_RETURNS: usize = 500;

impl Shop {
    /// A return by its tag, or by its order and size. Of what the shop remembers, what was known of it goes with it; of
    /// an order that is long done only what was said.
    pub(in crate::shop) fn note_return(&self, said: &Returned) -> Result<Facts, Refusal> {
        if said.file.as_deref().is_some_and(|file| self.taken_files().has(file)) {
            return Err(Refusal::ReturnKnown(said.order));
        }
        let order = said.garment.map_or_else(|| self.own(said.order), Tag::order_id);
        self.was_taken(order)?;
        if let Some(cycles) = said.cycles.filter(|cycles| !(1..=MOST_CYCLES).contains(cycles)) {
            return Err(Refusal::NoCycles(cycles));
        }
        let returned = match said.garment {
            Some(tag) => self.known_of(tag, said)?,
            None => said.clone(),
        };
        Ok(vec![returned.into()])
    }

    fn known_of(&self, tag: Tag, said: &Returned) -> Result<Returned, Refusal> {
        let garment = match self.garment(tag) {
            Some(garment) if !garment.is_done() => return Err(Refusal::StillHere(tag)),
            // A reject never left.
            Some(garment) if garment.place != Place::Finished => {
                return Err(Refusal::NoSuchGarment(tag));
            }
            Some(garment) => garment,
            // Its order is remembered, and has no such piece.
            None if self
                .order(tag.order_id())
                .is_some_and(|order| order.next_piece <= tag.piece) =>
            {
                return Err(Refusal::NoSuchGarment(tag));
            }
            None => return Ok(said.clone()),
        };
        let line = self.order(tag.order_id()).and_then(|order| order.form.lines.get(garment.line));
        let size = match line {
            Some(line) if said.size.is_empty() => line.mark.clone(),
            _ => said.size.clone(),
        };
        Ok(Returned {
            size,
            recipe: self.recipe_name(garment).map(str::to_owned).or_else(|| said.recipe.clone()),
            coat: garment.coat.map(|(coat, _)| coat),
            estimated: garment.coat.is_some_and(|(_, estimated)| estimated),
            ..said.clone()
        })
    }

    /// The garments that a return may be: those of its order that were finished, of that size where one is said. Only
    /// as far as the shop remembers.
    pub fn may_be_returned(&self, order: OrderId, size: &str) -> impl Iterator<Item = &Garment> {
        let lines = self.order(order).map_or(&[][..], |order| &order.form.lines);
        self.floor().of_order(order).filter(move |garment| {
            let mark = lines.get(garment.line).map_or("", |line| &line.mark);
            garment.place == Place::Finished && (size.is_empty() || mark.eq_ignore_ascii_case(size))
        })
    }

    /// Whether every piece of an order is remembered: what was done long ago is not.
    pub fn remembers_all(&self, order: OrderId) -> bool {
        let pieces = self.order(order).map(|order| usize::from(order.next_piece).saturating_sub(1));
        pieces == Some(self.floor().of_order(order).count())
    }

    /// What came back washed out says something of its coat, where that is known.
    pub(in crate::shop) fn returned(&mut self, seq: u64, fact: &Returned) {
        if let Some(file) = &fact.file {
            self.files.remember(file);
        }
        let Some((recipe, coat)) = fact.recipe.clone().zip(fact.coat) else { return };
        if fact.complaint != Complaint::WashedOut {
            return;
        }
        let by_hand = fact.file.is_none();
        let came_back = Arc::make_mut(&mut self.came_back);
        if came_back.len() == MOST_RETURNS
            && let Some((oldest, gone)) = came_back.pop_first()
            && by_hand
        {
            self.trail.keep(Before::Return(oldest, Some(gone)));
        }
        came_back.insert(seq, CameBack { recipe, coat, grade: fact.grade });
        if by_hand {
            self.trail.keep(Before::Return(seq, None));
        }
    }
}
