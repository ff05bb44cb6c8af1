//! Orders that every station of a shop may take garments of: laid by one, made in parts by whoever takes them.
//!
//! A shared order has no garments of its own. A part of one of its lines is an order of the station that takes it, with a
//! number and tags of that station: so no tag is ever given twice, whatever became of the hub meanwhile. That no more
//! is taken than a line has is the hub's to see to, so without it nothing is taken. Where a hub has lost a grant, what
//! the stations' journals say stands, and that it is too many is said.

mod board;

use std::sync::Arc;

pub use board::{SharedBoard, SharedLine, called};

use serde::{Deserialize, Serialize};

use super::command::{Granted, HeardWord, OrderChange, Refusal};
use super::decide::Facts;
use super::trail::Before;
use super::turn::Urgency;
use crate::shop::Shop;
use crate::shop::facts::check::Senseless;
use crate::shop::facts::fact::{
    ChangeHeard, Event, Fact, NewDue, OrderChanged, OrderTaken, PartOf, RowId,
};
use crate::shop::facts::ids::{OrderId, OrderNo};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::rank::Rank;
use crate::shop::floor::shared::{Laid, Says, Word, put};

/// Garments of a line of a shared order that somebody wants to make here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PartWanted {
    pub of: OrderId,
    pub line: usize,
    pub count: u32,
}

/// An act of a hand that all stations go by from then on. Undo neither takes it back nor passes over it, to the act before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Stays {
    Laid(OrderId),
    Said(OrderId),
    Cancelled(OrderId),
}

impl Stays {
    /// None: it is no such act. What came by a file is no hand's here.
    pub(in crate::shop) fn of(event: &Event) -> Option<Self> {
        match &event.fact {
            Fact::OrderTaken(fact) if fact.shared && fact.file.is_none() => {
                Some(Self::Laid(event.of(fact.order)))
            }
            Fact::OrderChanged(fact) if fact.shared => {
                let order = fact.order.id(event.station);
                Some(if fact.cancelled { Self::Cancelled(order) } else { Self::Said(order) })
            }
            _ => None,
        }
    }
}

/// How a shared order stands.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stands {
    rank: Rank,
    due: NewDue,
    cancelled: bool,
}

impl Stands {
    fn of(form: &OrderForm) -> Self {
        let due = form.due.map_or(NewDue::Never, NewDue::At);
        Self { rank: form.rank, due, cancelled: false }
    }

    fn by(mut self, words: Option<&Vec<Word>>) -> Self {
        for word in words.into_iter().flatten() {
            match word.says {
                Says::Rank(rank) => self.rank = rank,
                Says::Due(due) => self.due = due,
                Says::Cancelled => self.cancelled = true,
            }
        }
        self
    }
}

impl Shop {
    /// Which part of a shared order one of this station's orders is.
    pub fn part_of(&self, order: OrderId) -> Option<&PartOf> {
        self.is_own(order).then(|| self.shared.parts.get(&order.no)).flatten()
    }

    /// The turn of what a form asks for.
    pub fn urgency_of(&self, form: &OrderForm) -> Urgency {
        Urgency::of(form.rank, form.due_at(self.zone()))
    }

    /// Whether a part was taken in that was asked for by this.
    pub fn has_part(&self, grant: &str) -> bool {
        self.shared.parts.values().any(|part| part.grant == grant)
    }

    /// Garments that the hub has granted are taken in as an order of this station.
    pub(in crate::shop) fn take_granted(&self, granted: &Granted) -> Result<Facts, Refusal> {
        let Granted { part, form, words } = granted;
        if self.has_part(&part.grant) {
            return Err(Refusal::PartKnown);
        }
        let there = form.lines.len();
        let no_line = Refusal::NoSuchLine { order: part.of.no, line: part.line + 1, there };
        let mut line = form.lines.get(part.line).ok_or(no_line)?.clone();
        line.count = part.count;
        let mut form = OrderForm { lines: vec![line], shared: false, ..form.clone() }.cleaned();
        let names: Vec<&str> = self.recipes().names().collect();
        form.check(|name| self.recipes().hash_of(name).is_some(), &names.join(", "))
            .map_err(Refusal::SenselessOrder)?;
        form.shared = false;
        let order = OrderNo(self.next_order());
        let part = Some(part.clone());
        // The order's form goes by them already: from here on it is known which words those are.
        let news = words.iter().filter(|heard| self.is_later(heard));
        let words = news.map(|heard| self.heard(heard).into());
        let taken = OrderTaken { order, shared: false, part, form, file: None };
        Ok(words.chain([taken.into()]).collect())
    }

