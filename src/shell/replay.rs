//! A shop as its journal tells it: from the last snapshot that fits and the rows after it, else from all rows.
//!
//! The rows that are read are checked against their sums; those before the snapshot are `dwell check`'s to look at.

use std::collections::VecDeque;
use std::path::Path;
use std::sync::mpsc::{channel, sync_channel};

use super::journal::snapshot::{self, Snapshot};
use super::journal::{JournalError, Reader};
use crate::screen::ui::{MOST_PAST, keep};
use crate::shop::Shop;
use crate::shop::books::Book;
use crate::shop::books::ledger::Ledger;
use crate::shop::facts::fact::Event;
use crate::shop::facts::moment::Wall;

/// From so many rows on a second thread is worth its start.
const MANY: u64 = 20_000;
/// Events are handed over by so many at once, and so many times before the reading waits.
const BATCH: usize = 256;
const BATCHES: usize = 4;

/// A shop that has been told everything so far, and can be told what came since.
#[derive(Debug, Default)]
pub struct Replay {
    told: Snapshot,
}

impl Replay {
    /// Begins with the newest snapshot that holds no event of the wall clock's `before` or later.
    ///
    /// # Errors
    /// A journal that cannot be read.
    pub fn begin(data: &Path, reader: &Reader, before: Wall) -> Result<Self, JournalError> {
        Ok(Self { told: snapshot::load(data, reader, before)?.unwrap_or_default() })
    }

    /// The shop of a data directory as of now.
    ///
    /// # Errors
    /// A row that does not read or is not what was written.
    pub fn of(data: &Path, reader: &Reader) -> Result<Self, JournalError> {
        let mut replay = Self::begin(data, reader, Wall::LAST)?;
        replay.go_on(reader)?;
        Ok(replay)
    }

    /// The shop as far as it has been told.
    pub fn shop(&self) -> &Shop {
        &self.told.shop
    }

    /// The same, for good.
    pub fn into_shop(self) -> Shop {
        self.told.shop
    }

    /// Tells the shop what it does not know yet.
    ///
    /// # Errors
    /// A row that does not read or is not what was written.
    pub fn go_on(&mut self, reader: &Reader) -> Result<(), JournalError> {
        self.each(reader, Shop::apply)
    }

    /// The same with another ledger beside the shop's own.
    ///
    /// # Errors
    /// A row that does not read or is not what was written.
    pub fn go_on_for<B: Book + Clone + Send + Sync>(
        &mut self,
        reader: &Reader,
        ledger: &mut Ledger<B>,
    ) -> Result<(), JournalError> {
        self.each(reader, |shop, event| shop.apply_for(event, ledger))
    }

    fn each(
        &mut self,
        reader: &Reader,
        mut apply: impl FnMut(&mut Shop, &Event) + Send,
    ) -> Result<(), JournalError> {
        let Snapshot { shop, sum, latest } = &mut self.told;
        let (seq, before) = (shop.seq(), *sum);
        let mut take = |event: &Event, its_sum: i64| {
            apply(shop, event);
            (*sum, *latest) = (its_sum, event.moment.at.max(*latest));
        };
        if reader.last()?.0.saturating_sub(seq) < MANY {
            return reader.chained_after(seq, before, |event, sum| take(&event, sum));
        }
        // Reading and applying take about as long as each other: a long history is worth a thread.
        std::thread::scope(|threads| {
            let (sender, batches) = sync_channel::<Vec<(Event, i64)>>(BATCHES);
            // What was applied goes back to where it was made: memory is let go of cheaply only there.
            let (giver, applied) = channel();
            threads.spawn(move || {
                for batch in batches {
                    for (event, sum) in &batch {
                        take(event, *sum);
                    }
                    // The reading may have ended.
                    drop(giver.send(batch));
                }
            });
            let mut batch = Vec::with_capacity(BATCH);
            let read = reader.chained_after(seq, before, |event, sum| {
                batch.push((event, sum));
                if batch.len() == BATCH {
                    let mut empty: Vec<_> = applied.try_recv().unwrap_or_default();
                    empty.clear();
                    // It is taken in to the end: only a panic closes that end, and then the scope panics too.
                    drop(sender.send(std::mem::replace(&mut batch, empty)));
                }
            });
            drop(sender.send(batch));
            drop(sender);
            read
        })
    }
}

/// The last events that a screen keeps in mind, oldest first, as far as the shop has been told.
///
/// # Errors
/// A row that does not read.
pub fn lately(reader: &Reader, shop: &Shop) -> Result<VecDeque<Event>, JournalError> {
    let mut past = VecDeque::new();
    reader.events_after(shop.seq().saturating_sub(MOST_PAST as u64), |event| {
        if event.seq <= shop.seq() {
            keep(&mut past, event);
        }
    })?;
    Ok(past)
}
