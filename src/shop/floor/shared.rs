//! Orders that are shared between the stations of a shop, as one station's own history tells of them: those that it has
//! laid for all, and the parts of such orders that it makes.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::shop::facts::as_text;
use crate::shop::facts::fact::{NewDue, PartOf};
use crate::shop::facts::ids::{OrderId, OrderNo, StationId};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::rank::Rank;

/// So many orders that were laid here are kept in mind, and so many parts; older ones are in the journal alone.
const MOST: usize = 500;

/// Words on shared orders, one of each kind.
pub type Words = BTreeMap<OrderId, Vec<Word>>;

/// What one station has laid and taken.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SharedOrders {
    pub(in crate::shop) laid: BTreeMap<OrderNo, Arc<Laid>>,
    /// By the order that each part was taken in as.
    pub(in crate::shop) parts: BTreeMap<OrderNo, PartOf>,
    /// The words that count here, of orders that were laid here or are made here in part.
    pub(in crate::shop) words: Words,
}

/// What a station has said of a shared order, by a row of its history.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Word {
    /// Higher than that of each word of its kind that the station knew when it said this; 0 of words before they had any.
    pub no: u64,
    pub station: StationId,
    pub seq: u64,
    pub says: Says,
}

impl Word {
    /// Of two words of a kind the greater counts, whoever hears them in whatever order. Of two that were said without
    /// knowing of each other no clock tells which came last: it is that of the station whose letters come last.
    fn precedence(&self) -> (u64, StationId, u64, String) {
        // Another life may have said something else by the same row.
        let says = match self.says {
            Says::Rank(rank) => u8::from(rank).to_string(),
            Says::Due(due) => String::from(due),
            Says::Cancelled => String::new(),
        };
        (self.no, self.station, self.seq, says)
    }

    /// Whether it counts, where these counted before.
    pub fn counts_beside(&self, words: Option<&Vec<Word>>) -> bool {
        let mut known = words.into_iter().flatten();
        let known = known.find(|known| known.says.kind() == self.says.kind());
        known.is_none_or(|known| known.precedence() < self.precedence())
    }
}

/// What can be said of a shared order: one word of each kind counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Says {
    Rank(Rank),
    Due(NewDue),
    Cancelled,
}

impl Says {
    /// What is said by a change, each by itself.
    pub fn all(
        rank: Option<Rank>,
        due: Option<NewDue>,
        cancelled: bool,
    ) -> impl Iterator<Item = Self> {
        let cancelled = cancelled.then_some(Says::Cancelled);
        rank.map(Says::Rank).into_iter().chain(due.map(Says::Due)).chain(cancelled)
    }

    /// What it is said of: a word takes the place of another of its kind alone.
    pub fn kind(self) -> u8 {
        match self {
            Says::Rank(_) => 0,
            Says::Due(_) => 1,
            Says::Cancelled => 2,
        }
    }
}

/// The word takes the place of the one of its kind.
pub(in crate::shop) fn put(words: &mut Words, order: OrderId, word: Word) {
    let all = words.entry(order).or_default();
    match all.binary_search_by_key(&word.says.kind(), |known| known.says.kind()) {
        Ok(n) => all[n] = word,
        Err(n) => all.insert(n, word),
    }
}

/// The same where it counts beside the one of its kind.
pub(in crate::shop) fn put_if_it_counts(words: &mut Words, order: OrderId, word: Word) {
    if word.counts_beside(words.get(&order)) {
        put(words, order, word);
    }
}

/// An order that was laid for all stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Laid {
    #[serde(with = "as_text")]
    pub form: OrderForm,
}

impl SharedOrders {
    /// Keeps an order that was laid by a station.
    pub(in crate::shop) fn lay(&mut self, (station, order): (StationId, OrderNo), laid: Laid) {
        self.laid.insert(order, Arc::new(laid));
        while self.laid.len() > MOST {
            self.laid.pop_first();
            self.forget_words(station);
        }
    }

    /// Keeps a part that was taken in by a station as an order.
    pub(in crate::shop) fn take(&mut self, (station, order): (StationId, OrderNo), part: PartOf) {
        self.parts.insert(order, part);
        while self.parts.len() > MOST {
            self.parts.pop_first();
            self.forget_words(station);
        }
    }

    /// Words on an order are kept for as long as it is itself, or a part of it.
    fn forget_words(&mut self, own: StationId) {
        let Self { laid, parts, words } = self;
        let of_parts: BTreeSet<OrderId> = parts.values().map(|part| part.of).collect();
        let is_laid = |order: &OrderId| order.station == own && laid.contains_key(&order.no);
        words.retain(|order, _| is_laid(order) || of_parts.contains(order));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form() -> OrderForm {
        let (name, due, rank) = ("Lantern walk".to_owned(), None, Rank::USUAL);
        OrderForm { name, due, rank, shared: true, lines: Vec::new() }
    }

    /// What is forgotten is the oldest that was laid or taken here, with its words: not what stands first by letters.
    #[test]
    fn words_are_kept_for_as_long_as_their_order_is() {
        let own: StationId = "b".parse().unwrap();
        let id =
            |station: &str, no: u32| OrderId { station: station.parse().unwrap(), no: OrderNo(no) };
        let said = |no| Word { no: 1, station: own, seq: no, says: Says::Cancelled };
        let mut shared = SharedOrders::default();
        let grant = "b-1-abcdef".to_owned();
        shared.take((own, OrderNo(1)), PartOf { of: id("a", 1), line: 0, count: 1, grant });
        put(&mut shared.words, id("a", 1), said(1));
        for no in 2..MOST as u32 + 10 {
            shared.lay((own, OrderNo(no)), Laid { form: form() });
            put(&mut shared.words, id("b", no), said(u64::from(no)));
        }
        assert!(shared.words.contains_key(&id("a", 1)), "the part is made here still");
        let kept: Vec<u32> =
            shared.words.keys().filter(|of| of.station == own).map(|of| of.no.0).collect();
        assert_eq!(kept, (10..MOST as u32 + 10).collect::<Vec<u32>>());
        assert_eq!(kept, shared.laid.keys().map(|no| no.0).collect::<Vec<u32>>());
    }
}
