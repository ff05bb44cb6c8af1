//! Acts that hands have done one after the other without a rest between: what ended meanwhile ended somewhere in there.
//!
//! A print that is done waits for hands that are busy. It ended after the chain was begun, for hands that rest would have
//! seen it, and most likely while the last act was done, for hands between two acts would have, too, if they looked: the
//! middle of the two is taken, measured on rehearsals to be neither too soon nor too late.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::entry::Done;
use crate::shop::facts::moment::Moment;

/// Hands that have been free for so long, and what they had to do besides, have waited.
pub const RESTED: Duration = Duration::from_secs(5);
/// Of what ended in a longer chain nothing is learned.
const LONGEST: Duration = Duration::from_secs(60);

/// A chain of acts.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Chain {
    /// When its first act was begun; None where nobody knows.
    began: Option<Moment>,
    /// What hands had to do for the last act until its key, and still have to do after it.
    before: Duration,
    after: Duration,
}

impl Chain {
    /// Takes an act in that was stated at a moment, where hands had been free since another.
    pub fn take(&mut self, done: &Done, free: Option<Moment>, at: Moment) {
        // Before its key, and after it; an opening is stated as the hands go in, a print as it is out.
        let (before, after) = match done {
            Done::Shut { load, .. } => (Some(*load), Duration::ZERO),
            Done::Opened(opened) => (Some(Duration::ZERO), opened.unload),
            Done::Handwork { hand_s, .. } => {
                (Duration::try_from_secs_f64(*hand_s).ok(), Duration::ZERO)
            }
            Done::Printed { hand_s, unload, .. } => {
                let both = Duration::try_from_secs_f64(*hand_s).unwrap_or_default();
                (Some(*unload), both.saturating_sub(*unload))
            }
            _ => (None, Duration::ZERO),
        };
        let rested = |free: Moment, before: Duration| {
            free.boot == at.boot && at.since(free).span > self.after + before + RESTED
        };
        match (before, free) {
            (Some(before), Some(free)) if rested(free, before) => {
                self.began = Some(at.minus(before))
            }
            (Some(_), Some(_)) => {}
            _ => self.began = None,
        }
        (self.before, self.after) = (before.unwrap_or_default(), after);
    }

    /// What hands still had to do after the last act's key.
    pub fn after(&self) -> Duration {
        self.after
    }

    /// How long before hands came free something ended that they found done then; None where that is not known.
    pub fn before_free(&self, free: Moment) -> Option<Duration> {
        let began = self.began.filter(|began| began.boot == free.boot)?;
        let lasted = free.since(began).span + self.after;
        (lasted <= LONGEST).then_some((lasted + self.before + self.after) / 4)
    }
}
