//! Makes a machine the board's own: it comes up on the first console by itself, and nothing there gets in its way.
//!
//! Everything that is laid is a file or a link of a known name, with our line at its head: so the same call says first
//! what it will do, lays it a second time without harm, and takes exactly that away again.

mod called;
mod change;
mod device;
mod wanted;

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::Args;

use self::called::{Called, Given};
use self::change::Change;
use self::wanted::Wanted;
use super::prompt::ask;
use super::{Failure, output};
use crate::shell::profiles;
use crate::shop::facts::ids::{StationId, Tag};
use crate::shop::facts::station::Instrument;

/// How it is to be set up.
#[derive(Debug, Args)]
pub struct Options {
    /// Ask nothing: do what is shown
    #[arg(long)]
    yes: bool,
    /// Take away what a setup has laid; the journal and the profiles stay
    #[arg(long)]
    undo: bool,
    /// Check the journal and copy it each night to this directory, on a second disk or a stick
    #[arg(long, value_name = "DIR", conflicts_with = "undo")]
    backup: Option<PathBuf>,
    /// The station's id, one to three letters that no other station of the shop has; with a journal it stays
    #[arg(long, conflicts_with = "undo")]
    id: Option<StationId>,
    /// What people call the station
    #[arg(long, conflicts_with = "undo")]
    name: Option<String>,
    /// Letters on the console as they are, not the large ones that are read from afar
    #[arg(long, conflicts_with = "undo")]
    small: bool,
    /// Set up the system that lies there, not the one that runs
    #[arg(long, value_name = "DIR", default_value = "/", hide_default_value = true)]
    root: PathBuf,
}

/// Shows what it will do, asks, and does it.
pub fn run(options: &Options) -> Result<(), Failure> {
    let asks = !options.yes && !options.undo;
    if !options.yes && !std::io::stdin().is_terminal() {
        let text =
            "nobody can be asked here: read what it does in `dwell help setup`, then give --yes";
        return Err(Failure::Input(text.to_owned()));
    }
    let given = Given { id: options.id, name: options.name.clone() };
    let called = match options.undo {
        true => None,
        false => Called::of(&options.root, &given, asks)?,
    };
    let backup = match &options.backup {
        Some(backup) => Some(backup.clone()),
        None if asks => ask_for_backup()?,
        None => None,
    };
    let plain = Wanted { backup, large: !options.small, ..Wanted::default() };
    let wanted = if options.undo { plain } else { asked(&options.root, plain)? };
    let changes = if options.undo { wanted::everything() } else { wanted.changes()? };
    let changes: Vec<Change> = changes.into_iter().map(|one| one.under(&options.root)).collect();
    if options.undo {
        return undo(options, &changes);
    }
    // All of it or nothing: what is somebody else's is found before anything is laid.
    changes.iter().try_for_each(Change::is_free)?;
    output::lines(
        std::iter::once("This will be laid:".to_owned())
            .chain(called.iter().map(Called::text))
            .chain(changes.iter().map(Change::text))
            .chain(wanted.is_missing(&options.root)),
    )?;
    if asks && !says_yes("Do it?")? {
        return output::lines(["Nothing was changed."]);
    }
    called.iter().try_for_each(Called::write)?;
    changes.iter().try_for_each(Change::lay)?;
    // A nightly copy of an earlier setup goes where none is wanted any more.
    for one in wanted::everything().into_iter().map(|one| one.under(&options.root)) {
        if !changes.iter().any(|kept| kept.path() == one.path()) {
            one.take_away()?;
        }
    }
    if asks {
        try_the_scanner()?;
    }
    begin(options, wanted.backup.is_some())
}

/// What the machine's profile asks of its unit besides: the serial lines that it names, each with its field; the folder of
/// orders; and whether it needs the network: a program tells somebody elsewhere, or there is a hub.
fn asked(root: &Path, wanted: Wanted) -> Result<Wanted, Failure> {
    let folder = root.join("etc/dwell");
    if !folder.is_dir() {
        return Ok(wanted);
    }
    let station =
        profiles::load(Some(&folder)).map_err(|wrong| Failure::Input(wrong.to_string()))?.station;
    let named = [("scale", &station.scale), ("probe", &station.probe)].into_iter();
    let line = |(field, one): (&str, &Option<Instrument>)| {
        one.as_ref().map(|one| (field.to_owned(), one.line.clone()))
    };
    let orders = station.tables.as_ref().and_then(|tables| tables.folder.clone());
    Ok(Wanted {
        lines: named.filter_map(line).collect(),
        reaches_out: station.told.is_some() || station.hub.is_some(),
        orders: orders.map(PathBuf::from),
        ..wanted
    })
}

