//! What was saved last, kept in mind: for a disk that comes back without some of it, and to know the journal by.

use std::collections::VecDeque;
use std::path::Path;

use super::{JournalError, Reader};
use crate::shop::facts::fact::Event;

/// How many saved events are kept in mind.
pub(super) const KEPT: usize = 500;

/// The most of them, however long a reader keeps the log from going into the file: some days of work.
const MOST: usize = 20_000;

/// The last events that were saved, oldest first, each with its sum.
pub(super) struct Saved {
    /// The sum of the row before them.
    before: i64,
    events: VecDeque<(Event, i64)>,
}

impl Saved {
    /// Nothing but the sum of the last row.
    pub fn upto(sum: i64) -> Self {
        Self { before: sum, events: VecDeque::new() }
    }

    /// The last events of a journal, where that can be read.
    pub fn last_of(data: &Path, upto: u64, sum: i64) -> Self {
        let first = upto.saturating_sub(KEPT as u64);
        let read = || -> Result<Option<Self>, JournalError> {
            let Some(reader) = Reader::open(data)? else { return Ok(None) };
            let Some(before) = reader.sum_of(first)? else { return Ok(None) };
            let mut saved = Self::upto(before);
            reader.chained_after(first, before, |event, sum| {
                if event.seq <= upto {
                    saved.events.push_back((event, sum));
                }
            })?;
            Ok(Some(saved).filter(|saved| saved.sum() == sum))
        };
        read().unwrap_or_default().unwrap_or_else(|| Self::upto(sum))
    }

    /// Whether there was a row with this number and this sum.
    pub fn knows(&self, seq: u64, sum: i64) -> bool {
        self.sum_at(seq) == Some(sum)
    }

    fn sum_at(&self, seq: u64) -> Option<i64> {
        let first = self.events.front().map(|(event, _)| event.seq)?;
        match seq.checked_sub(first) {
            None => (seq + 1 == first).then_some(self.before),
            Some(at) => self.events.get(usize::try_from(at).ok()?).map(|(_, sum)| *sum),
        }
    }

    /// The sum of the last row.
    pub fn sum(&self) -> i64 {
        self.events.back().map_or(self.before, |(_, sum)| *sum)
    }

    /// Keeps these too, and lets go of the oldest beyond so many; never of the last `KEPT`.
    pub fn keep(&mut self, saved: impl Iterator<Item = (Event, i64)>, at_least: usize) {
        self.events.extend(saved);
        while self.events.len() > at_least.clamp(KEPT, MOST) {
            if let Some((_, sum)) = self.events.pop_front() {
                self.before = sum;
            }
        }
    }

    /// Forgets and returns the events after a row with this sum; None where no such row is known.
    pub fn take_after(&mut self, there: u64, sum: i64) -> Option<Vec<Event>> {
        let stay = self.events.partition_point(|(event, _)| event.seq <= there);
        let its = stay.checked_sub(1).map_or(self.before, |last| self.events[last].1);
        (its == sum).then(|| self.events.drain(stay..).map(|(event, _)| event).collect())
    }
}
