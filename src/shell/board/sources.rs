//! Where the facts come from besides the keys: a made-up operator, the inbox, another process's journal; and
//! where they go when the board ends.

use std::path::PathBuf;
use std::time::Duration;

use super::{Board, Source};
use crate::forecast::operator::Turn;
use crate::screen::keymap::Keymap;
use crate::screen::ui::Tone;
use crate::shell::inbox::{self, Brought};
use crate::shell::journal::{JournalError, Reader};
use crate::shell::replay::{self, Replay};
use crate::shop::Shop;
use crate::shop::command::Command;
use crate::shop::day_book::{DayBook, EVENTS};
use crate::shop::fact::{Event, Fact, Washed};
use crate::shop::moment::Moment;

impl Board {
    pub(super) fn take_turns(&mut self) {
        let now = self.clock.now();
        // However late it is called, the operator acts at its own moments: the same seed gives the same events.
        for _ in 0..1000 {
            let Source::Rehearses { operator, until, .. } = &mut self.source else { return };
            let at = match until {
                Some(until) if until.up > now.up => return,
                Some(until) => *until,
                None => now,
            };
            match operator(&self.shop, at) {
                Turn::Act(command) => {
                    self.state(command, at);
                }
                Turn::Until(moment) => {
                    if let Source::Rehearses { until, .. } = &mut self.source {
                        *until = Some(moment);
                    }
                }
                Turn::Done => {
                    if let Source::Rehearses { until, .. } = &mut self.source {
                        *until = Some(now.plus(Duration::from_secs(3600)));
                    }
                    self.ui.say(Tone::Done, "the shift is over: q leaves", now);
                }
            }
        }
    }

    pub(super) fn look_into_inbox(&mut self, now: Moment) {
        let Source::Writes { data, .. } = &self.source else { return };
        for waiting in inbox::waiting(data) {
            if self.inbox.contains_key(&waiting.path) {
                continue;
            }
            let brought = match waiting.brought {
                Ok(brought) => brought,
                Err(reason) => {
                    inbox::set_aside(&waiting.path);
                    self.ui.say(
                        Tone::Refused,
                        format!("a file in the inbox does not read: {reason}"),
                        now,
                    );
                    continue;
                }
            };
            if self.shop.has_taken(&waiting.id) {
                self.inbox.insert(waiting.path, self.shop.seq());
                continue;
            }
            let file = Some(waiting.id);
            let command = match brought {
                Brought::Order(form) => Command::TakeOrder { form, file },
                Brought::Wash(wash) => Command::NoteWash(Washed { file, ..wash }),
            };
            if self.state(command, now) {
                self.inbox.insert(waiting.path, self.shop.seq());
            } else {
                inbox::set_aside(&waiting.path);
            }
        }
        self.clear_inbox();
    }

    /// Files go once the order that they brought is synced.
    pub(super) fn clear_inbox(&mut self) {
        let Source::Writes { writer, .. } = &self.source else { return };
        let upto = writer.progress().borrow().upto;
        if let Some((path, _)) = self.rescued.take_if(|(_, last)| *last <= upto) {
            crate::shell::rescue::done(&path);
        }
        self.inbox.retain(|path, seq| {
            if *seq > upto {
                return true;
            }
            std::fs::remove_file(path).is_err() && path.exists()
        });
    }

    /// Takes note of events that were read from a rescue file and handed to the writer: until the journal has
    /// them they are as unsaved as any, and the file stays.
    pub fn rescued_from(&mut self, path: PathBuf, events: Vec<Event>) {
        self.rescued = events.last().map(|last| (path, last.seq));
        self.unsaved.extend(events);
    }

    /// Fills the lead's book from the newest events of a journal that the shop has been read from.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn look_back(&mut self, reader: &Reader) -> Result<(), JournalError> {
        let mut day = DayBook::begin(&self.shop);
        let first = self.shop.seq().saturating_sub(EVENTS as u64);
        reader.events_after(first, |event| {
            if event.seq <= self.shop.seq() {
                day.take(&event, &self.shop);
            }
        })?;
        self.ui.day = day;
        Ok(())
    }

    /// Takes in what another process has written.
    pub(super) fn follow(&mut self, now: Moment) {
        let Source::Watches { reader, data, version } = &mut self.source else { return };
        if reader.as_ref().is_some_and(Reader::is_replaced) {
            *reader = None;
            self.shop = Shop::default();
            self.ui.say(Tone::Note, "another journal was put in its place: read anew", now);
        }
        if reader.is_none() {
            *reader = Reader::open(data).unwrap_or_default();
            *version = -1;
        }
        let Some(open) = reader else { return };
        if self.shop.seq() == 0
            && let Ok(told) = Replay::of(data, open)
            && let Ok(past) = replay::past(open)
        {
            self.shop = told.into_shop();
            self.ui.past = past;
            self.ui.past.retain(|event| event.seq <= self.shop.seq());
            let keys = self.shop.station().map(|station| Keymap::with(&station.keys));
            self.ui.keys = keys.and_then(Result::ok).unwrap_or_default().into();
            self.hear_station();
            return;
        }
        let mut news = Vec::new();
        let read = open.version().and_then(|there| {
            if there != *version || self.shop.seq() == 0 {
                *version = there;
                open.events_after(self.shop.seq(), |event| news.push(event))?;
            }
            Ok(())
        });
        if let Err(reason) = read {
            self.ui.say(Tone::Refused, reason.to_string(), now);
            *reader = None;
            *version = -1;
        }
        for event in news {
            self.shop.apply(&event);
            self.ui.say(Tone::Done, event.fact.in_words(), event.moment);
            self.ui.remember(&event, &self.shop);
            if let Fact::StationSet(fact) = &event.fact {
                self.ui.keys = Keymap::with(&fact.profile.keys).unwrap_or_default().into();
                self.hear_station();
            }
        }
    }

    /// Ends the writing; what could not be written goes to a rescue file, and the text says so.
    pub fn close(self) -> Option<String> {
        /// The exit comes within a second, whatever the disk does.
        const PATIENCE: Duration = Duration::from_millis(700);
        let Source::Writes { writer, data } = self.source else {
            if let Source::Rehearses { writer: Some(writer), .. } = self.source {
                writer.close(PATIENCE);
            }
            return None;
        };
        let upto = writer.close(PATIENCE).upto;
        let lost: Vec<Event> = self.unsaved.into_iter().filter(|event| event.seq > upto).collect();
        if lost.is_empty() {
            return None;
        }
        let count = lost.len();
        Some(match crate::shell::rescue::write(&data, &lost) {
            Ok(path) => format!(
                "{count} events were not saved in the journal; they are in {} and will be taken in at the next start",
                path.display()
            ),
            Err(reason) => format!(
                "{count} events were NOT SAVED, and no rescue file could be written: {reason}"
            ),
        })
    }
}
