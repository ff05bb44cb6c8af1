//! Standing trouble that the board says above the pane: a profile that does not read, a clock that is wrong.

use super::Board;
use crate::screen;
use crate::shop::moment::Moment;

impl Board {
    pub(super) fn put_up_banners(&mut self, now: Moment) {
        let profile = self.profile_banner.iter().cloned();
        self.ui.banners = profile
            .chain(self.clock_trouble(now))
            .chain(self.start_banners.iter().cloned())
            .collect();
    }

    /// A wall clock that is plainly wrong is said: order does not depend on it, dates do.
    fn clock_trouble(&self, now: Moment) -> Option<String> {
        self.shop.clock_is_wrong(now).then(|| {
            let day = screen::words::day(now.at, &self.ui.zone);
            format!("THE CLOCK IS WRONG: it says {day}. Timers are right, days are not. Set the machine's clock")
        })
    }
}
