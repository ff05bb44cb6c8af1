//! Whether the journal is what was written: every row's sum, every event, every garment in one place.

use std::path::Path;

use clap::Args;
use serde_json::json;

use super::{Failure, Places, output};
use crate::shell::journal::mark::Mark;
use crate::shell::journal::{JournalError, Reader, path};

/// How it is to be told.
#[derive(Debug, Args)]
pub struct Options {
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The smallest page of SQLite.
const LEAST_BYTES: u64 = 512;

/// Checks the journal; exit code 0 when it is sound.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let data = places.data()?;
    let rows = checked(&data)?;
    if options.json {
        return output::json(&json!({ "sound": true, "events": rows }));
    }
    output::lines([format!("sound: {rows} events in {}", data.display())])
}

fn checked(data: &Path) -> Result<u64, JournalError> {
    let journal = path(data);
    // SQLite takes what is less than its smallest page for a file that is yet to be written.
    if std::fs::metadata(&journal).is_ok_and(|file| file.len() < LEAST_BYTES) {
        return Err(JournalError::Empty(journal));
    }
    // Before the rows: a board may write meanwhile.
    let known = Mark::known(data);
    let reader = Reader::open(data)?;
    let (rows, last) = match &reader {
        Some(reader) => {
            let proof = reader.verify()?;
            (proof.events, proof.last_seq)
        }
        None => (0, 0),
    };
    // No row knows that others came after it.
    let Some(Mark { seq, sum }) = known else { return Ok(rows) };
    match reader.as_ref().map(|reader| reader.sum_of(seq)).transpose()?.flatten() {
        Some(its_sum) if its_sum == sum => Ok(rows),
        _ => Err(JournalError::Short { found: last, known: seq }),
    }
}
