//! Where things lie: the data directory, the profiles, the log.

use std::path::PathBuf;

use etcetera::BaseStrategy;

/// The program's directory within the user's own.
const NAME: &str = "dwell";

/// Where no directory of the user's can be found out.
#[derive(Debug, thiserror::Error)]
#[error("the user's directories are not known ({0}): give --data DIR, or set HOME")]
pub struct NoHome(String);

fn base() -> Result<etcetera::base_strategy::Xdg, NoHome> {
    let base = etcetera::base_strategy::Xdg::new().map_err(|reason| NoHome(reason.to_string()))?;
    // An empty HOME would lead to whatever directory the program was started in.
    match base.home_dir().is_absolute() {
        true => Ok(base),
        false => Err(NoHome(format!("HOME is \"{}\"", base.home_dir().display()))),
    }
}

/// The data directory: as given, else the user's own.
///
/// # Errors
/// No home directory.
pub fn data(given: Option<PathBuf>) -> Result<PathBuf, NoHome> {
    match given {
        Some(path) => Ok(path),
        None => Ok(base()?.data_dir().join(NAME)),
    }
}

/// The profiles that nobody had to name: the user's, where there are any, else the machine's.
pub fn found_profiles() -> Option<PathBuf> {
    let own = base().ok().map(|base| base.config_dir().join(NAME));
    own.into_iter().chain([PathBuf::from("/etc").join(NAME)]).find(|path| path.is_dir())
}

/// A place beside the data directory, for what could not be written there; None where no directory is the user's own.
/// Never one that all share: what another user lays there would come into the journal.
pub fn rescue() -> Option<PathBuf> {
    Some(base().ok()?.state_dir()?.join(NAME))
}
