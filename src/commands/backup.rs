//! A copy of the journal, made while the board runs, and the way back.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::{Failure, Places, output, zone_of};
use crate::screen::words;
use crate::shell::journal::backup::{self, BackupError, Missed};
use crate::shell::journal::verify::Proof;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::words::counted;

/// Where the copy goes.
#[derive(Debug, Args)]
pub struct BackupOptions {
    /// The file that is made
    file: PathBuf,
    /// Write over a file that is there already
    #[arg(long)]
    force: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Where it comes from.
#[derive(Debug, Args)]
pub struct RestoreOptions {
    /// A file that dwell backup has made
    file: PathBuf,
    /// As JSON
    #[arg(long)]
    json: bool,
}

impl From<BackupError> for Failure {
    fn from(wrong: BackupError) -> Self {
        match wrong {
            BackupError::Journal(wrong) => wrong.into(),
            BackupError::File { .. } => Failure::Other(wrong.to_string()),
            _ => Failure::Input(wrong.to_string()),
        }
    }
}

/// Copies the journal, and says what the copy was proved to hold.
pub fn backup(places: &Places, options: &BackupOptions) -> Result<(), Failure> {
    let proof = backup::backup(&places.data()?, &options.file, options.force)?;
    let file = options.file.display().to_string();
    if options.json {
        return output::json(&as_json(&proof, "file", &file));
    }
    output::lines(
        std::iter::once(format!("backed up to {file}, and read back:")).chain(proof_lines(&proof)),
    )
}

/// Puts a backup in the journal's place, and says what was proved of it and where the old one is.
pub fn restore(places: &Places, options: &RestoreOptions) -> Result<(), Failure> {
    let data = places.data()?;
    // Where no profile reads, the journal that is there says whose it is.
    let profile = places.profiles().ok().map(|profiles| profiles.station.id);
    let restored = backup::restore(&data, &options.file, profile)?;
    let kept = restored.kept.as_ref().map(|kept| kept.display().to_string());
    if options.json {
        let mut answer = as_json(&restored.proof, "file", &options.file.display().to_string());
        answer["kept"] = json!(kept);
        answer["not_in_backup"] = match restored.missed {
            Missed::Events(count) => json!(count),
            Missed::Another | Missed::Unknown => Value::Null,
        };
        answer["another_journal"] = json!(restored.missed == Missed::Another);
        return output::json(&answer);
    }
    let mut lines = vec![format!("restored into {}, checked row by row:", data.display())];
    lines.extend(proof_lines(&restored.proof));
    lines.push(match (kept, restored.missed) {
        (None, _) => "  there was no journal before".to_owned(),
        (Some(kept), Missed::Unknown) => format!("  what was there   {kept}   (it does not read)"),
        (Some(kept), Missed::Another) => {
            format!("  what was there   {kept}   (another journal: nothing of it is in the backup)")
        }
        (Some(kept), Missed::Events(0)) => format!("  what was there   {kept}"),
        (Some(kept), Missed::Events(count)) => {
            format!(
                "  what was there   {kept}   ({} longer than the backup)",
                counted(count, "event")
            )
        }
    });
    output::lines(lines)
}

fn proof_lines(proof: &Proof) -> Vec<String> {
    let last = proof.last_at.map_or_else(String::new, |at| {
        let boot = proof.shop.newest().map(|newest| newest.boot);
        let zone = zone_of(&proof.shop, boot.unwrap_or(crate::shop::facts::moment::Boot(0)));
        format!(
            "row {} of {} {}",
            proof.last_seq,
            words::day(at, &zone),
            words::clock_seconds(at, &zone)
        )
    });
    let places: Vec<String> =
        proof.places().into_iter().map(|(name, count)| format!("{name} {count}")).collect();
    vec![
        format!("  events           {}", proof.events),
        format!("  last             {last}"),
        format!("  the chain ends   {:016x}", proof.chain),
        format!("  garments         {}", places.join(", ")),
    ]
}

fn as_json(proof: &Proof, key: &str, file: &str) -> Value {
    let places: serde_json::Map<String, Value> =
        proof.places().into_iter().map(|(name, count)| (name.to_owned(), count.into())).collect();
    json!({
        key: file, "events": proof.events, "last_seq": proof.last_seq,
        "last_at": proof.last_at.map(rfc3339), "chain": format!("{:016x}", proof.chain),
        "garments": places,
    })
}
