//! Practice: a board of its own, on a journal of its own, on which nothing counts. What came of it is said at the end.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::rehearse::journal::fresh;
use super::screens::{finish, theme};
use super::{Failure, output};
use crate::forecast::shift::{self, BEGINS};
use crate::screen::keymap::Keymap;
use crate::screen::practised::Practised;
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
use crate::shop::facts::moment::{Boot, Moment, Up};
use crate::shop::facts::station::Station;
use crate::shop::rules::command::Command;

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
    let (board, begun) = match prepared(what, &profiles.station, opening, None) {
        Ok(ready) => ready,
        Err(wrong) => return Ok(Some(format!("no first day: {wrong}"))),
    };
    match show(board, None) {
        Ok(left) if left.by_signal => finish(Ok(left)).map(|_| None),
        Ok(_) => {
            let came = begun.came().map(|came| came.in_a_line());
            Ok(Some(came.unwrap_or_else(|wrong| wrong.to_string())))
        }
        Err(Ended::Broken(thread)) => Ok(Some(Ended::Broken(thread).to_string())),
        Err(gone) => finish(Err(gone)).map(|_| None),
    }
}

/// A made-up shift in which whoever strikes the keys is the operator; its journal is kept where a directory was named.
pub fn shift(station: &Station, opening: Vec<Command>, data: Option<&Path>) -> Result<(), Failure> {
    let (mut board, begun) = prepared((Practice::Shift, BEGINS), station, opening, data)?;
    // It is nobody's day: its hours read alike everywhere, as those of any rehearsal.
    board.ui.zone = jiff::tz::TimeZone::UTC;
    board.shop.set_zone(jiff::tz::TimeZone::UTC);
    finish(show(board, None))?;
    output::lines(begun.came()?.lines())
}

/// What a board of practice leaves behind.
struct Begun {
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
) -> Result<(Board, Begun), Failure> {
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
    let mut board = Board::new(shop, clock, source, Arc::new(keys), theme());
    board.ui.past = past;
    board.ui.practice = Some(practice);
    Ok((board, Begun { data, begun, _passing: passing }))
}

impl Begun {
    /// Reads what came of it from its journal: what was done after the opening.
    fn came(&self) -> Result<Practised, Failure> {
        let Some(reader) = Reader::open(&self.data)? else { return Ok(Practised::default()) };
        let mut events = Vec::new();
        let mut shop = Shop::default();
        reader.events_after(0, |event| {
            shop.apply(&event);
            if event.seq > self.begun {
                events.push(event);
            }
        })?;
        Ok(Practised::of(&shop, &events))
    }
}
