//! Practice: a board of its own, on a journal of its own, on which nothing counts. What came of it is said at the end.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use super::rehearse::fresh;
use super::{Failure, board, output};
use crate::forecast::shift::{self, BEGINS};
use crate::screen::keymap::Keymap;
use crate::screen::ui::{Practice, keep};
use crate::shell::board::{Board, Source};
use crate::shell::clerk::Clerk;
use crate::shell::clock::Clock;
use crate::shell::handles;
use crate::shell::journal::Reader;
use crate::shell::new_file::{PassingFolder, passing_folder};
use crate::shell::profiles::Profiles;
use crate::shell::run::{Ended, run as show};
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact, PressOpened, Timing};
use crate::shop::facts::moment::{Boot, Moment, Up};
use crate::shop::facts::station::Station;
use crate::shop::facts::words::counted;
use crate::shop::rules::command::Command;

/// So many of the things that went otherwise are told one by one.
const TOLD: usize = 12;

/// The first day: one garment, led through step by step, at the station as its profile says. Says what came of it, or why
/// nothing did: the station's own board comes back either way. None where a signal ended it, and nothing is to come.
///
/// # Errors
/// A terminal that is gone.
pub fn first_day(profiles: &Profiles) -> Result<Option<String>, Failure> {
    let mut station = Station::clone(&profiles.station);
    // What is looked at in the morning was looked at, or will be, on the own board.
    station.morning.clear();
    let keep = |(name, recipe): (&String, &Arc<_>)| Command::KeepRecipe {
        name: name.clone(),
        recipe: Arc::clone(recipe),
    };
    let set = Command::SetStation(Arc::new(station));
    let opening = std::iter::once(set).chain(profiles.recipes.iter().map(keep)).collect();
    let began = Moment { at: Clock::machine().now().at, boot: Boot::MADE_UP, up: Up(0) };
    let what = (Practice::FirstDay, began);
    let (board, practised) = match prepared(what, &profiles.station, opening, None) {
        Ok(ready) => ready,
        Err(wrong) => return Ok(Some(format!("no first day: {wrong}"))),
    };
    match show(board, None) {
        Ok(left) if left.by_signal => board::finish(Ok(left)).map(|_| None),
        Ok(_) => {
            let came = practised.came().map(|came| came.in_a_line());
            Ok(Some(came.unwrap_or_else(|wrong| wrong.to_string())))
        }
        Err(Ended::Broken(thread)) => Ok(Some(Ended::Broken(thread).to_string())),
        Err(gone) => board::finish(Err(gone)).map(|_| None),
    }
}

/// A made-up shift in which whoever strikes the keys is the operator; its journal is kept where a directory was named.
pub fn shift(station: &Station, opening: Vec<Command>, data: Option<&Path>) -> Result<(), Failure> {
    let (mut board, practised) = prepared((Practice::Shift, BEGINS), station, opening, data)?;
    // It is nobody's day: its hours read alike everywhere, as those of any rehearsal.
    board.ui.zone = jiff::tz::TimeZone::UTC;
    board.shop.set_zone(jiff::tz::TimeZone::UTC);
    board::finish(show(board, None))?;
    output::lines(practised.came()?.lines())
}

/// What a board of practice leaves behind.
struct Practised {
    data: PathBuf,
    /// The last event of its opening.
    begun: u64,
    /// What is thrown away with it, where no directory was named.
    _passing: Option<PassingFolder>,
}

/// A board of practice that is about to be shown.
fn prepared(
    (practice, began): (Practice, Moment),
    station: &Station,
    opening: Vec<Command>,
    data: Option<&Path>,
) -> Result<(Board, Practised), Failure> {
    handles::try_out()?;
    let (data, passing) = match data {
        Some(data) => (data.to_owned(), None),
        None => {
            let folder = passing_folder()?;
            (folder.path().to_owned(), Some(folder))
        }
    };
    let writer = fresh(&data)?;
    let mut shop = Shop::default();
    let mut past = std::collections::VecDeque::new();
    for command in opening {
        let events = shift::state(&mut shop, station.id, &command, began);
        for event in &events {
            keep(&mut past, event.clone());
        }
        writer.write(events);
    }
    let begun = shop.seq();
    let source = Source::Writes { writer, clerk: Clerk::start(&data)?, data: data.clone() };
    let keys = Keymap::with(&station.keys).map_err(|wrong| Failure::Input(wrong.to_string()))?;
    let clock = Clock::made_up(began, 1.0);
    let mut board = Board::new(shop, clock, source, Arc::new(keys), board::theme());
    board.ui.past = past;
    board.ui.practice = Some(practice);
    Ok((board, Practised { data, begun, _passing: passing }))
}

