//! Counting: what is finished, lost, under way, and at what pace.

use std::time::Duration;

use super::finished::Scope;
use crate::shop::Shop;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::order::Order;
use crate::shop::facts::step::Step;
use crate::shop::floor::counts::OfOrder;
use crate::shop::floor::garment::{Garment, Queue};
use crate::shop::floor::places::Floor;

const HOUR: Duration = Duration::from_secs(3600);
/// A pace over less than so many seconds says nothing.
pub(in crate::shop) const LEAST_S: u32 = 600;

/// The shop in numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    /// Garments finished since the start of the day.
    pub finished: usize,
    /// Those of them that are second quality.
    pub second: usize,
    /// Garments taken out since the start of the day.
    pub out: usize,
    /// Garments finished in the last hour.
    pub last_hour: usize,
    /// Garments finished an hour: over the last hour, or since the day's first finished press if that is
    /// less. None before anything is finished.
    pub per_hour: Option<f64>,
    /// Garments that have begun and are not done, those on the shelf left out.
    pub in_progress: usize,
    pub blanks: usize,
    pub shelf: usize,
}

/// What there is to do on a day: what is finished of it stays counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DaysWork {
    pub finished: usize,
    /// What was finished, what is still to be made of every order, and what was lost and nothing has replaced.
    pub all: usize,
    /// Whether it is counted since a shift began, else since midnight.
    pub of_shift: bool,
}

/// How far an order has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    pub ordered: usize,
    /// Finished as first quality, and still to be finished.
    pub done: usize,
    pub left: usize,
    /// At other stations, which go on with them.
    pub away: usize,
    /// Lost, and no blank has replaced them.
    pub short: usize,
}

impl Standing {
    /// Whether nothing is left to be done for it.
    pub fn is_fulfilled(&self) -> bool {
        self.left == 0 && self.short == 0 && self.away == 0
    }
}

/// Garments an hour over a stretch of time, a short one counted as ten minutes. None before anything is finished.
pub fn an_hour(finished: usize, span: Duration) -> Option<f64> {
    let seconds = span.as_secs_f64().max(LEAST_S.into());
    (finished > 0).then(|| finished as f64 * 3600.0 / seconds)
}

impl Floor {
    /// How far an order has come.
    pub fn standing(&self, order: &Order) -> Standing {
        let OfOrder { done, left, away, .. } = self.counted(order.id);
        let ordered = usize::try_from(order.form.count()).unwrap_or(usize::MAX);
        Standing { ordered, done, left, away, short: ordered.saturating_sub(done + left + away) }
    }
}

impl Shop {
    /// What there is to do on the day, or in the shift, that runs at `now`. An order that is fulfilled takes nothing out of
    /// it: what it had was finished, today or before.
    pub fn days_work(&self, now: Moment) -> DaysWork {
        let since = self.counted_since(now);
        let finished = self.books().finished.all(Scope::Since(since)).len();
        let open = self.orders().filter(|order| self.floor().is_open(order.id)).map(|order| {
            let Standing { left, short, .. } = self.floor().standing(order);
            let kept = if self.wants_from_shelf(order.id) {
                0
            } else {
                self.floor().count_of_order(Queue::Shelf, order.id)
            };
            (left + short).saturating_sub(kept)
        });
        let of_shift = self.today(now).begins(self.zone()) != Some(since);
        DaysWork { finished, all: finished + open.sum::<usize>(), of_shift }
    }

    /// Counts the shop at `now`; `since` is the moment from which it is counted.
    pub fn tally(&self, now: Moment, since: Wall) -> Tally {
        let floor = self.floor();
        let came_out = &self.books().finished;
        let all = came_out.all(Scope::Since(since));
        let finished = all.len();
        let last_hour = all.iter().filter(|(_, moment)| moment.at > now.at.minus(HOUR)).count();
        let second = all.iter().filter(|(tag, _)| floor.is_second(*tag)).count();
        Tally {
            finished,
            second,
            out: came_out.rejects(Scope::Since(since)),
            last_hour,
            per_hour: an_hour(last_hour, self.rate_over(now, since))
                .or((finished > 0).then_some(0.0)),
            in_progress: self.begun_not_done(),
            blanks: floor.count(Queue::Step(Step::PrePress)),
            shelf: floor.count(Queue::Shelf),
        }
    }

    /// The time over which the tally's rate goes: the last hour, or since the first garment was begun where that is
    /// less, at least ten minutes.
    pub fn rate_over(&self, now: Moment, since: Wall) -> Duration {
        let begun = self.day_began(since).unwrap_or(now.at.minus(HOUR));
        now.at.since(begun).clamp(Duration::from_secs(LEAST_S.into()), HOUR)
    }

    /// Garments an hour over the last half hour, or since the day's first garment was begun where that is less.
    /// None before anything is finished.
    pub fn pace(&self, now: Moment, begun: Option<Wall>) -> Option<f64> {
        const HALF: Duration = Duration::from_secs(1800);
        let since = begun.map_or(Duration::ZERO, |begun| now.at.since(begun));
        let span = since.clamp(Duration::from_secs(LEAST_S.into()), HALF);
        let finished = &self.books().finished;
        let count = finished.count(now, span, Duration::ZERO);
        #[expect(clippy::cast_precision_loss, reason = "some dozens")]
        let pace = count as f64 * 3600.0 / span.as_secs_f64();
        finished.has_any().then_some(pace)
    }

    /// When the day's first garment was begun, as far as it is kept in mind.
    pub fn day_began(&self, day: Wall) -> Option<Wall> {
        // Whoever began today has come to its place today: those who lie there longer need no look.
        let moved = self.floor().begun_and_moved_since(day);
        let in_press = self.loads().filter_map(|(_, load)| self.garment(load.garment));
        let began = moved.chain(in_press).filter_map(Garment::began);
        began.filter(|at| *at >= day).min()
    }

    fn begun_not_done(&self) -> usize {
        let floor = self.floor();
        let begun = |step| floor.count_of_begun(Queue::Step(step));
        let waiting: usize = Step::ALL.into_iter().map(begun).sum();
        waiting + floor.count(Queue::Undecided) + self.loads().count()
    }
}
