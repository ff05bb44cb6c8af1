//! What the last 24 hours brought, for the lead: finished garments with their moments, losses, what presses did.
//!
//! Kept beside the shop, not in it: nothing is decided by it. It is filled from the newest events of the journal, which
//! the shop has long gone beyond, and then follows along: what it makes of an event must not depend on that.

use std::time::Duration;

use super::Shop;
use super::came_out::CameOut;
use super::fact::Event;
use super::losses::Losses;
use super::moment::Moment;
use super::press_spans::PressSpans;
use super::station::Station;
use super::tally::LEAST_S;

/// How far back it reaches.
const A_DAY: Duration = Duration::from_secs(86_400);
/// So many events from the journal fill it: a long day's.
pub const EVENTS: u64 = 6000;

/// The last 24 hours.
#[derive(Debug, Clone)]
pub struct DayBook {
    pub losses: Losses,
    pub spans: PressSpans,
    came_out: CameOut,
}

impl Default for DayBook {
    fn default() -> Self {
        Self {
            losses: Losses::of_a_day(),
            spans: PressSpans::default(),
            came_out: CameOut::of(A_DAY),
        }
    }
}

impl DayBook {
    /// For events that begin under this profile of the station.
    pub fn under(station: &Station) -> Self {
        let mut book = Self::default();
        book.spans.go_by(station);
        book.losses.set_hands(station.hands);
        book
    }

    /// Takes an event that the shop has applied already, a while ago or just now.
    pub fn take(&mut self, event: &Event, shop: &Shop) {
        self.losses.take(event, shop);
        self.spans.take(event, shop);
        self.came_out.take(event, shop);
    }

    /// How many garments were finished in a span that ended so long before `now`.
    pub fn finished(&self, now: Moment, span: Duration, before: Duration) -> usize {
        let ago = |moment: Moment| now.since(moment).span;
        let within = |moment: &Moment| ago(*moment) >= before && ago(*moment) < before + span;
        self.came_out.finishes().filter(within).count()
    }

    /// Garments an hour over the last half hour, or since the day's first garment was begun where that is less.
    /// None before anything is finished.
    pub fn pace(&self, now: Moment, begun: Option<i64>) -> Option<f64> {
        const HALF: Duration = Duration::from_secs(1800);
        let micros = begun.map_or(0, |begun| now.at.saturating_sub(begun));
        let since = Duration::from_micros(u64::try_from(micros).unwrap_or(0));
        let span = since.clamp(Duration::from_secs(LEAST_S.into()), HALF);
        let count = self.finished(now, span, Duration::ZERO);
        #[expect(clippy::cast_precision_loss, reason = "some dozens")]
        let pace = count as f64 * 3600.0 / span.as_secs_f64();
        self.came_out.has_any().then_some(pace)
    }

    /// Garments that came out right at once, of those that came out or were lost, since a moment of the wall clock.
    /// None before the first.
    pub fn first_pass(&self, shop: &Shop, since: i64) -> Option<(usize, usize)> {
        let (good, all) = self.came_out.first_pass(shop, since);
        (all > 0).then_some((good, all))
    }
}
