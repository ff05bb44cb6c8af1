//! Making oneself heard, and hearing how that went.

use super::Board;
use crate::screen::ui::Tone;

impl Board {
    pub(super) fn sound(&mut self) {
        self.wants_bell |= self.sounder.sound(crate::shell::clock::up());
    }

    /// Hears how the last sound went.
    pub(super) fn hear_sounder(&mut self) {
        match self.sounder.answer() {
            Some(Ok(bell)) => self.wants_bell |= bell,
            Some(Err(wrong)) => {
                self.wants_bell = true;
                let now = self.clock.now();
                self.ui.say(Tone::Refused, wrong.to_string(), now);
            }
            None => {}
        }
    }
}
