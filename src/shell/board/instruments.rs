//! What a scale and a probe with a cable tell the board.

use super::{Board, Next};
use crate::screen::instrument;
use crate::screen::meaning::{Meaning, Sight};
use crate::shell::serial::InstrumentNews;
use crate::shop::facts::station::{Shows, Station};

impl Board {
    /// Has the instruments that the profile names, and reads their lines.
    pub(super) fn go_by_instruments(&mut self, station: &Station) {
        self.label_printer.clone_from(&station.labels);
        self.serial.set(Shows::Weight, station.scale.as_ref());
        self.serial.set(Shows::Heat, station.probe.as_ref());
    }

    /// An instrument shows something else, or something is wrong with it.
    pub fn instrument_tells(&mut self, told: InstrumentNews) -> Next {
        let now = self.clock.now();
        match told {
            InstrumentNews::Shows(shows, reading) => {
                let meant = Meaning::default();
                let sight = Sight { shop: &self.shop, meant: &meant, now };
                let is_seen = self.ui.form.is_some();
                let effects = instrument::reads(&mut self.ui, &sight, shows, reading);
                match self.carry_out(effects, now) {
                    Next::Draw if !is_seen => Next::Stay,
                    next => next,
                }
            }
            InstrumentNews::Trouble(shows, trouble) => {
                match trouble {
                    Some(reason) => {
                        tracing::warn!(reason, "the {} does not serve", shows.name());
                        self.cable_troubles.insert(shows, reason)
                    }
                    None => self.cable_troubles.remove(&shows),
                };
                self.put_up_banners(now);
                Next::Draw
            }
        }
    }
}
