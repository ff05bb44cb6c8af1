//! A queue whose copies share what neither of them has changed: the books stand twice, as settled and as they are now,
//! and nearly everything in them is the same.

use std::collections::VecDeque;
use std::fmt;
use std::marker::PhantomData;
use std::sync::Arc;

use serde::de::{Deserializer, SeqAccess, Visitor};
use serde::ser::{SerializeSeq, Serializer};
use serde::{Deserialize, Serialize};

/// So many stand together, and are copied together once one of them changes.
const CHUNK: usize = 64;

/// A queue in chunks, each of them full but the last.
#[derive(Clone)]
pub struct Shared<T> {
    chunks: VecDeque<Arc<Vec<T>>>,
    /// How many of the first chunk have left the queue.
    gone: usize,
}

impl<T> Default for Shared<T> {
    fn default() -> Self {
        Self { chunks: VecDeque::new(), gone: 0 }
    }
}

impl<T: Copy> Shared<T> {
    pub fn len(&self) -> usize {
        let before = self.chunks.len().saturating_sub(1) * CHUNK;
        self.chunks.back().map_or(0, |last| before + last.len() - self.gone)
    }

    pub fn push_back(&mut self, one: T) {
        match self.chunks.back_mut().filter(|last| last.len() < CHUNK) {
            Some(last) => {
                let last = Arc::make_mut(last);
                // A chunk that was copied has room for what it held alone.
                last.reserve_exact(CHUNK - last.len());
                last.push(one);
            }
            None => {
                let mut chunk = Vec::with_capacity(CHUNK);
                chunk.push(one);
                self.chunks.push_back(Arc::new(chunk));
            }
        }
    }

    pub fn front(&self) -> Option<&T> {
        self.chunks.front()?.get(self.gone)
    }

    pub fn pop_front(&mut self) -> Option<T> {
        let one = *self.front()?;
        self.gone += 1;
        if self.chunks.front().is_some_and(|chunk| chunk.len() == self.gone) {
            self.chunks.pop_front();
            self.gone = 0;
        }
        Some(one)
    }

    /// All, the first first.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &T> {
        let mut chunks = self.chunks.iter();
        let first = chunks.next().map_or(&[][..], |chunk| &chunk[self.gone..]);
        first.iter().chain(chunks.flat_map(|chunk| chunk.iter()))
    }

    pub fn get_mut(&mut self, place: usize) -> Option<&mut T> {
        let place = self.gone.checked_add(place)?;
        Arc::make_mut(self.chunks.get_mut(place / CHUNK)?).get_mut(place % CHUNK)
    }

    /// Changes each that is meant; chunks without one stay shared.
    pub fn change(&mut self, meant: impl Fn(&T) -> bool, change: impl Fn(&mut T)) {
        for chunk in self.chunks.iter_mut().filter(|chunk| chunk.iter().any(&meant)) {
            Arc::make_mut(chunk).iter_mut().filter(|one| meant(one)).for_each(&change);
        }
    }
}

impl<T: Copy + PartialEq> PartialEq for Shared<T> {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

impl<T: Copy + fmt::Debug> fmt::Debug for Shared<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}

impl<T: Copy + Serialize> Serialize for Shared<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut all = serializer.serialize_seq(Some(self.len()))?;
        self.iter().try_for_each(|one| all.serialize_element(one))?;
        all.end()
    }
}

impl<'de, T: Copy + Deserialize<'de>> Deserialize<'de> for Shared<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Each<T>(PhantomData<T>);
        impl<'de, T: Copy + Deserialize<'de>> Visitor<'de> for Each<T> {
            type Value = Shared<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a sequence")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Shared<T>, A::Error> {
                let mut queue = Shared::default();
                while let Some(one) = seq.next_element()? {
                    queue.push_back(one);
                }
                Ok(queue)
            }
        }
        deserializer.deserialize_seq(Each(PhantomData))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a plain queue does, in every state of its chunks; copies change apart.
    #[test]
    fn it_is_a_queue_and_its_copies_are_their_own() {
        let (mut queue, mut plain) = (Shared::default(), VecDeque::new());
        let mut copies: Vec<(Shared<usize>, VecDeque<usize>)> = Vec::new();
        for n in 0..2000usize {
            match n * 2_654_435_761 % 11 {
                0..=2 => assert_eq!(queue.pop_front(), plain.pop_front()),
                3 => {
                    let place = n % (plain.len() + 1);
                    assert_eq!(queue.get_mut(place), plain.get_mut(place));
                    if let (Some(one), Some(other)) = (queue.get_mut(place), plain.get_mut(place)) {
                        (*one, *other) = (n, n);
                    }
                }
                4 => {
                    queue.change(|one| one % 7 == 3, |one| *one += 1);
                    plain.iter_mut().filter(|one| **one % 7 == 3).for_each(|one| *one += 1);
                }
                5 if n % 20 == 0 => copies.push((queue.clone(), plain.clone())),
                _ => {
                    queue.push_back(n);
                    plain.push_back(n);
                }
            }
            assert_eq!((queue.len(), queue.front()), (plain.len(), plain.front()));
        }
        copies.push((queue, plain));
        assert!(copies.len() > 3);
        for (queue, plain) in copies {
            assert!(queue.iter().eq(plain.iter()) && queue.iter().rev().eq(plain.iter().rev()));
            let bytes = postcard::to_stdvec(&queue).unwrap();
            assert_eq!(bytes, postcard::to_stdvec(&plain).unwrap());
            assert_eq!(postcard::from_bytes::<Shared<usize>>(&bytes).unwrap(), queue);
        }
    }
}
