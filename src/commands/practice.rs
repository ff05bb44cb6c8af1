//! Practice: a board of its own, on a journal of its own, on which nothing counts. What came of it is said at the end.

use std::collections::BTreeSet;
use std::path::Path;
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
use crate::shell::journal::Reader;
use crate::shell::profiles::Profiles;
use crate::shell::run::run as show;
use crate::shell::{handles, new_file};
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact, Timing};
use crate::shop::facts::moment::{Boot, Moment, Up};
use crate::shop::facts::station::Station;
use crate::shop::facts::words::counted;
use crate::shop::rules::command::Command;

/// So many of the things that went otherwise are told one by one.
const TOLD: usize = 12;

/// The first day: one garment, led through step by step, at the station as its profile says.
pub fn first_day(profiles: &Profiles) -> Result<(), Failure> {
    let keep = |(name, recipe): (&String, &Arc<_>)| Command::KeepRecipe {
        name: name.clone(),
        recipe: Arc::clone(recipe),
    };
    let set = Command::SetStation(Arc::clone(&profiles.station));
    let opening = std::iter::once(set).chain(profiles.recipes.iter().map(keep)).collect();
    let began = Moment { at: Clock::machine().now().at, boot: Boot::MADE_UP, up: Up(0) };
    on_a_board((Practice::FirstDay, began), &profiles.station, opening, None)
}

/// A made-up shift in which whoever strikes the keys is the operator; its journal is kept where a directory was named.
pub fn shift(station: &Station, opening: Vec<Command>, data: Option<&Path>) -> Result<(), Failure> {
    on_a_board((Practice::Shift, BEGINS), station, opening, data)
}

fn on_a_board(
    (practice, began): (Practice, Moment),
    station: &Station,
    opening: Vec<Command>,
    data: Option<&Path>,
) -> Result<(), Failure> {
    handles::try_out()?;
    let passing = new_file::passing_folder()?;
    let data = data.unwrap_or(passing.path());
    let writer = fresh(data)?;
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
    let source = Source::Writes { writer, clerk: Clerk::start(data)?, data: data.to_owned() };
    let keys = Keymap::with(&station.keys).map_err(|wrong| Failure::Input(wrong.to_string()))?;
    let clock = Clock::made_up(began, 1.0);
    let mut board = Board::new(shop, clock, source, Arc::new(keys), board::theme());
    board.ui.past = past;
    board.ui.practice = Some(practice);
    board::finish(show(board, None))?;
    output::lines(Came::of(data, begun)?.lines())
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
        for event in events.iter().filter(|event| !undone.contains(&event.act)) {
            came.take(&event.fact);
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

    fn lines(&self) -> Vec<String> {
        let mut lines = vec![format!(
            "practice: {} finished, {} in the press, {} of them opened in time",
            counted(self.finished, "garment"),
            counted(self.pressed, "time"),
            self.in_time
        )];
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
