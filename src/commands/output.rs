//! Writing answers: to a pipe that may be closed, never with a stray escape sequence.

use std::io::Write;
use std::path::Path;

use serde::Serialize;

use super::Failure;

/// Writes bytes as they are.
pub fn raw(bytes: &[u8]) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    out.write_all(bytes)?;
    Ok(out.flush()?)
}

/// Writes lines of text.
pub fn lines<S: AsRef<str>>(lines: impl IntoIterator<Item = S>) -> Result<(), Failure> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in lines {
        writeln!(out, "{}", line.as_ref())?;
    }
    Ok(out.flush()?)
}

/// Writes one JSON value on a line, as it is worked out.
pub fn json(value: &impl Serialize) -> Result<(), Failure> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    serde_json::to_writer(&mut out, value).map_err(std::io::Error::from)?;
    writeln!(out)?;
    Ok(out.flush()?)
}

/// Writes a file whole or not at all: beside its place first, then moved there in one step.
///
/// # Errors
/// A place where no file can be made; what lies there already is then as it was.
pub fn whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let wrong = |reason: std::io::Error| Failure::Input(format!("{}: {reason}", path.display()));
    let Some(name) = path.file_name().filter(|_| !path.is_dir()) else {
        return Err(Failure::Input(format!("{}: expected a file's name", path.display())));
    };
    let mut beside = std::ffi::OsString::from(".");
    beside.push(name);
    beside.push(format!(".{}", std::process::id()));
    let beside = path.with_file_name(beside);
    let mut file = std::fs::File::create_new(&beside).map_err(wrong)?;
    let moved = file
        .write_all(bytes)
        .and_then(|()| file.sync_all())
        .and_then(|()| std::fs::rename(&beside, path));
    moved.map_err(|reason| {
        // It is ours alone; where it cannot be removed either, the first reason is the one to tell.
        let _ = std::fs::remove_file(&beside);
        wrong(reason)
    })
}

/// Says what went wrong.
pub fn complain(text: &str) {
    // Where nobody reads errors, nobody can be told.
    let _ = writeln!(std::io::stderr().lock(), "dwell: {text}");
}
