//! Writing answers: to a pipe that may be closed, never with a stray escape sequence.
//!
//! What a file, a profile or a row of the journal holds is printed without its control characters; in JSON they are
//! written as escapes, those above ASCII too, which serde_json leaves as they are.

use std::io::{BufWriter, StdoutLock, Write};
use std::path::Path;

use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};

use super::Failure;
use crate::shell::{journal, private};
use crate::shop::words::{harmless, is_unprintable};

/// Writes bytes as they are.
pub fn raw(bytes: &[u8]) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    out.write_all(bytes)?;
    Ok(out.flush()?)
}

/// Writes lines of text.
pub fn lines<S: AsRef<str>>(lines: impl IntoIterator<Item = S>) -> Result<(), Failure> {
    let mut page = Page::new();
    for line in lines {
        page.line(line.as_ref())?;
    }
    page.end()
}

/// Writes one JSON value on a line, as it is worked out.
pub fn json(value: &impl Serialize) -> Result<(), Failure> {
    let mut page = Page::new();
    page.json(value)?;
    page.end()
}

/// An answer that is written line by line.
pub struct Page {
    out: BufWriter<StdoutLock<'static>>,
}

impl Page {
    /// An empty one.
    pub fn new() -> Self {
        Self { out: BufWriter::new(std::io::stdout().lock()) }
    }

    /// Writes a line of text.
    pub fn line(&mut self, text: &str) -> Result<(), Failure> {
        Ok(writeln!(self.out, "{}", harmless(text))?)
    }

    /// Writes a JSON value on a line.
    pub fn json(&mut self, value: &impl Serialize) -> Result<(), Failure> {
        let mut serializer = Serializer::with_formatter(&mut self.out, Harmless);
        value.serialize(&mut serializer).map_err(std::io::Error::from)?;
        Ok(writeln!(self.out)?)
    }

    /// Hands over what is left.
    pub fn end(mut self) -> Result<(), Failure> {
        Ok(self.out.flush()?)
    }
}

/// JSON on one line in which nothing stands that a terminal could act on.
struct Harmless;

impl Formatter for Harmless {
    fn write_string_fragment<W: Write + ?Sized>(
        &mut self,
        writer: &mut W,
        fragment: &str,
    ) -> std::io::Result<()> {
        let mut rest = fragment;
        while let Some(at) = rest.find(is_unprintable) {
            writer.write_all(&rest.as_bytes()[..at])?;
            let mut after = rest[at..].chars();
            let harmful = after.next().unwrap_or_default();
            for unit in harmful.encode_utf16(&mut [0; 2]) {
                write!(writer, "\\u{unit:04x}")?;
            }
            rest = after.as_str();
        }
        writer.write_all(rest.as_bytes())
    }
}

/// Refuses to write among the files of a data directory.
///
/// # Errors
/// The file is one of them.
pub fn is_nobodys(path: &Path) -> Result<(), Failure> {
    match journal::is_among_ours(path) {
        true => Err(Failure::Input(format!(
            "{}: that is a data directory, where only the board writes. Name a file elsewhere",
            path.display()
        ))),
        false => Ok(()),
    }
}

/// Writes a file whole or not at all: beside its place first, then moved there in one step.
///
/// # Errors
/// A place where no file can be made; what lies there already is then as it was.
pub fn whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let wrong = |reason: std::io::Error| Failure::Input(format!("{}: {reason}", path.display()));
    if path.file_name().is_none() || path.is_dir() {
        return Err(Failure::Input(format!("{}: expected a file's name", path.display())));
    }
    is_nobodys(path)?;
    let beside = private::unfinished(path);
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

/// Says what went wrong, in words that name the program themselves or need not.
pub fn complain_as_told(text: &str) {
    // Where nobody reads errors, nobody can be told.
    let _ = write!(std::io::stderr().lock(), "{}", harmless(text));
}

/// Says what went wrong.
pub fn complain(text: &str) {
    complain_as_told(&format!("dwell: {text}\n"));
}
