//! A long run that falls becomes a short one that breaks the same law.

use super::play::{Fallen, play};
use super::step::Step;
use super::store::Store;

/// For a story that is still shorter nobody wants to wait longer than so many runs take.
const MOST_RUNS: usize = 2000;

/// Leaves out whatever can be left out: halves, quarters, and so on down to single steps, until nothing more goes.
pub fn shrink<S: Store + 'static>(fallen: Box<Fallen>, store: impl Fn() -> S) -> Box<Fallen> {
    let mut runs = 0;
    let mut best = fallen;
    // The first time with every law after every step: it falls earlier then.
    if let Some(other) = falls(&best, best.done.clone(), &store) {
        best = other;
    }
    let mut part = best.done.len().div_ceil(2);
    while part > 0 && runs < MOST_RUNS {
        let mut from = 0;
        let mut shorter = false;
        while from < best.done.len() && runs < MOST_RUNS {
            runs += 1;
            let mut rest = best.done.clone();
            rest.drain(from..rest.len().min(from + part));
            match falls(&best, rest, &store) {
                Some(other) => {
                    best = other;
                    shorter = true;
                }
                None => from += part,
            }
        }
        if !(shorter && part == 1) {
            part /= 2;
        }
    }
    best
}

/// The run of these steps, if it breaks the same law.
fn falls<S: Store + 'static>(
    best: &Fallen,
    steps: Vec<Step>,
    store: impl Fn() -> S,
) -> Option<Box<Fallen>> {
    let fallen = play(steps.into_iter(), store(), 1).err()?;
    (fallen.broken.law == best.broken.law).then_some(fallen)
}
