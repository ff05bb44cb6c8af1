//! One thing that a setup lays: a file or a link, and how it is known again.

use std::fs;
use std::io::Write;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

use super::super::Failure;
use crate::shell::new_file::{NewFile, Readers};

/// The first line of every file that a setup lays, by which it knows them again.
pub const HEAD: &str = "# Made by dwell setup; dwell setup --undo takes it away.\n";

/// What is laid, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    File { path: PathBuf, text: String, why: &'static str },
    Link { path: PathBuf, to: &'static str, why: &'static str },
}

impl Change {
    /// A file with our line at its head.
    pub fn file(path: &str, text: &str, why: &'static str) -> Self {
        Change::File { path: path.into(), text: format!("{HEAD}{text}"), why }
    }

    /// A link.
    pub fn link(path: &str, to: &'static str, why: &'static str) -> Self {
        Change::Link { path: path.into(), to, why }
    }

    /// The same in another root.
    pub fn under(self, root: &Path) -> Self {
        let under = |path: PathBuf| root.join(path.strip_prefix("/").unwrap_or(&path));
        match self {
            Change::File { path, text, why } => Change::File { path: under(path), text, why },
            Change::Link { path, to, why } => Change::Link { path: under(path), to, why },
        }
    }

    /// Where it is laid.
    pub fn path(&self) -> &Path {
        let (Change::File { path, .. } | Change::Link { path, .. }) = self;
        path
    }

    /// In a line, for whoever decides.
    pub fn text(&self) -> String {
        let (Change::File { why, .. } | Change::Link { why, .. }) = self;
        format!("  {}\n      {why}", self.path().display())
    }

    /// Whether it lies there, by us.
    pub fn is_laid(&self) -> bool {
        match self {
            Change::File { path, .. } => {
                !path.is_symlink()
                    && fs::read(path).is_ok_and(|text| text.starts_with(HEAD.as_bytes()))
            }
            Change::Link { path, to, .. } => {
                fs::read_link(path).is_ok_and(|found| found == Path::new(to))
            }
        }
    }

    /// Whether nothing of somebody else's lies there.
    ///
    /// # Errors
    /// Something does.
    pub fn is_free(&self) -> Result<(), Failure> {
        let path = self.path();
        let lies = path.is_symlink() || path.exists();
        if !lies || self.is_laid() {
            return Ok(());
        }
        let path = path.display();
        Err(Failure::Input(format!(
            "{path} is there already and was not made by a setup: move it away first. Nothing was changed"
        )))
    }

    /// Lays it, in place of what an earlier setup has laid.
    ///
    /// # Errors
    /// What the file system says.
    pub fn lay(&self) -> Result<(), Failure> {
        self.laid().map_err(|reason| self.refused(&reason))
    }

    fn laid(&self) -> std::io::Result<()> {
        if let Some(folder) = self.path().parent() {
            fs::create_dir_all(folder)?;
        }
        match self {
            Change::File { path, text, .. } => {
                let mut file = NewFile::beside(path, Readers::AsUsual)?;
                file.write_all(text.as_bytes())?;
                file.replace(path)
            }
            Change::Link { .. } if self.is_laid() => Ok(()),
            Change::Link { path, to, .. } => symlink(to, path),
        }
    }

    /// Takes it away, if it lies there by us.
    ///
    /// # Errors
    /// What the file system says.
    pub fn take_away(&self) -> Result<(), Failure> {
        if !self.is_laid() {
            return Ok(());
        }
        fs::remove_file(self.path()).map_err(|reason| self.refused(&reason))
    }

    fn refused(&self, reason: &std::io::Error) -> Failure {
        let path = self.path().display();
        match reason.kind() {
            std::io::ErrorKind::PermissionDenied => Failure::Input(format!(
                "{path}: {reason}. Only root may set a machine up: sudo dwell setup"
            )),
            _ => Failure::Other(format!("{path}: {reason}")),
        }
    }
}
