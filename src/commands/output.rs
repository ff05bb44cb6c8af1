//! Writing answers: to a pipe that may be closed, never with a stray escape sequence.
//!
//! What a file, a profile or a row of the journal holds is printed without its control characters; in JSON they are
//! written as escapes, those above ASCII too, which serde_json leaves as they are.

use std::io::{BufWriter, StdoutLock, Write};
use std::path::Path;

use clap::ValueEnum;
use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};

use super::Failure;
use crate::shell::journal;
use crate::shell::new_file::{NewFile, Readers};
use crate::shell::private::is_same_file;
use crate::shop::facts::words::{harmless, is_unprintable};

/// The forms of an answer over all of a shift or of many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    Text,
    Csv,
    Json,
    Html,
}

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

/// The bytes of lines of text, as `lines` writes them.
pub fn line_bytes<S: AsRef<str>>(lines: impl IntoIterator<Item = S>) -> Vec<u8> {
    let mut text = String::new();
    for line in lines {
        text.push_str(&harmless(line.as_ref()));
        text.push('\n');
    }
    text.into_bytes()
}

/// The bytes of a JSON value, as `json` writes them.
pub fn json_bytes(value: &impl Serialize) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut bytes, Harmless);
    value.serialize(&mut serializer).map_err(std::io::Error::from)?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// A table for any spreadsheet, as RFC 4180 has it: lines end in CRLF.
pub fn table<W: Write>(out: W) -> csv::Writer<W> {
    csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out)
}

/// The bytes of such a table.
///
/// # Errors
/// None in practice: it is written to memory.
pub fn table_bytes(
    write: impl FnOnce(&mut csv::Writer<Vec<u8>>) -> csv::Result<()>,
) -> Result<Vec<u8>, Failure> {
    let mut table = table(Vec::new());
    write(&mut table).map_err(std::io::Error::from)?;
    table.into_inner().map_err(|wrong| Failure::Other(wrong.to_string()))
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

    /// Writes a row of a table, as RFC 4180 has it.
    pub fn csv<S: AsRef<[u8]>>(
        &mut self,
        fields: impl IntoIterator<Item = S>,
    ) -> Result<(), Failure> {
        let bytes = table_bytes(|table| table.write_record(fields))?;
        Ok(self.out.write_all(&bytes)?)
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

/// A file that an answer goes into: whole or not at all.
pub struct Target<'a> {
    path: &'a Path,
    file: NewFile,
}

impl<'a> Target<'a> {
    /// Begins a file that is to be named `path`, where nothing is read from that of `inputs`.
    ///
    /// # Errors
    /// A place where no file can be made, or a name that one of the inputs has, if only through a link.
    pub fn begin<P: AsRef<Path>>(
        path: &'a Path,
        inputs: impl IntoIterator<Item = P>,
    ) -> Result<Self, Failure> {
        if path.file_name().is_none() || path.is_dir() {
            return Err(Failure::Input(format!("{}: expected a file's name", path.display())));
        }
        is_nobodys(path)?;
        if let Some(input) = inputs.into_iter().find(|input| is_same_file(path, input.as_ref())) {
            return Err(Failure::Input(format!(
                "{} is the same file as {}, which is read: name another file to write",
                path.display(),
                input.as_ref().display()
            )));
        }
        let begun = NewFile::beside(path, Readers::AsUsual);
        Ok(Self { path, file: begun.map_err(|reason| refused(path, &reason))? })
    }

    /// Gives the file its name. What had it before stays as it was until then.
    ///
    /// # Errors
    /// What the file system says.
    pub fn end(self) -> Result<(), Failure> {
        self.file.replace(self.path).map_err(|reason| refused(self.path, &reason))
    }
}

impl Write for Target<'_> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.file.flush()
    }
}

fn refused(path: &Path, reason: &std::io::Error) -> Failure {
    Failure::Input(format!("{}: {reason}", path.display()))
}

/// Writes a file whole or not at all; see [`Target::begin`].
///
/// # Errors
/// A place where no file can be made; what lies there already is then as it was.
pub fn whole<P: AsRef<Path>>(
    path: &Path,
    inputs: impl IntoIterator<Item = P>,
    bytes: &[u8],
) -> Result<(), Failure> {
    let mut target = Target::begin(path, inputs)?;
    target.write_all(bytes).map_err(|reason| refused(path, &reason))?;
    target.end()
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
