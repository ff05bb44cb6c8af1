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

impl Row {
    /// Its number; 0, which no row has, where it has none.
    pub fn seq(&self) -> u64 {
        u64::try_from(self.stored.seq).unwrap_or(0)
    }
}

/// Which rows are to be asked for: those of the history that counts, after a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    pub station: StationId,
    pub after: u64,
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
    /// The least that lay between a row's moment and the hub's hearing of the station, in microseconds: by no more is
    /// the hub's clock ahead of the station's. Of all rows, and of those that came while they were waited for.
    ahead_at_most: Option<i64>,
    ahead_lately: Option<i64>,
    /// Whether the head tells of rows that came while all before them had been read.
    is_prompt: bool,
    fault: Option<Fault>,
}

impl Mirror {
    /// A station of which nothing was read yet.
    pub fn new(head: Head) -> Self {
        let (station, life) = (head.station, head.lives.first().map_or(head.life, |life| life.no));
        let (shop, sum) = (Shop::default(), FIRST_SUM);
        Self {
            station,
            head,
            shop,
            seq: 0,
            sum,
            life,
            ahead_at_most: None,
            ahead_lately: None,
            is_prompt: false,
            fault: None,
        }
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

    /// The sum of that row.
    pub fn sum(&self) -> i64 {
        self.sum
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
            let before = std::mem::replace(self, Self::new(head));
            (self.ahead_at_most, self.ahead_lately) = (before.ahead_at_most, before.ahead_lately);
            return;
        } else if self.is_another(&head) {
            self.fault = Some(Fault::Another { station: self.station, seq: self.seq });
        }
        self.is_prompt = self.seq > 0 && self.head.upto == self.seq && head.upto > self.seq;
        self.head = head;
        self.hear_clock();
    }

    /// Whether a head alone says that the history is another one: at the last row that was read, or that a life is not
    /// there any more and an earlier one has written on.
    fn is_another(&self, head: &Head) -> bool {
        let ends_here = head.life == self.life && head.upto == self.seq;
        ends_here && head.sum != self.sum || head.life < self.life && head.upto > self.seq
    }

    /// Which rows are to be asked for next; None where all was read, where the hub is behind, or something is wrong. The
    /// row that was read last is among them: it says whether the history is still the same.
    pub fn wanted(&self) -> Option<Wanted> {
        let wants = self.fault.is_none() && self.head.upto > self.seq;
        wants.then(|| Wanted { station: self.station, after: self.seq.saturating_sub(1) })
    }

    /// Takes rows in that were asked for, and hands on each that is new and is what was written, with its event.
    ///
    /// # Errors
    /// The first row that is not: those before it are in the shop, and nothing more is read.
    pub fn take(&mut self, rows: &[Row], mut each: impl FnMut(&Row, &Event)) -> Result<(), Fault> {
        let (life, upto) = (self.head.life, self.head.upto);
        // What was written after the head was asked for comes with the next head.
        for row in rows.iter().take_while(|row| row.life <= life && row.seq() <= upto) {
            let Some(event) = self.checked(row).inspect_err(|fault| {
                self.fault = Some(fault.clone());
            })?
            else {
                continue;
            };
            self.shop.apply(&event);
            (self.seq, self.sum, self.life) = (event.seq, row.stored.sum, row.life);
            each(row, &event);
        }
        self.hear_clock();
        Ok(())
    }

    /// The event of a row; None of the one that was read last.
    fn checked(&self, row: &Row) -> Result<Option<Event>, Fault> {
        let (station, stored, seq) = (self.station, &row.stored, row.seq());
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
            let begins = self.head.lives.iter().find(|life| life.no == row.life);
            let fits = |begins: &Life| (begins.after, begins.after_sum) == (self.seq, self.sum);
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

    /// The moment at the station, when the hub's clock shows `hub`: its last row's, and what has gone by since. A
    /// made-up shift stands still at its last row. None where nothing was read.
    pub fn now(&self, hub: Wall) -> Option<Moment> {
        let newest = self.shop.newest()?;
        if newest.boot == Boot::MADE_UP {
            return Some(newest);
        }
        let there = Wall(hub.0.saturating_sub(self.ahead()));
        Some(newest.plus(there.since(newest.at)))
    }

    /// By how much the hub's clock is taken to be ahead of the station's, in microseconds. A row may be long on its
    /// way, so that what lies between says little: the clocks are taken to agree, unless the station heard of something
    /// after the hub did, or rows that were waited for come with moments long gone.
    fn ahead(&self) -> i64 {
        const AGREES: i64 = 60_000_000;
        let lately = self.ahead_lately.filter(|ahead| *ahead > AGREES);
        lately.unwrap_or_else(|| self.ahead_at_most.map_or(0, |most| most.min(0)))
    }

    fn hear_clock(&mut self) {
        let (Some(heard), Some(newest)) = (self.head.heard, self.shop.newest()) else { return };
        if self.seq != self.head.upto {
            return;
        }
        let between = heard.0.saturating_sub(newest.at.0);
        let least =
            |before: Option<i64>| Some(before.map_or(between, |before| before.min(between)));
        self.ahead_at_most = least(self.ahead_at_most);
        if std::mem::take(&mut self.is_prompt) {
            self.ahead_lately = least(self.ahead_lately);
        }
    }
}

#[cfg(test)]
mod tests;
