//! What the last 24 hours brought, for the lead: finished garments with their moments, losses, what presses did.
//!
//! Kept beside the shop, not in it: nothing is decided by it. It is filled from the newest events of the journal and
//! then follows along.

use std::collections::{BTreeSet, VecDeque};
use std::time::Duration;

use super::Shop;
use super::fact::{Event, Fact};
use super::garment::{Place, Quality};
use super::ids::{ActNo, Tag};
use super::losses::Losses;
use super::moment::Moment;
use super::press_spans::PressSpans;
use super::tally::LEAST_S;
use super::trouble::Outcome;

/// How far back it reaches.
const A_DAY: Duration = Duration::from_secs(86_400);
/// So many events from the journal fill it: a long day's.
pub const EVENTS: u64 = 6000;

/// Something that happened to a garment.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Entry {
    moment: Moment,
    act: ActNo,
    garment: Tag,
}

/// The last 24 hours.
#[derive(Debug, Clone)]
pub struct DayBook {
    pub losses: Losses,
    pub spans: PressSpans,
    finished: VecDeque<Entry>,
    troubled: VecDeque<Entry>,
    /// Garments that left as no first quality.
    lost: VecDeque<Entry>,
}

impl Default for DayBook {
    fn default() -> Self {
        Self {
            losses: Losses::of_a_day(),
            spans: PressSpans::default(),
            finished: VecDeque::new(),
            troubled: VecDeque::new(),
            lost: VecDeque::new(),
        }
    }
}

impl DayBook {
    /// For a shop whose newest events are handed in next.
    pub fn begin(shop: &Shop) -> Self {
        let mut book = Self::default();
        if let Some(station) = shop.station() {
            book.spans.set_hands(station.hands);
        }
        book
    }

    /// Takes an event that the shop has applied already, a while ago or just now.
    pub fn take(&mut self, event: &Event, shop: &Shop) {
        self.losses.take(event, shop);
        self.spans.take(event, shop);
        let entry = |garment| Entry { moment: event.moment, act: event.act, garment };
        match &event.fact {
            Fact::PressOpened(fact) => {
                let done = shop.garment(fact.garment).is_some_and(|garment| {
                    garment.place == Place::Finished && garment.since_seq == event.seq
                });
                if done {
                    self.finished.push_back(entry(fact.garment));
                }
            }
            Fact::TroubleNoted(fact) => {
                self.troubled.push_back(entry(fact.garment));
                if matches!(fact.outcome, Outcome::Out | Outcome::SecondQuality) {
                    self.lost.push_back(entry(fact.garment));
                }
            }
            Fact::Undone(fact) => {
                for entries in [&mut self.finished, &mut self.troubled, &mut self.lost] {
                    entries.retain(|entry| entry.act != fact.undoes);
                }
            }
            _ => {}
        }
        for entries in [&mut self.finished, &mut self.troubled, &mut self.lost] {
            while entries.front().is_some_and(|entry| event.moment.since(entry.moment).span > A_DAY)
            {
                entries.pop_front();
            }
        }
    }

    /// How many garments were finished in a span that ended so long before `now`.
    pub fn finished(&self, now: Moment, span: Duration, before: Duration) -> usize {
        let ago = |entry: &Entry| now.since(entry.moment).span;
        let within = |entry: &&Entry| ago(entry) >= before && ago(entry) < before + span;
        self.finished.iter().filter(within).count()
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
        (!self.finished.is_empty()).then_some(pace)
    }

    /// Garments that came out right at once, of those that came out or were lost, since a moment of the wall clock.
    /// None before the first.
    pub fn first_pass(&self, shop: &Shop, since: i64) -> Option<(usize, usize)> {
        let of = |entries: &VecDeque<Entry>| -> BTreeSet<Tag> {
            entries.iter().filter(|one| one.moment.at >= since).map(|one| one.garment).collect()
        };
        let (finished, lost) = (of(&self.finished), of(&self.lost));
        let troubled: BTreeSet<Tag> = self.troubled.iter().map(|entry| entry.garment).collect();
        let first =
            |tag: &Tag| shop.garment(*tag).is_none_or(|garment| garment.quality == Quality::First);
        let good = finished.iter().filter(|tag| first(tag) && !troubled.contains(tag)).count();
        let all = finished.union(&lost).count();
        (all > 0).then_some((good, all))
    }
}
