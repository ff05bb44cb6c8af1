//! The report as text, 80 columns wide.

use super::section::{Figure, Part, Section, Table};
use crate::screen::cells::wrapped;
use crate::screen::paint::Line;
use crate::screen::table::{Column, Table as Rows};
use crate::screen::theme::Role;

const WIDTH: usize = 80;
const INDENT: usize = 2;

/// The lines of the report under its head; the last is empty. The first section goes on from the head.
pub fn lines(head: Vec<String>, sections: &[Section]) -> Vec<String> {
    let mut lines = head;
    for (n, section) in sections.iter().enumerate() {
        let shown = |part: &&Part| !matches!(part, Part::Data(_) | Part::Chart(_));
        if !section.parts.iter().any(|part| shown(&part)) {
            continue;
        }
        lines.push(String::new());
        if n > 0 {
            lines.push(section.title.to_uppercase());
        }
        section.parts.iter().for_each(|part| add(part, &mut lines));
    }
    lines.push(String::new());
    lines
}

fn add(part: &Part, lines: &mut Vec<String>) {
    match part {
        Part::Figures(figures) => lines.extend(figures.iter().map(figure)),
        Part::Says(texts) => texts.iter().for_each(|text| indented(lines, text)),
        Part::Explains(text) => indented(lines, text),
        Part::Table(table) => rows(table, lines),
        Part::Data(_) | Part::Chart(_) => {}
    }
}

/// Adds a text in lines that fit.
fn indented(lines: &mut Vec<String>, text: &str) {
    let texts = wrapped(text, WIDTH - INDENT);
    lines.extend(texts.into_iter().map(|text| format!("{:INDENT$}{text}", "")));
}

fn figure(figure: &Figure) -> String {
    format!("{:<18}{:>8}   {}", figure.name, figure.shown, figure.says).trim_end().to_owned()
}

fn rows(table: &Table, lines: &mut Vec<String>) {
    if table.rows.is_empty() {
        return indented(lines, table.none);
    }
    /// A row's name gives way to its figures, but never wholly: a row without a name says nothing.
    const LEAST: usize = 1;
    let shown = table.columns.iter().filter(|column| column.in_text());
    let columns = shown.map(|column| match column.figures {
        true => Column::figures(column.short),
        false => Column::words(column.short),
    });
    let name = Column::words(table.head).gives_way(LEAST);
    let mut rows = Rows::new([name].into_iter().chain(columns).collect::<Vec<Column>>());
    for row in &table.rows {
        let cells = table.columns.iter().zip(&row.cells).filter(|(column, _)| column.in_text());
        let cells = cells.map(|(_, cell)| cell.shown.as_str());
        let texts = std::iter::once(row.name.as_str()).chain(cells);
        rows.row(texts.map(|text| Line::of(Role::Plain, text)));
    }
    let texts = rows.text(WIDTH - INDENT);
    lines.extend(texts.into_iter().map(|row| format!("{:INDENT$}{row}", "")));
}
