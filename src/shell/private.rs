//! Files and directories for their owner alone.

use std::fs::{DirBuilder, File, OpenOptions, Permissions};
use std::io::{ErrorKind, Write};
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

/// Opens a file for writing, making it where it is missing; what is in it stays.
///
/// # Errors
/// What the file system says.
pub fn file(path: &Path) -> std::io::Result<File> {
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
