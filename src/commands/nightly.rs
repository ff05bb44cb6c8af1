//! The nightly check and copy, and a note for the board of what they came to.

use std::path::{Path, PathBuf};

use clap::Args;

use super::{Failure, Places, check, output};
use crate::shell::clock::Clock;
use crate::shell::journal::backup;
use crate::shell::nightly::{Night, NoPlace, is_elsewhere};
use crate::shop::facts::words::clean;

/// Where the copies lie.
#[derive(Debug, Args)]
pub struct Options {
    /// A directory on a second disk or a stick: seven copies, one for each day of the week. On the disk of the journal or
    /// of the system, as at the mount point of a stick that is not in, nothing is copied
    to: PathBuf,
}

/// Checks, copies, and notes what came of it. The note stands whatever that was.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let data = places.data()?;
    let at = Clock::machine().now().at;
    let zone = jiff::tz::TimeZone::system();
    let day = at.timestamp().map(|at| at.to_zoned_datetime(zone).weekday().to_monday_one_offset());
    let copy = options.to.join(format!("dwell-{}.sqlite", day.unwrap_or(0)));
    let done = check_and_copy(&data, &options.to, &copy);
    let wrong = done.as_ref().err().map(|wrong| clean(&wrong.to_string(), 300));
    let night = Night { at, copy: clean(&copy.display().to_string(), 200), wrong };
    let noted = night.note(&data);
    done?;
    noted.map_err(|reason| {
        Failure::Other(format!("{}: the board cannot be told: {reason}", data.display()))
    })?;
    output::lines([format!("sound, and copied to {}, read back row by row", copy.display())])
}

fn check_and_copy(data: &Path, to: &Path, copy: &Path) -> Result<(), Failure> {
    check::checked(data)?;
    let place = is_elsewhere(to, data)?;
    backup::backup(data, copy, true)?;
    Ok(place.is_still_at(to, data)?)
}

impl From<NoPlace> for Failure {
    fn from(wrong: NoPlace) -> Self {
        Failure::Input(wrong.to_string())
    }
}
