//! `dwell hub add-reader`: a role for whoever only looks.

use std::path::PathBuf;

use clap::Args;

use super::At;
use super::prepare::without_role;
use crate::commands::{Failure, output};
use crate::shell::hub::block_on;
use crate::shell::hub::readers::{self, NewReader};

/// Who is to read.
#[derive(Debug, Args)]
pub struct ReaderOptions {
    /// What the reader is called: 4 to 20 small letters, digits or underscores
    #[arg(value_name = "NAME", value_parser = reader_name)]
    name: String,
    #[command(flatten)]
    at: At,
    /// Where its password is written: a file of mode 0600, as PGPASSFILE names it
    #[arg(long, value_name = "FILE")]
    password_file: PathBuf,
    /// A new password for a reader that is there already; the old one ends
    #[arg(long)]
    renew: bool,
}

fn reader_name(text: &str) -> Result<String, String> {
    let is_sound = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    // One to three letters would be a station's.
    match text.len() {
        // These are the hub's own groups.
        _ if matches!(text, "owner" | "stations" | "readers") => {
            Err("that name is the hub's own: expected another, such as lead or office".into())
        }
        4..=20 if text.chars().all(is_sound) => Ok(text.to_owned()),
        _ => {
            Err("expected 4 to 20 small letters, digits or underscores, such as lead or office"
                .into())
        }
    }
}

/// Adds a reader, and prints how the hub is read as it.
pub fn add_reader(options: &ReaderOptions) -> Result<(), Failure> {
    let to = options.at.destination()?;
    let password_file = std::path::absolute(&options.password_file)?;
    output::is_nobodys(&password_file)?;
    let new =
        NewReader { name: &options.name, password_file: &password_file, renew: options.renew };
    let role = block_on(async { Ok(readers::add_reader(&to, &new).await) })??;
    let address = without_role(&options.at.address).replacen("://", &format!("://{role}@"), 1);
    let ca =
        options.at.ca.as_ref().map_or_else(String::new, |ca| format!(" --ca {}", ca.display()));
    output::lines([format!(
        "PGPASSFILE={} dwell hub --address '{address}'{ca}",
        password_file.display()
    )])
}
