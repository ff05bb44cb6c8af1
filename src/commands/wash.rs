//! The result of a wash test: a grade that somebody gave, or two measured colours.

use clap::Args;
use serde_json::json;

use super::{Failure, Places, output, read};
use crate::figures::colour::Lab;
use crate::figures::fastness::{self, Grade};
use crate::figures::units::{self, Colour, whole_reader};
use crate::shell::clock::Clock;
use crate::shell::journal::JournalError;
use crate::shell::{inbox, private};
use crate::shop::facts::fact::Washed;
use crate::shop::facts::ids::Tag;
use crate::shop::rules::command::Command;

/// What was washed, how often, and what became of it.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("result").required(true).args(["grade", "before"]))]
pub struct Options {
    /// The garment's tag: a wash sample
    tag: String,
    /// How often it was washed
    #[arg(long, value_parser = whole_reader::<u32>("washes", 1, 200))]
    cycles: u32,
    /// The grade of the grey scale for change in colour: 4, 4-5
    #[arg(long)]
    grade: Option<Grade>,
    /// The colour before: "#c02030", or "52.1,60.2,33.0" in L*, a*, b*
    #[arg(long, requires = "after", conflicts_with = "grade", allow_hyphen_values = true)]
    before: Option<String>,
    /// The colour after, in the same form
    #[arg(long, requires = "before", allow_hyphen_values = true)]
    after: Option<String>,
    /// The answer as JSON
    #[arg(long)]
    json: bool,
}

/// Checks the result and lays it in the inbox.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let garment: Tag = options
        .tag
        .parse()
        .map_err(|wrong: crate::shop::facts::ids::NotATag| Failure::Input(wrong.to_string()))?;
    let delta_e = match (&options.before, &options.after) {
        (Some(before), Some(after)) => Some(fastness::difference(lab(before)?, lab(after)?)),
        _ => None,
    };
    let grade = options.grade.or(delta_e.map(Grade::of));
    let grade = grade.ok_or_else(|| Failure::Input("--grade, or --before and --after".into()))?;
    let wash = Washed { garment, cycles: options.cycles, grade, delta_e, file: None };
    let data = places.data()?;
    let known = read(&data)?;
    known
        .shop
        .decide(&Command::NoteWash(wash.clone()), known.now)
        .map_err(|refusal| Failure::Input(refusal.to_string()))?;
    let fault = |reason| JournalError::Directory { path: data.clone(), reason };
    private::directory(&data).map_err(fault)?;
    let at = Clock::machine().now().at.0.max(0);
    let moment = format!("{at:020}-{}", std::process::id());
    let id = inbox::lay_wash(&data, &moment, &wash).map_err(fault)?;
    if options.json {
        return output::json(&json!({
            "tag": garment, "cycles": options.cycles, "grade": grade, "delta_e": delta_e, "id": id,
        }));
    }
    let measured = delta_e.map_or_else(String::new, |delta_e| format!(" (dE*ab {delta_e:.2})"));
    output::lines([format!(
        "{garment}, {} washes: grade {grade}{measured}. It lies in the inbox; the board takes it in.",
        options.cycles
    )])
}

/// A colour as a hexadecimal code, or measured in CIELAB.
fn lab(text: &str) -> Result<Lab, Failure> {
    if let Ok(colour) = text.parse::<Colour>() {
        return Ok(colour.lab());
    }
    // Semicolons leave the comma to be the decimal mark.
    let separator = if text.contains(';') { ';' } else { ',' };
    let parts: Option<Vec<f64>> =
        text.split(separator).map(|part| units::number(part).ok()).collect();
    match parts.as_deref() {
        Some(&[lightness, a, b])
            if (0.0..=100.0).contains(&lightness) && a.abs() <= 200.0 && b.abs() <= 200.0 =>
        {
            Ok(Lab { lightness, a, b })
        }
        _ => {
            let found = crate::shop::facts::words::clean(text, 30);
            let wanted = "expected \"#c02030\" or \"52.1,60.2,33.0\"";
            Err(Failure::Input(format!("found \"{found}\", {wanted}")))
        }
    }
}
