//! What one station has written, as the hub's rows tell it: checked by us, and replayed into a shop.
//!
//! Nothing here asks a server: heads and rows go in, what to ask for next comes out. The hub is believed in nothing
//! that can be checked: every row must follow the one before by the sum that the station itself gave it, across its
//! lives too. A life goes on from a row of an earlier one; what the earlier life had after that row does not count for
//! the shop that stands, and is counted as left out.
//!
//! A hub may fall back behind what was read, as after a fail-over: then nothing is read until it has come up again, and
//! the row that was read last must be there as it was. Another one in its place is another history, and is said.

use crate::shell::journal::row::{FIRST_SUM, Stored};
use crate::shop::Shop;
use crate::shop::facts::fact::Event;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::moment::{Boot, Moment, Wall};

/// Where a station's history on the hub ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    pub station: StationId,
    /// The life that writes.
    pub life: i32,
    /// Its last row, and that row's sum.
    pub upto: u64,
    pub sum: i64,
    /// When the hub heard of the station last, by the hub's clock; None: never.
    pub heard: Option<Wall>,
    /// All lives, the first one first.
    pub lives: Vec<Life>,
}

/// A life of a station, and the row of an earlier one from which it goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Life {
    pub no: i32,
    pub after: u64,
    pub after_sum: i64,
    /// The last row that it wrote.
    pub last: u64,
}

/// A row of the hub: that of a journal, and the life that wrote it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub life: i32,
    pub stored: Stored,
}

/// Which rows are to be asked for: those of a life from one to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    pub station: StationId,
    pub life: i32,
    /// The first one wanted. It may be one that was read already: it says whether the history is still the same.
    pub from: u64,
    /// The last one that counts.
    pub to: u64,
}

/// What is wrong with a station's history on the hub.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    #[error(
        "row {seq} of station {station} on the hub is not what was written: its sum is wrong. Look whether the journal at \
         station {station} is whole: dwell check"
    )]
    Sum { station: StationId, seq: u64 },
    #[error("row {seq} of station {station} on the hub does not read: {reason}")]
    Unread { station: StationId, seq: u64, reason: String },
    #[error("the hub has no row {missing} of station {station}, but later ones")]
    Gap { station: StationId, missing: u64 },
    #[error(
        "row {seq} of station {station} on the hub is another one than was read before: the hub has another history. \
         Start again to see that one"
    )]
    Another { station: StationId, seq: u64 },
}

/// A stretch of a history that counts: rows of a life after one and up to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stretch {
    life: i32,
    after: u64,
    after_sum: i64,
    upto: u64,
}

/// One station's history, as far as it was read.
#[derive(Debug)]
pub struct Mirror {
    station: StationId,
    head: Head,
    shop: Shop,
    /// The last row that was read, its sum and its life.
    seq: u64,
    sum: i64,
    life: i32,
    /// By how much the hub's clock is ahead of the station's, in microseconds: the least that was seen between a row's
    /// moment and the hub's hearing of it.
    ahead: Option<i64>,
    fault: Option<Fault>,
}

impl Mirror {
    /// A station of which nothing was read yet.
    pub fn new(head: Head) -> Self {
        let (station, life) = (head.station, head.lives.first().map_or(head.life, |life| life.no));
        let (shop, sum) = (Shop::default(), FIRST_SUM);
        Self { station, head, shop, seq: 0, sum, life, ahead: None, fault: None }
    }

    /// Which station it is.
    pub fn station(&self) -> StationId {
        self.station
    }

    /// Where the hub's history of it ends.
    pub fn head(&self) -> &Head {
        &self.head
    }

    /// The shop, as far as it was read.
    pub fn shop(&self) -> &Shop {
        &self.shop
    }

    /// The last row that was read.
    pub fn seq(&self) -> u64 {
        self.seq
    }

    /// What is wrong, once something is: nothing is read from then on.
    pub fn fault(&self) -> Option<&Fault> {
        self.fault.as_ref()
    }

    /// How many rows were read that the hub does not have, since it fell back.
    pub fn missing_there(&self) -> u64 {
        self.seq.saturating_sub(self.head.upto)
    }

    /// How many rows of earlier lives do not count: a later one went on from before them.
    pub fn left_out(&self) -> u64 {
        let mut left_out = 0;
        let mut counts_upto = u64::MAX;
        for life in self.head.lives.iter().rev() {
            // Where it began after what counts of it, none of its own rows counts.
            left_out += life.last.saturating_sub(counts_upto.max(life.after));
            counts_upto = counts_upto.min(life.after);
        }
        left_out
    }

