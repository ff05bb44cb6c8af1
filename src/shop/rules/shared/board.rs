//! What all stations of a shop say of the orders that they share, put together: the same whoever is asked first.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::Stands;
use crate::shop::Shop;
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::{OrderId, StationId};
use crate::shop::facts::order::OrderForm;
use crate::shop::floor::shared::{Laid, SharedOrders, Word, Words, put_if_it_counts};

/// So many of the orders that a station has laid are listed: what became of older ones the lead sees.
const MOST_LISTED: usize = 9;

/// What the stations of a shop say of shared orders: what was laid, and which station takes how many.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SharedBoard {
    laid: BTreeMap<OrderId, Arc<Laid>>,
    /// By the order that a part was taken in as.
    parts: BTreeMap<OrderId, Part>,
    /// What the hub has granted to a station, as it was heard last: that may have taken it in since.
    granted: Vec<(StationId, PartOf)>,
    words: Words,
    cancelled: BTreeSet<OrderId>,
}

/// A part, and whether its station still makes some of it.
#[derive(Debug, Clone, PartialEq)]
struct Part {
    of: PartOf,
    is_open: bool,
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
    /// Those of them of which something is still to be made.
    pub open: Vec<OrderId>,
    /// How many the hub has granted to which stations, and these have not recorded.
    pub granted: Vec<(StationId, u32)>,
}

impl SharedLine<'_> {
    /// How many stations make.
    pub fn taken(&self) -> u32 {
        self.parts.iter().fold(0, |all: u32, (_, count)| all.saturating_add(*count))
    }

    /// How many nobody has taken.
    pub fn left(&self) -> u32 {
        let taken =
            self.granted.iter().fold(self.taken(), |all, (_, count)| all.saturating_add(*count));
        if self.cancelled { 0 } else { self.wanted.saturating_sub(taken) }
    }

    /// How many too many were taken: a hub had lost a grant.
    pub fn over(&self) -> u32 {
        self.taken().saturating_sub(self.wanted)
    }

    /// How many each station makes or may make, by its id.
    pub fn by_station(&self) -> BTreeMap<StationId, u32> {
        let mut all = BTreeMap::new();
        let parts = self.parts.iter().map(|(order, count)| (order.station, count));
        for (station, count) in parts.chain(self.granted.iter().map(|(id, count)| (*id, count))) {
            let sum: &mut u32 = all.entry(station).or_default();
            *sum = sum.saturating_add(*count);
        }
        all
    }
}

