//! A station on a new machine, or with a journal that went back to a backup: what the hub has of its later history comes
//! back before the first act, and a new life begins there, so that no other machine goes on with the old one.
//!
//! Any other start asks nothing and waits for nobody. Where the hub does not answer the board starts all the same.

use std::path::Path;

use super::agreement::{Relation, Verdict};
use super::courier::in_words;
use super::head::Head;
use super::memory::{Known, Memory};
use super::station::{CourierError, StationLine};
use super::{Destination, HubError, block_on};
use crate::shell::journal::backup::{self, BackupError};
use crate::shell::journal::fetched::Fetched;
use crate::shell::journal::lock::Lock;
use crate::shell::journal::{JournalError, Reader};
use crate::shell::new_file::passing_folder;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::station::HubProfile;

/// What a start found at the hub.
#[derive(Debug, PartialEq, Eq)]
pub enum Found {
    /// Nothing was to be asked, or nothing was missing.
    Nothing,
    /// So many events came back.
    Fetched(u64),
    /// It waits for a hand: the courier asks again, and tells for what.
    Hand,
    /// It has later rows that are not what was written, or of a kind that this program does not know: which. Nothing of
    /// them is here.
    Untaken(String),
    /// It could not be asked: why.
    Unasked(String),
}

/// Whether the hub is to be asked before the first act: this machine has never spoken to one, or its journal is not
/// what the hub confirmed.
///
/// # Errors
/// A journal that does not read.
pub fn is_to_be_asked(data: &Path) -> Result<bool, JournalError> {
    let Some(Known { seq, sum, ask_at_start, .. }) =
        Memory::read(data).and_then(|memory| memory.hub)
    else {
        return Ok(true);
    };
    let own = Reader::open(data)?.map(|reader| reader.sum_of(seq)).transpose()?.flatten();
    Ok(ask_at_start || own != Some(sum))
}

/// Fetches what the hub has of a station behind the end of its journal. Whatever the hub does, the station starts.
///
/// # Errors
/// A journal that cannot be written.
pub fn fetch(
    data: &Path,
    lock: &Lock,
    profile: &HubProfile,
    station: StationId,
) -> Result<Found, JournalError> {
    let mut memory = Memory::of(data);
    let asked = block_on(async { Ok(ask(data, lock, profile, station, &mut memory).await) });
    match asked.unwrap_or_else(|wrong| Err(wrong.into())) {
        Ok(found) => Ok(found),
        Err(CourierError::Hub(HubError::OtherStation { .. })) => Ok(Found::Hand),
        Err(CourierError::Hub(wrong)) => Ok(Found::Unasked(wrong.to_string())),
        Err(CourierError::Journal(wrong)) => Err(wrong),
    }
}

async fn ask(
    data: &Path,
    lock: &Lock,
    profile: &HubProfile,
    station: StationId,
    memory: &mut Memory,
) -> Result<Found, CourierError> {
    let line = StationLine::to(&Destination::of_profile(profile)?, station).await?;
    let mut head = line.head().await?;
    let reader = Reader::open(data)?;
    let (verdict, relation) = line.verdict(memory, &head, reader.as_ref()).await?;
    drop(reader);
    let found = match verdict {
        Verdict::Send => return Ok(Found::Nothing),
        Verdict::BeginLife => Found::Nothing,
        Verdict::Fetch => {
            let fetched = match relation {
                Relation::Apart => in_place_of_bare(data, lock, &line, &mut head).await?,
                _ => behind_end(data, lock, &line, &mut head).await?,
            };
            // A data directory that was copied has the name of the one that it was copied from. Until its life is begun
            // it knows no hub: whoever asks next begins it.
            *memory = Memory { hub: None, ..memory.clone().with_own_machine() };
            match fetched {
                Ok(count) => Found::Fetched(count),
                Err(untaken) => return Ok(Found::Untaken(untaken)),
            }
        }
        Verdict::OldServer => return Ok(Found::Unasked(in_words(&verdict, &head, relation))),
        Verdict::Apart | Verdict::Replaced | Verdict::OtherHub => return Ok(Found::Hand),
    };
    match begin_life(&line, &mut head, data, memory).await {
        // The rows are here: the courier begins the life as soon as the hub answers again.
        Err(CourierError::Hub(wrong)) if found != Found::Nothing => {
            tracing::warn!(%wrong, "no life was begun behind what came back");
            Ok(found)
        }
        begun => begun.map(|()| found),
    }
}

/// How many rows came; or why they are not taken, which is nobody's fault here.
type Taken = Result<u64, String>;

