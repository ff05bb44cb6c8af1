//! The shift report: one gathering, four forms.

mod charts;
mod page;
mod strips;
mod table;
mod tables;
mod text;
mod words;

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::period::{Period, Since};
use super::{Failure, Places, output};
use crate::shell::journal;
use crate::shop::books::shift_report::{Report, ShiftBook};
use crate::shop::facts::day::Day;

/// Of which time, in which form, and where to.
#[derive(Debug, Args)]
pub struct Options {
    /// The shift that began on this day, "2026-12-04" [default: the one that runs, or the last]
    #[arg(long, value_name = "DAY", conflicts_with = "since")]
    shift: Option<Day>,
    /// The last "2h" instead, or what was since "13:00"
    #[arg(long, value_parser = Since::read)]
    since: Option<Since>,
    /// Text of 80 columns, a table as RFC 4180 has it, one JSON object, or a page that needs nothing else
    #[arg(long, value_enum, default_value_t = Form::Text)]
    format: Form,
    /// Write it to this file, whole or not at all
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// The forms of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    Text,
    Csv,
    Json,
    Html,
}

/// Prints or writes the report.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let data = places.data()?;
    let period = match options.since {
        Some(since) => Period::since(&data, since)?,
        None => Period::of_shift(&data, options.shift)?,
    };
    let (shop, book) = period.read(&data, ShiftBook::of(period.scope))?;
    let report = book.close(&shop, (period.from, period.to), period.running);
    let bytes = bytes(&report, &period, options.format)?;
    match &options.out {
        Some(path) => output::whole(path, [journal::path(&data)], &bytes),
        None => output::raw(&bytes),
    }
}

fn bytes(report: &Report, period: &Period, form: Form) -> Result<Vec<u8>, Failure> {
    Ok(match form {
        Form::Text => text::lines(report, &period.zone).join("\n").into_bytes(),
        Form::Csv => table::csv(report, &period.zone)?,
        Form::Html => page::page(report, &period.zone)?.into_bytes(),
        Form::Json => {
            let mut bytes = serde_json::to_vec(report).map_err(std::io::Error::from)?;
            bytes.push(b'\n');
            bytes
        }
    })
}