impl SharedBoard {
    /// What these stations say, in whatever order they are asked.
    pub fn of<'a>(shops: impl IntoIterator<Item = &'a Shop>) -> Self {
        let mut all = Self::default();
        shops.into_iter().for_each(|shop| all.add(shop));
        all.go_by_words();
        all
    }

    /// The same with what another station says.
    pub fn with(&self, shop: &Shop) -> Self {
        let mut all = self.clone();
        all.add(shop);
        all.go_by_words();
        all
    }

    /// The same beside what the hub has granted.
    pub fn beside(self, granted: Vec<(StationId, PartOf)>) -> Self {
        Self { granted, ..self }
    }

    /// What the hub has granted to a station, as it was heard last.
    pub fn granted_to(&self, station: StationId) -> Vec<PartOf> {
        let own = self.granted.iter().filter(|(to, _)| *to == station);
        own.map(|(_, part)| part.clone()).collect()
    }

    fn add(&mut self, shop: &Shop) {
        let SharedOrders { laid, parts, words } = &*shop.shared;
        self.laid.extend(laid.iter().map(|(no, laid)| (shop.own(*no), laid.clone())));
        self.parts.extend(parts.iter().map(|(no, part)| {
            let order = shop.order(shop.own(*no));
            let is_open =
                order.is_some_and(|order| !order.cancelled && shop.floor().is_open(order.id));
            (shop.own(*no), Part { of: part.clone(), is_open })
        }));
        for (order, words) in words {
            words.iter().for_each(|word| put_if_it_counts(&mut self.words, *order, *word));
        }
    }

    fn go_by_words(&mut self) {
        for (order, words) in &self.words {
            let Some(laid) = self.laid.get_mut(order) else { continue };
            let before = Stands::of(&laid.form);
            let stands = before.by(Some(words));
            if (stands.rank, stands.due) != (before.rank, before.due) {
                let laid = Arc::make_mut(laid);
                (laid.form.rank, laid.form.due) = (stands.rank, stands.due.due());
            }
            if stands.cancelled {
                self.cancelled.insert(*order);
            }
        }
    }

    /// An order as it stands.
    pub fn laid(&self, order: OrderId) -> Option<&OrderForm> {
        self.laid.get(&order).map(|laid| &laid.form)
    }

    /// Whether nobody is to make any of an order.
    pub fn is_cancelled(&self, order: OrderId) -> bool {
        self.cancelled.contains(&order)
    }

    /// The words that count, each with its order.
    pub fn words(&self) -> impl Iterator<Item = (OrderId, Word)> {
        self.words.iter().flat_map(|(order, words)| words.iter().map(move |word| (*order, *word)))
    }

    /// All lines of all shared orders, by order.
    pub fn lines(&self) -> Vec<SharedLine<'_>> {
        let mut of_line: BTreeMap<(OrderId, usize), Vec<(OrderId, &Part)>> = BTreeMap::new();
        for (id, part) in &self.parts {
            of_line.entry((part.of.of, part.of.line)).or_default().push((*id, part));
        }
        let mut lines = Vec::new();
        for (order, laid) in &self.laid {
            for (line, one) in laid.form.lines.iter().enumerate() {
                let parts = of_line.remove(&(*order, line)).unwrap_or_default();
                let open = parts.iter().filter(|(_, part)| part.is_open);
                lines.push(SharedLine {
                    order: *order,
                    form: &laid.form,
                    line,
                    wanted: one.count,
                    cancelled: self.is_cancelled(*order),
                    open: open.map(|(id, _)| *id).collect(),
                    granted: self.granted_of(*order, line, &parts),
                    parts: parts.iter().map(|(id, part)| (*id, part.of.count)).collect(),
                });
            }
        }
        lines
    }

    /// What is granted of a line, and that its station has not recorded.
    fn granted_of(
        &self,
        order: OrderId,
        line: usize,
        parts: &[(OrderId, &Part)],
    ) -> Vec<(StationId, u32)> {
        let is_recorded = |station: StationId, grant: &str| {
            parts.iter().any(|(id, part)| id.station == station && part.of.grant == grant)
        };
        let of_line = self.granted.iter().filter(|(station, part)| {
            (part.of, part.line) == (order, line) && !is_recorded(*station, &part.grant)
        });
        of_line.map(|(station, part)| (*station, part.count)).collect()
    }

    /// The lines of which garments are left, whose turn it is first, first.
    pub fn open(&self, shop: &Shop) -> Vec<SharedLine<'_>> {
        let mut open: Vec<SharedLine<'_>> = self.lines();
        open.retain(|line| line.left() > 0);
        open.sort_by_key(|line| (shop.urgency_of(line.form), line.order, line.line));
        open
    }

    /// Orders that a station has laid for all and that nobody has cancelled, the newest first: but those first of which
    /// something is still to be made.
    pub fn laid_by(&self, station: StationId) -> Vec<OrderId> {
        let lines = self.lines();
        let is_open = |line: &&SharedLine<'_>| line.left() > 0 || !line.open.is_empty();
        let open: BTreeSet<OrderId> = lines.iter().filter(is_open).map(|line| line.order).collect();
        let own = self.laid.keys().filter(|order| order.station == station);
        let mut all: Vec<OrderId> =
            own.filter(|order| !self.is_cancelled(**order)).copied().collect();
        all.sort_by_key(|order| (!open.contains(order), Reverse(*order)));
        // What is still to be made can be changed, however much of it there is.
        let still = all.iter().filter(|order| open.contains(order)).count();
        all.truncate(still.max(MOST_LISTED));
        all
    }
}

/// "A17 "Harbour choir"".
pub fn called(order: OrderId, form: &OrderForm) -> String {
    format!("{order} \"{}\"", form.name)
}
