//! Numbers in CSV files, read row by row, with the line and column of whatever is none.

use std::path::Path;

use csv::ByteRecord;

use super::input;
use crate::commands::Failure;
use crate::shop::words::clean;

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
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .buffer_capacity(1 << 16)
        .from_path(path)
        .map_err(unread)?;
    let mut row = ByteRecord::new();
    while reader.read_byte_record(&mut row).map_err(unread)? {
        take(row.position().map_or(0, csv::Position::line), &row)?;
    }
    Ok(())
}

/// A cell as text; what is no text shows as such.
pub fn text(cell: &[u8]) -> std::borrow::Cow<'_, str> {
    String::from_utf8_lossy(cell)
}

/// A number in a column of a row, counted from 0.
fn number(path: &Path, line: u64, row: &ByteRecord, column: usize) -> Result<f64, Failure> {
    let cell = row.get(column).unwrap_or_default();
    let found = std::str::from_utf8(cell).ok().and_then(|cell| cell.trim().parse::<f64>().ok());
    found.filter(|number| number.is_finite()).ok_or_else(|| {
        let found = clean(&text(cell), 30);
        at(path, line, column + 1, format!("found \"{found}\", expected a number"))
    })
}

/// Named columns of a CSV file with a head.
pub fn read_columns<const N: usize>(
    path: &Path,
    names: [&str; N],
) -> Result<[Vec<f64>; N], Failure> {
    let mut places: Option<[usize; N]> = None;
    let mut columns = [const { Vec::new() }; N];
    each_row(path, |line, row| {
        let Some(places) = places else {
            places = Some(find(path, row, names)?);
            return Ok(());
        };
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
    head: &ByteRecord,
    names: [&str; N],
) -> Result<[usize; N], Failure> {
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

/// The first column, under a head or without one.
pub fn read_first(path: &Path) -> Result<Vec<f64>, Failure> {
    let is_head = |row: &ByteRecord| {
        let cell = text(row.get(0).unwrap_or_default());
        cell.chars().any(|c| c.is_ascii_alphabetic()) && cell.trim().parse::<f64>().is_err()
    };
    let mut first = true;
    let mut values = Vec::new();
    each_row(path, |line, row| {
        if !(std::mem::take(&mut first) && is_head(row)) {
            values.push(number(path, line, row, 0)?);
        }
        Ok(())
    })?;
    Ok(values)
}
