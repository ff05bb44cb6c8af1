//! The platen and the pressure of a press: probed, tested with strips of paper, and due again.

use std::time::Duration;

use crate::shop::Shop;
use crate::shop::facts::fact::{PlatenChecked, PressureChecked};
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Moment;

/// The corners of a platen in the order in which strips are noted.
pub const CORNERS: [&str; 4] = ["back left", "back right", "front left", "front right"];

/// Why a platen wants its probe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProbeDue {
    Never,
    /// So long ago.
    Old(Duration),
    /// The dial has been turned since.
    OtherDial,
}

impl Shop {
    /// What the last probe of a press's platen said.
    pub fn probe(&self, press: PressNo) -> Option<&PlatenChecked> {
        self.presses.get(&press)?.probed.as_deref().map(|(_, fact)| fact)
    }

    /// When a press's platen was last probed.
    pub fn probed_at(&self, press: PressNo) -> Option<Moment> {
        self.presses.get(&press)?.probed.as_deref().map(|(at, _)| *at)
    }

    /// What the last strips of paper under a press said, and when.
    pub fn strips(&self, press: PressNo) -> Option<&(Moment, PressureChecked)> {
        self.presses.get(&press)?.strips.as_ref()
    }

    /// Whether a press's platen wants its probe: never probed, longer ago than the station allows, or at
    /// another dial.
    pub fn probe_due(&self, press: PressNo, now: Moment) -> Option<ProbeDue> {
        let every = self.station()?.platen.check_every.0;
        let Some((at, fact)) = self.presses.get(&press).and_then(|p| p.probed.as_deref()) else {
            return Some(ProbeDue::Never);
        };
        let ago = now.since(*at).span;
        if self.setting(press).is_some_and(|set| set.dial != fact.dial) {
            return Some(ProbeDue::OtherDial);
        }
        (ago > every).then_some(ProbeDue::Old(ago))
    }
}
