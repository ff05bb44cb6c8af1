//! The shift report: one gathering, one list of sections, four forms.

mod all;
pub(super) mod charts;
pub(super) mod page;
pub(super) mod section;
mod sections;
mod strips;
mod table;
mod tables;
pub(super) mod text;
pub(super) mod words;

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::everywhere::{OneStation, Over};
use super::output::Form;
use super::period::{Period, Since};
use super::{Failure, Places, output};
use crate::shell::journal;
use crate::shop::books::beside::Beside;
use crate::shop::books::groups::{By, Groups};
use crate::shop::books::shift_report::{Report, ShiftBook};
use crate::shop::books::shifts::ShiftName;
use crate::shop::facts::day::Day;
use all::Sums;
use section::Section;

/// Of which time, in which form, and where to.
#[derive(Debug, Args)]
pub struct Options {
    /// A shift by its day, "2026-12-04", the day's second, "2026-12-04/2", or by initials, "2026-12-04/AK" or "AK" for the newest [default: the one that runs, or the last]
    #[arg(long, value_name = "SHIFT", conflicts_with = "since")]
    shift: Option<ShiftName>,
    /// All shifts from this day on, "2026-12-01"
    #[arg(long, value_name = "DAY", conflicts_with_all = ["since", "shift"])]
    from: Option<Day>,
    /// All shifts to this day, that day among them
    #[arg(long, value_name = "DAY", conflicts_with_all = ["since", "shift"])]
    to: Option<Day>,
    /// The last "2h" instead, or what was since "13:00"
    #[arg(long, value_parser = Since::read)]
    since: Option<Since>,
    /// Text of 80 columns, a table as RFC 4180 has it, one JSON object, or a page that needs nothing else
    #[arg(long, value_enum, default_value_t = Form::Text)]
    format: Form,
    /// Write it to this file, whole or not at all
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    over: Over,
}

/// Prints or writes the report.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    if let Some(all) = options.over.everywhere(places)? {
        let told = |one: &OneStation| {
            let (report, period) = gathered(&one.data, options)?;
            Ok((bytes(&report, &period, options.format)?, report))
        };
        let sums = |reports: Vec<Report>| Sums::of(&reports).bytes(options.format).map(Some);
        let bytes = all.added_up(options.format, told, sums)?;
        match &options.out {
            Some(path) => output::whole(path, Vec::<PathBuf>::new(), &bytes)?,
            None => output::raw(&bytes)?,
        }
        return all.is_whole();
    }
    let data = places.data()?;
    let (report, period) = gathered(&data, options)?;
    let bytes = bytes(&report, &period, options.format)?;
    match &options.out {
        Some(path) => output::whole(path, [journal::path(&data)], &bytes),
        None => output::raw(&bytes),
    }
}

/// The report of a station, and the time that it is of.
fn gathered(data: &Path, options: &Options) -> Result<(Report, Period), Failure> {
    let period = match (options.since, options.from, options.to) {
        (Some(since), ..) => Period::since(data, since)?,
        (None, None, None) => Period::of_shift(data, options.shift.as_ref())?,
        (None, from, to) => Period::of_days(data, from, to)?,
    };
    let told = period.read(data, (ShiftBook::of(period.scope), Groups::default()))?;
    let (book, groups) = told.book;
    let mut report = book.close(&told.shop, (period.from, period.to), period.running);
    report.notes.splice(0..0, told.notes);
    if let Some((name, of_day)) = &period.named {
        report.shift.name = Some(name.to_string());
        report.shift.of_day = *of_day;
        let mut shifts = groups.rows(&told.shop, By::Shift, |_| true);
        shifts.pop();
        report.beside = Beside::of(&shifts);
    }
    let report = match &period.station {
        Some(station) => report.priced(station),
        None => report,
    };
    Ok((report, period))
}

/// All that a program may want: the data, and what is said of them.
#[derive(Serialize)]
struct Whole<'a> {
    #[serde(flatten)]
    report: &'a Report,
    sections: &'a [Section],
}

fn bytes(report: &Report, period: &Period, form: Form) -> Result<Vec<u8>, Failure> {
    let zone = &period.zone;
    let sections = sections::sections(report, zone);
    Ok(match form {
        Form::Text => text::lines(words::head(report, zone), &sections).join("\n").into_bytes(),
        Form::Csv => table::csv(sections::head(report), &sections)?,
        Form::Html => page::page(report, &sections, zone)?.into_bytes(),
        Form::Json => {
            let whole = Whole { report, sections: &sections };
            let mut bytes = serde_json::to_vec(&whole).map_err(std::io::Error::from)?;
            bytes.push(b'\n');
            bytes
        }
    })
}
