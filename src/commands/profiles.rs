//! The profiles: where they are, whether they read, and a copy to change.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::{Failure, Places, output};
use crate::shell::profiles::write_out;
use crate::shop::facts::words::counted;

/// What to do with them.
#[derive(Debug, Args)]
pub struct Options {
    /// Write the built-in profiles into a directory; files that are there stay as they are
    #[arg(long, value_name = "DIR")]
    write: Option<PathBuf>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Lists the profiles, or writes them out.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    if let Some(directory) = &options.write {
        let written = write_out(directory)?;
        if options.json {
            return output::json(&json!({ "written": written }));
        }
        if written.is_empty() {
            return output::lines(["everything is there already: nothing written"]);
        }
        return output::lines(written.iter().map(|path| path.display().to_string()));
    }
    let profiles = places.profiles()?;
    let from = profiles.directory.as_ref().map(|path| path.display().to_string());
    let recipes = profiles.recipes.iter();
    if options.json {
        let all: Vec<Value> = recipes
            .map(|(name, recipe)| {
                json!({ "name": name, "hash": recipe.hash(), "title": recipe.title, "confirmed": recipe.confirmed })
            })
            .collect();
        return output::json(&json!({
            "directory": from, "station": profiles.station.name,
            "presses": profiles.station.presses.len(), "recipes": all,
        }));
    }
    let mut lines = vec![
        format!("profiles   {}", from.as_deref().unwrap_or("built in")),
        format!(
            "station    {}, {}",
            profiles.station.name,
            counted(profiles.station.presses.len(), "press")
        ),
    ];
    lines.extend(recipes.map(|(name, recipe)| {
        let confirmed = recipe.confirmed.as_deref().unwrap_or("nobody yet");
        format!("recipe     {name:<16} {:<24} confirmed by {confirmed}", recipe.title)
    }));
    output::lines(lines)
}
