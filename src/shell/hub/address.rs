//! Which hub is meant, as whom, and by what it is trusted: from a station's profile, or from a command's options.

use std::path::{Path, PathBuf};

use super::HubError;
use super::secret::Secret;
use crate::shop::facts::station::{HubAddress, HubProfile};

/// All that is needed for a connection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Destination {
    pub address: HubAddress,
    pub role: String,
    /// None: the user's own file of passwords is asked.
    pub password_file: Option<PathBuf>,
    /// The authority of the server's certificate. None: nothing leaves the machine.
    pub ca: Option<PathBuf>,
}

impl Destination {
    /// That of a station.
    ///
    /// # Errors
    /// An address that does not read: of a profile that was checked, none.
    pub fn of_profile(hub: &HubProfile) -> Result<Self, HubError> {
        let address = HubAddress::read(&hub.address).map_err(in_address)?;
        Ok(Self {
            address,
            role: hub.role.clone(),
            password_file: Some(hub.password_file.clone().into()),
            ca: hub.ca.clone().map(PathBuf::from),
        })
    }

    /// That of a command; where the address names no role, the user of the machine is asked for.
    ///
    /// # Errors
    /// An address that does not read, or whose way needs an authority that was not given.
    pub fn of_options(address: &str, ca: Option<&Path>) -> Result<Self, HubError> {
        let address = HubAddress::read(address).map_err(in_address)?;
        if ca.is_none() {
            let wanted = |reason| HubError::Address(format!("--ca: {reason}"));
            address.needs_no_ca().map_err(wanted)?;
        }
        let user = || std::env::var("USER").ok().filter(|user| !user.is_empty());
        let role = address.role.clone().or_else(user).ok_or_else(|| {
            let text = "--address: it names no role: expected postgres://ROLE@HOST/DATABASE";
            HubError::Address(text.to_owned())
        })?;
        Ok(Self { address, role, password_file: None, ca: ca.map(Path::to_owned) })
    }

    /// The password, where there is one.
    ///
    /// # Errors
    /// A file that does not read, or that is open to others.
    pub(super) fn password(&self) -> Result<Option<Secret>, HubError> {
        match &self.password_file {
            Some(path) => Secret::of_file(path).map(Some),
            None => Secret::of_user(&self.address, &self.role),
        }
    }
}

fn in_address(reason: String) -> HubError {
    HubError::Address(format!("the hub's address: {reason}"))
}
