//! Profiles and orders as files in RON: found, read, checked, and refused with the place in the file.

use std::collections::BTreeMap;
use std::fmt;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ron::error::SpannedError;
use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

use super::new_file::{NewFile, Readers};
use super::private;
use crate::screen::keymap::Keymap;
use crate::shop::Shop;
use crate::shop::facts::check::Senseless;
use crate::shop::facts::moment::Boot;
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::Station;

/// The largest profile or order that is read: far more than any has.
const MOST_BYTES: u64 = 1_000_000;

const STATION: &str = "station.ron";
const RECIPES: &str = "recipes";

/// The profiles that are built in, by their path under `profiles/`.
const BUILT_IN: [(&str, &str); 11] = [
    ("station.ron", include_str!("../../profiles/station.ron")),
    ("recipes/dark-cotton.ron", include_str!("../../profiles/recipes/dark-cotton.ron")),
    (
        "recipes/dark-cotton-treated.ron",
        include_str!("../../profiles/recipes/dark-cotton-treated.ron"),
    ),
    ("recipes/light-cotton.ron", include_str!("../../profiles/recipes/light-cotton.ron")),
    (
        "recipes/light-cotton-fluid.ron",
        include_str!("../../profiles/recipes/light-cotton-fluid.ron"),
    ),
    ("recipes/blend.ron", include_str!("../../profiles/recipes/blend.ron")),
    ("recipes/light-blend.ron", include_str!("../../profiles/recipes/light-blend.ron")),
    ("recipes/polyester.ron", include_str!("../../profiles/recipes/polyester.ron")),
    ("recipes/high-polyester.ron", include_str!("../../profiles/recipes/high-polyester.ron")),
    ("recipes/fleece.ron", include_str!("../../profiles/recipes/fleece.ron")),
    ("orders/harbour-choir.ron", include_str!("../../profiles/orders/harbour-choir.ron")),
];

/// The artwork of the orders in the scenario, beside them.
pub const DEMO_ART: (&str, &[u8]) =
    ("orders/harbour-choir.png", include_bytes!("../../profiles/orders/harbour-choir.png"));

/// What is wrong with a file: where, what, and what was expected.
#[derive(Debug, Clone, thiserror::Error)]
pub struct FileError {
    path: PathBuf,
    place: Option<(usize, usize)>,
    reason: String,
    /// The line that it stands in.
    shown: Option<String>,
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.path.display())?;
        if let Some((line, column)) = self.place {
            write!(f, ":{line}:{column}")?;
        }
        write!(f, ": {}", self.reason)?;
        if let (Some((line, column)), Some(shown)) = (self.place, &self.shown) {
            let margin = line.to_string();
            write!(f, "\n  {margin} | {shown}")?;
            let indent = " ".repeat(margin.len() + 5 + column.saturating_sub(1));
            write!(f, "\n{indent}^")?;
        }
        Ok(())
    }
}

impl FileError {
    fn new(path: &Path, reason: impl Into<String>) -> Self {
        Self { path: path.to_owned(), place: None, reason: reason.into(), shown: None }
    }

    fn at(path: &Path, text: &str, place: (usize, usize), reason: String) -> Self {
        let line = text.lines().nth(place.0.saturating_sub(1));
        let shown = line.map(|line| crate::shop::facts::words::clean(line, 120));
        // The line is shown without its indent, so the column moves with it.
        let indent = line.map_or(0, |line| line.len() - line.trim_start().len());
        let mut error = Self { path: path.to_owned(), place: Some(place), reason, shown };
        if let Some(shown) = &mut error.shown {
            *shown = format!("{}{shown}", " ".repeat(indent));
        }
        error
    }

    /// The error without the line of source and the way to the file, for a banner.
    pub fn in_one_line(&self) -> String {
        let path = self.path.file_name().map_or_else(|| self.path.clone(), PathBuf::from);
        Self { path, shown: None, ..self.clone() }.to_string()
    }
}

/// Everything that the profiles say.
#[derive(Debug, Clone)]
pub struct Profiles {
    pub station: Arc<Station>,
    pub recipes: BTreeMap<String, Arc<Recipe>>,
    /// Where they were found; None: built in.
    pub directory: Option<PathBuf>,
    /// What that directory holds itself.
    pub own: Own,
}

/// What a directory of profiles holds itself; the rest is built in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Own {
    station: bool,
    recipes: bool,
}

impl Own {
    fn of(texts: &[(PathBuf, String)]) -> Self {
        let recipes = texts.iter().filter(|(path, _)| is_recipe(path)).count();
        Self { station: texts.len() > recipes, recipes: recipes > 0 }
    }
}

/// Finds the profiles: the directory given, else the user's own, else those in /etc/dwell, else the ones built in.
///
/// # Errors
/// A file that does not read or makes no sense, or a directory that was given and is not there.
pub fn load(given: Option<&Path>) -> Result<Profiles, FileError> {
    if let Some(directory) = given
        && !directory.is_dir()
    {
        let reason = "no such directory of profiles; `dwell profiles --write DIR` makes one";
        return Err(FileError::new(directory, reason));
    }
    let directory = given.map(Path::to_owned).or_else(super::paths::found_profiles);
    let texts = directory.as_deref().map_or(Ok(Vec::new()), read_directory)?;
    let own = Own::of(&texts);
    with_built_in(texts, own, directory)
}

