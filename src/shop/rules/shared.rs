//! Orders that every station of a shop may take garments of: laid by one, made in parts by whoever takes them.
//!
//! A shared order has no garments of its own. A part of one of its lines is an order of the station that takes it, with a
//! number and tags of that station: so no tag is ever given twice, whatever became of the hub meanwhile. That no more
//! is taken than a line has is the hub's to see to, so without it nothing is taken. Where a hub has lost a grant, what
//! the stations' journals say stands, and that it is too many is said.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::command::Refusal;
use super::decide::Facts;
use super::trail::Before;
use super::turn::Urgency;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, OrderTaken, PartOf};
use crate::shop::facts::ids::{OrderId, OrderNo, StationId};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::station::Senseless;
use crate::shop::floor::shared::{Laid, SharedOrders};

/// Garments of a line of a shared order that somebody wants to make here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PartWanted {
    pub of: OrderId,
    pub line: usize,
    pub count: u32,
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
        self.wanted.saturating_sub(self.taken())
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
        let SharedOrders { laid, parts } = &*shop.shared;
        self.laid.extend(laid.iter().map(|(no, laid)| (of(no), laid.clone())));
        self.parts.extend(parts.iter().map(|(no, part)| (of(no), part.clone())));
    }

    /// The same with what another station says.
    pub fn with(&self, shop: &Shop) -> Self {
        let mut all = self.clone();
        all.add(shop);
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

    pub(in crate::shop) fn lay_shared(&mut self, event: &Event, fact: &OrderTaken) {
        let laid = Laid { form: fact.form.clone() };
        if event.fact.is_by_hand() {
            self.trail.keep(Before::Laid(fact.order, None));
        }
        Arc::make_mut(&mut self.shared).lay(fact.order, laid);
    }

    /// Blanks of an order went back: where that is a part, it is of so many fewer, and others may take them.
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
}
