//! `dwell hub`: the database in which the stations of a shop meet.

mod all;
mod new_life;
mod prepare;
mod reader;
mod status;

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::{Failure, Places};
use crate::shell::hub::prepare::NotAdded;
use crate::shell::hub::{Destination, HubError};

/// What is done at the hub.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Options {
    #[command(subcommand)]
    action: Option<Action>,
    #[command(flatten)]
    hub: WhichHub,
    /// All stations as JSON, instead of a screen
    #[arg(long)]
    json: bool,
}

/// Which hub is read: that of the station whose profile is found, or another.
#[derive(Debug, Args)]
pub struct WhichHub {
    /// The hub to read, where no station's profile names it: postgres://ROLE@HOST:5432/DATABASE. The password comes from
    /// ~/.pgpass or the file that PGPASSFILE names
    #[arg(long, value_name = "URL")]
    address: Option<String>,
    /// The certificate authority of that server, as PEM. Only a local socket and 127.0.0.1 do without
    #[arg(long, value_name = "FILE", requires = "address")]
    ca: Option<PathBuf>,
}

impl WhichHub {
    /// Whether the command line names one.
    pub fn is_named(&self) -> bool {
        self.address.is_some()
    }

    /// Where it is and who asks.
    ///
    /// # Errors
    /// An address that does not read, a profile that does not, or none that names a hub.
    pub fn destination(&self, places: &Places) -> Result<Destination, Failure> {
        if let Some(address) = &self.address {
            return Ok(Destination::of_options(address, self.ca.as_deref())?);
        }
        let profiles = places.profiles()?;
        let hub = profiles.station.hub.as_ref().ok_or_else(|| {
            let text =
                "no profile here names a hub: give --address postgres://ROLE@HOST:5432/DATABASE";
            Failure::Input(text.to_owned())
        })?;
        Ok(Destination::of_profile(hub)?)
    }
}

#[derive(Debug, Subcommand)]
enum Action {
    /// Make a hub of a database, or set its rights right again: for the owner of the database
    Prepare(At),
    /// Add a station to the hub: its role, its password in a file, and the line for its station.ron
    AddStation(prepare::StationOptions),
    /// Add somebody who reads all stations and changes nothing: a lead's machine, an owner's
    AddReader(reader::ReaderOptions),
    /// This machine is the station, and goes on behind the last event that the hub has too. Other machines send no more
    NewLife,
    /// How far the hub is with this station
    Status(status::StatusOptions),
}

/// Which hub.
#[derive(Debug, Args)]
pub struct At {
    /// postgres://ROLE@HOST:5432/DATABASE, or postgres://ROLE@/DATABASE?host=/run/postgresql for a local socket. The
    /// password comes from ~/.pgpass or the file that PGPASSFILE names
    #[arg(long, value_name = "URL")]
    address: String,
    /// The certificate authority of the server, as PEM. Only a local socket and 127.0.0.1 do without
    #[arg(long, value_name = "FILE")]
    ca: Option<PathBuf>,
}

impl From<HubError> for Failure {
    fn from(wrong: HubError) -> Self {
        match wrong {
            HubError::Outage(_) | HubError::Answer(_) => Failure::Other(wrong.to_string()),
            _ => Failure::Input(wrong.to_string()),
        }
    }
}

impl From<NotAdded> for Failure {
    fn from(wrong: NotAdded) -> Self {
        match wrong {
            NotAdded::Hub(wrong) => wrong.into(),
            _ => Failure::Input(wrong.to_string()),
        }
    }
}

/// Does what is asked.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    match &options.action {
        Some(Action::Prepare(at)) => prepare::prepare(at),
        Some(Action::AddStation(options)) => prepare::add_station(options),
        Some(Action::AddReader(options)) => reader::add_reader(options),
        Some(Action::NewLife) => new_life::new_life(places),
        Some(Action::Status(options)) => status::status(places, options),
        None if options.json => all::print(places, &options.hub),
        None => all::show(places, &options.hub),
    }
}
