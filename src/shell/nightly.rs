//! What the nightly check and copy came to, in a small file of its own in the data directory: the nightly job writes it,
//! the board shows it.

use std::ffi::OsStr;
use std::fs::File;
use std::io::Write;
use std::os::unix::ffi::OsStrExt;
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
    #[error(
        "{}: what is mounted there changed while it was copied to: leave the stick in, then `systemctl start dwell-nightly`",
        .0.display()
    )]
    Changed(PathBuf),
    #[error("{} lies in memory, and a copy there goes with the power: name a second disk or a stick", .0.display())]
    InMemory(PathBuf),
}

/// The kernel's numbers of tmpfs and ramfs (linux/magic.h).
const IN_MEMORY: [u32; 2] = [0x0102_1994, 0x8584_58f6];

/// The file system that takes a copy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Elsewhere(u64);

impl Elsewhere {
    /// Whether a copy that was made there since lies on it: a stick may have been taken out in between.
    ///
    /// # Errors
    /// It may lie anywhere.
    pub fn is_still_at(self, to: &Path, data: &Path) -> Result<(), NoPlace> {
        match is_elsewhere(to, data) {
            Ok(now) if now == self => Ok(()),
            _ => Err(NoPlace::Changed(to.to_owned())),
        }
    }
}

/// Whether a directory lies on another file system than the data directory and the system: an empty mount point does not,
/// on whichever file system it is. Which stick it is nobody asks: a shop that changes two of them every week has both
/// taken.
///
/// # Errors
/// Why a copy there would be none.
pub fn is_elsewhere(to: &Path, data: &Path) -> Result<Elsewhere, NoPlace> {
    let wrong = |reason| NoPlace::File { path: to.to_owned(), reason };
    // Opened, not only looked at: a file system that is mounted on demand comes with that.
    let place = File::open(to).map_err(wrong)?;
    let device = place.metadata().map_err(wrong)?.dev();
    let own = [data, Path::new("/")].map(|path| std::fs::metadata(path).map(|there| there.dev()));
    if own.iter().flatten().any(|own| *own == device) || waits_for_a_mount(to).map_err(wrong)? {
        return Err(NoPlace::NothingMounted(to.to_owned()));
    }
    let kind = fstatfs(&place).map_err(|reason| wrong(reason.into()))?.f_type;
    match u32::try_from(kind).is_ok_and(|kind| IN_MEMORY.contains(&kind)) {
        true => Err(NoPlace::InMemory(to.to_owned())),
        false => Ok(Elsewhere(device)),
    }
}

/// Whether a directory is, or lies in, a mount point of fstab at which nothing is mounted. By the devices, as mountpoint(1)
/// tells it: a unit's own view of the files binds a directory that it may write to onto itself, which the kernel's list of
/// mounts does not tell from a stick.
fn waits_for_a_mount(to: &Path) -> std::io::Result<bool> {
    let (asked, real) = (std::path::absolute(to)?, to.canonicalize()?);
    let fstab = std::fs::read("/etc/fstab").unwrap_or_default();
    let named: Vec<PathBuf> = fstab
        .split(|byte| *byte == b'\n')
        .filter_map(mount_point)
        .filter(|point| asked.starts_with(point) || real.starts_with(point))
        .filter_map(|point| point.canonicalize().ok())
        .collect();
    let device = |path: &Path| std::fs::metadata(path).map(|there| there.dev());
    for (point, above) in real.ancestors().zip(real.ancestors().skip(1)) {
        if device(point)? != device(above)? {
            return Ok(false);
        }
        if named.iter().any(|named| named == point) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The second field of a line of fstab(5), in which a blank is written as \040.
fn mount_point(line: &[u8]) -> Option<PathBuf> {
    let mut fields = line.split(u8::is_ascii_whitespace).filter(|field| !field.is_empty());
    let field = fields.next().filter(|device| !device.starts_with(b"#")).and(fields.next())?;
    let mut path = Vec::with_capacity(field.len());
    let mut rest = field;
    while let Some((first, others)) = rest.split_first() {
        let octal = others.get(..3).filter(|_| *first == b'\\');
        let octal = octal.and_then(|digits| std::str::from_utf8(digits).ok());
        let byte = octal.and_then(|digits| u8::from_str_radix(digits, 8).ok());
        path.push(byte.unwrap_or(*first));
        rest = if byte.is_some() { &others[3..] } else { others };
    }
    Some(PathBuf::from(OsStr::from_bytes(&path))).filter(|path| path.is_absolute())
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
