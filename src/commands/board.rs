//! The board itself, and the view of another process's board.

use std::collections::VecDeque;
use std::path::Path;
use std::sync::Arc;

use super::screens::{finish, theme};
use super::{Failure, Places, practice};
use crate::screen::keymap::Keymap;
use crate::screen::ui::{Pane, Tone, keep};
use crate::shell::board::{Board, Source};
use crate::shell::clerk::Clerk;
use crate::shell::clock::Clock;
use crate::shell::follower::{Follower, News, Whole};
use crate::shell::hub::replaced::{self, Found};
use crate::shell::journal::lock::Lock;
use crate::shell::journal::mark::Mark;
use crate::shell::journal::mend::{self, Lost, SoundPart};
use crate::shell::journal::{JournalError, Reader, Writer};
use crate::shell::profiles::Profiles;
use crate::shell::replay::Replay;
use crate::shell::run::run as show;
use crate::shell::slow::Waiting;
use crate::shell::terminal::{self, TerminalError};
use crate::shell::{handles, log, private, replay, rescue};
use crate::shop::Shop;
use crate::shop::facts::moment::Boot;

/// Opens the board. Where another one writes already, opens a view of it.
pub fn run(places: &Places) -> Result<(), Failure> {
    handles::try_out()?;
    let data = places.data()?;
    let waiting = Waiting::for_disk(&data);
    let mut profiles = places.profiles()?;
    drop(waiting);
    let mut opened_now = opened(&data, &profiles)?;
    while let Some(board) = opened_now {
        let watched = profiles.directory.clone().map(|directory| (directory, profiles.own));
        let left = finish(show(board, watched))?;
        if !left.for_first_day || left.by_signal {
            return Ok(());
        }
        let Some(came) = practice::first_day(&profiles)? else { return Ok(()) };
        let said = left.words.into_iter().chain([came]).collect::<Vec<_>>().join("; ");
        opened_now = come_back(places, &data, &mut profiles, said)?;
    }
    view(&data, Some("another board writes here: this is a view"))
}

/// The station's own board after the first day. A profile that does not read by now, or has become another station's, is no
/// reason to leave the operator without a board: the last good one stays, and the board says so.
fn come_back(
    places: &Places,
    data: &Path,
    profiles: &mut Profiles,
    said: String,
) -> Result<Option<Board>, Failure> {
    let read = places.read_profiles();
    let is_ours = |read: &Profiles| read.station.id == profiles.station.id;
    let refused = match read {
        Ok(read) if is_ours(&read) => {
            *profiles = read;
            None
        }
        refused => Some(refused),
    };
    let Some(mut board) = opened(data, profiles)? else { return Ok(None) };
    if let Some(refused) = refused {
        board.profiles_changed(refused);
    }
    let now = board.clock.now();
    board.ui.say(Tone::Note, said, now);
    Ok(Some(board))
}

/// A board that writes in a data directory; None where another one does.
fn opened(data: &Path, profiles: &Profiles) -> Result<Option<Board>, Failure> {
    let waiting = Waiting::for_disk(data);
    let found = told_of(data);
    // Rows that are not what was written are mended under the lock: another board may write them at this moment.
    let found = match found {
        Err(wrong) if !wrong.is_of_rows() => return Err(wrong.into()),
        found => found,
    };
    if let Ok(told) = &found {
        belongs(told.shop(), profiles)?;
    }
    // Before anything is made on the disk.
    needs_terminal()?;
    let unusable = |reason| JournalError::Directory { path: data.to_owned(), reason };
    private::directory(data).map_err(unusable)?;
    let lock = match Lock::take(data) {
        Ok(lock) => lock,
        Err(JournalError::Locked(_)) => return Ok(None),
        Err(wrong) => return Err(wrong.into()),
    };
    log::start(data);
    let (mut told, mut lost) = (found, None);
    if told.as_ref().is_err_and(JournalError::is_of_rows) {
        lost = Some(mended(data, profiles)?);
        told = told_of(data);
    }
    let mut told = told?;
    let is_short = Mark::known(data).is_some_and(|mark| mark.seq > told.shop().seq());
    drop(waiting);
    let found = asked_at_hub(data, &lock, profiles, lost.is_some() || is_short)?;
    let waiting = Waiting::for_disk(data);
    if found != Found::Nothing {
        // Whatever the answer was, the writer goes on from what lies there now.
        told = told_of(data)?;
    }
    // What another board wrote between the first look and the lock.
    let mut past = VecDeque::new();
    if let Some(reader) = Reader::open(data)? {
        told.go_on(&reader)?;
        past = replay::lately(&reader, told.shop())?;
    }
    let mut shop = told.into_shop();
    let clock = Clock::machine();
    let rescued = rescue::read(data, shop.seq());
    for event in &rescued.events {
        shop.apply(event);
        keep(&mut past, event.clone());
    }
    let lost = lost.or_else(|| mend::lost_end(data, shop.seq()));
    let writer = Writer::open(data, lock)?;
    if !rescued.events.is_empty() {
        writer.write(rescued.events.clone());
    }
    let keys =
        Keymap::with(&profiles.station.keys).map_err(|wrong| Failure::Input(wrong.to_string()))?;
    let clerk = Clerk::start(data).map_err(unusable)?;
    let source = Source::Writes { writer, clerk, data: data.to_owned() };
    let mut board = Board::new(shop, clock, source, Arc::new(keys), theme());
    board.ui.past = past;
    board.rescued_from(rescued);
    if let Some(lost) = &lost {
        board.has_lost(lost);
    }
    if private::is_open_to_others(data) {
        board.lies_open(data);
    }
    board.put_in_force(profiles);
    board.ui.message = None;
    board.found_at_hub(&found);
    drop(waiting);
    Ok(Some(board))
}

