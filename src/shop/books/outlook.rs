//! When everything under way will be done, as a plan sees it. Worked out elsewhere; shown on the board.

use crate::shop::Shop;
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::order::Order;

/// What the last forecast said.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// When everything is done: in half of all draws, and in nine of ten.
    pub likely: Wall,
    pub latest: Wall,
    /// Garments that it is about, and how many of them are made in an hour of work.
    pub garments: usize,
    pub per_hour: Option<f64>,
    /// Every open order on which something is still to be done: the earliest due first, what is never due last.
    pub orders: Vec<Ready>,
    /// What there is, and its share of the time that it is busy, the busiest first.
    pub busy: [(&'static str, f64); 3],
    /// The change that would save most, and seconds saved; None where none saves a minute.
    pub helps: Option<(&'static str, f64)>,
}

/// Why nothing can be foreseen.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NoOutlook(pub String);

/// An order against its due time, where each is worked on by its turn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ready {
    /// None for one that is only a file yet.
    pub order: Option<OrderId>,
    pub name: String,
    /// None: it is never due.
    pub due: Option<Wall>,
    /// When it is ready in half of all draws, and in nine of ten.
    pub likely: Wall,
    pub latest: Wall,
    /// Garments that went out of it, and no blank has replaced them: it will be ready without them.
    pub short: usize,
}

impl Ready {
    /// Seconds by which it is late; None where it is in time in half of all draws or more.
    pub fn late(&self) -> Option<f64> {
        let due = self.due.filter(|due| self.likely > *due)?;
        Some((self.likely - due).as_secs_f64())
    }
}

impl Outlook {
    /// The order with the least to spare.
    pub fn tightest(&self) -> Option<&Ready> {
        let due = self.orders.iter().filter_map(|order| Some((order.due? - order.latest, order)));
        due.min_by_key(|(spare, _)| *spare).map(|(_, order)| order)
    }
}

impl Shop {
    /// Garments an hour that would meet every due time that has not passed: what is due by then, and whatever was
    /// due before. None where nothing is due any more.
    #[expect(clippy::cast_precision_loss, reason = "some thousand garments")]
    pub fn needed_pace(&self, now: Moment) -> Option<f64> {
        const HOUR_S: f64 = 3600.0;
        let due = |order: &Order| {
            let left = self.floor().counted(order.id).open;
            (left > 0).then_some((order.form.due?.at(self.zone())?, left))
        };
        let mut due: Vec<(Wall, usize)> = self.orders().filter_map(due).collect();
        due.sort_unstable();
        let mut sum = 0;
        let paces = due.into_iter().filter_map(|(at, left)| {
            sum += left;
            let hours = (at - now.at).as_secs_f64() / HOUR_S;
            (hours > 0.0).then(|| sum as f64 / hours)
        });
        paces.max_by(f64::total_cmp)
    }
}
