//! `dwell hub status`: how far the hub is with this station. It only looks, and the board goes on.

use clap::Args;
use serde_json::json;

use crate::commands::{Failure, Places, output};
use crate::shell::hub::status::{State, Status};
use crate::shell::profiles::Profiles;
use crate::shop::facts::station::HubProfile;

/// How it is told.
#[derive(Debug, Args)]
pub struct StatusOptions {
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Says how far the hub is with this station.
pub fn status(places: &Places, options: &StatusOptions) -> Result<(), Failure> {
    let profiles = places.profiles()?;
    let profile = hub_of(&profiles)?;
    let Status { state, behind, reason } =
        Status::ask(&places.data()?, profile, profiles.station.id)?;
    if options.json {
        return output::json(&json!({ "state": state.name(), "behind": behind, "reason": reason }));
    }
    let waits = match (state, behind) {
        (State::Sent, _) => "it has all that is saved here".to_owned(),
        (_, Some(behind)) => format!("{behind} behind"),
        (_, None) => "how far it is behind is not known".to_owned(),
    };
    let mut lines = vec![format!("{}: {waits}", state.name())];
    lines.extend(reason);
    output::lines(lines)
}

/// The hub of this station.
///
/// # Errors
/// It has none.
pub fn hub_of(profiles: &Profiles) -> Result<&HubProfile, Failure> {
    profiles.station.hub.as_ref().ok_or_else(|| {
        let text = "this station has no hub: its station.ron has no field `hub`. The owner of a hub prints it with \
                    dwell hub add-station";
        Failure::Input(text.into())
    })
}
