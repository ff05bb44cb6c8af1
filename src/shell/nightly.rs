//! What the nightly check and copy came to, in a small file of its own in the data directory: the nightly job writes it,
//! the board shows it.

use std::fs::File;
use std::io::Write;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use rustix::fs::fstatfs;
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

/// Why a directory takes no nightly copy.
#[derive(Debug, thiserror::Error)]
pub enum NoPlace {
    #[error("{}: {reason}", .path.display())]
    File { path: PathBuf, reason: std::io::Error },
    /// The mount point of a stick that is not in, or a directory that was never another disk's.
    #[error(
        "nothing is mounted at {}, so nothing was copied: put the stick or the second disk in, then `systemctl start \
         dwell-nightly`",
        .0.display()
    )]
    NothingMounted(PathBuf),
    #[error("{} lies in memory, and a copy there goes with the power: name a second disk or a stick", .0.display())]
    InMemory(PathBuf),
}

/// The kernel's numbers of tmpfs and ramfs (linux/magic.h).
const IN_MEMORY: [u32; 2] = [0x0102_1994, 0x8584_58f6];

/// Whether a directory lies on another file system than the data directory and the system: an empty mount point does not.
/// Which stick it is nobody asks: a shop that changes two of them every week has both taken.
///
/// # Errors
/// Why a copy there would be none.
pub fn is_elsewhere(to: &Path, data: &Path) -> Result<(), NoPlace> {
    let wrong = |reason| NoPlace::File { path: to.to_owned(), reason };
    // Opened, not only looked at: a file system that is mounted on demand comes with that.
    let place = File::open(to).map_err(wrong)?;
    let device = place.metadata().map_err(wrong)?.dev();
    let own = [data, Path::new("/")].map(|path| std::fs::metadata(path).map(|there| there.dev()));
    if own.iter().flatten().any(|own| *own == device) {
        return Err(NoPlace::NothingMounted(to.to_owned()));
    }
    let kind = fstatfs(&place).map_err(|reason| wrong(reason.into()))?.f_type;
    match u32::try_from(kind).is_ok_and(|kind| IN_MEMORY.contains(&kind)) {
        true => Err(NoPlace::InMemory(to.to_owned())),
        false => Ok(()),
    }
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
