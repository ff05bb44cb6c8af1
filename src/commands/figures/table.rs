//! Numbers in CSV files, read row by row, with the line and column of whatever is none.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

use csv::ByteRecord;

use super::input;
use crate::commands::Failure;
use crate::figures::units;
use crate::shop::facts::words::clean;

/// Something wrong in a cell, with its place.
pub fn at(path: &Path, line: u64, column: usize, wrong: impl std::fmt::Display) -> Failure {
    input(format!("{}: line {line}, column {column}: {wrong}", path.display()))
}

/// Hands each row of a CSV file to `take`, with the line on which it stands. One row is in memory at a time.
pub fn each_row(
    path: &Path,
    mut take: impl FnMut(u64, &ByteRecord) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let unread = |wrong: csv::Error| input(format!("{}: {wrong}", path.display()));
    let file = File::open(path).map_err(|wrong| input(format!("{}: {wrong}", path.display())))?;
    let mut file = BufReader::with_capacity(1 << 16, file);
    let between = between(file.fill_buf()?);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .delimiter(between)
        .from_reader(file);
    let mut row = ByteRecord::new();
    while reader.read_byte_record(&mut row).map_err(unread)? {
        take(row.position().map_or(0, csv::Position::line), &row)?;
    }
    Ok(())
}

/// What stands between the columns, by the first row: a semicolon or a tab where one stands there, as in the files of
/// countries whose decimal mark is the comma; else the comma.
fn between(beginning: &[u8]) -> u8 {
    let rows = beginning.split(|byte| *byte == b'\n');
    let is_row = |row: &&[u8]| !row.starts_with(b"#") && !row.trim_ascii().is_empty();
    let first = rows.into_iter().find(is_row).unwrap_or_default();
    [b';', b'\t'].into_iter().find(|mark| first.contains(mark)).unwrap_or(b',')
}

/// A cell as text; what is no text shows as such.
pub fn text(cell: &[u8]) -> std::borrow::Cow<'_, str> {
    String::from_utf8_lossy(cell)
}

/// The same without the blanks around it, and without the mark that some programs put at a file's beginning.
pub fn tidy(cell: &[u8]) -> String {
    text(cell).trim_start_matches('\u{feff}').trim().to_owned()
}

/// A number in a column of a row, counted from 0.
fn number(path: &Path, line: u64, row: &ByteRecord, column: usize) -> Result<f64, Failure> {
    let cell = row.get(column).unwrap_or_default();
    // Of millions of cells nearly all are as a machine writes them.
    let plain = std::str::from_utf8(cell).ok().and_then(|cell| cell.trim().parse::<f64>().ok());
    match plain.filter(|number| number.is_finite()) {
        Some(number) => Ok(number),
        None => units::number(&text(cell)).map_err(|wrong| at(path, line, column + 1, wrong)),
    }
}

/// Refuses a row that has more cells than its head has columns: a comma in a number has cut it in two.
fn as_wide_as_its_head(
    path: &Path,
    line: u64,
    row: &ByteRecord,
    columns: usize,
) -> Result<(), Failure> {
    if row.len() <= columns {
        return Ok(());
    }
    let found = clean(&text(row.get(columns).unwrap_or_default()), 30);
    let wrong = format!(
        "found \"{found}\" in a row of {} under a head of {columns}: if a comma is the decimal mark, put semicolons \
         between the columns, as in \"12,5;30\"",
        row.len()
    );
    Err(at(path, line, columns + 1, wrong))
}

/// Named columns of a CSV file with a head.
pub fn read_columns<const N: usize>(
    path: &Path,
    names: [&str; N],
) -> Result<[Vec<f64>; N], Failure> {
    let mut places: Option<([usize; N], usize)> = None;
    let mut columns = [const { Vec::new() }; N];
    each_row(path, |line, row| {
        let Some((places, columns_there)) = places else {
            places = Some((find(path, line, row, names)?, row.len()));
            return Ok(());
        };
        as_wide_as_its_head(path, line, row, columns_there)?;
        for (place, column) in places.into_iter().zip(&mut columns) {
            column.push(number(path, line, row, place)?);
        }
        Ok(())
    })?;
    if places.is_none() {
        return Err(input(format!("{}: the file is empty", path.display())));
    }
    Ok(columns)
}

/// Where in the head the columns of these names stand.
fn find<const N: usize>(
    path: &Path,
    line: u64,
    head: &ByteRecord,
    names: [&str; N],
) -> Result<[usize; N], Failure> {
    if head.iter().all(|cell| units::number(&text(cell)).is_ok()) {
        let wrong = format!(
            "the first row is all numbers, and a head of names was expected: {}",
            names.map(|name| clean(name, 40)).join(", ")
        );
        return Err(at(path, line, 1, wrong));
    }
    let mut places = [0; N];
    for (name, place) in names.iter().zip(&mut places) {
        let found = head.iter().position(|cell| text(cell).trim().eq_ignore_ascii_case(name));
        *place = found.ok_or_else(|| {
            let there: Vec<_> = head.iter().map(text).collect();
            let (name, there) = (clean(name, 40), clean(&there.join(", "), 120));
            input(format!("{}: no column \"{name}\"; there are: {there}", path.display()))
        })?;
    }
    Ok(places)
}

/// The first column, under a head or, where it is the only one, without.
pub fn read_first(path: &Path) -> Result<Vec<f64>, Failure> {
    let is_head = |row: &ByteRecord| {
        let cell = text(row.get(0).unwrap_or_default());
        cell.chars().any(|c| c.is_ascii_alphabetic()) && cell.trim().parse::<f64>().is_err()
    };
    let mut columns = None;
    let mut values = Vec::new();
    each_row(path, |line, row| {
        if columns.is_none() && is_head(row) {
            columns = Some(row.len());
            return Ok(());
        }
        if columns.is_none() && row.len() > 1 {
            let wrong = "several columns and no head: expected one column of numbers, or a head of names. If a comma \
                         is the decimal mark, write a head and semicolons between the columns, or a point";
            return Err(at(path, line, 2, wrong));
        }
        as_wide_as_its_head(path, line, row, *columns.get_or_insert(1))?;
        values.push(number(path, line, row, 0)?);
        Ok(())
    })?;
    Ok(values)
}
