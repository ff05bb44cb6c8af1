//! Numbers in CSV files, with the line and column of whatever is none.

use std::path::Path;

use super::input;
use crate::commands::Failure;

/// Something wrong in a cell, with its place.
pub fn at(path: &Path, line: u64, column: usize, wrong: impl std::fmt::Display) -> Failure {
    input(format!("{}: line {line}, column {column}: {wrong}", path.display()))
}

/// The rows of a CSV file with the lines on which they stand.
pub fn csv_rows(path: &Path, head: bool) -> Result<Vec<(u64, csv::StringRecord)>, Failure> {
    let reader = csv::ReaderBuilder::new()
        .has_headers(head)
        .flexible(true)
        .comment(Some(b'#'))
        .from_path(path);
    let mut reader = reader.map_err(|wrong| input(format!("{}: {wrong}", path.display())))?;
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|wrong| input(format!("{}: {wrong}", path.display())))?;
        let line = record.position().map_or(0, csv::Position::line);
        rows.push((line, record));
    }
    Ok(rows)
}

/// A number in a cell.
fn number(path: &Path, line: u64, column: usize, cell: &str) -> Result<f64, Failure> {
    match cell.trim().parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => {
            let found = crate::shop::words::clean(cell, 30);
            Err(at(path, line, column, format!("found \"{found}\", expected a number")))
        }
    }
}

/// Named columns of a CSV file with a head.
pub fn read_columns(path: &Path, names: &[&str]) -> Result<Vec<Vec<f64>>, Failure> {
    let rows = csv_rows(path, false)?;
    let Some(((_, head), body)) = rows.split_first() else {
        return Err(input(format!("{}: the file is empty", path.display())));
    };
    let mut columns = Vec::new();
    for name in names {
        let place = head.iter().position(|cell| cell.trim().eq_ignore_ascii_case(name));
        let place = place.ok_or_else(|| {
            let there: Vec<&str> = head.iter().collect();
            let there = crate::shop::words::clean(&there.join(", "), 120);
            input(format!("{}: no column \"{name}\"; there are: {there}", path.display()))
        })?;
        let cells = body
            .iter()
            .map(|(line, row)| number(path, *line, place + 1, row.get(place).unwrap_or_default()));
        columns.push(cells.collect::<Result<Vec<f64>, Failure>>()?);
    }
    Ok(columns)
}

/// The first column, under a head or without one.
pub fn read_first(path: &Path) -> Result<Vec<f64>, Failure> {
    let rows = csv_rows(path, false)?;
    let is_head = |row: &csv::StringRecord| {
        row.get(0).is_some_and(|cell| {
            cell.chars().any(|c| c.is_ascii_alphabetic()) && cell.trim().parse::<f64>().is_err()
        })
    };
    let skip = usize::from(rows.first().is_some_and(|(_, row)| is_head(row)));
    let cells = rows.iter().skip(skip);
    cells.map(|(line, row)| number(path, *line, 1, row.get(0).unwrap_or_default())).collect()
}
