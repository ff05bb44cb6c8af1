//! Every file that the program makes comes into being here: under a name that nobody else has, in the directory where
//! it is to stand, and gets its own name once it is whole and synced. So nothing that lies there already is written
//! into, whatever it is called, and no link that somebody laid leads the writing elsewhere.
//!
//! `tests/layers` holds that no other place makes a file. A crash leaves a hidden file behind, and nothing else.

use std::fs::{File, OpenOptions};
use std::io::{Error, ErrorKind, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::private;

/// Who may read a new file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readers {
    /// Its owner alone: whatever goes into a data directory.
    Owner,
    /// Whoever the user's umask lets: an answer that somebody asked for.
    AsUsual,
}

impl Readers {
    fn mode(self) -> u32 {
        match self {
            Self::Owner => 0o600,
            Self::AsUsual => 0o666,
        }
    }
}

/// A file that is not yet what it is to be. Dropped before it has its name, it is taken away.
#[derive(Debug)]
pub struct NewFile(NamedTempFile);

impl NewFile {
    /// Begins a file in the directory in which `path` is to stand.
    ///
    /// # Errors
    /// What the file system says.
    pub fn beside(path: &Path, readers: Readers) -> std::io::Result<Self> {
        let folder = path.parent().filter(|above| !above.as_os_str().is_empty());
        let make = |path: &Path| {
            let mut options = OpenOptions::new();
            options.read(true).write(true).create_new(true).mode(readers.mode()).open(path)
        };
        let folder = folder.unwrap_or(Path::new("."));
        let made = tempfile::Builder::new().prefix(".dwell-").suffix(".part").make_in(folder, make);
        Ok(Self(made?))
    }

    /// Where it lies until it has its name.
    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// Syncs it and gives it its name, in place of the file that has it. A link that has it is replaced, and what it
    /// leads to stays as it is.
    ///
    /// # Errors
    /// Something else than a file has that name, or what the file system says: all is as it was.
    pub fn replace(self, path: &Path) -> std::io::Result<()> {
        if std::fs::metadata(path).is_ok_and(|there| !there.is_file()) {
            return Err(Error::new(ErrorKind::InvalidInput, private::NotSmall::NoFile));
        }
        self.0.as_file().sync_all()?;
        self.0.into_temp_path().persist(path).map_err(|wrong| wrong.error)?;
        private::sync_name(path);
        Ok(())
    }

    /// The same where nothing may have that name.
    ///
    /// # Errors
    /// Something has it, or what the file system says: all is as it was.
    pub fn name(self, path: &Path) -> std::io::Result<()> {
        self.0.as_file().sync_all()?;
        let unnamed = self.0.into_temp_path();
        name_once(&unnamed, path)?;
        // Nothing lies under the hidden name any more; somebody's file that came there since is not ours to remove.
        drop(unnamed.keep());
        private::sync_name(path);
        Ok(())
    }
}

impl Write for NewFile {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.as_file_mut().write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.0.as_file_mut().flush()
    }
}

/// Makes a whole file in a directory, which is made where it is missing, in place of the file that has its name.
///
/// # Errors
/// What the file system says: what was there before is there then.
pub fn lay(folder: &Path, name: &str, bytes: &[u8]) -> std::io::Result<PathBuf> {
    private::directory(folder)?;
    let path = folder.join(name);
    let mut file = NewFile::beside(&path, Readers::Owner)?;
    file.write_all(bytes)?;
    file.replace(&path)?;
    Ok(path)
}

/// The same under a name that nothing has yet: a number stands between its beginning and its end.
///
/// # Errors
/// What the file system says.
pub fn lay_new(folder: &Path, stem: &str, end: &str, bytes: &[u8]) -> std::io::Result<PathBuf> {
    private::directory(folder)?;
    let mut file = NewFile::beside(&folder.join(stem), Readers::Owner)?;
    file.write_all(bytes)?;
    file.0.as_file().sync_all()?;
    let unnamed = file.0.into_temp_path();
    let path = first_free(
        |number| folder.join(format!("{stem}{number}{end}")),
        |path| name_once(&unnamed, path),
    )?;
    drop(unnamed.keep());
    private::sync_name(&path);
    Ok(path)
}

/// A folder that is taken away with all that lies in it once it is dropped.
pub type PassingFolder = tempfile::TempDir;

/// A folder of its owner's alone, for what is handed on.
///
/// # Errors
/// What the file system says.
pub fn passing_folder() -> std::io::Result<PassingFolder> {
    tempfile::Builder::new().prefix("dwell-").tempdir()
}

/// Copies a file to a name that nothing has, whole and synced.
///
/// # Errors
/// Something has that name, or what the file system says.
pub fn copy(from: &Path, to: &Path) -> std::io::Result<()> {
    let mut file = NewFile::beside(to, Readers::Owner)?;
    std::io::copy(&mut File::open(from)?, &mut file)?;
    file.name(to)
}

/// Gives a file another ending, and a number where that name is taken, so that neither is lost; returns where it lies.
///
/// # Errors
/// What the file system says.
pub fn set_aside(path: &Path, ending: &str) -> std::io::Result<PathBuf> {
    let aside = |number: u32| match number {
        1 => path.with_extension(ending),
        _ => path.with_extension(format!("{number}.{ending}")),
    };
    let aside = first_free(aside, |aside| name_once(path, aside))?;
    private::sync_name(&aside);
    Ok(aside)
}

/// Moves a file into another folder of the same file system, under a name that nothing has there; returns where it lies.
///
/// # Errors
/// What the file system says.
pub fn move_into(path: &Path, folder: &Path) -> std::io::Result<PathBuf> {
    let name = Path::new(path.file_name().unwrap_or_default());
    let there = |number: u32| match (number, name.file_stem(), name.extension()) {
        (2.., Some(stem), Some(end)) => {
            let (stem, end) = (stem.to_string_lossy(), end.to_string_lossy());
            folder.join(format!("{stem}-{number}.{end}"))
        }
        (2.., ..) => folder.join(format!("{}-{number}", name.display())),
        _ => folder.join(name),
    };
    let there = first_free(there, |there| name_once(path, there))?;
    private::sync_name(&there);
    private::sync_name(path);
    Ok(there)
}

/// Tries names in their order until one is free.
fn first_free(
    name: impl Fn(u32) -> PathBuf,
    take: impl Fn(&Path) -> std::io::Result<()>,
) -> std::io::Result<PathBuf> {
    for path in (1..1000).map(name) {
        match take(&path) {
            Ok(()) => return Ok(path),
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
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => {
            if to.symlink_metadata().is_ok() {
                return Err(ErrorKind::AlreadyExists.into());
            }
            std::fs::rename(from, to)
        }
        other => Ok(other?),
    }
}
