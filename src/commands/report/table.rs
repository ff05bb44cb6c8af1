//! The report as a table in long form, as RFC 4180 has it: section, item, name, value, unit. Lines end in CRLF.

use super::section::{Datum, Part, Section, Table};
use crate::commands::{Failure, output};

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
    output::table_bytes(|table| {
        table.write_record(["section", "item", "name", "value", "unit"])?;
        data.iter().try_for_each(|Datum { section, item, name, value, unit }| {
            table.write_record([*section, item, *name, value, *unit])
        })
    })
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
