//! Garments of a shared order are asked for: the hub grants them, so that no two stations make the same ones.
//!
//! The hub keeps a grant by the number that was asked by. So an asking can be said again after an answer that was lost,
//! and a grant of which the station has no row yet is heard of when it reads the hub next, whatever became of the asking.

use std::time::Duration;

use super::station::StationLine;
use super::{Destination, HubError, block_on};
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::station::HubProfile;

/// So often it is asked at most, with pauses that double: whoever asked stands there.
const TRIES: u32 = 3;
const FIRST_PAUSE: Duration = Duration::from_millis(500);
/// What a server says that has no such function (42883) or table (42P01), by PostgreSQL's appendix of error codes: the hub
/// was prepared before orders were shared.
const LACKS: [&str; 2] = ["42883", "42P01"];

/// What the hub answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PartAnswer {
    /// All that was asked for; how many of the line nobody has taken now.
    Granted { left: u32 },
    /// None: fewer are left than were asked for.
    FewerLeft { left: u32 },
    /// The hub has no such line yet, or it was taken back.
    Unknown,
    /// It is of an older dwell, which shares no orders.
    Lacking,
    /// It gave no answer.
    Unanswered(String),
}

/// Asks, and again where no answer came. It takes its time.
pub fn ask(profile: &HubProfile, station: StationId, asked: &PartOf) -> PartAnswer {
    let mut pause = FIRST_PAUSE;
    for n in 1..=TRIES {
        match block_on(once(profile, station, asked)) {
            Ok(answer) => return answer,
            Err(HubError::Refused { code, .. }) if LACKS.contains(&code.as_str()) => {
                return PartAnswer::Lacking;
            }
            Err(wrong) if n == TRIES || !wrong.is_outage() => {
                return PartAnswer::Unanswered(wrong.to_string());
            }
            Err(wrong) => tracing::info!(%wrong, "a part was not answered for"),
        }
        std::thread::sleep(pause);
        pause *= 2;
    }
    PartAnswer::Unanswered(String::new())
}

/// Gives back what was granted and is not made here.
///
/// # Errors
/// The hub did not confirm it.
pub fn give_back(
    profile: &HubProfile,
    station: StationId,
    granted: &PartOf,
) -> Result<(), HubError> {
    block_on(async {
        let line = StationLine::to(&Destination::of_profile(profile)?, station).await?;
        line.give_back(&granted.grant).await
    })
}

async fn once(
    profile: &HubProfile,
    station: StationId,
    asked: &PartOf,
) -> Result<PartAnswer, HubError> {
    let line = StationLine::to(&Destination::of_profile(profile)?, station).await?;
    Ok(match line.take_part(asked).await? {
        None => PartAnswer::Unknown,
        Some((granted, left)) if granted == asked.count => PartAnswer::Granted { left },
        Some((_, left)) => PartAnswer::FewerLeft { left },
    })
}
