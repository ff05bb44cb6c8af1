//! Gives drawn labels to the program that the station's profile names, and waits for how it ends.

use std::io::Write;
use std::process::ExitStatus;
use std::time::Duration;

use super::guard::Guarded;
use super::new_file::{NewFile, Readers};

/// A program that takes longer hangs.
const HANGS: Duration = Duration::from_secs(60);

/// Why labels may not be printed.
#[derive(Debug, thiserror::Error)]
pub enum NotSent {
    #[error("labels.program: expected a program")]
    NoProgram,
    #[error("no file for the labels: {0}")]
    NoFile(std::io::Error),
    #[error("{0} does not run: {1}")]
    NotRun(String, std::io::Error),
    #[error("{0} ended with {1}: nothing may be printed")]
    Failed(String, ExitStatus),
    #[error("{0} did not end in a minute and was stopped: nothing may be printed")]
    Hangs(String),
}

/// Runs the program with the file's name as its last argument. The file goes afterwards.
///
/// # Errors
/// It did not run, or not to a good end.
pub fn send(program: &[String], bytes: &[u8]) -> Result<(), NotSent> {
    let [name, arguments @ ..] = program else { return Err(NotSent::NoProgram) };
    let drawn = || {
        let mut file = NewFile::beside(&std::env::temp_dir().join("labels"), Readers::Owner)?;
        file.write_all(bytes)?;
        file.flush()?;
        Ok(file)
    };
    let file = drawn().map_err(NotSent::NoFile)?;
    let not_run = |reason| NotSent::NotRun(name.clone(), reason);
    let arguments: Vec<String> =
        arguments.iter().cloned().chain([file.path().display().to_string()]).collect();
    match Guarded::run(name, &arguments, HANGS).map_err(not_run)? {
        Some(status) if status.success() => Ok(()),
        Some(status) => Err(NotSent::Failed(name.clone(), status)),
        None => Err(NotSent::Hangs(name.clone())),
    }
}
