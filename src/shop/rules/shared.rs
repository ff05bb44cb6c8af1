//! Orders that every station of a shop may take garments of: laid by one, made in parts by whoever takes them.
//!
//! A shared order has no garments of its own. A part of one of its lines is an order of the station that takes it, with a
//! number and tags of that station: so no tag is ever given twice, whatever became of the hub meanwhile. That no more
//! is taken than a line has is the hub's to see to, so without it nothing is taken. Where a hub has lost a grant, what
//! the stations' journals say stands, and that it is too many is said.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::command::{OrderChange, Refusal};
use super::decide::Facts;
use super::trail::Before;
use super::turn::Urgency;
use crate::shop::Shop;
use crate::shop::facts::fact::{
    ChangeHeard, Event, NewDue, OrderChanged, OrderTaken, PartOf, RowId,
};
use crate::shop::facts::ids::{OrderId, OrderNo, StationId};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::rank::Rank;
use crate::shop::facts::station::Senseless;
use crate::shop::floor::shared::{Laid, Says, SharedOrders, Word, put};

/// So many of the orders that a station has laid are listed: what became of older ones the lead sees.
const MOST_LISTED: usize = 9;

/// Garments of a line of a shared order that somebody wants to make here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PartWanted {
    pub of: OrderId,
    pub line: usize,
    pub count: u32,
}

/// A word on a shared order that the hub was given last.
#[derive(Debug, Clone, PartialEq)]
pub struct HeardWord {
    pub order: OrderId,
    /// The life of the history that its row is in.
    pub life: u32,
    pub word: Word,
    pub bench: String,
}

/// What the hub has granted, and the order that it is of as that was laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Granted {
    pub part: PartOf,
    pub form: OrderForm,
}

/// What the stations of a shop say of shared orders: what was laid, and which station takes how many.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SharedBoard {
    laid: BTreeMap<OrderId, Arc<Laid>>,
    /// By the order that a part was taken in as.
    parts: BTreeMap<OrderId, PartOf>,
    words: BTreeMap<OrderId, Vec<Word>>,
}

/// How a shared order stands.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stands {
    rank: Rank,
    due: NewDue,
    cancelled: bool,
}

impl Stands {
    fn of(form: &OrderForm, cancelled: bool) -> Self {
        let due = form.due.map_or(NewDue::Never, NewDue::At);
        Self { rank: form.rank, due, cancelled }
    }

    fn take(&mut self, says: Says) {
        match says {
            Says::Rank(rank) => self.rank = rank,
            Says::Due(due) => self.due = due,
            Says::Cancelled => self.cancelled = true,
        }
    }
}

/// A line of a shared order, and who makes how many of it.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedLine<'a> {
    pub order: OrderId,
    pub form: &'a OrderForm,
    /// Index of the line.
    pub line: usize,
    /// How many it asks for.
    pub wanted: u32,
    /// Nobody is to make any of it.
    pub cancelled: bool,
    /// Which orders of which stations make how many.
    pub parts: Vec<(OrderId, u32)>,
}

impl SharedLine<'_> {
    /// How many stations have taken.
    pub fn taken(&self) -> u32 {
        self.parts.iter().map(|(_, count)| count).sum()
    }

    /// How many nobody has taken.
    pub fn left(&self) -> u32 {
        if self.cancelled { 0 } else { self.wanted.saturating_sub(self.taken()) }
    }

    /// How many too many were taken: a hub had lost a grant.
    pub fn over(&self) -> u32 {
        self.taken().saturating_sub(self.wanted)
    }

    /// How many each station makes, by its id.
    pub fn by_station(&self) -> BTreeMap<StationId, u32> {
        let mut all = BTreeMap::new();
        for (order, count) in &self.parts {
            *all.entry(order.station).or_default() += count;
        }
        all
    }
}

impl SharedBoard {
    /// Adds what a station says.
    pub fn add(&mut self, shop: &Shop) {
        let of = |no: &OrderNo| shop.own(*no);
        let SharedOrders { laid, parts, words, .. } = &*shop.shared;
        self.laid.extend(laid.iter().map(|(no, laid)| (of(no), laid.clone())));
        self.parts.extend(parts.iter().map(|(no, part)| (of(no), part.clone())));
        // Who has laid it has heard what counts, as long as it is not cut off.
        for (order, word) in words {
            if order.station == shop.id() || !self.words.contains_key(order) {
                self.words.insert(*order, word.clone());
            }
        }
        self.go_by_words();
    }

