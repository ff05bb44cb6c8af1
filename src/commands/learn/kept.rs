//! What was learned so far: a journal of its own beside the data directory, one JSON object a line. Nothing of it is the
//! board's, and nobody reads it but `dwell learn`.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::commands::Failure;
use crate::figures::learn::Said;
use crate::figures::units::Rectangle;
use crate::shell::{new_file, private};
use crate::shop::facts::words::clean;

/// Its file.
const NAME: &str = "learn.jsonl";
/// More than any beginner says.
const MOST_BYTES: u64 = 1_000_000;

/// The first line: what is practised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Begun {
    pub recipe: String,
    /// None: the recipe's area.
    pub print: Option<Rectangle>,
}

/// All that was said.
#[derive(Debug)]
pub struct Kept {
    folder: PathBuf,
    pub begun: Option<Begun>,
    pub said: Vec<Said>,
}

/// Beside a data directory.
fn folder(data: &Path) -> PathBuf {
    let name = data.file_name().unwrap_or_default().to_string_lossy();
    data.with_file_name(format!("{name}-learn"))
}

impl Kept {
    /// What lies beside a data directory; nothing where nobody has begun.
    ///
    /// # Errors
    /// A file that does not read.
    pub fn open(data: &Path) -> Result<Self, Failure> {
        let mut kept = Self { folder: folder(data), begun: None, said: Vec::new() };
        let path = kept.path();
        if !path.exists() {
            return Ok(kept);
        }
        let read = private::read_file(&path, MOST_BYTES);
        let (_, text) =
            read.map_err(|wrong| Failure::Input(format!("{}: {wrong}", path.display())))?;
        for (n, line) in (1..).zip(text.lines()) {
            let wrong = |reason: serde_json::Error| {
                let reason = clean(&reason.to_string(), 80);
                let path = path.display();
                let text =
                    format!("{path}, line {n}: {reason}. --new sets it aside and begins again");
                Failure::Input(text)
            };
            match n {
                1 => kept.begun = Some(serde_json::from_str(line).map_err(wrong)?),
                _ => kept.said.push(serde_json::from_str(line).map_err(wrong)?),
            }
        }
        Ok(kept)
    }

    /// Where it lies.
    pub fn path(&self) -> PathBuf {
        self.folder.join(NAME)
    }

    /// Sets what lies beside a data directory aside; where it is then, if there was something.
    ///
    /// # Errors
    /// What the file system says.
    pub fn set_aside(data: &Path) -> Result<Option<PathBuf>, Failure> {
        let path = folder(data).join(NAME);
        if !path.exists() {
            return Ok(None);
        }
        Ok(Some(new_file::set_aside(&path, "before")?))
    }

    /// Keeps what was said, whole and synced before anything is answered.
    ///
    /// # Errors
    /// What the file system says.
    pub fn keep(&self) -> Result<(), Failure> {
        let mut text = String::new();
        let lines = self.begun.iter().map(serde_json::to_string);
        for line in lines.chain(self.said.iter().map(serde_json::to_string)) {
            text += &line.map_err(|wrong| Failure::Other(wrong.to_string()))?;
            text.push('\n');
        }
        new_file::lay(&self.folder, NAME, text.as_bytes())?;
        Ok(())
    }
}
