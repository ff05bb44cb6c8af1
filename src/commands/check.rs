//! Whether the journal is what was written: every row's sum, every event, every garment in one place.

use clap::Args;
use serde_json::json;

use super::{Failure, Places, output};
use crate::shell::journal::Reader;

/// How it is to be told.
#[derive(Debug, Args)]
pub struct Options {
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Checks the journal; exit code 0 when it is sound.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let data = places.data()?;
    let rows = match Reader::open(&data)? {
        Some(reader) => {
            let rows = reader.verify()?;
            reader.events_after(0, |_| {})?;
            rows
        }
        None => 0,
    };
    if options.json {
        return output::json(&json!({ "sound": true, "events": rows }));
    }
    output::lines([format!("sound: {rows} events in {}", data.display())])
}