    fn go_by_words(&mut self) {
        for (order, words) in &self.words {
            let Some(laid) = self.laid.get_mut(order) else { continue };
            let mut stands = Stands::of(&laid.form, laid.cancelled);
            words.iter().for_each(|word| stands.take(word.says));
            if stands != Stands::of(&laid.form, laid.cancelled) {
                let laid = Arc::make_mut(laid);
                (laid.form.rank, laid.form.due) = (stands.rank, stands.due.due());
                laid.cancelled = stands.cancelled;
            }
        }
    }

    /// The same with what another station says.
    pub fn with(&self, shop: &Shop) -> Self {
        let mut all = self.clone();
        all.add(shop);
        all.words.extend(shop.shared.words.clone());
        all.go_by_words();
        all
    }

    /// An order as it was laid.
    pub fn laid(&self, order: OrderId) -> Option<&OrderForm> {
        self.laid.get(&order).map(|laid| &laid.form)
    }

    /// All lines of all shared orders, by order.
    pub fn lines(&self) -> impl Iterator<Item = SharedLine<'_>> {
        self.laid.iter().flat_map(|(order, laid)| {
            laid.form.lines.iter().enumerate().map(|(line, one)| {
                let is_of = |part: &&PartOf| (part.of, part.line) == (*order, line);
                let parts = self.parts.iter().filter(|(_, part)| is_of(part));
                SharedLine {
                    order: *order,
                    form: &laid.form,
                    line,
                    wanted: one.count,
                    cancelled: laid.cancelled,
                    parts: parts.map(|(id, part)| (*id, part.count)).collect(),
                }
            })
        })
    }

    /// The lines of which garments are left, whose turn it is first, first.
    pub fn open(&self, shop: &Shop) -> Vec<SharedLine<'_>> {
        let mut open: Vec<SharedLine<'_>> = self.lines().filter(|line| line.left() > 0).collect();
        open.sort_by_key(|line| (shop.urgency_of(line.form), line.order, line.line));
        open
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
        let Granted { part, form } = granted;
        if self.has_part(&part.grant) {
            return Err(Refusal::PartKnown);
        }
        let there = form.lines.len();
        let no_line = Refusal::NoSuchLine { order: part.of.no, line: part.line + 1, there };
        let mut line = form.lines.get(part.line).ok_or(no_line)?.clone();
        line.count = part.count;
        let mut form = OrderForm { lines: vec![line], shared: false, ..form.clone() }.cleaned();
        let names: Vec<&str> = self.names.keys().map(String::as_str).collect();
        form.check(|name| self.names.contains_key(name), &names.join(", "))
            .map_err(Refusal::SenselessOrder)?;
        form.shared = false;
        let order = OrderNo(self.next_order());
        Ok(vec![
            OrderTaken { order, shared: false, part: Some(part.clone()), form, file: None }.into(),
        ])
    }

    /// Whether this station could take a part of a line: by a recipe of that name.
    ///
    /// # Errors
    /// What it lacks.
    pub fn may_make(&self, form: &OrderForm, line: usize) -> Result<(), Senseless> {
        let Some(one) = form.lines.get(line) else { return Ok(()) };
        if self.names.contains_key(&one.recipe) {
            return Ok(());
        }
        let reason = format!("no recipe \"{}\" here: bring its file to this station", one.recipe);
        Err(Senseless::new("recipe", reason))
    }

    pub(in crate::shop) fn lay_shared(&mut self, fact: &OrderTaken) {
        let laid = Laid { form: fact.form.clone(), cancelled: false };
        Arc::make_mut(&mut self.shared).lay(fact.order, laid);
    }

    /// Garments of an order are not made here any more: where that is a part, it is of so many fewer, and others may take
    /// them.
    pub(in crate::shop) fn part_goes_back(&mut self, order: OrderId, count: usize) {
        let Some(part) = self.part_of(order).filter(|_| count > 0).cloned() else { return };
        let less = u32::try_from(count).unwrap_or(u32::MAX);
        let left = PartOf { count: part.count.saturating_sub(less), ..part.clone() };
        self.trail.keep(Before::Part(order.no, part));
        Arc::make_mut(&mut self.shared).take(order.no, left);
    }

    pub(in crate::shop) fn take_part(&mut self, fact: &OrderTaken) {
        if let Some(part) = &fact.part {
            Arc::make_mut(&mut self.shared).take(fact.order, part.clone());
        }
    }

    /// The shared order that a change of one of this station's orders is about: it is a part of it, or was laid here.
    pub(in crate::shop) fn shared_of(&self, order: OrderId) -> Option<OrderId> {
        let laid = self.is_own(order) && self.shared.laid.contains_key(&order.no);
        self.part_of(order).map(|part| part.of).or(laid.then_some(order))
    }

    /// The newest orders that this station has laid for all and that nobody has cancelled, as they stand.
    pub fn laid_here(&self) -> Vec<(OrderId, OrderForm)> {
        let mut own = SharedBoard::default().with(self);
        own.laid.retain(|order, laid| self.is_own(*order) && !laid.cancelled);
        let newest = own.laid.into_iter().rev().take(MOST_LISTED);
        newest.map(|(order, laid)| (order, laid.form.clone())).collect()
    }

    /// An order that this station has laid for all, as it was laid.
    pub fn laid(&self, order: OrderId) -> Option<&OrderForm> {
        self.is_own(order).then(|| self.shared.laid.get(&order.no)).flatten().map(|laid| &laid.form)
    }

    /// What this station has said last of a shared order, of a kind.
    pub fn said_of(&self, order: OrderId, kind: &str) -> Option<Word> {
        let said = self.shared.said.get(&order)?;
        said.iter().find(|word| word.says.kind() == kind).copied()
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
        Ok(vec![OrderChanged { order, shared: true, cancelled, rank, due, more: None }.into()])
    }

    /// How a shared order stands, as this station knows it; None where it is none of its business.
    fn stands_shared(&self, of: OrderId) -> Option<Stands> {
        let laid = self.shared.laid.get(&of.no).filter(|_| self.is_own(of));
        let is_part = || self.shared.parts.iter().find(|(_, part)| part.of == of);
        let form = match laid {
            Some(laid) => Some(&laid.form),
            None => self.order(self.own(*is_part()?.0)).map(|order| &order.form),
        };
        let unknown = Stands { rank: Rank::USUAL, due: NewDue::Never, cancelled: false };
        let mut stands = form.map_or(unknown, |form| Stands::of(form, false));
        let words = self.shared.words.get(&of).into_iter().flatten();
        words.for_each(|word| stands.take(word.says));
        Some(stands)
    }

    /// A word was heard on a shared order that is this station's business, and counts from now on.
    pub(in crate::shop) fn hear_word(&self, heard: &HeardWord) -> Result<Facts, Refusal> {
        let HeardWord { order, life, word, bench } = heard;
        let counts = self.shared.words.get(order).into_iter().flatten();
        if self.stands_shared(*order).is_none() || counts.into_iter().any(|one| one == word) {
            return Err(Refusal::NothingChanged(order.no));
        }
        let by = RowId { station: word.station, life: *life, seq: word.seq };
        let (mut rank, mut due) = (None, None);
        match word.says {
            Says::Rank(said) => rank = Some(said),
            Says::Due(said) => due = Some(said),
            Says::Cancelled => {}
        }
        let (bench, cancelled) = (bench.clone(), word.says == Says::Cancelled);
        Ok(vec![ChangeHeard { order: *order, by, bench, rank, due, cancelled }.into()])
    }

    /// A word was said here: it counts until another is heard.
    pub(in crate::shop) fn said_shared(&mut self, event: &Event, fact: &OrderChanged) {
        let of = fact.order.id(event.station);
        for says in Says::all(fact.rank, fact.due, fact.cancelled) {
            let word = Word { station: event.station, seq: event.seq, says };
            put(&mut Arc::make_mut(&mut self.shared).said, of, word);
            self.go_by_word(of, word);
        }
    }

    pub(in crate::shop) fn word_heard(&mut self, fact: &ChangeHeard) {
        for says in Says::all(fact.rank, fact.due, fact.cancelled) {
            let word = Word { station: fact.by.station, seq: fact.by.seq, says };
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
