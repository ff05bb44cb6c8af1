//! An order's file is checked and laid in the inbox; the running board, or the next to start, takes it in.

use std::io::{BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::json;

use super::art::Backdrop;
use super::{Failure, Places, output};
use crate::figures::artwork::Limits;
use crate::shell::clock::Clock;
use crate::shell::journal::JournalError;
use crate::shell::picture::{self, NoPicture};
use crate::shell::{inbox, private, profiles};
use crate::shop::facts::order::{Artwork, OrderForm, OrderLine};
use crate::shop::facts::words::counted;

/// Which order, and what is known of its artwork.
#[derive(Debug, Args)]
pub struct Options {
    /// The order, in RON
    file: PathBuf,
    /// Whether some part of the artwork is lighter than the garment, for lines that do not say
    #[arg(long)]
    underbase: Option<Said>,
    /// Whether a border of one colour is printed, for artwork that has one
    #[arg(long)]
    backdrop: Option<Backdrop>,
    /// The answer as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Said {
    Yes,
    No,
}

/// Lays the order in the inbox.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let data = places.data()?;
    let known = places.profiles()?;
    let mut form = profiles::read_order(&options.file, &known.recipes)?;
    let mut found = Vec::new();
    let mut asked_later = 0;
    for n in 0..form.lines.len() {
        let Some(recipe) = known.recipes.get(&form.lines[n].recipe) else { continue };
        let asks = recipe.wants_underbase(None).is_none();
        let said = form.lines[n].underbase.or(options.underbase.map(|said| said == Said::Yes));
        let decides = asks && said.is_none();
        match look(options, &form.lines[n], recipe.artwork) {
            None => {}
            Some(Ok(Some(seen))) => {
                found.push(format!("line {}: {}", n + 1, seen.reason));
                form.lines[n].seen = Some(Box::new(seen));
            }
            Some(Ok(None)) => found.push(format!(
                "line {}: its art has a border of one colour: is it printed? --backdrop keep or drop",
                n + 1
            )),
            Some(Err(wrong)) if decides => return Err(wrong.into()),
            Some(Err(wrong)) => output::complain(&format!("warning: {wrong}")),
        }
        if !asks {
            continue;
        }
        let seen = form.lines[n].seen.as_ref().map(|seen| seen.underbase);
        form.lines[n].underbase = match said.or(seen) {
            Some(underbase) => Some(underbase),
            None => ask(&form, n)?,
        };
        asked_later += u32::from(form.lines[n].underbase.is_none());
    }
    let clock = Clock::machine();
    private::directory(&data)
        .map_err(|reason| JournalError::Directory { path: data.clone(), reason })?;
    let moment = format!("{:020}-{}", clock.now().at.0.max(0), std::process::id());
    let id = inbox::lay(&data, &moment, &form)
        .map_err(|reason| JournalError::Directory { path: data.clone(), reason })?;
    if past_due(&form, &clock, &known.station) {
        output::complain("warning: the order's due time is in the past");
    }
    if options.json {
        return output::json(&json!({
            "name": form.name, "garments": form.count(), "lines": form.lines.len(),
            "id": id, "asked_later": asked_later, "artwork": found,
        }));
    }
    let mut lines = vec![format!(
        "order \"{}\" lies in the inbox: {}. The board takes it in.",
        form.name,
        counted(form.count(), "garment")
    )];
    lines.extend(found);
    if asked_later > 0 {
        lines.push(format!("the board will ask about the underbase of {asked_later} of its lines"));
    }
    output::lines(lines)
}

/// What the line's artwork says, if it has one; its file lies beside the order.
fn look(
    options: &Options,
    line: &OrderLine,
    limits: Limits,
) -> Option<Result<Option<Artwork>, NoPicture>> {
    let art = line.art.as_ref()?;
    let beside = options.file.parent().unwrap_or(Path::new("")).join(art);
    let look = picture::look_at(&beside, line.garment, limits);
    Some(look.map(|look| look.says(options.backdrop.map(Into::into))))
}

/// Asks a person at a terminal; leaves it to the board where there is none.
fn ask(form: &OrderForm, n: usize) -> Result<Option<bool>, Failure> {
    let stdin = std::io::stdin();
    if !stdin.is_terminal() || !std::io::stderr().is_terminal() {
        return Ok(None);
    }
    let line = &form.lines[n];
    let mut stderr = std::io::stderr();
    write!(
        stderr,
        "line {}: {} of {} in {}: is some part of the artwork lighter than the garment? yes, no, or Enter to \
         be asked at the board: ",
        n + 1,
        line.count,
        line.recipe,
        line.garment
    )?;
    stderr.flush()?;
    let mut answer = String::new();
    stdin.lock().read_line(&mut answer)?;
    match answer.trim().to_ascii_lowercase().as_str() {
        "yes" | "y" => Ok(Some(true)),
        "no" | "n" => Ok(Some(false)),
        "" => Ok(None),
        other => {
            let found = crate::shop::facts::words::clean(other, 20);
            Err(Failure::Input(format!("found \"{found}\", expected yes or no")))
        }
    }
}

fn past_due(
    form: &OrderForm,
    clock: &Clock,
    station: &crate::shop::facts::station::Station,
) -> bool {
    let zone = profiles::zone(station).unwrap_or(jiff::tz::TimeZone::UTC);
    form.due.and_then(|due| due.at(&zone)).is_some_and(|due| due < clock.now().at)
}
