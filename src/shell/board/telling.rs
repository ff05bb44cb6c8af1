//! What somebody who is not at the board wants to know: an order turned late, a press was stopped, a shift was closed.

use super::{Board, Source};
use crate::screen::ui::Tone;
use crate::shell::messenger::News;
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::moment::Moment;

impl Board {
    /// Has somebody told of an act that was stated here; of the end of a shift once all of it is saved, since its report is
    /// read from the journal.
    pub(super) fn tell_of(&mut self, event: &Event) {
        let Source::Writes { data, .. } = &self.source else { return };
        match &event.fact {
            Fact::PressOutOfUse(_) => self.messenger.tell(News::Stopped(event.fact.in_words())),
            Fact::ShiftClosed(_) => {
                let shifts = &self.shop.books().shifts;
                let Some(shift) = shifts.last() else { return };
                let shift = shifts.name_of(&shift, &self.ui.zone).0.to_string();
                let says = format!("the shift of {shift} was closed");
                let news = News::Closed { shift, data: data.clone(), says };
                self.to_tell.push((event.seq, news));
            }
            _ => {}
        }
    }

    /// The journal is saved up to an event.
    pub(super) fn tell_what_is_saved(&mut self, upto: u64) {
        let (saved, not_yet) = self.to_tell.drain(..).partition(|(seq, _)| *seq <= upto);
        self.to_tell = not_yet;
        let saved: Vec<(u64, News)> = saved;
        saved.into_iter().for_each(|(_, news)| self.messenger.tell(news));
    }

    /// Says why somebody was not told.
    pub(super) fn hear_messenger(&mut self, now: Moment) {
        if let Some(wrong) = self.messenger.wrong() {
            self.ui.say(Tone::Note, wrong, now);
        }
    }
}
