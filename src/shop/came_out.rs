//! What came out: garments that were finished, those that had a trouble, those that were lost.
//!
//! Whatever it says of an event follows from that event and what never changes, not from what became of the garment
//! since: told of the same events later, it says the same.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::time::Duration;

use super::Shop;
use super::fact::{Event, Fact};
use super::garment::Quality;
use super::ids::{ActNo, Tag};
use super::moment::Moment;
use super::trouble::Outcome;

/// Something that happened to a garment.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Entry {
    moment: Moment,
    act: ActNo,
    garment: Tag,
    /// The act by which it holds no longer: what was finished is cured again, or was put out.
    ended: Option<ActNo>,
}

/// Finished, troubled and lost garments.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CameOut {
    /// How long entries are kept; None: for ever.
    keeps: Option<Duration>,
    finished: VecDeque<Entry>,
    troubled: VecDeque<Entry>,
    /// Garments that left as no first quality.
    lost: VecDeque<Entry>,
}

impl CameOut {
    /// Keeps entries for so long.
    pub fn of(keeps: Duration) -> Self {
        Self { keeps: Some(keeps), ..Self::default() }
    }

    /// Takes an event that the shop has applied already, a while ago or just now.
    pub fn take(&mut self, event: &Event, shop: &Shop) {
        let entry = |garment| {
            let (moment, act) = (event.moment, event.act);
            Entry { moment, act, garment, ended: None }
        };
        match &event.fact {
            Fact::PressOpened(fact) if shop.was_finished_by(event, fact) => {
                self.finished.push_back(entry(fact.garment));
            }
            Fact::TroubleNoted(fact) => {
                self.troubled.push_back(entry(fact.garment));
                if matches!(fact.outcome, Outcome::Out | Outcome::SecondQuality) {
                    self.lost.push_back(entry(fact.garment));
                }
                if matches!(fact.outcome, Outcome::Out | Outcome::StepAgain) {
                    let its = |entry: &&mut Entry| entry.garment == fact.garment;
                    for finish in self.finished.iter_mut().filter(its) {
                        finish.ended.get_or_insert(event.act);
                    }
                }
            }
            Fact::Undone(fact) => {
                for entries in self.all() {
                    entries.retain(|entry| entry.act != fact.undoes);
                }
                for finish in &mut self.finished {
                    finish.ended.take_if(|act| *act == fact.undoes);
                }
            }
            _ => {}
        }
        let Some(keeps) = self.keeps else { return };
        for entries in self.all() {
            while entries.front().is_some_and(|entry| event.moment.since(entry.moment).span > keeps)
            {
                entries.pop_front();
            }
        }
    }

    fn all(&mut self) -> [&mut VecDeque<Entry>; 3] {
        [&mut self.finished, &mut self.troubled, &mut self.lost]
    }

    /// The moments at which garments were finished that still are, oldest first; of each garment the last.
    pub fn finished(&self) -> Vec<(Tag, Moment)> {
        let newest: BTreeMap<Tag, usize> = (0..)
            .zip(&self.finished)
            .filter(|(_, entry)| entry.ended.is_none())
            .map(|(n, entry)| (entry.garment, n))
            .collect();
        let mut order: Vec<usize> = newest.into_values().collect();
        order.sort_unstable();
        let told = |entry: &Entry| (entry.garment, entry.moment);
        order.into_iter().filter_map(|n| self.finished.get(n)).map(told).collect()
    }

    /// When something was finished that still is, oldest first.
    pub fn finishes(&self) -> impl DoubleEndedIterator<Item = Moment> {
        self.finished.iter().filter(|entry| entry.ended.is_none()).map(|entry| entry.moment)
    }

    /// Garments that came out right at once, of those that came out or were lost, since a moment of the wall clock.
    pub fn first_pass(&self, shop: &Shop, since: i64) -> (usize, usize) {
        let tags = |entries: &VecDeque<Entry>| -> BTreeSet<Tag> {
            let counts = |entry: &&Entry| entry.moment.at >= since && entry.ended.is_none();
            entries.iter().filter(counts).map(|entry| entry.garment).collect()
        };
        let (finished, lost) = (tags(&self.finished), tags(&self.lost));
        let troubled: BTreeSet<Tag> = self.troubled.iter().map(|entry| entry.garment).collect();
        let first =
            |tag: &Tag| shop.garment(*tag).is_none_or(|garment| garment.quality == Quality::First);
        let good = finished.iter().filter(|tag| first(tag) && !troubled.contains(tag)).count();
        (good, finished.union(&lost).count())
    }

    /// Whether anything was finished that still is.
    pub fn has_any(&self) -> bool {
        self.finishes().next().is_some()
    }
}
