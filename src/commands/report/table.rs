//! The report as a table in long form, as RFC 4180 has it: section, item, name, value, unit. Lines end in CRLF.

use super::section::{Datum, Part, Section, Table};
use crate::commands::Failure;

/// The table; `head` is of the whole report.
///
/// # Errors
/// None in practice: it is written to memory.
pub fn csv(head: Vec<Datum>, sections: &[Section]) -> Result<Vec<u8>, Failure> {
    let mut data = head;
    for part in sections.iter().flat_map(|section| &section.parts) {
        match part {
            Part::Data(more) => data.extend(more.iter().cloned()),
            Part::Table(table) => data.extend(cells(table)),
            Part::Figures(_) | Part::Says(_) | Part::Explains(_) | Part::Chart(_) => {}
        }
    }
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let wrong = |wrong: csv::Error| Failure::from(std::io::Error::from(wrong));
    writer.write_record(["section", "item", "name", "value", "unit"]).map_err(wrong)?;
    for Datum { section, item, name, value, unit } in data {
        writer.write_record([section, &item, name, &value, unit]).map_err(wrong)?;
    }
    writer.into_inner().map_err(|wrong| Failure::Other(wrong.to_string()))
}

/// Each cell as a row of its own.
fn cells(table: &Table) -> impl Iterator<Item = Datum> {
    table.rows.iter().flat_map(|row| {
        let named =
            table.columns.iter().zip(&row.cells).filter(|(column, _)| column.for_programs());
        named.map(|(column, cell)| {
            Datum::of(table.section, &row.item, column.name, &cell.value, column.unit)
        })
    })
}