/// Writes what the hub has behind the end of a journal, all of it or nothing.
async fn behind_end(
    data: &Path,
    lock: &Lock,
    line: &StationLine,
    head: &mut Head,
) -> Result<Taken, CourierError> {
    let mut rows = Fetched::begin(data, lock)?;
    while rows.last().0 < head.upto {
        let next = line.rows_after(&head.station, rows.last().0).await?;
        if next.is_empty() {
            return Err(HubError::Answer("rows are missing".into()).into());
        }
        match next.iter().try_for_each(|row| rows.add(row)) {
            Err(
                wrong @ (JournalError::Sum { .. }
                | JournalError::Gap { .. }
                | JournalError::Unknown { .. }),
            ) => return Ok(Err(wrong.to_string())),
            added => added?,
        }
    }
    (head.upto, head.sum) = rows.last();
    Ok(Ok(rows.end()?))
}

/// The same in place of a journal in which no hand has recorded anything: that one is put aside once all is here.
async fn in_place_of_bare(
    data: &Path,
    lock: &Lock,
    line: &StationLine,
    head: &mut Head,
) -> Result<Taken, CourierError> {
    let folder = passing_folder().map_err(JournalError::Disk)?;
    if let Err(untaken) = behind_end(folder.path(), lock, line, head).await? {
        return Ok(Err(untaken));
    }
    let here = Reader::of(folder.path())?;
    let aside = backup::put_aside(data).map_err(|wrong| match wrong {
        BackupError::Journal(wrong) => wrong,
        wrong => JournalError::Disk(std::io::Error::other(wrong.to_string())),
    })?;
    tracing::info!(?aside, "a journal of profiles alone makes room for the hub's");
    let mut rows = Fetched::begin(data, lock)?;
    here.rows_after(0, |row| rows.add(&row))?;
    Ok(Ok(rows.end()?))
}

/// Begins a life behind a head, and remembers it; before that who begins it, so that after a lost answer it is known.
async fn begin_life(
    line: &StationLine,
    head: &mut Head,
    data: &Path,
    memory: &mut Memory,
) -> Result<(), CourierError> {
    let kept = |wrong| JournalError::Directory { path: data.to_owned(), reason: wrong };
    memory.keep(data).map_err(kept)?;
    let begun = line.begin_life(head.life, (head.upto, head.sum), &memory.machine).await?;
    // Where it moved meanwhile, the courier asks again.
    let Some(life) = begun else { return Ok(()) };
    head.life = life;
    memory.hub = Some(Known::of(head));
    Ok(memory.keep(data).map_err(kept)?)
}

/// What came of a life that a hand asked for.
#[derive(Debug)]
pub struct Begun {
    pub station: String,
    pub life: i32,
    /// The last row that both had.
    pub after: u64,
    /// So many rows of the hub's are no part of the history any more.
    pub left_behind: u64,
}

/// Why none was begun.
#[derive(Debug, thiserror::Error)]
pub enum NotBegun {
    #[error(transparent)]
    Asked(#[from] CourierError),
    #[error("no new life is needed: {0}")]
    NotNeeded(String),
    #[error("no new life was begun: {0}")]
    Refused(String),
}

impl From<HubError> for NotBegun {
    fn from(wrong: HubError) -> Self {
        Self::Asked(wrong.into())
    }
}

impl From<JournalError> for NotBegun {
    fn from(wrong: JournalError) -> Self {
        Self::Asked(wrong.into())
    }
}

/// A hand says that this machine is the station: a life begins behind the last row that journal and hub both have.
///
/// # Errors
/// It is not needed, or what the hub or the journal says.
pub async fn new_life(
    data: &Path,
    profile: &HubProfile,
    station: StationId,
) -> Result<Begun, NotBegun> {
    let reader = Reader::of(data)?;
    let mut memory = Memory::of(data);
    let line = StationLine::to(&Destination::of_profile(profile)?, station).await?;
    let mut head = line.head().await?;
    let (verdict, relation) = line.verdict(&memory, &head, Some(&reader)).await?;
    let said = in_words(&verdict, &head, relation);
    match verdict {
        Verdict::Send => return Err(NotBegun::NotNeeded(said)),
        Verdict::Fetch | Verdict::OldServer => return Err(NotBegun::Refused(said)),
        Verdict::BeginLife | Verdict::Apart | Verdict::Replaced | Verdict::OtherHub => {}
    }
    memory = memory.with_own_machine();
    let had = head.upto;
    (head.upto, head.sum) = line.last_common(&head, &reader).await?;
    begin_life(&line, &mut head, data, &mut memory).await?;
    match memory.hub {
        Some(known) if known.life == head.life => Ok(Begun {
            station: head.station,
            life: head.life,
            after: head.upto,
            left_behind: had - head.upto,
        }),
        _ => Err(NotBegun::Refused("another was begun meanwhile. Try again".into())),
    }
}
