//! When everything under way will be done, as a plan sees it. Worked out elsewhere; shown on the board.

use super::Shop;
use super::moment::Moment;

/// What the last plan said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// When everything is done: in half of all draws, and in nine of ten. Wall clock, microseconds.
    pub likely: i64,
    pub latest: i64,
    /// Garments that it plans.
    pub garments: usize,
    /// What there is, and its share of the time that it is busy, the busiest first.
    pub busy: [(&'static str, f64); 3],
    /// The change that would save most, and seconds saved; None where none saves a minute.
    pub helps: Option<(&'static str, f64)>,
}

/// An order's due time against what is left of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Due {
    /// Wall clock, microseconds.
    pub at: i64,
    pub left: usize,
}

impl Shop {
    /// The earliest due time of an order that is not done, with all that is due by then.
    pub fn next_due(&self) -> Option<Due> {
        let due = |order: &super::order::Order| order.form.due?.at(self.zone());
        let at = self.orders().filter(|order| self.is_open(order)).filter_map(due).min()?;
        let by_then = self.orders().filter(|order| due(order).is_some_and(|due| due <= at));
        let left = by_then
            .flat_map(|order| self.garments_of(order.no))
            .filter(|garment| !garment.is_done())
            .count();
        Some(Due { at, left })
    }
}

impl Due {
    /// Garments an hour that would meet it; None once it has passed.
    #[expect(clippy::cast_precision_loss, reason = "some thousand garments, some weeks")]
    pub fn needed_pace(&self, now: Moment) -> Option<f64> {
        const HOUR_US: f64 = 3.6e9;
        let hours = (self.at - now.at) as f64 / HOUR_US;
        (hours > 0.0).then(|| self.left as f64 / hours)
    }
}
