//! Where the facts come from besides the keys: a made-up operator, the inbox, another process's journal; and
//! where they go when the board ends.

use std::time::Duration;

use super::{Board, Next, Source};
use crate::forecast::operator::Turn;
use crate::screen::keymap::Keymap;
use crate::screen::ui::Tone;
use crate::shell::clerk::{Errand, Told};
use crate::shell::inbox::{Brought, Waiting};
use crate::shell::journal::Reader;
use crate::shell::replay::{self, Replay};
use crate::shell::rescue::Rescued;
use crate::shop::Shop;
use crate::shop::command::Command;
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

    /// An errand on the disk has brought something.
    pub fn brought(&mut self, told: Told) -> Next {
        let now = self.clock.now();
        match told {
            Told::Brought(files) => files.into_iter().for_each(|file| self.take_in(file, now)),
            Told::Rescued(Ok(path)) => {
                let text = format!(
                    "written there too: it goes into the data directory before the next start: {}",
                    path.display()
                );
                self.ui.say(Tone::Done, text, now);
            }
            Told::Rescued(Err(reason)) => {
                self.ui.say(Tone::Refused, format!("not written. {reason}"), now);
            }
        }
        self.clear_inbox();
        Next::Draw
    }

    /// Takes in what lay in the inbox.
    fn take_in(&mut self, waiting: Waiting, now: Moment) {
        let brought = match waiting.brought {
            Ok(brought) => brought,
            Err(reason) => {
                self.send(Errand::SetAside(waiting.path));
                let text = format!("a file in the inbox does not read: {reason}");
                return self.ui.say(Tone::Refused, text, now);
            }
        };
        if self.shop.has_taken(&waiting.id) {
            self.inbox.insert(waiting.path, self.shop.seq());
            return;
        }
        let file = Some(waiting.id);
        let command = match brought {
            Brought::Order(form) => Command::TakeOrder { form, file },
            Brought::Wash(wash) => Command::NoteWash(Washed { file, ..wash }),
        };
        if self.state(command, now) {
            self.inbox.insert(waiting.path, self.shop.seq());
        } else {
            self.send(Errand::SetAside(waiting.path));
        }
    }

    fn send(&self, errand: Errand) {
        if let Source::Writes { clerk, .. } = &self.source {
            clerk.send(errand);
        }
    }

    /// Files go once the order that they brought is synced.
    pub(super) fn clear_inbox(&mut self) {
        let Source::Writes { writer, clerk, .. } = &self.source else { return };
        let upto = writer.progress().borrow().upto;
        if self.rescued.1 <= upto {
            for path in self.rescued.0.drain(..) {
                clerk.send(Errand::RescueTaken(path));
            }
        }
        self.inbox.retain(|path, seq| {
            let saved = *seq <= upto;
            if saved {
                clerk.send(Errand::Remove(path.clone()));
            }
            !saved
        });
    }

    /// Has what is not saved written to a directory that somebody named.
    pub(super) fn write_elsewhere(&mut self, folder: String) {
        if let Source::Writes { clerk, data, .. } = &self.source {
            let events = self.unsaved.iter().cloned().collect();
            clerk.write_elsewhere(folder, data.clone(), events);
        }
    }

    /// Takes note of events that were read from rescue files and handed to the writer: until the journal has them
    /// they are as unsaved as any, and the files stay.
    pub fn rescued_from(&mut self, rescued: Rescued) {
        self.rescued = (rescued.files, rescued.events.last().map_or(0, |last| last.seq));
        self.unsaved.extend(rescued.events);
        self.rescue_banners = rescued.troubles;
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
            && let Ok((past, day)) = replay::lately(open, told.shop())
        {
            self.shop = told.into_shop();
            (self.ui.past, self.ui.day) = (past, day);
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
        const PATIENCE: Duration = Duration::from_millis(500);
        /// What is left of the inbox is taken up at the next start.
        const TIDYING: Duration = Duration::from_millis(100);
        let Source::Writes { writer, clerk, data } = self.source else {
            if let Source::Rehearses { writer: Some(writer), .. } = self.source {
                writer.close(PATIENCE);
            }
            return None;
        };
        let upto = writer.close(PATIENCE).upto;
        clerk.close(TIDYING);
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
