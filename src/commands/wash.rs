//! The result of a wash test: a grade that somebody gave, or two measured colours. And a garment that a customer brought
//! back, by its tag or by its order and size: which it may be, and which others are at risk.

mod returned;

use clap::{Args, ValueEnum};
use serde_json::json;

use super::{Failure, Places, output, read};
use crate::figures::colour::Lab;
use crate::figures::fastness::{self, Grade};
use crate::figures::units::{self, Colour, whole_reader};
use crate::shell::clock::Clock;
use crate::shell::journal::JournalError;
use crate::shell::{inbox, private};
use crate::shop::facts::fact::{Complaint, Washed};
use crate::shop::facts::ids::Tag;
use crate::shop::rules::command::{Command, Refusal};

/// What was washed, how often, and what became of it.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("whom").required(true).args(["tag", "order"]))]
#[command(group = clap::ArgGroup::new("result").args(["grade", "before"]))]
pub struct Options {
    /// The garment's tag: a wash sample, or with --returned any garment
    tag: Option<String>,
    /// Of a return whose tag is gone: its order by number ("A3") or name
    #[arg(long, requires = "returned")]
    order: Option<String>,
    /// Of a return: the size mark in its neck
    #[arg(long, requires = "order")]
    size: Option<String>,
    /// A customer brought it back
    #[arg(long)]
    returned: bool,
    /// What the customer says of it
    #[arg(long, value_name = "WHY", default_value = "washed-out")]
    complaint: Why,
    /// Of a return: only say which garments it may be; nothing is recorded
    #[arg(long, requires = "returned")]
    look: bool,
    /// How often it was washed
    #[arg(long, value_parser = whole_reader::<u32>("washes", 1, 200), required_unless_present = "returned")]
    cycles: Option<u32>,
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

/// What a customer says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Why {
    WashedOut,
    Mark,
    Other,
}

impl Why {
    fn complaint(self) -> Complaint {
        match self {
            Why::WashedOut => Complaint::WashedOut,
            Why::Mark => Complaint::Mark,
            Why::Other => Complaint::Other,
        }
    }
}

/// Checks the result and lays it in the inbox.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let delta_e = match (&options.before, &options.after) {
        (Some(before), Some(after)) => Some(fastness::difference(lab(before)?, lab(after)?)),
        _ => None,
    };
    let grade = options.grade.or(delta_e.map(Grade::of));
    match options.returned {
        true => returned::run(places, options, options.complaint.complaint(), (grade, delta_e)),
        false => sample(places, options, (grade, delta_e)),
    }
}

/// The tag that was given.
fn tag(options: &Options) -> Result<Tag, Failure> {
    let text = options.tag.as_deref().unwrap_or_default();
    text.parse()
        .map_err(|wrong: crate::shop::facts::ids::NotATag| Failure::Input(wrong.to_string()))
}

fn sample(
    places: &Places,
    options: &Options,
    (grade, delta_e): (Option<Grade>, Option<f64>),
) -> Result<(), Failure> {
    let garment = tag(options)?;
    let missing = || Failure::Input("--grade, or --before and --after".into());
    let (grade, cycles) = (grade.ok_or_else(missing)?, options.cycles.unwrap_or(1));
    let wash = Washed { garment, cycles, grade, delta_e, file: None };
    let data = places.data()?;
    let known = read(&data)?;
    known.shop.decide(&Command::NoteWash(wash.clone()), known.now).map_err(|refusal| {
        let hint = match refusal {
            Refusal::NoSample(_) => "; or add --returned where a customer brought it back",
            _ => "",
        };
        Failure::Input(format!("{refusal}{hint}"))
    })?;
    let fault = |reason| JournalError::Directory { path: data.clone(), reason };
    private::directory(&data).map_err(fault)?;
    let id = inbox::lay_wash(&data, &moment(), &wash).map_err(fault)?;
    if options.json {
        return output::json(&json!({
            "tag": garment, "cycles": cycles, "grade": grade, "delta_e": delta_e, "id": id,
        }));
    }
    let measured = delta_e.map_or_else(String::new, |delta_e| format!(" (dE*ab {delta_e:.2})"));
    output::lines([format!(
        "{garment}, {cycles} washes: grade {grade}{measured}. It is queued for the board."
    )])
}

/// What tells one laying from every other.
fn moment() -> String {
    format!("{:020}-{}", Clock::machine().now().at.0.max(0), std::process::id())
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
