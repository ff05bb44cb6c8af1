//! Shifts, weeks, days of the week, presses, people or recipes side by side, with how far chance alone sets them apart, so
//! that nobody is blamed for noise.

mod answer;
mod chart;

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::everywhere::{OneStation, Over};
use super::output::Form;
use super::period::earlier_first;
use super::report::{page, text};
use super::{Failure, Places, output, read_since};
use crate::shell::journal;
use crate::shop::books::groups::{By, Group, Groups};
use crate::shop::facts::day::Day;
use crate::shop::facts::moment::Wall;

/// What is set side by side, of which days, in which form, and where to.
#[derive(Debug, Args)]
pub struct Options {
    /// What stands side by side
    #[arg(long, value_enum)]
    by: Side,
    /// Only shifts from this day on, "2026-12-01"
    #[arg(long, value_name = "DAY")]
    from: Option<Day>,
    /// Only shifts to this day, that day among them
    #[arg(long, value_name = "DAY")]
    to: Option<Day>,
    /// Text of 80 columns, a table as RFC 4180 has it, JSON, or a page with its picture that needs nothing else
    #[arg(long, value_enum, default_value_t = Form::Text)]
    format: Form,
    /// As JSON: one array, an object a group
    #[arg(long, conflicts_with = "format")]
    json: bool,
    /// Write it to this file, whole or not at all
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    over: Over,
}

/// What can stand side by side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Side {
    Shift,
    Week,
    Weekday,
    Press,
    Person,
    Recipe,
}

impl From<Side> for By {
    fn from(side: Side) -> Self {
        match side {
            Side::Shift => By::Shift,
            Side::Week => By::Week,
            Side::Weekday => By::Weekday,
            Side::Press => By::Press,
            Side::Person => By::Person,
            Side::Recipe => By::Recipe,
        }
    }
}

/// Prints or writes the comparison.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    if let (Some(from), Some(to)) = (options.from, options.to) {
        earlier_first(from, to)?;
    }
    let form = if options.json { Form::Json } else { options.format };
    if let Some(all) = options.over.everywhere(places)? {
        let told = |one: &OneStation| {
            let (rows, title) = compared(&one.data, options)?;
            let total = Group::total(one.called(), &rows);
            Ok((bytes(&rows, &title, form)?, total))
        };
        let sums = |stations: Vec<Group>| together(stations, form).map(Some);
        let bytes = all.added_up(form, told, sums)?;
        match &options.out {
            Some(path) => output::whole(path, Vec::<PathBuf>::new(), &bytes)?,
            None => output::raw(&bytes)?,
        }
        return all.is_whole();
    }
    let data = places.data()?;
    let (rows, title) = compared(&data, options)?;
    let bytes = bytes(&rows, &title, form)?;
    match &options.out {
        Some(path) => output::whole(path, [journal::path(&data)], &bytes),
        None => output::raw(&bytes),
    }
}

/// A station's groups, and what they are.
fn compared(data: &Path, options: &Options) -> Result<(Vec<Group>, String), Failure> {
    let (read, groups) = read_since(data, Wall::FIRST, |_| Groups::default())?;
    let within = |day: Day| {
        options.from.is_none_or(|from| from <= day) && options.to.is_none_or(|to| day <= to)
    };
    let rows = groups.rows(&read.shop, options.by.into(), within);
    if rows.is_empty() {
        return Err(nothing(&groups, &read.zone));
    }
    let title = answer::title(&read.shop, options.by.into());
    Ok((rows, title))
}

/// What the stations' groups come to, and all of them.
fn together(mut stations: Vec<Group>, form: Form) -> Result<Vec<u8>, Failure> {
    let all = Group::total("all".to_owned(), &stations);
    Ok(match form {
        Form::Text | Form::Html => {
            stations.push(all);
            text::lines(Vec::new(), &[answer::side_by_side(&stations)]).join("\n").into_bytes()
        }
        Form::Csv => csv(&[all])?,
        Form::Json => output::json_bytes(&all)?,
    })
}

fn bytes(rows: &[Group], title: &str, form: Form) -> Result<Vec<u8>, Failure> {
    Ok(match form {
        Form::Text => {
            text::lines(vec![title.to_owned()], &answer::sections(rows)).join("\n").into_bytes()
        }
        Form::Csv => csv(rows)?,
        Form::Html => {
            let pictures =
                [chart::picture(rows, chart::WIDE)?, chart::picture(rows, chart::NARROW)?];
            let picture = |_| page::both("groups", &pictures);
            page::document(title, None, &answer::sections(rows), &picture, None).into_bytes()
        }
        Form::Json => {
            let mut bytes = serde_json::to_vec(rows).map_err(std::io::Error::from)?;
            bytes.push(b'\n');
            bytes
        }
    })
}

/// One row a group, by the names that JSON has.
fn csv(rows: &[Group]) -> Result<Vec<u8>, Failure> {
    output::table_bytes(|table| rows.iter().try_for_each(|row| table.serialize(row)))
}

fn nothing(groups: &Groups, zone: &jiff::tz::TimeZone) -> Failure {
    Failure::Input(match groups.days(zone) {
        Some((first, last)) => {
            format!("nothing was done on these days; shifts began from {first} to {last}")
        }
        None => "nobody has worked at this bench yet".to_owned(),
    })
}
