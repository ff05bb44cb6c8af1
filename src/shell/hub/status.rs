//! How far the hub is with a station, for whoever asks beside the board: nothing is locked, written or begun.

use std::path::Path;

use super::agreement::{Relation, Verdict};
use super::courier::in_words;
use super::memory::Memory;
use super::station::{CourierError, StationLine};
use super::{Destination, HubError, block_on};
use crate::shell::journal::Reader;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::station::HubProfile;

/// In a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    Sent,
    Behind,
    Cut,
    Refused,
}

impl State {
    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            State::Sent => "hub",
            State::Behind => "behind",
            State::Cut => "no hub",
            State::Refused => "refused",
        }
    }
}

/// How far the hub is.
#[derive(Debug)]
pub struct Status {
    pub state: State,
    /// So many events it lacks, as far as that is known.
    pub behind: Option<u64>,
    /// Why it is not well, and what helps.
    pub reason: Option<String>,
}

impl Status {
    /// Asks the hub, and the journal of a data directory.
    ///
    /// # Errors
    /// No journal that reads.
    pub fn ask(
        data: &Path,
        profile: &HubProfile,
        station: StationId,
    ) -> Result<Self, crate::shell::journal::JournalError> {
        let reader = Reader::of(data)?;
        let memory = Memory::of(data);
        let asked = block_on(async {
            let answer = async {
                let line = StationLine::to(&Destination::of_profile(profile)?, station).await?;
                let head = line.look().await?;
                let (verdict, relation) = line.verdict(&memory, &head, Some(&reader)).await?;
                Ok::<_, CourierError>((head, verdict, relation))
            };
            Ok(answer.await)
        });
        let known = memory.hub.as_ref();
        let confirmed = known.map_or(0, |known| known.seq);
        let waiting = reader.last()?.0.checked_sub(confirmed);
        let failed = |wrong: HubError| {
            let state = if wrong.is_outage() { State::Cut } else { State::Refused };
            Self { state, behind: waiting, reason: Some(wrong.to_string()) }
        };
        let (head, verdict, relation) = match asked {
            Ok(Ok(found)) => found,
            Ok(Err(CourierError::Journal(wrong))) => return Err(wrong),
            Ok(Err(CourierError::Hub(wrong))) | Err(wrong) => return Ok(failed(wrong)),
        };
        let said = Some(in_words(&verdict, &head, relation));
        Ok(match (&verdict, relation) {
            (Verdict::Send | Verdict::BeginLife, Relation::Behind(0)) => {
                Self { state: State::Sent, behind: Some(0), reason: None }
            }
            (Verdict::Send | Verdict::BeginLife, Relation::Behind(behind)) => {
                Self { state: State::Behind, behind: Some(behind), reason: None }
            }
            (Verdict::OldServer, _) => Self { state: State::Cut, behind: waiting, reason: said },
            _ => Self { state: State::Refused, behind: waiting, reason: said },
        })
    }
}
