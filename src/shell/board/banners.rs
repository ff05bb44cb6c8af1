//! Standing trouble that the board says above the pane: a profile that does not read, a clock that is wrong.

use super::Board;
use crate::screen::words;
use crate::shell::follower::ViewFault;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::station::Shows;

impl Board {
    pub(super) fn put_up_banners(&mut self, now: Moment) {
        let profile = self.profile_banner.iter().cloned();
        self.ui.banners = profile
            .chain(self.clock_trouble(now))
            .chain(self.view_banner())
            .chain(self.start_banners.iter().cloned())
            .chain(self.hub_banners())
            .chain(self.night_banner(now))
            .chain(self.cable_banners())
            .chain(self.order_folder_banner())
            .collect();
    }

    /// A scale or a probe whose cable brings nothing.
    fn cable_banners(&self) -> impl Iterator<Item = String> {
        let told = |(shows, reason): (&Shows, &String)| {
            format!("{}: {reason}", shows.name().to_uppercase())
        };
        self.cable_troubles.iter().map(told)
    }

    /// What a view shows may be long past.
    fn view_banner(&self) -> Option<String> {
        let trouble = self.view_fault.as_ref()?;
        let newest = self.shop.newest().map(|newest| newest.at);
        let as_of = newest.map_or_else(
            || "nothing was read".to_owned(),
            |at| {
                let zone = &self.ui.zone;
                format!("this is as of {} {}", words::day(at, zone), words::clock(at, zone))
            },
        );
        Some(match trouble {
            ViewFault::Gone => format!("THE JOURNAL IS GONE: {as_of}"),
            ViewFault::Unread(reason) => format!("THE JOURNAL DOES NOT READ: {as_of}. {reason}"),
            ViewFault::Unattended => format!("NO BOARD WRITES HERE: {as_of}"),
        })
    }

    /// A wall clock that is plainly wrong is said: order does not depend on it, dates do.
    fn clock_trouble(&self, now: Moment) -> Option<String> {
        self.shop.clock_is_wrong(now).then(|| {
            let day = words::day(now.at, &self.ui.zone);
            format!("THE CLOCK IS WRONG: it says {day}. Timers are right, days are not. Set the machine's clock")
        })
    }
}
