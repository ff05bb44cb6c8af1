//! What became of the nightly check and copy of the journal.

use std::time::Duration;

use super::Board;
use crate::screen::words;
use crate::shell::nightly::Night;
use crate::shop::facts::moment::Moment;

/// A copy older than that means that a night was left out.
const OLD: Duration = Duration::from_secs(36 * 3600);
/// Where its log is read.
const SEE: &str = "journalctl -u dwell-nightly says more";

impl Board {
    /// The note of the last night was read.
    pub(super) fn hear_of_night(&mut self, night: Option<Night>) {
        let zone = &self.ui.zone;
        let good = night.as_ref().filter(|night| night.wrong.is_none());
        self.ui.night = good.map(|night| {
            let when = words::day_and_clock(night.at, zone);
            format!("checked and copied {when} to {}", night.copy)
        });
        self.night = Some(night);
    }

    /// What is wrong with the last night; nothing where no job is set up.
    pub(super) fn night_banner(&self, now: Moment) -> Option<String> {
        let zone = &self.ui.zone;
        let when = |night: &Night| words::day_and_clock(night.at, zone);
        match self.night.as_ref()? {
            None => Some(format!("NO NIGHTLY COPY YET: {SEE}")),
            Some(night @ Night { wrong: Some(reason), .. }) => {
                Some(format!("NIGHTLY COPY FAILED {}: {reason}", when(night)))
            }
            // By a clock that is wrong nothing is old.
            Some(night) => {
                let old = now.at.since(night.at) > OLD && !self.shop.clock_is_wrong(now);
                old.then(|| format!("NO NIGHTLY COPY since {}: {SEE}", when(night)))
            }
        }
    }
}
