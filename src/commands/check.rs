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
    let (rows, foreign) = checked(&data)?;
    if options.json {
        return output::json(&json!({ "sound": true, "events": rows, "foreign": foreign }));
    }
    let mut lines = vec![format!("sound: {rows} events in {}", data.display())];
    lines.extend(foreign.iter().map(|what| format!("{what} in it is not of this program")));
    output::lines(lines)
}

/// How many events there are, and what else is in the file.
pub(super) fn checked(data: &Path) -> Result<(u64, Vec<String>), JournalError> {
    let journal = path(data);
    // SQLite takes what is less than its smallest page for a file that is yet to be written.
    if std::fs::metadata(&journal).is_ok_and(|file| file.len() < LEAST_BYTES) {
        return Err(JournalError::Empty(journal));
    }
    // Before the rows: a board may write meanwhile.
    let known = Mark::known(data);
    let Some(reader) = Reader::open(data)? else {
        return Err(known.map_or_else(
            || JournalError::Nothing(data.to_owned()),
            |known| JournalError::Short { found: 0, known: known.seq },
        ));
    };
    reader.at_one_moment(|| {
        let proof = reader.verify()?;
        if let Some(trigger) = proof.foreign.iter().find(|foreign| foreign.is_trigger()) {
            return Err(JournalError::Trigger(trigger.to_string()));
        }
        // No row knows that others came after it.
        match known {
            Some(Mark { seq, sum }) if reader.sum_of(seq)? != Some(sum) => {
                Err(JournalError::Short { found: proof.last_seq, known: seq })
            }
            _ => Ok((proof.events, proof.foreign.iter().map(ToString::to_string).collect())),
        }
    })
}
