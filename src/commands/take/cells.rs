//! The cells of a table that a shop has its orders in: a CSV file, a spreadsheet, JSON. All become text, row by row.

use std::path::Path;

use calamine::{Data, Reader, open_workbook_auto};
use serde_json::Value;

use crate::commands::Failure;
use crate::commands::figures::table;

/// A row that holds something, with the line on which it stands in its file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub line: u64,
    pub cells: Vec<String>,
}

impl Row {
    /// A cell by its column, counted from 0; what is not there is empty.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }
}

/// The most rows: more is no day's orders.
const MOST_ROWS: usize = 20_000;

/// Whether a file is read as a table; an order in RON is not.
pub fn is_table(path: &Path) -> bool {
    kind(path).is_some()
}

/// What a file is, by the end of its name.
fn kind(path: &Path) -> Option<Kind> {
    let end = path.extension()?.to_string_lossy().to_ascii_lowercase();
    Some(match end.as_str() {
        "csv" | "tsv" | "txt" => Kind::Text,
        "xlsx" | "xlsm" | "xlsb" | "xls" | "ods" => Kind::Spreadsheet,
        "json" => Kind::Json,
        _ => return None,
    })
}

enum Kind {
    Text,
    Spreadsheet,
    Json,
}

/// Reads every row that holds something.
///
/// # Errors
/// A file that does not read, or has no end.
pub fn read(path: &Path) -> Result<Vec<Row>, Failure> {
    let rows = match kind(path) {
        Some(Kind::Spreadsheet) => of_spreadsheet(path)?,
        Some(Kind::Json) => of_json(path)?,
        _ => of_text(path)?,
    };
    if rows.len() > MOST_ROWS {
        let text = format!("{}: {} rows, expected at most {MOST_ROWS}", path.display(), rows.len());
        return Err(Failure::Input(text));
    }
    Ok(rows.into_iter().filter(|row| row.cells.iter().any(|cell| !cell.is_empty())).collect())
}

fn of_text(path: &Path) -> Result<Vec<Row>, Failure> {
    let mut rows = Vec::new();
    table::each_row(path, |line, row| {
        let cells = row.iter().map(table::tidy).collect();
        rows.push(Row { line, cells });
        Ok(())
    })?;
    Ok(rows)
}

fn of_spreadsheet(path: &Path) -> Result<Vec<Row>, Failure> {
    let unread = |wrong: String| Failure::Input(format!("{}: {wrong}", path.display()));
    let mut book = open_workbook_auto(path).map_err(|wrong| unread(wrong.to_string()))?;
    let sheet = book.worksheet_range_at(0).ok_or_else(|| unread("it holds no sheet".to_owned()))?;
    let sheet = sheet.map_err(|wrong| unread(wrong.to_string()))?;
    let (top, left) = sheet.start().unwrap_or_default();
    let row = |(n, cells): (u32, &[Data])| {
        let before = std::iter::repeat_n(String::new(), left as usize);
        Row { line: u64::from(top + n) + 1, cells: before.chain(cells.iter().map(text)).collect() }
    };
    Ok((0..).zip(sheet.rows()).map(row).collect())
}

/// A cell of a spreadsheet as a hand would have typed it.
fn text(cell: &Data) -> String {
    match cell {
        Data::Empty | Data::Error(_) => String::new(),
        Data::Float(number) => number.to_string(),
        Data::DateTime(moment) if moment.is_datetime() => {
            let (year, month, day, hour, minute, ..) = moment.to_ymd_hms_milli();
            match (moment.as_f64() < 1.0, (hour, minute)) {
                (true, _) => format!("{hour:02}:{minute:02}"),
                (_, (0, 0)) => format!("{year:04}-{month:02}-{day:02}"),
                _ => format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}"),
            }
        }
        other => other.to_string().trim().to_owned(),
    }
}

/// A list of objects, all with the same names: the names become the head.
fn of_json(path: &Path) -> Result<Vec<Row>, Failure> {
    let wrong = |what: String| Failure::Input(format!("{}: {what}", path.display()));
    let text = std::fs::read(path).map_err(|reason| wrong(reason.to_string()))?;
    let value: Value = serde_json::from_slice(&text).map_err(|reason| wrong(reason.to_string()))?;
    let list = || {
        wrong(
            "expected a list of objects, such as [{\"order\": \"Choir\", \"count\": 12}]"
                .to_owned(),
        )
    };
    let objects: Vec<_> = value.as_array().ok_or_else(list)?.iter().collect();
    let mut heads: Vec<&String> = Vec::new();
    for object in &objects {
        for name in object.as_object().ok_or_else(list)?.keys() {
            if !heads.contains(&name) {
                heads.push(name);
            }
        }
    }
    let head = Row { line: 1, cells: heads.iter().map(|name| name.trim().to_owned()).collect() };
    let row = |(n, object): (u64, &&Value)| {
        let cell = |name: &&String| match &object[name.as_str()] {
            Value::Null => String::new(),
            Value::String(text) => text.trim().to_owned(),
            other => other.to_string(),
        };
        Row { line: n, cells: heads.iter().map(cell).collect() }
    };
    Ok(std::iter::once(head).chain((1..).zip(&objects).map(row)).collect())
}
