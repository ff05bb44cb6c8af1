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
    etcetera::base_strategy::Xdg::new().map_err(|reason| NoHome(reason.to_string()))
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

/// The user's profiles, where there are any.
pub fn own_profiles() -> Option<PathBuf> {
    base().ok().map(|base| base.config_dir().join(NAME)).filter(|path| path.is_dir())
}

/// A place beside the data directory, for what could not be written there.
pub fn rescue() -> PathBuf {
    let state = base().ok().and_then(|base| base.state_dir());
    state.map_or_else(std::env::temp_dir, |path| path.join(NAME))
}
