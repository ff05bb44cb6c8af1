//! Orders that wait to be taken in: files in the data directory that other commands lay there and the board
//! takes away, so that the board stays the only writer of the journal.

use std::path::{Path, PathBuf};

use super::private;
use crate::shop::order::OrderForm;

/// The inbox within the data directory.
const FOLDER: &str = "inbox";

/// An order in the inbox.
pub struct Waiting {
    /// Names the file for ever: an order of a known name is never taken twice.
    pub id: String,
    pub path: PathBuf,
    pub form: Result<OrderForm, String>,
}

/// Lays an order in the inbox of a data directory; the file appears whole or not at all.
///
/// # Errors
/// A directory that cannot be written.
pub fn lay(data: &Path, id: &str, form: &OrderForm) -> std::io::Result<PathBuf> {
    let folder = data.join(FOLDER);
    private::directory(&folder)?;
    let path = folder.join(format!("{id}.json"));
    let unfinished = folder.join(format!("{id}.part"));
    private::write(&unfinished, &serde_json::to_vec_pretty(form)?)?;
    std::fs::rename(&unfinished, &path)?;
    Ok(path)
}

/// What lies in the inbox, the oldest first.
pub fn waiting(data: &Path) -> Vec<Waiting> {
    let Ok(entries) = std::fs::read_dir(data.join(FOLDER)) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|end| end == "json"))
        .collect();
    paths.sort();
    let waiting = paths.into_iter().map(|path| {
        let id = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        let text = std::fs::read_to_string(&path).map_err(|reason| reason.to_string());
        let form = text.and_then(|text| serde_json::from_str(&text).map_err(|e| e.to_string()));
        Waiting { id: crate::shop::words::clean(&id.unwrap_or_default(), 80), path, form }
    });
    waiting.collect()
}

/// Sets a file aside that cannot be taken in, so that it is neither lost nor tried again.
pub fn set_aside(path: &Path) {
    if let Err(reason) = std::fs::rename(path, path.with_extension("refused")) {
        tracing::warn!(%reason, path = %path.display(), "could not set an order aside");
    }
}
