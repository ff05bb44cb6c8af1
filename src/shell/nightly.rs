//! What the nightly check and copy came to, in a small file of its own in the data directory: the nightly job writes it,
//! the board shows it.

use std::io::Write;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::new_file::{NewFile, Readers};
use super::private;
use crate::shop::facts::moment::Wall;

const FILE: &str = "nightly.json";
const MOST_BYTES: u64 = 10_000;
/// Set for the board where a setup has laid the nightly job.
const SET_UP: &str = "DWELL_NIGHTLY";

/// One night.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Night {
    pub at: Wall,
    /// The copy that was made, or was to be.
    pub copy: String,
    /// Why it is no good; None: the journal is sound, and its copy was read back.
    pub wrong: Option<String>,
}

/// Whether a nightly job is set up for this board.
pub fn is_set_up() -> bool {
    std::env::var_os(SET_UP).is_some_and(|word| !word.is_empty())
}

impl Night {
    /// Notes it for the board.
    ///
    /// # Errors
    /// What the file system says.
    pub fn note(&self, data: &Path) -> std::io::Result<()> {
        let path = data.join(FILE);
        let mut file = NewFile::beside(&path, Readers::Owner)?;
        serde_json::to_writer(&mut file, self)?;
        file.write_all(b"\n")?;
        file.replace(&path)
    }

    /// The last one; None where there was none, or none that reads.
    pub fn last(data: &Path) -> Option<Self> {
        let text = private::read_small(&data.join(FILE), MOST_BYTES).ok()?;
        serde_json::from_str(&text).ok()
    }
}
