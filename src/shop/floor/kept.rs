//! The whole shop as bytes and back, for a snapshot of it.
//!
//! The before-images of undo are left out: they come back as the events after the snapshot are applied, so a
//! snapshot is taken as of an event that undo can no longer reach.

use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

use serde::de::{Deserializer, SeqAccess, Visitor};
use serde::ser::Serializer;
use serde::{Deserialize, Serialize};

use super::garment::Garment;
use super::places::Floor;
use crate::shop::Shop;

/// A shop that could not be turned into bytes, or bytes that are none.
#[derive(Debug, thiserror::Error)]
pub enum NotKept {
    #[error("{0}")]
    Bytes(#[from] postcard::Error),
    #[error("{0} bytes too many")]
    TooLong(usize),
}

impl Shop {
    /// The newest event that no undo can reach any more. A shop as of it becomes this one, before-images and
    /// all, once the events after it are applied.
    ///
    /// For every act that was taken back after this event came after it too: it lay above the oldest act of the
    /// trail, which is the next one. And so did every act that was corrected, unless its correction is settled with it.
    pub fn beyond_undo(&self) -> u64 {
        let next = self.trail.oldest().into_iter().chain(self.ledger.oldest_corrected()).min();
        next.map_or(self.seq, |act| act.0.saturating_sub(1))
    }

    /// The shop as bytes, without its trail of before-images.
    ///
    /// # Errors
    /// A part that has no such form.
    pub fn to_bytes(&self) -> Result<Vec<u8>, NotKept> {
        Ok(postcard::to_stdvec(self)?)
    }

    /// The shop that these bytes were made of, with nothing that could be undone.
    ///
    /// # Errors
    /// Bytes of another shape.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, NotKept> {
        match postcard::take_from_bytes(bytes)? {
            (shop, []) => Ok(shop),
            (_, rest) => Err(NotKept::TooLong(rest.len())),
        }
    }
}

/// Who waits where follows from the garments: only they are kept.
impl Serialize for Floor {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let garments: Vec<&Garment> = self.all().collect();
        garments.serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Floor {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(Garments)
    }
}

/// Takes garments in one by one, and keeps the names of stacks, which thousands have in common, once.
struct Garments;

impl<'de> Visitor<'de> for Garments {
    type Value = Floor;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("garments")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut given: A) -> Result<Floor, A::Error> {
        let mut stacks: BTreeSet<Arc<str>> = BTreeSet::new();
        let mut garments = Vec::new();
        while let Some(mut garment) = given.next_element::<Garment>()? {
            if let Some(shelved) = garment.shelved.as_deref_mut() {
                match stacks.get(&shelved.stack) {
                    Some(known) => shelved.stack = Arc::clone(known),
                    None => drop(stacks.insert(Arc::clone(&shelved.stack))),
                }
            }
            garments.push(garment);
        }
        Ok(Floor::with(garments))
    }
}
