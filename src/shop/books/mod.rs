//! The books: everything that is counted from the acts that stand.
//!
//! A book takes the entries of the ledger in order and knows neither what was taken back nor what was corrected: those
//! never reach it (see `ledger.rs`). What an entry says was resolved when it was applied, so a book asks no shop.

pub mod beside;
mod chain;
pub mod coats;
pub mod drift;
pub mod entry;
pub mod finished;
pub mod groups;
pub mod hands;
pub mod ledger;
pub mod losses;
pub mod opening;
pub mod openings;
pub mod outlook;
pub mod press_spans;
pub mod production;
mod shared;
pub mod shift_report;
pub mod shifts;
pub mod sprayer;
pub mod tally;
pub mod turns;
pub mod used;

use serde::{Deserialize, Serialize};

use self::entry::Entry;
use self::finished::Finished;
use self::hands::HandBook;
use self::losses::Losses;
use self::press_spans::PressSpans;
use self::shifts::Shifts;
use self::sprayer::SprayerBook;

/// Something that is counted from the acts that stand.
pub trait Book {
    /// Takes the next entry.
    fn take(&mut self, entry: &Entry);
}

/// Ties each standing book's name to its type: what stands here is in the shop, in its snapshots, and held to the laws.
macro_rules! books {
    ($($(#[$doc:meta])* $name:ident: $book:ty),* $(,)?) => {
        /// The books that a shop keeps.
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
        pub struct Books {
            $($(#[$doc])* pub $name: $book),*
        }

        impl Book for Books {
            fn take(&mut self, entry: &Entry) {
                $(self.$name.take(entry);)*
            }
        }

        impl Books {
            /// Every book by its name, with all that is in it.
            pub fn contents(&self) -> Vec<(&'static str, String)> {
                vec![$((stringify!($name), format!("{:?}", self.$name))),*]
            }
        }
    };
}

books! {
    /// What was lost in the last 24 hours.
    losses: Losses,
    /// What the presses did in the last 24 hours.
    spans: PressSpans,
    /// What was finished in the last week.
    finished: Finished,
    shifts: Shifts,
    /// What hands take.
    hands: HandBook,
    /// What the sprayer has laid over the weeks.
    sprayer: SprayerBook,
}

/// Two books at once.
impl<A: Book, B: Book> Book for (A, B) {
    fn take(&mut self, entry: &Entry) {
        self.0.take(entry);
        self.1.take(entry);
    }
}

/// No book at all, for a history of which nothing is to be counted.
impl Book for () {
    fn take(&mut self, _: &Entry) {}
}
