//! What the owner of the hub does: make it, and add stations.

use std::path::PathBuf;

use clap::Args;

use super::At;
use crate::commands::{Failure, output};
use crate::shell::hub::prepare::{self, NewStation, Prepared};
use crate::shell::hub::{Destination, block_on};
use crate::shop::facts::ids::StationId;
use crate::shop::facts::station::{Host, HubProfile};
use crate::shop::facts::words::clean;

/// A station to be added.
#[derive(Debug, Args)]
pub struct StationOptions {
    /// The id in its station.ron: one to three letters
    #[arg(value_name = "ID")]
    id: StationId,
    #[command(flatten)]
    at: At,
    /// Where its password is written: a file of mode 0600, for the board's user on that station
    #[arg(long, value_name = "FILE")]
    password_file: PathBuf,
    /// What people call the station
    #[arg(long, default_value = "")]
    name: String,
    /// A new password for a station that is there already; the old one ends
    #[arg(long)]
    renew: bool,
}

impl At {
    pub(super) fn destination(&self) -> Result<Destination, Failure> {
        Ok(Destination::of_options(&self.address, self.ca.as_deref())?)
    }
}

/// Makes a hub of a database.
pub fn prepare(at: &At) -> Result<(), Failure> {
    let to = at.destination()?;
    let Prepared { is_new, without_role } = block_on(prepare::prepare(&to))?;
    let place = to.address.in_words();
    let mut lines = vec![match is_new {
        true => format!("the hub is prepared: {place}"),
        false => format!("the hub was there: its functions and rights are set right: {place}"),
    }];
    if is_new {
        lines.push(
            "next, for each station: dwell hub add-station ID --address ... --password-file FILE"
                .into(),
        );
    }
    lines.extend(without_role.iter().map(|station| {
        format!("station \"{station}\" has no role on this server: dwell hub add-station {station} --renew ...")
    }));
    output::lines(lines)
}

/// Adds a station, and prints what its station.ron gets.
pub fn add_station(options: &StationOptions) -> Result<(), Failure> {
    let to = options.at.destination()?;
    let password_file = std::path::absolute(&options.password_file)?;
    output::is_nobodys(&password_file)?;
    let new = NewStation {
        id: options.id,
        name: &clean(&options.name, 40),
        password_file: &password_file,
        renew: options.renew,
    };
    let role = block_on(async { Ok(prepare::add_station(&to, &new).await) })??;
    let whole = |path: &PathBuf| Ok::<_, Failure>(std::path::absolute(path)?.display().to_string());
    let profile = HubProfile {
        address: without_role(&options.at.address),
        role,
        password_file: password_file.display().to_string(),
        ca: options.at.ca.as_ref().map(whole).transpose()?,
    };
    output::lines([line(&profile)])?;
    if to.address.hosts.iter().any(|host| matches!(host, Host::Socket(..))) || to.ca.is_none() {
        output::complain(
            "this address is good on this machine alone: on another one put the server's name there, and its `ca`",
        );
    }
    Ok(())
}

/// An address without whom the owner came as.
pub fn without_role(address: &str) -> String {
    match (address.split_once("://"), address.rsplit_once('@')) {
        (Some((scheme, _)), Some((_, place))) => format!("{scheme}://{place}"),
        _ => address.to_owned(),
    }
}

/// The field as it stands in a profile.
fn line(hub: &HubProfile) -> String {
    let quoted = |text: &str| format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""));
    let ca = hub.ca.as_deref().map_or_else(String::new, |ca| format!(", ca: Some({})", quoted(ca)));
    format!(
        "hub: Some((address: {}, role: {}, password_file: {}{ca})),",
        quoted(&hub.address),
        quoted(&hub.role),
        quoted(&hub.password_file)
    )
}
