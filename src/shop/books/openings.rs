//! The book of openings, for what is asked of one garment.

use std::collections::BTreeMap;

use super::Book;
use super::entry::{Done, Entry};
use super::opening::Opening;

/// Every opening, by the number of its event.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Openings(pub BTreeMap<u64, Opening>);

impl Book for Openings {
    fn take(&mut self, entry: &Entry) {
        if let Done::Opened(opened) = &entry.done {
            self.0.insert(entry.seq, opened.opening);
        }
    }
}