    /// Whether this station could take a part of a line: by a recipe of that name.
    ///
    /// # Errors
    /// What it lacks.
    pub fn may_make(&self, form: &OrderForm, line: usize) -> Result<(), Senseless> {
        let Some(one) = form.lines.get(line) else { return Ok(()) };
        if self.recipes().hash_of(&one.recipe).is_some() {
            return Ok(());
        }
        let reason = format!("no recipe \"{}\" here: bring its file to this station", one.recipe);
        Err(Senseless::new("recipe", reason))
    }

    pub(in crate::shop) fn lay_shared(&mut self, fact: &OrderTaken) {
        let laid = Laid { form: fact.form.clone() };
        let order = (self.id(), fact.order);
        Arc::make_mut(&mut self.shared).lay(order, laid);
    }

    /// Garments of an order are not made here any more: where that is a part, it is of so many fewer, and others may take
    /// them.
    pub(in crate::shop) fn part_goes_back(&mut self, order: OrderId, count: usize) {
        let Some(part) = self.part_of(order).filter(|_| count > 0).cloned() else { return };
        let less = u32::try_from(count).unwrap_or(u32::MAX);
        let left = PartOf { count: part.count.saturating_sub(less), ..part.clone() };
        self.trail.keep(Before::Part(order.no, part));
        self.put_part(order.no, left);
    }

    pub(in crate::shop) fn take_part(&mut self, fact: &OrderTaken) {
        if let Some(part) = &fact.part {
            self.put_part(fact.order, part.clone());
        }
    }

    /// One of this station's orders is that part of a shared one.
    pub(in crate::shop) fn put_part(&mut self, order: OrderNo, part: PartOf) {
        let order = (self.id(), order);
        Arc::make_mut(&mut self.shared).take(order, part);
    }

    /// The shared order that a change of one of this station's orders is about: it is a part of it, or was laid here.
    pub(in crate::shop) fn shared_of(&self, order: OrderId) -> Option<OrderId> {
        let laid = self.is_own(order) && self.shared.laid.contains_key(&order.no);
        self.part_of(order).map(|part| part.of).or(laid.then_some(order))
    }

    /// An order that this station has laid for all, as it was laid.
    pub fn laid(&self, order: OrderId) -> Option<&OrderForm> {
        self.is_own(order).then(|| self.shared.laid.get(&order.no)).flatten().map(|laid| &laid.form)
    }

    /// A word of this station on a shared order: rank or due time from now on, or that it is cancelled.
    pub(in crate::shop) fn change_shared(
        &self,
        of: OrderId,
        change: &OrderChange,
        cancelled: bool,
    ) -> Result<Facts, Refusal> {
        if change.more.is_some() {
            let reason = "all stations share it: lay another order for more";
            return Err(Refusal::SenselessOrder(Senseless::new("count", reason)));
        }
        let stands = self.stands_shared(of).ok_or(Refusal::NoSuchOrder(of.no))?;
        let rank = change.rank.filter(|rank| *rank != stands.rank);
        let due = change.due.filter(|due| *due != stands.due);
        let cancelled = cancelled && !stands.cancelled;
        if rank.is_none() && due.is_none() && !cancelled {
            return Err(Refusal::NothingChanged(of.no));
        }
        let order = self.written(of);
        let known = self.shared.words.get(&of).into_iter().flatten();
        let says = |kind| Says::all(rank, due, cancelled).any(|says| says.kind() == kind);
        let before = known.filter(|word| says(word.says.kind())).map(|word| word.no).max();
        let word = before.unwrap_or_default().saturating_add(1);
        let (shared, more) = (true, None);
        Ok(vec![OrderChanged { order, shared, cancelled, rank, due, more, word }.into()])
    }

