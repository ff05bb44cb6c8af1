//! Orders, results of wash tests and returns that wait to be taken in: files in the data directory that other commands or people
//! lay there and the board takes away, so that the board stays the only writer of the journal.
//!
//! What was laid is known by its name and its content together: another order under a name of last week is another,
//! and so is the same one under another name. Nothing is removed but the very file that was read, once what it brought
//! is saved.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::new_file;
use super::private::{self, FileId, NotSmall};
use crate::shop::facts::fact::{DatesSaid, Returned, Washed};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::words::clean;

/// The inbox within the data directory.
const FOLDER: &str = "inbox";

/// Something in the inbox.
#[derive(Debug)]
pub struct Waiting {
    /// Its name, for people.
    pub name: String,
    /// What is kept of it for ever: what bears a known one is never taken twice.
    pub ids: Ids,
    pub path: PathBuf,
    /// Which file it is that was read, if one was.
    pub(super) file: Option<FileId>,
    pub brought: Result<Brought, String>,
}

/// What a laying is known by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ids {
    /// By its name and its content.
    pub this: String,
    /// By its name alone, as journals had it at first: whatever was taken in under it is not taken twice either.
    pub name_alone: String,
}

impl Ids {
    fn of(stem: &str, content: &[u8]) -> Self {
        let name_alone = clean(stem, MOST_NAME);
        let this = match print(&[content]) {
            // So `take` names its files.
            print if name_alone.contains(&print) => name_alone.clone(),
            print if name_alone == stem => format!("{stem}-{print}"),
            // What was cut off the name is in the print.
            _ => format!("{}-{}", clean(stem, 60), print(&[stem.as_bytes(), b"\0", content])),
        };
        Self { this, name_alone }
    }
}

/// The longest name that stands in an id as it is, in characters.
const MOST_NAME: usize = 80;

/// The first eight bytes of the SHA-256 of some bytes, in hexadecimal digits.
fn print(parts: &[&[u8]]) -> String {
    let digest = parts.iter().fold(Sha256::new(), |digest, part| digest.chain_update(part));
    digest.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect()
}

/// What a file in the inbox brings.
#[derive(Debug)]
pub enum Brought {
    Order(OrderForm),
    Wash(Washed),
    Return(Returned),
    Dates(DatesSaid),
}

/// The largest file that is read: far more than any order has.
const MOST_BYTES: u64 = 1_000_000;

/// How the name of a wash result's file ends, before ".json".
const WASH: &str = "-wash";
/// How that of a return does.
const RETURN: &str = "-return";
/// How that of an answer about the dates of tables does.
const DATES: &str = "-dates";

/// How a file's name ends, and that of one that was about to be removed.
const ENDS: [&str; 2] = [".json", ".json.leaving"];

/// Lays an order in the inbox of a data directory, the file whole or not at all; returns the id that the board will
/// know it by. `moment` tells it from every other.
///
/// # Errors
/// A directory that cannot be written.
pub fn lay(data: &Path, moment: &str, form: &OrderForm) -> std::io::Result<String> {
    lay_down(data, moment, "", &serde_json::to_vec_pretty(form)?)
}

/// How the id of every order with just this content ends, whenever it is laid.
///
/// # Errors
/// An order that cannot be written as JSON.
pub fn end_of_id(form: &OrderForm) -> serde_json::Result<String> {
    Ok(format!("-{}", print(&[&serde_json::to_vec_pretty(form)?])))
}

/// The same for the result of a wash test.
///
/// # Errors
/// A directory that cannot be written.
pub fn lay_wash(data: &Path, moment: &str, wash: &Washed) -> std::io::Result<String> {
    lay_down(data, moment, WASH, &serde_json::to_vec_pretty(wash)?)
}

/// The same for a garment that came back.
///
/// # Errors
/// A directory that cannot be written.
pub fn lay_return(data: &Path, moment: &str, said: &Returned) -> std::io::Result<String> {
    lay_down(data, moment, RETURN, &serde_json::to_vec_pretty(said)?)
}

/// The same for what stands first in the dates of tables.
///
/// # Errors
/// A directory that cannot be written.
pub fn lay_dates(data: &Path, moment: &str, said: &DatesSaid) -> std::io::Result<String> {
    lay_down(data, moment, DATES, &serde_json::to_vec_pretty(said)?)
}

fn lay_down(data: &Path, moment: &str, kind: &str, text: &[u8]) -> std::io::Result<String> {
    let name = format!("{moment}-{}{kind}", print(&[text]));
    new_file::lay(&data.join(FOLDER), &format!("{name}{}", ENDS[0]), text)?;
    Ok(name)
}

/// Up to so many files in the inbox besides those that are `known`, by their names.
pub fn waiting(data: &Path, most: usize, known: impl Fn(&Path) -> bool) -> Vec<Waiting> {
    let Ok(entries) = std::fs::read_dir(data.join(FOLDER)) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| stem(path).is_some() && !known(path))
        .collect();
    paths.sort();
    paths.into_iter().take(most).map(read).collect()
}

/// The name of a file without its ending; None for one that is not for the board.
fn stem(path: &Path) -> Option<String> {
    let name = path.file_name()?.to_string_lossy();
    ENDS.iter().find_map(|end| name.strip_suffix(end)).map(str::to_owned)
}

