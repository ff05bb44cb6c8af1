//! Where the facts come from besides the keys: a made-up operator, the inbox, another process's journal; and
//! where they go when the board ends.

use std::time::Duration;

use jiff::tz::TimeZone;

use super::{Board, Next, Source};
use crate::forecast::operator::Turn;
use crate::screen::keymap::Keymap;
use crate::screen::ui::Tone;
use crate::shell::clerk::{ClerkNews, Errand};
use crate::shell::clock::Clock;
use crate::shell::follower::News;
use crate::shell::inbox::{Aside, Brought, Ids, Waiting};
use crate::shell::journal::Progress;
use crate::shell::journal::mend::Lost;
use crate::shell::profiles::zone;
use crate::shell::rescue::Rescued;
use crate::shop::facts::fact::{DatesSaid, Event, Fact, Returned, Washed};
use crate::shop::facts::moment::{Boot, Moment};
use crate::shop::facts::words::counted;
use crate::shop::rules::command::Command;

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
    pub fn brought(&mut self, told: ClerkNews) -> Next {
        let now = self.clock.now();
        match told {
            ClerkNews::Brought(files) => files.into_iter().for_each(|file| self.take_in(file, now)),
            ClerkNews::Rescued(Ok(path)) => {
                let folder = path.parent().unwrap_or(&path).display();
                let text = format!(
                    "written to {folder}: it goes into the data directory before the next start"
                );
                self.ui.say(Tone::Done, text, now);
            }
            ClerkNews::Night(night) => {
                self.hear_of_night(night);
                self.put_up_banners(now);
            }
            ClerkNews::Rescued(Err(reason)) => {
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
                tracing::warn!(path = %waiting.path.display(), reason, "a file in the inbox does not read");
                let text =
                    format!("inbox: {}.json does not read, set aside: {reason}", waiting.name);
                self.send(Errand::SetAside(waiting.path, Aside::Refused));
                return self.ui.say(Tone::Refused, text, now);
            }
        };
        let Ids { this, name_alone } = &waiting.ids;
        if let Some(known) =
            [this, name_alone].into_iter().find(|id| self.shop.taken_files().has(id))
        {
            let order = self.shop.orders().find(|order| order.file.as_ref() == Some(known));
            let as_which =
                order.map_or_else(String::new, |order| format!(" as Order {}", order.id.no));
            let text = format!(
                "inbox: {}.json is taken already{as_which}; lay it under another name to take it twice",
                waiting.name
            );
            tracing::warn!(path = %waiting.path.display(), text);
            self.send(Errand::SetAside(waiting.path, Aside::TakenBefore));
            return self.ui.say(Tone::Note, text, now);
        }
        let file = Some(waiting.ids.this);
        let command = match brought {
            Brought::Order(form) => Command::TakeOrder { form, file },
            Brought::Wash(wash) => Command::NoteWash(Washed { file, ..wash }),
            Brought::Return(said) => Command::NoteReturn(Returned { file, ..said }),
            Brought::Dates(said) => Command::SayDates(DatesSaid { file, ..said }),
        };
        if self.state(command, now) {
            self.inbox.insert(waiting.path, self.shop.seq());
        } else {
            self.send(Errand::SetAside(waiting.path, Aside::Refused));
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
            clerk.write_elsewhere(folder, data.clone(), self.newest());
        }
    }

    /// The events that are not saved, and before them those that the board has in mind: a rescue file shows by them
    /// which history it belongs to, and fills up a journal that comes back without its end.
    fn newest(&self) -> Vec<Event> {
        let unsaved = self.unsaved.front().map_or(u64::MAX, |first| first.seq);
        let before = self.ui.past.iter().filter(|event| event.seq < unsaved);
        before.chain(&self.unsaved).cloned().collect()
    }

    /// Takes note of events that were read from rescue files and handed to the writer: until the journal has them
    /// they are as unsaved as any, and the files stay.
    pub fn rescued_from(&mut self, rescued: Rescued) {
        self.rescued = (rescued.files, rescued.events.last().map_or(0, |last| last.seq));
        self.unsaved.extend(rescued.events);
        self.start_banners.extend(rescued.troubles);
    }

    /// Takes note of a data directory in which others may write.
    pub fn lies_open(&mut self, data: &std::path::Path) {
        self.start_banners
            .push(format!("OTHERS MAY WRITE IN {}: chmod 700 closes it to them", data.display()));
    }

    /// Takes note of events that were saved and are not in the journal any more, and says so.
    pub fn has_lost(&mut self, lost: &Lost) {
        let (known, there) = (lost.known, self.shop.seq());
        if known <= there {
            return;
        }
        let now = self.clock.now();
        self.state(Command::NoteLost { upto: known }, now);
        let name = lost.kept.as_deref().and_then(std::path::Path::file_name);
        let kept = name.map_or_else(String::new, |name| format!("Kept as {}; ", name.display()));
        self.start_banners.push(format!(
            "EVENTS ARE GONE: {known} were saved, the journal ends with number {there}. Compare presses, queues and \
             shelf with what lies there. {kept}dwell restore puts a backup in place"
        ));
    }

    /// Takes in what was heard of another process's journal.
    pub fn heard_of(&mut self, news: News) -> Next {
        let now = self.clock.now();
        match news {
            News::Anew(whole) => {
                if self.shop.seq() > 0 {
                    let text = "another journal was put in its place: read again";
                    self.ui.say(Tone::Note, text, now);
                }
                self.shop = whole.shop;
                self.ui.past = whole.past;
                self.go_by_station();
            }
            News::Events(events) => {
                for event in events {
                    self.shop.apply(&event);
                    self.ui.say(Tone::Done, self.shop.in_words(&event.fact), event.moment);
                    self.ui.remember(&event);
                    if matches!(event.fact, Fact::StationSet(_)) {
                        self.go_by_station();
                    }
                }
            }
            News::ViewFault(trouble) => self.view_fault = trouble,
            News::Clock(clock) => self.rehearsed = clock,
        }
        self.go_by_rehearsal();
        self.put_up_banners(now);
        Next::Draw
    }

    /// A made-up shift has a clock and a zone of its own: while it runs it is seen by its clock, then as of its last event.
    fn go_by_rehearsal(&mut self) {
        let newest = self.shop.newest().filter(|newest| newest.boot == Boot::MADE_UP);
        if let (Some(newest), Source::Watches { .. }) = (newest, &self.source) {
            let runs = self.rehearsed.clone().filter(|clock| clock.now().up >= newest.up);
            self.clock = runs.unwrap_or_else(|| Clock::standing(newest));
            self.ui.zone = TimeZone::UTC;
            self.shop.set_zone(TimeZone::UTC);
        }
    }

    /// Takes in what another board has written meanwhile, where nothing of our own waits that would have come first.
    pub(super) fn take_in_others(&mut self, others: &[Event]) {
        let follows = others.first().is_some_and(|first| first.seq == self.shop.seq() + 1);
        let (true, true, Some(last)) = (follows, self.unsaved.is_empty(), others.last()) else {
            return;
        };
        for event in others {
            self.shop.apply(event);
            self.take_advice_in(event);
            self.ui.remember(event);
        }
        if let Source::Writes { writer, .. } = &self.source {
            writer.adopt(last.seq);
        }
        let events = counted(others.len(), "event");
        let now = self.clock.now();
        self.ui.say(Tone::Note, format!("another board wrote here: {events} taken in"), now);
    }

    /// Goes by the zone, the scanner and the id of the station in force.
    pub(super) fn hear_station(&mut self) {
        let Some(station) = self.shop.station().cloned() else { return };
        if let Some(zone) = zone(&station) {
            self.ui.zone = zone;
        }
        self.shop.set_zone(self.ui.zone.clone());
        self.gate.set_prefix(station.scanner_prefix);
        self.station = station.id;
    }

    /// A view has the keys and the zone of the station that it follows.
    fn go_by_station(&mut self) {
        let keys = self.shop.station().map(|station| Keymap::with(&station.keys));
        self.ui.keys = keys.and_then(Result::ok).unwrap_or_default().into();
        self.hear_station();
    }

    /// Ends the writing; what could not be written goes to a rescue file, and the text says so.
    pub fn close(self) -> Option<String> {
        let newest = self.newest();
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
        let Progress { upto, trouble, .. } = writer.close(PATIENCE);
        clerk.close(TIDYING);
        let count = newest.iter().filter(|event| event.seq > upto).count();
        if count == 0 {
            // All was saved, and would not be found any more: what is kept in mind may fill that up.
            return trouble.filter(|_| !newest.is_empty()).map(|reason| {
                let events = counted(newest.len(), "event");
                match crate::shell::rescue::write(&data, &newest) {
                    Ok(path) => format!(
                        "the journal is not as it was saved: {reason}. The last {events} lie in {}; the next start \
                         takes in what is missing",
                        path.display()
                    ),
                    Err(wrong) => format!(
                        "the journal is not as it was saved: {reason}. No rescue file could be written: {wrong}"
                    ),
                }
            });
        }
        let events = counted(count, "event");
        Some(match crate::shell::rescue::write(&data, &newest) {
            Ok(path) => format!(
                "not saved in the journal: {events}, written to {} instead; the next start takes that in",
                path.display()
            ),
            Err(reason) => {
                format!("NOT SAVED: {events}, and no rescue file could be written: {reason}")
            }
        })
    }
}
