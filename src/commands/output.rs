//! Writing answers: to a pipe that may be closed, never with a stray escape sequence.

use std::io::Write;

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

/// Says what went wrong.
pub fn complain(text: &str) {
    // Where nobody reads errors, nobody can be told.
    let _ = writeln!(std::io::stderr().lock(), "dwell: {text}");
}