/// What the hub has of this station behind the journal's end comes back, where there may be something.
fn asked_at_hub(
    data: &Path,
    lock: &Lock,
    profiles: &Profiles,
    is_short: bool,
) -> Result<Found, Failure> {
    match &profiles.station.hub {
        Some(hub) if is_short || replaced::is_to_be_asked(data)? => {
            let _waiting = Waiting::for_hub();
            Ok(replaced::fetch(data, lock, hub, profiles.station.id)?)
        }
        _ => Ok(Found::Nothing),
    }
}

/// The shop as the journal of a data directory tells it; an empty one where there is none.
fn told_of(data: &Path) -> Result<Replay, JournalError> {
    let reader = Reader::open(data)?;
    Ok(reader.map(|reader| Replay::of(data, &reader)).transpose()?.unwrap_or_default())
}

/// Puts what is sound of a damaged journal in force.
fn mended(data: &Path, profiles: &Profiles) -> Result<Lost, Failure> {
    let sound = SoundPart::of(data)?;
    if let Err(wrong) = belongs(&sound.shop, profiles) {
        sound.give_up();
        return Err(wrong);
    }
    Ok(sound.put_in_force()?)
}

fn needs_terminal() -> Result<(), Failure> {
    match terminal::is_one() {
        true => Ok(()),
        false => Err(Failure::Input(TerminalError::NotATerminal.to_string())),
    }
}

/// A journal belongs to one station, and a made-up one to no station at all.
fn belongs(shop: &Shop, profiles: &Profiles) -> Result<(), Failure> {
    if shop.newest().is_some_and(|newest| newest.boot == Boot::MADE_UP) {
        let text = "this is the journal of a rehearsal: give another --data for a real shift";
        return Err(Failure::Input(text.into()));
    }
    match shop.station() {
        Some(station) if station.id != profiles.station.id => Err(JournalError::Station {
            found: station.id.to_string(),
            wanted: profiles.station.id.to_string(),
        }
        .into()),
        _ => Ok(()),
    }
}

/// Opens a view of the board of another process.
pub fn watch(places: &Places) -> Result<(), Failure> {
    handles::try_out()?;
    view(&places.data()?, None)
}

fn view(data: &Path, why: Option<&str>) -> Result<(), Failure> {
    let waiting = Waiting::for_disk(data);
    let reader = Reader::open(data)?;
    // Before the rows: what is written in between is then seen as news.
    let version = reader.as_ref().map_or(Ok(0), Reader::version)?;
    let whole = reader.as_ref().map(|reader| Whole::read(data, reader)).transpose()?;
    let seq = whole.as_ref().map_or(0, |whole| whole.shop.seq());
    let follower = Follower::start(data, (reader, version), seq)
        .map_err(|reason| Failure::Other(format!("no thread to follow the journal: {reason}")))?;
    let source = Source::Watches { follower, data: data.to_owned() };
    let (shop, keys) = (Shop::default(), Arc::default());
    let mut board = Board::new(shop, Clock::machine(), source, keys, theme());
    if let Some(whole) = whole {
        board.heard_of(News::Anew(Box::new(whole)));
    }
    // Who asks for a view by name is the lead.
    if why.is_none() {
        board.ui.pane = Pane::Pace;
    }
    if let Some(why) = why {
        let now = board.clock.now();
        board.ui.say(Tone::Note, why, now);
    }
    drop(waiting);
    finish(show(board, None)).map(drop)
}
