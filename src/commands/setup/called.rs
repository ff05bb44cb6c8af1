//! What the station is called: asked once, while no journal goes by its id. It is the one line of a profile that a setup
//! changes, since the tags of two stations of a shop must not begin alike.

use std::io::Write;
use std::path::{Path, PathBuf};

use regex_lite::{NoExpand, Regex};

use super::super::prompt::ask;
use super::super::{Failure, output};
use crate::shell::journal;
use crate::shell::new_file::{NewFile, Readers};
use crate::shell::private;
use crate::shell::profiles;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::station::Station;
use crate::shop::facts::words::clean;

/// Where the unit's board keeps its journal.
const DATA: &str = "var/lib/dwell";
const PROFILES: &str = "etc/dwell";
const FILE: &str = "station.ron";
/// The longest text of a profile.
const MOST_BYTES: u64 = 1 << 20;
/// The longest name of a station.
const LONGEST: usize = 40;

/// What was given on the command line.
#[derive(Debug, Clone, Default)]
pub struct Given {
    pub id: Option<StationId>,
    pub name: Option<String>,
}

/// The station's profile with another id or name in it.
pub struct Called {
    path: PathBuf,
    text: String,
    id: StationId,
    name: String,
}

impl Called {
    /// What is to be written; None where it stays as it is, or no profile lies there yet.
    ///
    /// # Errors
    /// An id while a journal goes by another one, a profile that does not read or has the line in no usual place.
    pub fn of(root: &Path, given: &Given, asks: bool) -> Result<Option<Self>, Failure> {
        let folder = root.join(PROFILES);
        let path = folder.join(FILE);
        if !path.exists() {
            return match given.id.is_some() || given.name.is_some() {
                true => Err(Failure::Input(format!(
                    "{} is not there: `dwell profiles --write {}` makes it",
                    path.display(),
                    folder.display()
                ))),
                false => Ok(None),
            };
        }
        let station = profiles::load(Some(&folder))
            .map_err(|wrong| Failure::Input(wrong.to_string()))?
            .station;
        let id = match journal::path(&root.join(DATA)).exists() {
            true => kept(given, &station)?,
            false => chosen_id(given, &station, asks)?,
        };
        let name = chosen_name(given, &station, asks)?;
        if (id, &name) == (station.id, &station.name) {
            return Ok(None);
        }
        let text = private::read_small(&path, MOST_BYTES)
            .map_err(|wrong| Failure::Input(format!("{}: {wrong}", path.display())))?;
        let text = with(&text, &station, id, &name);
        let read = profiles::read_texts(&[(path.clone(), text.clone())], None);
        match read {
            Ok(read)
                if *read.station
                    == (Station { id, name: name.clone(), ..Station::clone(&station) }) =>
            {
                Ok(Some(Self { path, text, id, name }))
            }
            _ => Err(Failure::Input(format!(
                "{}: `id` and `name` do not stand on lines of their own: write {id} and \"{name}\" there by hand",
                path.display()
            ))),
        }
    }

    /// In a line, for whoever decides.
    pub fn text(&self) -> String {
        let tag = self.id.to_string().to_uppercase();
        format!(
            "  {}\n      this station is {} (tags begin with {tag}), \"{}\"; all else in it stays",
            self.path.display(),
            self.id,
            self.name
        )
    }

    /// Writes it in the profile's place.
    ///
    /// # Errors
    /// What the file system says.
    pub fn write(&self) -> Result<(), Failure> {
        let mut file = NewFile::beside(&self.path, Readers::AsUsual)?;
        file.write_all(self.text.as_bytes())?;
        Ok(file.replace(&self.path)?)
    }
}

/// With a journal the id stays: its tags are on labels.
fn kept(given: &Given, station: &Station) -> Result<StationId, Failure> {
    match given.id {
        Some(id) if id != station.id => Err(Failure::Input(format!(
            "a journal of station {} lies here, whose labels are in use: its id stays. Another id begins in another data \
             directory",
            station.id
        ))),
        _ => Ok(station.id),
    }
}

fn chosen_id(given: &Given, station: &Station, asks: bool) -> Result<StationId, Failure> {
    if !asks || given.id.is_some() {
        return Ok(given.id.unwrap_or(station.id));
    }
    let question = format!(
        "The station's id, one to three letters that no other station of the shop has. Enter alone: {}.",
        station.id
    );
    loop {
        let said = ask(std::io::stdout(), &question)?;
        if said.is_empty() {
            return Ok(station.id);
        }
        match said.parse() {
            Ok(id) => return Ok(id),
            Err(wrong) => output::lines([wrong.to_string()])?,
        }
    }
}

fn chosen_name(given: &Given, station: &Station, asks: bool) -> Result<String, Failure> {
    let said = match (&given.name, asks) {
        (Some(name), _) => name.clone(),
        (None, false) => String::new(),
        (None, true) => {
            let question = format!("What people call it. Enter alone: \"{}\".", station.name);
            ask(std::io::stdout(), &question)?
        }
    };
    let name = clean(&said, LONGEST);
    Ok(if name.is_empty() { station.name.clone() } else { name })
}

/// A profile with another id or another name, where each stands first on a line of its own. What stays is not looked for:
/// where it stands on no such line, the first one is a press's.
fn with(text: &str, station: &Station, id: StationId, name: &str) -> String {
    let quoted = name.replace('\\', "\\\\").replace('"', "\\\"");
    let mut text = text.to_owned();
    if id != station.id {
        text = set(&text, "id", &id.to_string());
    }
    if name != station.name {
        text = set(&text, "name", &quoted);
    }
    text
}

fn set(text: &str, field: &str, value: &str) -> String {
    let field_as_text = format!(r#"(?m)^(\s*{field}:\s*)"(?:[^"\\]|\\.)*""#);
    let Ok(pattern) = Regex::new(&field_as_text) else { return text.to_owned() };
    let Some(found) = pattern.captures(text).and_then(|found| found.get(1)) else {
        return text.to_owned();
    };
    let line = format!("{}\"{value}\"", found.as_str());
    pattern.replace(text, NoExpand(&line)).into_owned()
}
