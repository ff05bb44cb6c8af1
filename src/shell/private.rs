//! Files and directories for their owner alone.

use std::fs::{DirBuilder, File, OpenOptions, Permissions};
use std::io::{ErrorKind, Read, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

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

/// Lays a file down in a directory, which is made where it is missing: whole, or what was there before stays. It is
/// there after a power cut.
///
/// # Errors
/// What the file system says.
pub fn lay(folder: &Path, name: &str, bytes: &[u8]) -> std::io::Result<PathBuf> {
    directory(folder)?;
    let path = folder.join(name);
    let unfinished = path.with_extension("part");
    write(&unfinished, bytes)?;
    std::fs::rename(&unfinished, &path)?;
    sync_name(&path);
    Ok(path)
}

/// The same under a name that nothing has yet: a number stands between its beginning and its end.
///
/// # Errors
/// What the file system says.
pub fn lay_new(folder: &Path, stem: &str, end: &str, bytes: &[u8]) -> std::io::Result<PathBuf> {
    directory(folder)?;
    let unfinished = folder.join(format!("{stem}part"));
    write(&unfinished, bytes)?;
    for number in 1..1000 {
        let path = folder.join(format!("{stem}{number}{end}"));
        match name_once(&unfinished, &path) {
            Ok(()) => {
                sync_name(&path);
                return Ok(path);
            }
            Err(reason) if reason.kind() == ErrorKind::AlreadyExists => {}
            Err(reason) => return Err(reason),
        }
    }
    Err(ErrorKind::AlreadyExists.into())
}

/// Renames a file to a name that nothing has, where the file system can tell.
///
/// # Errors
/// Something has that name, or what the file system says.
pub fn name_once(from: &Path, to: &Path) -> std::io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    match renameat_with(CWD, from, CWD, to, RenameFlags::NOREPLACE) {
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) if to.exists() => {
            Err(ErrorKind::AlreadyExists.into())
        }
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => std::fs::rename(from, to),
        other => Ok(other?),
    }
}

/// A hidden name beside a file, for what is to become that file: no other process's has it.
pub fn unfinished(path: &Path) -> PathBuf {
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    path.with_file_name(name)
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
}

/// Reads a text of at most so many bytes from a regular file: not from a pipe that nobody writes to, nor from a device
/// without an end.
///
/// # Errors
/// Another kind of file, a larger one, one that is not text, or what the file system says.
pub fn read_small(path: &Path, most: u64) -> Result<String, NotSmall> {
    let there = std::fs::metadata(path)?;
    if !there.is_file() {
        return Err(NotSmall::NoFile);
    }
    if there.len() > most {
        return Err(NotSmall::Large { found: there.len(), most });
    }
    let mut text = String::new();
    // It may grow while it is read.
    File::open(path)?.take(most).read_to_string(&mut text)?;
    Ok(text)
}

/// Opens a file for writing, making it where it is missing; what is in it stays.
///
/// # Errors
/// What the file system says.
pub fn file(path: &Path) -> std::io::Result<File> {
    // Opening a pipe would wait for whoever reads it.
    if std::fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return Err(std::io::Error::new(ErrorKind::InvalidInput, NotSmall::NoFile));
    }
    let file =
        OpenOptions::new().write(true).create(true).truncate(false).mode(0o600).open(path)?;
    // One that was copied here by hand may lie open; a file system without owners cannot be told, and need not be.
    if file.metadata()?.permissions().mode() & 0o077 != 0 {
        drop(file.set_permissions(Permissions::from_mode(0o600)));
    }
    Ok(file)
}

/// Writes a new file and syncs it; where that fails, what it had held before may be lost.
///
/// # Errors
/// What the file system says.
pub fn write(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut file = file(path)?;
    file.set_len(0)?;
    file.write_all(bytes)?;
    file.sync_all()
}
