//! Orders that are shared between the stations of a shop, as one station's own history tells of them: those that it has
//! laid for all, and the parts of such orders that it makes.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::shop::facts::as_text;
use crate::shop::facts::fact::{NewDue, PartOf};
use crate::shop::facts::ids::{OrderId, OrderNo, StationId};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::rank::Rank;

/// So many are kept in mind of each kind; older ones are in the journal alone.
const MOST: usize = 500;

/// What one station has laid and taken.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SharedOrders {
    pub(in crate::shop) laid: BTreeMap<OrderNo, Arc<Laid>>,
    /// By the order that each part was taken in as.
    pub(in crate::shop) parts: BTreeMap<OrderNo, PartOf>,
    /// The words that count here, and the last that this station has said itself: one of each kind.
    pub(in crate::shop) words: BTreeMap<OrderId, Vec<Word>>,
    pub(in crate::shop) said: BTreeMap<OrderId, Vec<Word>>,
}

/// What a station has said of a shared order, by a row of its history.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Word {
    pub station: StationId,
    pub seq: u64,
    pub says: Says,
}

/// What can be said of a shared order: the last word of each kind counts.
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

    /// The name of its kind, as the hub has it.
    pub fn kind(self) -> &'static str {
        match self {
            Says::Rank(_) => "rank",
            Says::Due(_) => "due",
            Says::Cancelled => "cancelled",
        }
    }
}

/// The word of a kind takes the place of the one before.
pub(in crate::shop) fn put(words: &mut BTreeMap<OrderId, Vec<Word>>, order: OrderId, word: Word) {
    let all = words.entry(order).or_default();
    all.retain(|known| known.says.kind() != word.says.kind());
    all.push(word);
    while words.len() > MOST {
        words.pop_first();
    }
}

/// An order that was laid for all stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Laid {
    #[serde(with = "as_text")]
    pub form: OrderForm,
    pub cancelled: bool,
}

impl SharedOrders {
    /// Keeps an order that was laid.
    pub(in crate::shop) fn lay(&mut self, order: OrderNo, laid: Laid) {
        self.laid.insert(order, Arc::new(laid));
        while self.laid.len() > MOST {
            self.laid.pop_first();
        }
    }

    /// Keeps a part that was taken in as an order.
    pub(in crate::shop) fn take(&mut self, order: OrderNo, part: PartOf) {
        self.parts.insert(order, part);
        while self.parts.len() > MOST {
            self.parts.pop_first();
        }
    }
}
