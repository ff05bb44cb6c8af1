//! The shop's own calendar, and whether the machine's clock can be believed.

use std::time::Duration;

use jiff::tz::TimeZone;

use crate::shop::Shop;
use crate::shop::facts::day::{Day, Zone};
use crate::shop::facts::moment::{Boot, Moment, Wall};

impl Shop {
    /// The shop's own time zone, as the shell has found it; UTC until then.
    pub fn zone(&self) -> &TimeZone {
        &self.zone.0
    }

    /// Says in which zone the shop lies. No fact: the profile that names it is one.
    pub fn set_zone(&mut self, zone: TimeZone) {
        self.zone = Zone(zone);
    }

    /// The day of the shop's calendar.
    pub fn today(&self, now: Moment) -> Day {
        Day::of(now, self.zone())
    }

    /// Whether the wall clock is plainly wrong: before any honest machine's, or before what was recorded already.
    /// One that has gone back stays in doubt until it has caught up, or the machine has been started again: after
    /// a flat battery the first event would otherwise be the only one in doubt.
    pub fn clock_is_wrong(&self, now: Moment) -> bool {
        const SLACK: Duration = Duration::from_secs(120);
        now.is_before_any_clock() || now.at.plus(SLACK) < self.reached(now.boot)
    }

    /// How far the wall clock has come, as a moment of this boot must find it.
    fn reached(&self, boot: Boot) -> Wall {
        match self.newest {
            Some(newest) if newest.boot == boot => self.furthest.max(newest.at),
            Some(newest) => newest.at,
            None => Wall::FIRST,
        }
    }

    /// Takes note of the moment of an event.
    pub(in crate::shop) fn note_moment(&mut self, moment: Moment) {
        self.furthest = self.reached(moment.boot).max(moment.at);
        self.newest = Some(moment);
    }
}