fn read(path: PathBuf) -> Waiting {
    let stem = stem(&path).unwrap_or_default();
    let read = read_own(&path).map_err(|wrong| wrong.to_string());
    let ids = Ids::of(&stem, read.as_ref().map_or("", |(_, text)| text).as_bytes());
    let brought = read.as_ref().map_err(Clone::clone).and_then(|(_, text)| {
        let read = if stem.ends_with(WASH) {
            serde_json::from_str(text).map(Brought::Wash)
        } else if stem.ends_with(RETURN) {
            serde_json::from_str(text).map(Brought::Return)
        } else if stem.ends_with(DATES) {
            serde_json::from_str(text).map(Brought::Dates)
        } else {
            serde_json::from_str(text).map(Brought::Order)
        };
        read.map_err(|wrong| wrong.to_string())
    });
    let file = read.ok().map(|(file, _)| file);
    Waiting { name: clean(&stem, MOST_NAME), ids, path, file, brought }
}

/// Reads a file that we laid, or the owner of the machine did.
fn read_own(path: &Path) -> Result<(FileId, String), NotSmall> {
    private::is_by_us(path)?;
    private::read_file(path, MOST_BYTES)
}

/// Takes away the file of which everything is saved; false where something else lies there by now, which is then
/// looked at like anything new.
///
/// # Errors
/// What the file system says: to be tried again.
pub fn remove(waiting: &Taken) -> std::io::Result<bool> {
    // Held by a name that nobody lays anything under, it is looked at once more: between looking at a name and
    // removing it, somebody may lay the next order under it. A crash in between leaves it to the next start.
    let mut leaving = waiting.path.clone();
    if !waiting.path.to_string_lossy().ends_with(ENDS[1]) {
        leaving = waiting.path.with_extension("json.leaving");
        match new_file::name_once(&waiting.path, &leaving) {
            Err(reason) if reason.kind() == std::io::ErrorKind::NotFound => return Ok(false),
            renamed => renamed?,
        }
    }
    if !waiting.is_still(&leaving) {
        return Ok(false);
    }
    private::remove(&leaving)?;
    private::sync_name(&leaving);
    Ok(true)
}

/// What is kept of a file in the inbox until it is gone.
#[derive(Debug, Clone)]
pub struct Taken {
    path: PathBuf,
    id: String,
    file: Option<FileId>,
}

impl Taken {
    /// What to know it by.
    pub fn of(waiting: &Waiting) -> Self {
        let Waiting { path, ids, file, .. } = waiting;
        Self { path: path.clone(), id: ids.this.clone(), file: *file }
    }

    /// Whether a path has the very file that was read, with what was in it then.
    fn is_still(&self, path: &Path) -> bool {
        let there = read(path.to_owned());
        there.file.is_some() && there.file == self.file && there.ids.this == self.id
    }
}

/// Sets a file aside that is not taken in, so that it is neither lost nor tried again; where it lies then.
pub fn set_aside(path: &Path, why: Aside) -> Option<PathBuf> {
    let moved = new_file::set_aside(path, why.ending());
    moved.inspect_err(|reason| tracing::warn!(%reason, path = %path.display(), "could not set an order aside")).ok()
}

/// Why a file is set aside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aside {
    /// It does not read, or makes no sense.
    Refused,
    /// What it brings was taken in before.
    TakenBefore,
}

impl Aside {
    fn ending(self) -> &'static str {
        match self {
            Self::Refused => "refused",
            Self::TakenBefore => "taken-before",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_laying_is_its_name_and_its_content() {
        let id = |stem: &str, content: &str| Ids::of(stem, content.as_bytes()).this;
        let long = "n".repeat(100);
        let all = [
            id("choir", "1"),
            id("choir", "2"),
            id("choir-2", "1"),
            id(&format!("{long}1"), "1"),
            id(&format!("{long}2"), "1"),
            id(&format!("{long}1"), "2"),
            id("\u{1b}choir", "1"),
            id("\u{7}choir", "1"),
        ];
        for (n, one) in all.iter().enumerate() {
            assert!(!all[..n].contains(one), "{one}");
            assert!(one.chars().count() <= MOST_NAME + 17, "{one}");
        }
        assert_eq!(id("choir", "1"), all[0]);
        // One that says its content is known by its name, as whoever laid it was told.
        let own = format!("7-{}", print(&[b"1"]));
        assert_eq!(id(&own, "1"), own);
        assert_ne!(id(&own, "2"), own);
        assert_eq!(Ids::of("choir", b"1").name_alone, "choir");
    }

    /// Somebody lays the next order under the name of the one that is being removed.
    #[test]
    fn only_the_very_file_that_was_read_is_removed() {
        let there = tempfile::tempdir().unwrap();
        let path = there.path().join(FOLDER).join("choir.json");
        std::fs::create_dir(there.path().join(FOLDER)).unwrap();
        let take = || Taken::of(&waiting(there.path(), 9, |_| false)[0]);
        let brought = || waiting(there.path(), 9, |_| false).remove(0).ids.this;
        std::fs::write(&path, "first").unwrap();
        let first = take();
        // Another file, then the same one with something else in it, then a second time the same.
        for text in ["second", "third", "third"] {
            let before = take();
            std::fs::rename(&path, there.path().join("away")).ok();
            std::fs::write(&path, text).unwrap();
            assert!(!remove(&before).unwrap(), "{text}");
            assert_eq!(brought(), Ids::of("choir", text.as_bytes()).this);
            std::fs::rename(path.with_extension("json.leaving"), &path).unwrap();
        }
        let last = take();
        std::fs::write(&path, "fourth").unwrap();
        assert!(!remove(&last).unwrap());
        assert!(!remove(&first).unwrap());
        let fourth = take();
        assert!(remove(&fourth).unwrap());
        assert!(waiting(there.path(), 9, |_| false).is_empty());
        assert!(!remove(&fourth).unwrap());
    }
}