    /// Why undo takes nothing back after such an act: what is to be done instead.
    pub(in crate::shop) fn stays(&self, stays: Stays) -> Refusal {
        match stays {
            Stays::Laid(order) => Refusal::LaidForAll(self.called_shared(order)),
            Stays::Said(order) => Refusal::SaidForAll(self.called_shared(order)),
            Stays::Cancelled(order) => Refusal::CancelledForAll(self.called_shared(order)),
        }
    }

    /// "A17 "Harbour choir"", as this station knows it: it was laid here, or some of it is made here.
    pub fn called_shared(&self, of: OrderId) -> String {
        self.form_shared(of).map_or_else(|| of.to_string(), |form| called(of, form))
    }

    /// A shared order as it was laid here, or as one of the parts that are made here has it.
    pub(in crate::shop) fn form_shared(&self, of: OrderId) -> Option<&OrderForm> {
        // The first of its parts may be forgotten, with all that was made of it.
        let mut parts = self.shared.parts.iter().filter(|(_, part)| part.of == of);
        let of_part = || parts.find_map(|(no, _)| Some(&self.order(self.own(*no))?.form));
        self.laid(of).or_else(of_part)
    }

    /// How a shared order stands, as this station knows it; None where it is none of its business.
    fn stands_shared(&self, of: OrderId) -> Option<Stands> {
        if self.laid(of).is_none() && !self.shared.parts.values().any(|part| part.of == of) {
            return None;
        }
        let unknown = Stands { rank: Rank::USUAL, due: NewDue::Never, cancelled: false };
        let stands = self.form_shared(of).map_or(unknown, Stands::of);
        Some(stands.by(self.shared.words.get(&of)))
    }

    /// A word was heard on a shared order that is this station's business, and counts from now on.
    pub(in crate::shop) fn hear_word(&self, heard: &HeardWord) -> Result<Facts, Refusal> {
        match self.stands_shared(heard.order) {
            Some(_) if self.is_later(heard) => Ok(vec![self.heard(heard).into()]),
            _ => Err(Refusal::NothingChanged(heard.order.no)),
        }
    }

    fn is_later(&self, HeardWord { order, word, .. }: &HeardWord) -> bool {
        word.counts_beside(self.shared.words.get(order))
    }

    fn heard(&self, heard: &HeardWord) -> ChangeHeard {
        let HeardWord { order, life, word, bench } = heard;
        let by = RowId { station: word.station, life: *life, seq: word.seq };
        let (mut rank, mut due) = (None, None);
        match word.says {
            Says::Rank(said) => rank = Some(said),
            Says::Due(said) => due = Some(said),
            Says::Cancelled => {}
        }
        let (bench, cancelled) = (bench.clone(), word.says == Says::Cancelled);
        ChangeHeard { order: *order, by, bench, rank, due, cancelled, word: word.no }
    }

    /// A word was said here: it counts until another does.
    pub(in crate::shop) fn said_shared(&mut self, event: &Event, fact: &OrderChanged) {
        for says in Says::all(fact.rank, fact.due, fact.cancelled) {
            let word = Word { no: fact.word, station: event.station, seq: event.seq, says };
            self.go_by_word(fact.order.id(event.station), word);
        }
    }

    pub(in crate::shop) fn word_heard(&mut self, fact: &ChangeHeard) {
        for says in Says::all(fact.rank, fact.due, fact.cancelled) {
            let word = Word { no: fact.word, station: fact.by.station, seq: fact.by.seq, says };
            self.go_by_word(fact.order, word);
        }
    }

    /// The parts that are made here follow. What was done with their orders before stays: nobody takes back what all go by.
    fn go_by_word(&mut self, of: OrderId, word: Word) {
        put(&mut Arc::make_mut(&mut self.shared).words, of, word);
        let own = self.shared.parts.iter().filter(|(_, part)| part.of == of);
        let orders: Vec<OrderId> = own.map(|(no, _)| self.own(*no)).collect();
        self.trail.settle_upto(|before| match before {
            Before::Order(touched, _) => orders.contains(touched),
            _ => false,
        });
        for order in orders {
            let Some(order) = self.orders.get_mut(&order) else { continue };
            match word.says {
                Says::Rank(rank) => order.form.rank = rank,
                Says::Due(due) => order.form.due = due.due(),
                // What becomes of them each bench says itself.
                Says::Cancelled => {}
            }
        }
    }
}