    /// Takes in where the history ends now. What was read stays where it still counts; where a life has begun before
    /// the last row that was read, all is read again.
    pub fn hear(&mut self, head: Head) {
        if self.fault.is_some() {
            self.head = head;
            return;
        }
        let began_before = |life: &Life| life.no > self.life && life.after < self.seq;
        let known = |life: &Life| self.head.lives.iter().find(|one| one.no == life.no).copied();
        let differs = |life: &&Life| {
            let start = |life: &Life| (life.after, life.after_sum);
            life.no <= self.life && known(life).is_some_and(|known| start(&known) != start(life))
        };
        if let Some(other) = head.lives.iter().find(differs) {
            self.fault = Some(Fault::Another { station: self.station, seq: other.after + 1 });
        } else if head.lives.iter().any(began_before) {
            let heard = std::mem::replace(self, Self::new(head));
            self.ahead = heard.ahead;
            return;
        } else if self.is_another(&head) {
            self.fault = Some(Fault::Another { station: self.station, seq: self.seq });
        }
        self.head = head;
        self.hears_the_clock();
    }

    /// Whether a head alone says that the history is another one: at the last row that was read, or that a life is not
    /// there any more and an earlier one has written on.
    fn is_another(&self, head: &Head) -> bool {
        let ends_here = head.life == self.life && head.upto == self.seq;
        ends_here && head.sum != self.sum || head.life < self.life && head.upto > self.seq
    }

    /// Which rows are to be asked for next; None where all was read, where the hub is behind, or something is wrong.
    pub fn wanted(&self) -> Option<Wanted> {
        if self.fault.is_some() || self.head.upto <= self.seq {
            return None;
        }
        let stretch = self.stretches().into_iter().find(|stretch| stretch.upto > self.seq)?;
        // The row that was read last is asked for again: it says whether the history is still the same.
        let again = self.seq > stretch.after && stretch.life == self.life;
        let from = if again { self.seq } else { self.seq + 1 };
        Some(Wanted { station: self.station, life: stretch.life, from, to: stretch.upto })
    }

    /// Takes rows in that were asked for, and hands on each that is new and is what was written, with its event.
    ///
    /// # Errors
    /// The first row that is not: those before it are in the shop, and nothing more is read.
    pub fn take(
        &mut self,
        rows: &[Row],
        mut each: impl FnMut(&Stored, &Event),
    ) -> Result<(), Fault> {
        for row in rows {
            let Some(event) = self.checked(row).inspect_err(|fault| {
                self.fault = Some(fault.clone());
            })?
            else {
                continue;
            };
            self.shop.apply(&event);
            (self.seq, self.sum, self.life) = (event.seq, row.stored.sum, row.life);
            each(&row.stored, &event);
        }
        self.hears_the_clock();
        Ok(())
    }

    /// The event of a row; None of the one that was read last.
    fn checked(&self, row: &Row) -> Result<Option<Event>, Fault> {
        let (station, stored) = (self.station, &row.stored);
        let seq = u64::try_from(stored.seq).unwrap_or(0);
        if seq == self.seq {
            return match stored.sum == self.sum {
                true => Ok(None),
                false => Err(Fault::Another { station, seq }),
            };
        }
        if seq != self.seq + 1 {
            return Err(Fault::Gap { station, missing: self.seq + 1 });
        }
        if row.life != self.life {
            let begins = self.stretches().into_iter().find(|stretch| stretch.life == row.life);
            let fits = |begins: Stretch| (begins.after, begins.after_sum) == (self.seq, self.sum);
            if !begins.is_some_and(fits) {
                return Err(Fault::Another { station, seq: self.seq });
            }
        }
        if stored.station != station.to_string() || stored.chained(self.sum) != stored.sum {
            return Err(Fault::Sum { station, seq });
        }
        let unread = |reason: crate::shell::journal::JournalError| Fault::Unread {
            station,
            seq,
            reason: reason.to_string(),
        };
        stored.event().map(Some).map_err(unread)
    }

    /// The stretches of the lives that make up the history that counts, in order.
    fn stretches(&self) -> Vec<Stretch> {
        let mut upto = self.head.upto;
        let mut all = Vec::new();
        for life in self.head.lives.iter().rev().filter(|life| life.no <= self.head.life) {
            if life.after < upto {
                let Life { no, after, after_sum, .. } = *life;
                all.push(Stretch { life: no, after, after_sum, upto });
                upto = after;
            }
        }
        all.reverse();
        all
    }

    /// The moment at the station, when the hub's clock shows `hub`: its last row's, and what has gone by since. A
    /// made-up shift stands still at its last row. None where nothing was read.
    pub fn now(&self, hub: Wall) -> Option<Moment> {
        let newest = self.shop.newest()?;
        if newest.boot == Boot::MADE_UP {
            return Some(newest);
        }
        let there = Wall(hub.0.saturating_sub(self.ahead.unwrap_or(0)));
        Some(newest.plus(there.since(newest.at)))
    }

    /// A row that was long on its way says nothing of the clocks: the least that lay between counts.
    fn hears_the_clock(&mut self) {
        if let (true, Some(heard), Some(newest)) =
            (self.seq == self.head.upto, self.head.heard, self.shop.newest())
        {
            let ahead = heard.0.saturating_sub(newest.at.0);
            self.ahead = Some(self.ahead.map_or(ahead, |before| before.min(ahead)));
        }
    }
}

#[cfg(test)]
mod tests;
