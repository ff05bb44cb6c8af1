//! Files and directories for their owner alone.

use std::fs::{DirBuilder, File, Metadata, OpenOptions, Permissions};
use std::io::{ErrorKind, Read};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt, PermissionsExt};
use std::path::Path;

use rustix::process::{Uid, geteuid};

/// Makes a directory, and those above it, where they are missing, so that they outlast a power cut.
///
/// # Errors
/// What the file system says.
pub fn directory(path: &Path) -> std::io::Result<()> {
    if path.is_dir() {
        return Ok(());
    }
    if let Some(above) = path.parent().filter(|above| !above.as_os_str().is_empty()) {
        directory(above)?;
    }
    DirBuilder::new().recursive(true).mode(0o700).create(path)?;
    sync_name(path);
    Ok(())
}

/// Whether others than its owner may write in a directory. One that was there before is not ours to close.
pub fn is_open_to_others(path: &Path) -> bool {
    std::fs::metadata(path).is_ok_and(|there| there.permissions().mode() & 0o022 != 0)
}

/// Why what lies in a directory is not taken at its word.
#[derive(Debug, thiserror::Error)]
pub enum NotOurs {
    #[error("cannot be looked at: {0}")]
    File(#[from] std::io::Error),
    #[error("is no directory")]
    NoDirectory,
    #[error("belongs to another user ({0}): chown it, where you trust what lies in it")]
    Foreign(u32),
    #[error("is open to others (mode {0:o}): look at what lies in it, and chmod 700 it")]
    Open(u32),
}

/// Whether a directory is our own, and others have none of the rights of `closed`, a part of a mode.
///
/// # Errors
/// Why not.
pub fn is_ours(path: &Path, closed: u32) -> Result<(), NotOurs> {
    let there = std::fs::metadata(path)?;
    let mode = there.mode() & 0o7777;
    match there.uid() {
        _ if !there.is_dir() => Err(NotOurs::NoDirectory),
        owner if owner != geteuid().as_raw() => Err(NotOurs::Foreign(owner)),
        _ if mode & closed != 0 => Err(NotOurs::Open(mode)),
        _ => Ok(()),
    }
}

/// Makes the name of a file or directory that was made or renamed outlast a power cut: what is in a file is synced
/// with it, its name only with the directory that it stands in. Some file systems cannot, and need not.
pub fn sync_name(path: &Path) {
    drop(sync_folder(path));
}

/// The same where it must not fail.
///
/// # Errors
/// What the file system says.
pub fn sync_folder(path: &Path) -> std::io::Result<()> {
    let folder = path.parent().filter(|above| !above.as_os_str().is_empty());
    File::open(folder.unwrap_or(Path::new(".")))?.sync_all()
}

/// Takes a file away; one that is not there is as good as gone.
///
/// # Errors
/// What the file system says.
pub fn remove(path: &Path) -> std::io::Result<()> {
    match std::fs::remove_file(path) {
        Err(reason) if reason.kind() != ErrorKind::NotFound => Err(reason),
        _ => Ok(()),
    }
}

/// Which file it is, whatever its names are: device and inode.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FileId(u64, u64);

impl FileId {
    fn of(there: &Metadata) -> Self {
        Self(there.dev(), there.ino())
    }
}

/// Whether two names are of one file, also where links lead to it.
pub fn is_same_file(one: &Path, other: &Path) -> bool {
    let identity = |path| std::fs::metadata(path).map(|there| FileId::of(&there));
    matches!((identity(one), identity(other)), (Ok(one), Ok(other)) if one == other)
}

/// Why a small file was not read.
#[derive(Debug, thiserror::Error)]
pub enum NotSmall {
    #[error("{0}")]
    File(#[from] std::io::Error),
    #[error("it is no regular file")]
    NoFile,
    #[error("{found} bytes: expected at most {most}")]
    Large { found: u64, most: u64 },
    #[error("it belongs to another user ({0}): chown makes it yours, where you trust it")]
    Foreign(u32),
}

/// Reads a text of at most so many bytes from a regular file: not from a pipe that nobody writes to, nor from a device
/// without an end.
///
/// # Errors
/// Another kind of file, a larger one, one that is not text, or what the file system says.
pub fn read_small(path: &Path, most: u64) -> Result<String, NotSmall> {
    read_file(path, most).map(|(_, text)| text)
}

/// The same, and which file it was.
///
/// # Errors
/// As there.
pub fn read_file(path: &Path, most: u64) -> Result<(FileId, String), NotSmall> {
    // Opening a device may do something to it.
    if !std::fs::metadata(path)?.is_file() {
        return Err(NotSmall::NoFile);
    }
    // What is opened may be another by now: a pipe is not waited for, and looked at again.
    let flags = rustix::fs::OFlags::NONBLOCK.bits().cast_signed();
    let file = OpenOptions::new().read(true).custom_flags(flags).open(path)?;
    let there = file.metadata()?;
    if !there.is_file() {
        return Err(NotSmall::NoFile);
    }
    if there.len() > most {
        return Err(NotSmall::Large { found: there.len(), most });
    }
    let mut text = String::new();
    // It may grow while it is read.
    file.take(most).read_to_string(&mut text)?;
    Ok((FileId::of(&there), text))
}

/// Whether we or the machine's owner gave a file, or the link that leads to it, its name.
///
/// # Errors
/// Another user's, or what the file system says.
pub fn is_by_us(path: &Path) -> Result<(), NotSmall> {
    let owner = std::fs::symlink_metadata(path)?.uid();
    if owner == geteuid().as_raw() || owner == Uid::ROOT.as_raw() {
        return Ok(());
    }
    Err(NotSmall::Foreign(owner))
}

/// Opens one of the files that stay open and are written in place (lock, mark, log, journal), making it where it is
/// missing; what is in it stays.
///
/// # Errors
/// A link in its place, which may lead to anybody's file; another kind of file; or what the file system says.
pub fn held(path: &Path) -> std::io::Result<File> {
    // Opening a pipe would wait for whoever reads it.
    if std::fs::symlink_metadata(path).is_ok_and(|there| !there.is_file()) {
        return Err(std::io::Error::new(ErrorKind::InvalidInput, NotSmall::NoFile));
    }
    let file = never_through_a_link(
        OpenOptions::new().write(true).create(true).truncate(false).mode(0o600),
    )
    .open(path)?;
    // One that was copied here by hand may lie open; a file system without owners cannot be told, and need not be.
    if file.metadata()?.permissions().mode() & 0o077 != 0 {
        drop(file.set_permissions(Permissions::from_mode(0o600)));
    }
    Ok(file)
}

/// Has a file opened only if its own name is no link.
pub fn never_through_a_link(options: &mut OpenOptions) -> &mut OpenOptions {
    let flags = rustix::fs::OFlags::NOFOLLOW.bits().cast_signed();
    options.custom_flags(flags)
}
