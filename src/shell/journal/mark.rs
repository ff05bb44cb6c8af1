//! How far the journal had come when it was last saved, in a small file beside it: no row knows that others came after
//! it, so this alone tells that rows are missing at its end.
//!
//! It is written after each commit and never synced: after a power cut it may lag behind, and it is never ahead of the
//! journal unless that has lost what was called synced.

use std::fs::File;
use std::os::unix::fs::FileExt;
use std::path::Path;

use super::snapshot;
use crate::shell::private;

const FILE: &str = "saved-upto";

/// The last row that was saved, and its sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    pub seq: u64,
    pub sum: i64,
}

impl Mark {
    /// The mark of a data directory; None where there is none, or none that reads.
    pub fn read(data: &Path) -> Option<Self> {
        let text = private::read_small(&data.join(FILE), 100).ok()?;
        let (seq, sum) = text.strip_suffix('\n')?.trim().split_once(' ')?;
        Some(Self { seq: seq.parse().ok()?, sum: sum.trim().parse().ok()? })
    }

    /// How far a journal is known to have been saved: its mark says, else the snapshot that was made of it.
    pub fn known(data: &Path) -> Option<Self> {
        let made_of = || snapshot::head(data).map(|head| Self { seq: head.seq, sum: head.sum });
        Self::read(data).or_else(made_of)
    }

    /// One length whatever the numbers are, so that it is written in place.
    fn text(self) -> String {
        format!("{:>20} {:>20}\n", self.seq, self.sum)
    }
}

/// The mark's file, held open.
pub(super) struct Marker(Option<File>);

impl Marker {
    /// Where it cannot be written the journal is no worse for it.
    pub fn open(data: &Path) -> Self {
        let file = private::held(&data.join(FILE));
        let said = |reason: &std::io::Error| tracing::warn!(%reason, "no mark of what was saved");
        Self(file.inspect_err(said).ok())
    }

    /// Sets the mark.
    pub fn set(&self, mark: Mark) {
        if let Some(file) = &self.0
            && let Err(reason) = file.write_all_at(mark.text().as_bytes(), 0)
        {
            tracing::warn!(%reason, "the mark of what was saved stays behind");
        }
    }
}

/// Takes the mark away, with a journal that it no longer belongs to.
///
/// # Errors
/// What the file system says.
pub fn remove(data: &Path) -> std::io::Result<()> {
    private::remove(&data.join(FILE))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_reads_back_and_half_a_mark_does_not() {
        let there = tempfile::tempdir().unwrap();
        let marker = Marker::open(there.path());
        for mark in [Mark { seq: 7, sum: -3 }, Mark { seq: u64::MAX, sum: i64::MIN }] {
            marker.set(mark);
            assert_eq!(Mark::read(there.path()), Some(mark));
        }
        let path = there.path().join(FILE);
        let whole = std::fs::read(&path).unwrap();
        for length in 0..whole.len() {
            std::fs::write(&path, &whole[..length]).unwrap();
            assert_eq!(Mark::read(there.path()), None, "{length} bytes of it");
        }
        remove(there.path()).unwrap();
        assert_eq!(Mark::read(there.path()), None);
    }
}
