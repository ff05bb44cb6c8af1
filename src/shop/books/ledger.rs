//! The ledger: the acts that stand, as far as they can still be taken back or corrected, over what is settled.
//!
//! The tail holds the entries of the acts that undo can still reach. Undo takes an act's entries out of it, a corrected
//! time amends them where they stand; what lies below is settled into the books for good. A book is shown entries alone,
//! so its content is that of the history in which what was undone never was, and what was corrected was right at once.

use std::collections::VecDeque;
use std::fmt;
use std::sync::OnceLock;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Book;
use super::entry::{Change, Correction, Entry};
use crate::shop::facts::ids::ActNo;

/// A correction that can itself still be taken back.
#[derive(Debug, Clone)]
struct Amendment {
    act: ActNo,
    corrects: ActNo,
    /// The entry as it was.
    before: Entry,
}

/// Some books, and the acts that they may still lose.
#[derive(Default)]
pub struct Ledger<B> {
    settled: B,
    tail: VecDeque<Entry>,
    amendments: VecDeque<Amendment>,
    /// The books with the tail: made when they are asked for, then carried along until an act is undone or corrected.
    present: OnceLock<Box<B>>,
    /// Entries that both have taken since `present` was made: what they do not share.
    apart: usize,
}

/// After so many entries the present books are made anew from the settled ones, with which they share nearly all then.
const APART: usize = 512;

impl<B: Book + Clone> Ledger<B> {
    /// Books that have taken everything so far.
    pub fn settled(books: B) -> Self {
        Self {
            settled: books,
            tail: VecDeque::new(),
            amendments: VecDeque::new(),
            present: OnceLock::new(),
            apart: 0,
        }
    }

    /// Takes in what an event changed; `oldest` is the oldest act that can still be taken back.
    pub fn take(&mut self, change: Change, oldest: Option<ActNo>) {
        match change {
            Change::Entered(entry) => {
                if let Some(present) = self.present.get_mut() {
                    present.take(&entry);
                }
                self.tail.push_back(entry);
            }
            Change::Undone(act) => self.undo(act),
            Change::Corrected(correction) => self.amend(&correction),
        }
        self.settle(oldest);
    }

    /// The books as they are now.
    pub fn now(&self) -> &B {
        self.present.get_or_init(|| {
            let mut books = self.settled.clone();
            self.tail.iter().for_each(|entry| books.take(entry));
            Box::new(books)
        })
    }

    /// The same, for good.
    pub fn into_now(self) -> B {
        let mut books = self.settled;
        self.tail.iter().for_each(|entry| books.take(entry));
        books
    }

    /// The entries of an act, while it can still be taken back or corrected.
    pub fn of_act(&self, act: ActNo) -> impl Iterator<Item = &Entry> {
        self.tail.iter().rev().filter(move |entry| entry.act == act)
    }

    /// Every entry that can still be taken back or corrected, the oldest first.
    pub fn tail(&self) -> impl Iterator<Item = &Entry> {
        self.tail.iter()
    }

    /// Their acts, the newest first.
    pub fn acts(&self) -> Vec<ActNo> {
        let mut acts: Vec<ActNo> = self.tail.iter().rev().map(|entry| entry.act).collect();
        acts.dedup();
        acts
    }

    /// Whether the time of an act has been corrected.
    pub fn is_corrected(&self, act: ActNo) -> bool {
        self.amendments.iter().any(|amendment| amendment.corrects == act)
    }

    /// The oldest act that a correction still hangs on.
    pub fn oldest_corrected(&self) -> Option<ActNo> {
        self.amendments.iter().map(|amendment| amendment.corrects).min()
    }

    fn undo(&mut self, act: ActNo) {
        self.tail.retain(|entry| entry.act != act);
        while let Some(Amendment { before, .. }) =
            self.amendments.pop_back_if(|amendment| amendment.act == act)
        {
            if let Some(entry) = self.tail.iter_mut().find(|entry| entry.seq == before.seq) {
                *entry = before;
            }
        }
        self.let_go_of_present();
    }

    fn amend(&mut self, correction: &Correction) {
        let corrects = correction.corrects;
        let its = |entry: &&mut Entry| correction.is_of(entry);
        for entry in self.tail.iter_mut().filter(its) {
            let before = entry.clone();
            self.amendments.push_back(Amendment { act: correction.act, corrects, before });
            entry.correct(correction);
        }
        self.let_go_of_present();
    }

    /// Lets the books take for good what can neither be undone nor corrected any more, nor get its old time back.
    fn settle(&mut self, oldest: Option<ActNo>) {
        let stays = |act: ActNo| oldest.is_some_and(|oldest| act >= oldest);
        while self.amendments.pop_front_if(|amendment| !stays(amendment.act)).is_some() {}
        let corrected = self.oldest_corrected();
        let settles = |entry: &mut Entry| {
            !stays(entry.act) && corrected.is_none_or(|corrected| entry.act < corrected)
        };
        while let Some(entry) = self.tail.pop_front_if(settles) {
            self.settled.take(&entry);
            self.apart += 1;
        }
        if self.apart >= APART {
            self.let_go_of_present();
        }
    }

    fn let_go_of_present(&mut self) {
        (self.present, self.apart) = (OnceLock::new(), 0);
    }
}

/// What can be made again is not copied.
impl<B: Clone> Clone for Ledger<B> {
    fn clone(&self) -> Self {
        let (settled, tail) = (self.settled.clone(), self.tail.clone());
        let amendments = self.amendments.clone();
        Self { settled, tail, amendments, present: OnceLock::new(), apart: 0 }
    }
}

impl<B: fmt::Debug> fmt::Debug for Ledger<B> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut all = f.debug_struct("Ledger");
        all.field("settled", &self.settled).field("tail", &self.tail);
        all.field("amendments", &self.amendments).finish()
    }
}

/// Kept as of a row that undo can no longer reach: all of it is settled then.
impl<B: Book + Clone + Serialize> Serialize for Ledger<B> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.now().serialize(serializer)
    }
}

impl<'de, B: Book + Clone + Deserialize<'de>> Deserialize<'de> for Ledger<B> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        B::deserialize(deserializer).map(Self::settled)
    }
}
