//! A file as it is at a moment.

use std::fmt::{self, Display, Formatter};
use std::fs::Metadata;
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::str::FromStr;

/// Whoever writes a file or puts another in its place changes it. In words: its seven numbers, with a comma between them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    device: u64,
    inode: u64,
    /// Bytes.
    length: u64,
    /// Seconds and nanoseconds at which what is in it was written last.
    written: (i64, i64),
    /// The same of its name, its rights and all else.
    changed: (i64, i64),
}

impl Stamp {
    pub(super) fn of(there: &Metadata) -> Self {
        Self {
            device: there.dev(),
            inode: there.ino(),
            length: there.len(),
            written: (there.mtime(), there.mtime_nsec()),
            changed: (there.ctime(), there.ctime_nsec()),
        }
    }

    /// That of the file at a path.
    ///
    /// # Errors
    /// What the file system says.
    pub fn at(path: &Path) -> std::io::Result<Self> {
        Ok(Self::of(&std::fs::symlink_metadata(path)?))
    }

    /// Whether it may be the same file with the same in it: another name changes no more than the last of its moments.
    pub(super) fn is_renamed(self, before: Self) -> bool {
        Self { changed: before.changed, ..self } == before
    }
}

impl Display for Stamp {
    fn fmt(&self, to: &mut Formatter<'_>) -> fmt::Result {
        let Self { device, inode, length, written, changed } = self;
        write!(
            to,
            "{device},{inode},{length},{},{},{},{}",
            written.0, written.1, changed.0, changed.1
        )
    }
}

/// No stamp.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("expected seven numbers with commas between them")]
pub struct NoStamp;

impl FromStr for Stamp {
    type Err = NoStamp;

    fn from_str(text: &str) -> Result<Self, NoStamp> {
        let fields: Vec<&str> = text.split(',').collect();
        let [device, inode, length, moments @ ..] = &fields[..] else { return Err(NoStamp) };
        let unsigned = |field: &str| field.parse::<u64>().map_err(|_| NoStamp);
        let moments = moments.iter().map(|field| field.parse::<i64>().map_err(|_| NoStamp));
        let [written, written_ns, changed, changed_ns] =
            moments.collect::<Result<Vec<_>, _>>()?.try_into().map_err(|_| NoStamp)?;
        Ok(Self {
            device: unsigned(device)?,
            inode: unsigned(inode)?,
            length: unsigned(length)?,
            written: (written, written_ns),
            changed: (changed, changed_ns),
        })
    }
}