/// Reads a directory again whose profiles are in force. What it held itself is not replaced by what is built in: an
/// editor, or somebody who tidies up, has taken it away for a moment.
///
/// # Errors
/// A file that does not read or makes no sense, or that is gone.
pub fn load_again(directory: &Path, before: Own) -> Result<Profiles, FileError> {
    let texts = read_directory(directory)?;
    let own = Own::of(&texts);
    if before.station && !own.station {
        return Err(FileError::new(&directory.join(STATION), "it is gone"));
    }
    if before.recipes && !own.recipes {
        return Err(FileError::new(&directory.join(RECIPES), "the recipes are gone"));
    }
    with_built_in(texts, own, Some(directory.to_owned()))
}

fn with_built_in(
    mut texts: Vec<(PathBuf, String)>,
    own: Own,
    directory: Option<PathBuf>,
) -> Result<Profiles, FileError> {
    for (recipe, is_own) in [(false, own.station), (true, own.recipes)] {
        if !is_own {
            let built_in =
                BUILT_IN.iter().map(|(path, text)| (PathBuf::from(path), (*text).to_owned()));
            texts.extend(
                built_in
                    .filter(|(path, _)| !path.starts_with("orders") && is_recipe(path) == recipe),
            );
        }
    }
    Ok(Profiles { own, ..read_texts(&texts, directory)? })
}

fn is_recipe(path: &Path) -> bool {
    path.parent().and_then(Path::file_name).is_some_and(|folder| folder == RECIPES)
}

fn read_directory(directory: &Path) -> Result<Vec<(PathBuf, String)>, FileError> {
    let unread = |path: &Path| {
        let path = path.to_owned();
        move |reason: std::io::Error| FileError::new(&path, reason.to_string())
    };
    let (station, recipes) = (directory.join(STATION), directory.join(RECIPES));
    let mut paths = Vec::new();
    if is_there(&station).map_err(unread(&station))? {
        paths.push(station);
    }
    if is_there(&recipes).map_err(unread(&recipes))? {
        for entry in std::fs::read_dir(&recipes).map_err(unread(&recipes))? {
            let path = entry.map_err(unread(&recipes))?.path();
            if path.extension().is_some_and(|end| end == "ron") {
                paths.push(path);
            }
        }
    }
    paths.sort();
    paths.into_iter().map(|path| read_text(&path).map(|text| (path, text))).collect()
}

/// Whether something has this name, if only a link that leads nowhere; what cannot be known is an error.
fn is_there(path: &Path) -> std::io::Result<bool> {
    match std::fs::symlink_metadata(path) {
        Ok(_) => Ok(true),
        Err(reason) if reason.kind() == std::io::ErrorKind::NotFound => Ok(false),
        Err(reason) => Err(reason),
    }
}

fn read_text(path: &Path) -> Result<String, FileError> {
    private::read_small(path, MOST_BYTES).map_err(|wrong| FileError::new(path, wrong.to_string()))
}

/// Reads profiles from their texts, each with the path that it goes by: a recipe's is in a folder `recipes`.
///
/// # Errors
/// A text that does not read or makes no sense, or no station among them.
pub fn read_texts(
    texts: &[(PathBuf, String)],
    directory: Option<PathBuf>,
) -> Result<Profiles, FileError> {
    let mut station = None;
    let mut recipes = BTreeMap::new();
    for (path, text) in texts {
        if is_recipe(path) {
            let recipe: Recipe = parse::<Recipe>(path, text)?.cleaned();
            recipe.check().map_err(|wrong| senseless(path, text, &wrong))?;
            let name = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
            recipes.insert(
                crate::shop::facts::words::clean(&name.unwrap_or_default(), 60),
                Arc::new(recipe),
            );
        } else {
            let read: Station = parse::<Station>(path, text)?.cleaned();
            read.check().map_err(|wrong| senseless(path, text, &wrong))?;
            check_keys(&read).map_err(|wrong| senseless(path, text, &wrong))?;
            check_zone(&read).map_err(|wrong| senseless(path, text, &wrong))?;
            station = Some(Arc::new(read));
        }
    }
    let station = station.ok_or_else(|| FileError::new(Path::new(STATION), "there is none"))?;
    Ok(Profiles { station, recipes, directory, own: Own::of(texts) })
}

fn check_keys(station: &Station) -> Result<(), Senseless> {
    let keys = Keymap::with(&station.keys)?;
    station.scanner_prefix.map_or(Ok(()), |prefix| keys.check_prefix(prefix))
}

fn check_zone(station: &Station) -> Result<(), Senseless> {
    zone(station).map(drop).ok_or_else(|| {
        let name = station.time_zone.as_deref().unwrap_or_default();
        Senseless::new(
            "time_zone",
            format!("\"{name}\" is no time zone: expected one such as \"Europe/Lisbon\""),
        )
    })
}