fn undo(options: &Options, changes: &[Change]) -> Result<(), Failure> {
    let ours: Vec<&Change> = changes.iter().filter(|change| change.is_laid()).collect();
    if ours.is_empty() {
        return output::lines(["Nothing of a setup lies here."]);
    }
    output::lines(
        std::iter::once("This will be taken away:".to_owned())
            .chain(ours.iter().map(|change| change.path().display().to_string())),
    )?;
    if !options.yes && !says_yes("Do it?")? {
        return output::lines(["Nothing was changed."]);
    }
    ours.into_iter().rev().try_for_each(Change::take_away)?;
    if is_running(options) {
        systemctl(&["daemon-reload"])?;
    }
    output::lines(["Taken away. A board that runs goes on: `systemctl stop dwell` leaves it."])
}

/// The board comes up now, where systemd runs, else with the machine.
fn begin(options: &Options, copies: bool) -> Result<(), Failure> {
    if !is_running(options) {
        return output::lines(["Laid. The board comes up with the machine's next start."]);
    }
    systemctl(&["daemon-reload"])?;
    // A line that is plugged in already becomes the board's now; without udev nobody can do that.
    for words in [&["control", "--reload"][..], &["trigger", "--subsystem-match=tty", "--settle"]] {
        drop(Command::new("udevadm").args(words).stdin(Stdio::null()).status());
    }
    systemctl(&["restart", "systemd-journald.service"])?;
    systemctl(&["restart", "dwell.service"])?;
    if copies {
        // Whether the place takes a copy is seen now, not tomorrow morning.
        systemctl(&["start", "dwell-nightly.timer"])?;
        systemctl(&["start", "--no-block", "dwell-nightly.service"])?;
    }
    output::lines([
        "The board runs on the first console: Alt-F1. `systemctl stop dwell` leaves it, q alone brings it back.",
    ])
}

fn is_running(options: &Options) -> bool {
    options.root == Path::new("/") && sd_notify::booted().unwrap_or(false)
}

fn systemctl(words: &[&str]) -> Result<(), Failure> {
    let failed = |reason: String| {
        Failure::Other(format!("systemctl {}: {reason}. What was laid stays", words.join(" ")))
    };
    let status = Command::new("systemctl").args(words).stdin(Stdio::null()).status();
    match status {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(failed(status.to_string())),
        Err(reason) => Err(failed(reason.to_string())),
    }
}

fn says_yes(question: &str) -> Result<bool, Failure> {
    let said = ask(std::io::stdout(), &format!("{question} [y/n]"))?;
    Ok(matches!(said.to_ascii_lowercase().as_str(), "y" | "yes"))
}

fn ask_for_backup() -> Result<Option<PathBuf>, Failure> {
    let said = ask(
        std::io::stdout(),
        "Copy the journal each night to which directory? Enter alone: to none.",
    )?;
    Ok(Some(said).filter(|said| !said.is_empty()).map(PathBuf::from))
}

/// A keyboard's layout that is not the scanner's turns the hyphen of a tag into something else.
fn try_the_scanner() -> Result<(), Failure> {
    let said = ask(
        std::io::stdout(),
        "Scan a garment's label, or type A1-02. Enter alone: there is no scanner.",
    )?;
    let answer = match said.parse::<Tag>() {
        _ if said.is_empty() => return Ok(()),
        Ok(tag) => format!("Read {tag}: the scanner and the keyboard fit together."),
        Err(_) => format!(
            "Read \"{}\", which is no tag. A tag needs its hyphen and its digits: set the scanner to the keyboard's \
             layout, or the layout to the scanner's with `dpkg-reconfigure keyboard-configuration`.",
            crate::shop::facts::words::clean(&said, 40)
        ),
    };
    output::lines([answer])
}
