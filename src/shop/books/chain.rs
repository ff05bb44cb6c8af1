//! Acts that hands have done one after the other: what ended meanwhile ended somewhere in there.
//!
//! A print that is done waits for hands that are busy. Hands look for one before they load a press or spray, as the rule
//! has it, and while they rest: so it ended after the last time that they looked, most likely in the middle. What comes
//! before prints, an opening or a weight, looks for none.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::entry::Done;
use crate::shop::facts::moment::Moment;

/// Hands that have been free for so long, and what they had to do besides, have waited.
pub const RESTED: Duration = Duration::from_secs(5);
/// Of what ended in a longer chain nothing is learned.
const LONGEST: Duration = Duration::from_secs(180);

/// A chain of acts.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Chain {
    /// When hands last looked for a print that is done; None where nobody knows.
    looked: Option<Moment>,
    /// What hands still have to do after the last act's key.
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
        let free = free.filter(|free| free.boot == at.boot);
        let looks =
            matches!(done, Done::Shut { .. } | Done::Handwork { .. } | Done::Printed { .. });
        let rested = |before: Duration| {
            free.is_some_and(|free| at.since(free).span > self.after + before + RESTED)
        };
        match before {
            Some(before) if looks || rested(before) => self.looked = Some(at.minus(before)),
            _ if free.is_none() => self.looked = None,
            _ => {}
        }
        self.after = after;
    }

    /// What hands still had to do after the last act's key.
    pub fn after(&self) -> Duration {
        self.after
    }

    /// How long before hands came free something ended that they found done then; None where that is not known.
    pub fn before_free(&self, free: Moment) -> Option<Duration> {
        let looked = self.looked.filter(|looked| looked.boot == free.boot)?;
        let since = free.since(looked).span + self.after;
        (since <= LONGEST).then_some(since / 2)
    }
}