impl Practised {
    fn came(&self) -> Result<Came, Failure> {
        Came::of(&self.data, self.begun)
    }
}

/// What came of the practice.
#[derive(Default)]
struct Came {
    finished: usize,
    pressed: usize,
    in_time: usize,
    /// What went otherwise, in words.
    otherwise: Vec<String>,
}

impl Came {
    /// Reads it from the journal: what was done after the opening, and not taken back.
    fn of(data: &Path, begun: u64) -> Result<Self, Failure> {
        let Some(reader) = Reader::open(data)? else { return Ok(Self::default()) };
        let mut events: Vec<Event> = Vec::new();
        reader.events_after(begun, |event| events.push(event))?;
        let undone: BTreeSet<_> = events
            .iter()
            .filter_map(|event| match &event.fact {
                Fact::Undone(undone) => Some(undone.undoes),
                _ => None,
            })
            .collect();
        let mut came = Self::default();
        let mut shop = Shop::default();
        reader.events_after(0, |event| shop.apply(&event))?;
        came.finished = shop.floor().count(crate::shop::floor::garment::Queue::Finished);
        let stands: Vec<&Event> =
            events.iter().filter(|event| !undone.contains(&event.act)).collect();
        for event in &stands {
            match set_right(event, &stands) {
                Some(opened) => came.take(&Fact::PressOpened(opened)),
                None => came.take(&event.fact),
            }
        }
        Ok(came)
    }

    fn take(&mut self, fact: &Fact) {
        match fact {
            Fact::PressOpened(opened) => {
                self.pressed += 1;
                let after = opened.seconds.map(Duration::from_secs_f64).map_or(0, |s| s.as_secs());
                let (garment, step) = (opened.garment, opened.step);
                match opened.timing {
                    Timing::InTime => self.in_time += 1,
                    Timing::Early => {
                        self.otherwise
                            .push(format!("{garment} {step}: opened early, after {after} s"));
                    }
                    Timing::Late => {
                        self.otherwise
                            .push(format!("{garment} {step}: opened late, after {after} s"));
                    }
                    Timing::NotTimed => {}
                }
            }
            Fact::PressShut(shut) => {
                let (garment, step) = (shut.garment, shut.step);
                if shut.past_wipe {
                    self.otherwise.push(format!("{garment} {step}: the sheet was past its wipe"));
                }
                if shut.waited_too_long {
                    self.otherwise
                        .push(format!("{garment} {step}: it had waited wet for too long"));
                }
                if shut.set_otherwise {
                    self.otherwise.push(format!("{garment} {step}: the press was set otherwise"));
                }
            }
            _ => {}
        }
    }

    fn in_short(&self) -> String {
        format!(
            "practice: {} finished, {} in the press, {} of them opened in time",
            counted(self.finished, "garment"),
            counted(self.pressed, "time"),
            self.in_time
        )
    }

    /// For the message line, which has room for one of the things that went otherwise.
    fn in_a_line(&self) -> String {
        let mut line = self.in_short();
        line.extend(self.otherwise.first().map(|first| format!("; {first}")));
        if self.otherwise.len() > 1 {
            line += &format!(", and {} more", self.otherwise.len() - 1);
        }
        line
    }

    fn lines(&self) -> Vec<String> {
        let mut lines = vec![self.in_short()];
        lines.extend(self.otherwise.iter().take(TOLD).map(|text| format!("  {text}")));
        if self.otherwise.len() > TOLD {
            lines.push(format!("  and {} more", self.otherwise.len() - TOLD));
        }
        if self.pressed > 0 && self.otherwise.is_empty() {
            lines.push("  nothing early, nothing late, no sheet past its wipe".to_owned());
        }
        lines
    }
}

/// An opening as its time was set right afterwards; None where it was not, or the event is none.
fn set_right(event: &Event, all: &[&Event]) -> Option<PressOpened> {
    let Fact::PressOpened(opened) = &event.fact else { return None };
    let corrected = all.iter().rev().find_map(|later| match &later.fact {
        Fact::TimeCorrected(time)
            if time.corrects == event.act && time.garment == opened.garment =>
        {
            Some(time)
        }
        _ => None,
    })?;
    let timing = corrected.timing.unwrap_or(Timing::NotTimed);
    Some(PressOpened { seconds: corrected.seconds, timing, ..opened.clone() })
}
