//! `dwell hub new-life`: a hand says that this machine is the station.

use crate::commands::{Failure, Places, output};
use crate::shell::hub::block_on;
use crate::shell::hub::replaced::{self, Begun, NotBegun};
use crate::shell::hub::station::CourierError;
use crate::shop::facts::words::counted;

impl From<NotBegun> for Failure {
    fn from(wrong: NotBegun) -> Self {
        match wrong {
            NotBegun::Asked(CourierError::Hub(wrong)) => wrong.into(),
            NotBegun::Asked(CourierError::Journal(wrong)) => wrong.into(),
            wrong => Failure::Input(wrong.to_string()),
        }
    }
}

/// Begins a life, and says from where on.
pub fn new_life(places: &Places) -> Result<(), Failure> {
    let profiles = places.profiles()?;
    let profile = super::status::hub_of(&profiles)?;
    let (data, station) = (places.data()?, profiles.station.id);
    let begun = match block_on(async { Ok(replaced::new_life(&data, profile, station).await) })? {
        Err(wrong @ NotBegun::NotNeeded(_)) => return output::lines([wrong.to_string()]),
        begun => begun?,
    };
    let Begun { station, life, after, left_behind } = begun;
    let mut lines = vec![format!(
        "station \"{station}\" goes on from this machine, behind its event {after} (life {life}); no other machine sends for it \
         any more"
    )];
    if left_behind > 0 {
        let events = counted(usize::try_from(left_behind).unwrap_or(usize::MAX), "event");
        lines.push(format!(
            "{events} that only the hub had stay there, and count no more. Compare presses, queues and shelf with what \
             lies there"
        ));
    }
    output::lines(lines)
}
