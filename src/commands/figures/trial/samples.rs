//! The file of a trial's samples.

use std::path::Path;

use csv::ByteRecord;

use crate::commands::Failure;
use crate::commands::figures::input;
use crate::commands::figures::table::{at, each_row, text, tidy};
use crate::figures::trial::{Origin, Sample, Seen};
use crate::figures::units::{self, GramsPerSquareMetre, NotAQuantity, bounds};
use crate::shop::facts::words::clean;

/// Columns that must be there.
const NEEDED: [&str; 4] = ["aimed", "coat", "white", "wash"];
/// Columns that may be there: what must be the same for all garments of one trial.
const SAME: [&str; 9] =
    ["trial", "garment", "fluid", "lot", "dilution", "cure", "cycles", "scale", "eye"];
/// Columns that may be there and say where a garment comes from.
const ORIGIN: &str = "from";
/// More rows than any trial or journal has are a mistake, and would take long.
const MOST: usize = 2000;

/// A coat; a bare number is in g/m2.
pub fn read_coat(text: &str) -> Result<GramsPerSquareMetre, NotAQuantity> {
    match units::number(text) {
        Ok(_) => bounds::COAT.read(&format!("{} g/m2", text.trim())),
        Err(_) => bounds::COAT.read(text),
    }
}

fn read_seen(text: &str) -> Result<Option<Seen>, String> {
    let wrong = |_| {
        let found = clean(text, 20);
        format!("found \"{found}\", expected a grade (1, 1.5, 2, ... 5), yes, no, or nothing")
    };
    Some(text.trim()).filter(|text| !text.is_empty()).map(str::parse).transpose().map_err(wrong)
}

fn read_origin(text: &str) -> Result<Origin, String> {
    match text.trim().to_ascii_lowercase().as_str() {
        "" | "trial" => Ok(Origin::Trial),
        "work" => Ok(Origin::Work),
        "return" => Ok(Origin::Return),
        _ => Err(format!("found \"{}\", expected trial, work or return", clean(text, 20))),
    }
}

/// Where the columns stand.
struct Head {
    needed: [usize; 4],
    origin: Option<usize>,
    same: Vec<(&'static str, usize)>,
    columns: usize,
}

impl Head {
    fn of(path: &Path, head: &ByteRecord) -> Result<Self, Failure> {
        let find = |name: &str| head.iter().position(|cell| tidy(cell).eq_ignore_ascii_case(name));
        let mut needed = [0; 4];
        for (name, place) in NEEDED.iter().zip(&mut needed) {
            *place = find(name).ok_or_else(|| {
                let there = clean(&head.iter().map(text).collect::<Vec<_>>().join(", "), 120);
                let wanted = NEEDED.join(", ");
                input(format!(
                    "{}: no column \"{name}\"; expected a head of {wanted}; there are: {there}",
                    path.display()
                ))
            })?;
        }
        let same = SAME.into_iter().filter_map(|name| Some((name, find(name)?)));
        Ok(Self { needed, origin: find(ORIGIN), same: same.collect(), columns: head.len() })
    }
}

/// Reads the samples, in the order of the file.
///
/// # Errors
/// A file that does not read, a cell that says nothing sensible, garments that are not of one trial.
pub fn read(path: &Path, cycles: u32) -> Result<Vec<Sample>, Failure> {
    let mut head: Option<Head> = None;
    let mut first: Vec<String> = Vec::new();
    let mut samples = Vec::new();
    each_row(path, |line, row| {
        let Some(head) = &head else {
            head = Some(Head::of(path, row)?);
            return Ok(());
        };
        if row.len() > head.columns {
            let wrong = "more cells than the head has columns: if a comma is the decimal mark, put semicolons between \
                         the columns";
            return Err(at(path, line, head.columns + 1, wrong));
        }
        if samples.len() == MOST {
            return Err(at(path, line, 1, format!("more than {MOST} samples: expected one trial")));
        }
        of_one_trial(path, line, row, head, &mut first, cycles)?;
        samples.push(sample(path, line, row, head)?);
        Ok(())
    })?;
    match head {
        Some(_) => Ok(samples),
        None => Err(input(format!(
            "{}: the file is empty, expected a head: {}",
            path.display(),
            NEEDED.join(",")
        ))),
    }
}

fn sample(path: &Path, line: u64, row: &ByteRecord, head: &Head) -> Result<Sample, Failure> {
    let cell = |column: usize| tidy(row.get(column).unwrap_or_default());
    let wrong = |column: usize, wrong: &dyn std::fmt::Display| at(path, line, column + 1, wrong);
    let [aimed, coat, white, wash] = head.needed;
    let coat_in = |column: usize| read_coat(&cell(column)).map_err(|no| wrong(column, &no));
    let seen_in = |column: usize| read_seen(&cell(column)).map_err(|no| wrong(column, &no));
    Ok(Sample {
        from: match head.origin {
            Some(column) => read_origin(&cell(column)).map_err(|no| wrong(column, &no))?,
            None => Origin::Trial,
        },
        aimed: if cell(aimed).is_empty() { None } else { Some(coat_in(aimed)?) },
        coat: coat_in(coat)?,
        white: seen_in(white)?,
        wash: seen_in(wash)?,
    })
}

/// Refuses a garment of another fluid, dilution, cure, scale, eye than those before it.
fn of_one_trial(
    path: &Path,
    line: u64,
    row: &ByteRecord,
    head: &Head,
    first: &mut Vec<String>,
    cycles: u32,
) -> Result<(), Failure> {
    let cell = |column: usize| tidy(row.get(column).unwrap_or_default());
    let here: Vec<String> = head.same.iter().map(|(_, column)| cell(*column)).collect();
    if first.is_empty() {
        first.clone_from(&here);
    }
    for (((name, column), first), here) in head.same.iter().zip(first).zip(&here) {
        if here != first {
            let (here, first) = (clean(here, 30), clean(first, 30));
            let wrong = format!(
                "{name} \"{here}\" after {name} \"{first}\": a trial is of one {name}. Put each into a file of its own"
            );
            return Err(at(path, line, column + 1, wrong));
        }
        if *name == "cycles" && !here.is_empty() && *here != cycles.to_string() {
            let here = clean(here, 20);
            let wrong =
                format!("washed {here} times, where --cycles says {cycles}: one of them is wrong");
            return Err(at(path, line, column + 1, wrong));
        }
    }
    Ok(())
}