/// The shop's time zone; None for a name that is none.
pub fn zone(station: &Station) -> Option<jiff::tz::TimeZone> {
    match &station.time_zone {
        Some(name) => jiff::tz::TimeZone::get(name).ok(),
        None => Some(jiff::tz::TimeZone::system()),
    }
}

/// The zone in which a shop's days are counted; a made-up shift has none.
pub fn zone_of(shop: &Shop, boot: Boot) -> jiff::tz::TimeZone {
    if boot == Boot::MADE_UP {
        return jiff::tz::TimeZone::UTC;
    }
    let known = shop.station().and_then(|station| zone(station));
    known.unwrap_or_else(jiff::tz::TimeZone::system)
}

/// Reads an order's file.
///
/// # Errors
/// A file that does not read, or an order that makes no sense with the recipes that there are.
pub fn read_order(
    path: &Path,
    recipes: &BTreeMap<String, Arc<Recipe>>,
) -> Result<OrderForm, FileError> {
    order_from(path, &read_text(path)?, recipes)
}

/// Reads an order from its text; `path` is what errors call it.
///
/// # Errors
/// A text that does not read, or an order that makes no sense with the recipes that there are.
pub fn order_from(
    path: &Path,
    text: &str,
    recipes: &BTreeMap<String, Arc<Recipe>>,
) -> Result<OrderForm, FileError> {
    let form = parse::<OrderForm>(path, text)?.cleaned();
    let names: Vec<&str> = recipes.keys().map(String::as_str).collect();
    form.check(|name| recipes.contains_key(name), &names.join(", "))
        .map_err(|wrong| senseless(path, text, &wrong))?;
    Ok(form)
}

/// Reads RON in which `Some(...)` may be left out.
fn parse<T: DeserializeOwned>(path: &Path, text: &str) -> Result<T, FileError> {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    options.from_str(text).map_err(|SpannedError { code, span }| {
        let (place, found) = token_at(text, (span.start.line, span.start.col));
        let found = found.map_or_else(String::new, |found| format!("found {found}: "));
        FileError::at(path, text, place, found + &explained(&code))
    })
}

/// The word that stands at a place or after the blanks there, and where it begins.
fn token_at(text: &str, (line, column): (usize, usize)) -> ((usize, usize), Option<String>) {
    let letters: Vec<char> =
        text.lines().nth(line.saturating_sub(1)).unwrap_or("").chars().collect();
    let from = column.saturating_sub(1).min(letters.len());
    let blanks = letters[from..].iter().take_while(|c| c.is_whitespace()).count();
    let word =
        letters[from + blanks..].iter().take_while(|c| !c.is_whitespace() && **c != ',').take(30);
    let word: String = word.collect();
    let found =
        (!word.is_empty()).then(|| format!("`{}`", crate::shop::facts::words::clean(&word, 30)));
    ((line, column + blanks), found)
}

/// What RON says, and the reason where the rule behind it is the trade's.
fn explained(code: &ron::Error) -> String {
    // A name that is no field is answered with all that are: those of a recipe fill some lines.
    let said = crate::shop::facts::words::clean(&code.to_string(), 1000);
    match code {
        ron::Error::NoSuchEnumVariant { expected, .. } if expected.contains(&"PtfeSheet") => {
            format!(
                "{said}: a cover is a PTFE sheet or release paper; kitchen parchment and the like are not made \
             for a press (common practice)"
            )
        }
        _ => said,
    }
}

/// A value that reads but makes no sense: the place is that of the last name in its path.
fn senseless(path: &Path, text: &str, wrong: &Senseless) -> FileError {
    let mut from = 0;
    for name in wrong.field.split('.') {
        let name = name.split('[').next().unwrap_or(name).trim_matches('"');
        if let Some(at) = text[from..].find(&format!("{name}:")).or_else(|| text[from..].find(name))
        {
            from += at;
        }
    }
    let before = &text[..from];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(1, |last| last.chars().count() + 1);
    FileError::at(path, text, (line, column), wrong.to_string())
}

/// Writes the built-in profiles out; files that are there already are left as they are. Returns what was
/// written.
///
/// # Errors
/// A directory that cannot be made or written.
pub fn write_out(directory: &Path) -> Result<Vec<PathBuf>, FileError> {
    let mut written = Vec::new();
    let texts = BUILT_IN.iter().map(|(name, text)| (*name, text.as_bytes()));
    for (name, bytes) in texts.chain([DEMO_ART]) {
        let path = directory.join(name);
        let wrong = |reason: std::io::Error| FileError::new(&path, reason.to_string());
        if is_there(&path).map_err(wrong)? {
            continue;
        }
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(wrong)?;
        }
        let mut file = NewFile::beside(&path, Readers::AsUsual).map_err(wrong)?;
        file.write_all(bytes).and_then(|()| file.name(&path)).map_err(wrong)?;
        written.push(path);
    }
    Ok(written)
}
