//! Orders and results of wash tests that wait to be taken in: files in the data directory that other commands lay there
//! and the board takes away, so that the board stays the only writer of the journal.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::{new_file, private};
use crate::shop::fact::Washed;
use crate::shop::order::OrderForm;

/// The inbox within the data directory.
const FOLDER: &str = "inbox";

/// An order in the inbox.
#[derive(Debug)]
pub struct Waiting {
    /// Names the file for ever: an order of a known name is never taken twice.
    pub id: String,
    pub path: PathBuf,
    pub brought: Result<Brought, String>,
}

/// What a file in the inbox brings.
#[derive(Debug)]
pub enum Brought {
    Order(OrderForm),
    Wash(Washed),
}

/// The largest file that is read: far more than any order has.
const MOST_BYTES: u64 = 1_000_000;

/// How the name of a wash result's file ends, before ".json".
const WASH: &str = "-wash";

/// Lays an order in the inbox of a data directory; the file appears whole or not at all.
///
/// # Errors
/// A directory that cannot be written.
pub fn lay(data: &Path, id: &str, form: &OrderForm) -> std::io::Result<PathBuf> {
    lay_down(data, id, &serde_json::to_vec_pretty(form)?)
}

/// The same for the result of a wash test.
///
/// # Errors
/// A directory that cannot be written.
pub fn lay_wash(data: &Path, id: &str, wash: &Washed) -> std::io::Result<PathBuf> {
    lay_down(data, &format!("{id}{WASH}"), &serde_json::to_vec_pretty(wash)?)
}

fn lay_down(data: &Path, id: &str, text: &[u8]) -> std::io::Result<PathBuf> {
    new_file::lay(&data.join(FOLDER), &format!("{id}.json"), text)
}

/// What lies in the inbox besides the files that are known, the oldest first.
pub fn waiting(data: &Path, known: &BTreeSet<PathBuf>) -> Vec<Waiting> {
    let Ok(entries) = std::fs::read_dir(data.join(FOLDER)) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|end| end == "json") && !known.contains(path))
        .collect();
    paths.sort();
    let waiting = paths.into_iter().map(|path| {
        let id = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        let text = private::read_small(&path, MOST_BYTES).map_err(|wrong| wrong.to_string());
        let id = crate::shop::words::clean(&id.unwrap_or_default(), 80);
        let read = |text: String| {
            if id.ends_with(WASH) {
                return serde_json::from_str(&text).map(Brought::Wash);
            }
            serde_json::from_str(&text).map(Brought::Order)
        };
        let brought = text.and_then(|text| read(text).map_err(|wrong| wrong.to_string()));
        Waiting { id, path, brought }
    });
    waiting.collect()
}

/// Sets a file aside that cannot be taken in, so that it is neither lost nor tried again; whether that went.
pub fn set_aside(path: &Path) -> bool {
    let moved = new_file::set_aside(path, "refused");
    if let Err(reason) = &moved {
        tracing::warn!(%reason, path = %path.display(), "could not set an order aside");
    }
    moved.is_ok()
}
