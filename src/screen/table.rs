//! Rows of cells under heads. Each column is as wide as what stands in it, and two blanks keep it from the next; one
//! where room is short.

use super::cells;
use super::paint::Line;
use super::theme::Role;

/// Blanks between two columns where there is room.
const GAP: usize = 2;

/// A column of a table.
#[derive(Debug, Clone)]
pub struct Column {
    head: &'static str,
    flush_right: bool,
    /// Where room is short it gives way down to so many cells, and below that it is left out.
    least: Option<usize>,
}

impl Column {
    /// A column of words.
    pub fn words(head: &'static str) -> Self {
        Self { head, flush_right: false, least: None }
    }

    /// A column of figures.
    pub fn figures(head: &'static str) -> Self {
        Self { head, flush_right: true, least: None }
    }

    /// The same where the column gives way when room is short, down to so many cells; then it is left out.
    pub fn gives_way(self, least: usize) -> Self {
        Self { least: Some(least), ..self }
    }
}

/// A table as it is filled.
#[derive(Debug, Clone)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<Vec<Line>>,
}

impl Table {
    /// An empty table.
    pub fn new(columns: impl Into<Vec<Column>>) -> Self {
        Self { columns: columns.into(), rows: Vec::new() }
    }

    /// A table of orders; the last column tells how each stands.
    pub fn of_orders(stands: &'static str) -> Self {
        Self::new([
            Column::words("order"),
            Column::words("name").gives_way(6),
            Column::figures("done"),
            Column::figures("left"),
            Column::figures("short"),
            Column::words("due"),
            Column::words(stands),
        ])
    }

    /// Adds a row: a cell a column; what is beyond the last column is not shown.
    pub fn row(&mut self, cells: impl IntoIterator<Item = Line>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// The head and the rows, in at most so many cells.
    pub fn lines(&self, room: usize) -> Vec<Line> {
        let widths = self.natural_widths();
        let gap = if all(&widths, GAP) <= room { GAP } else { 1 };
        let widths = self.in_room(widths, gap, room);
        let heads = self.columns.iter().map(|column| Line::of(Role::Strong, column.head)).collect();
        let all = std::iter::once(&heads).chain(&self.rows);
        all.map(|row| self.line(row, &widths, gap).cut(room)).collect()
    }

    /// The same as plain text.
    pub fn text(&self, room: usize) -> Vec<String> {
        self.lines(room).iter().map(|line| line.words().trim_end().to_owned()).collect()
    }

    /// The width of what stands in each column; 0 of one in which nothing does.
    fn natural_widths(&self) -> Vec<usize> {
        let width = |(n, column): (usize, &Column)| {
            let cells = self.rows.iter().filter_map(|row| row.get(n)).map(Line::width);
            cells.chain([cells::width(column.head)]).max().unwrap_or(0)
        };
        self.columns.iter().enumerate().map(width).collect()
    }

    /// The same once columns that may have given way.
    fn in_room(&self, mut widths: Vec<usize>, gap: usize, room: usize) -> Vec<usize> {
        for (n, column) in self.columns.iter().enumerate() {
            let over = all(&widths, gap).saturating_sub(room);
            let Some(least) = column.least.filter(|_| over > 0) else { continue };
            let left = widths[n].saturating_sub(over);
            widths[n] = if left < least { 0 } else { left };
        }
        widths
    }

    fn line(&self, row: &[Line], widths: &[usize], gap: usize) -> Line {
        let mut line = Line::default();
        let shown = row.iter().zip(&self.columns).zip(widths).filter(|(_, width)| **width > 0);
        for (n, ((cell, column), width)) in shown.enumerate() {
            if n > 0 {
                line.add(Role::Plain, " ".repeat(gap));
            }
            let cell = cell.clone().cut(*width);
            let blank = " ".repeat(width.saturating_sub(cell.width()));
            match column.flush_right {
                true => line.add(Role::Plain, blank).append(cell),
                false => {
                    line.append(cell);
                    line.add(Role::Plain, blank);
                }
            }
        }
        line
    }
}

/// What columns of these widths take together.
fn all(widths: &[usize], gap: usize) -> usize {
    let shown = widths.iter().filter(|width| **width > 0).count();
    widths.iter().sum::<usize>() + gap * shown.saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str) -> Line {
        Line::of(Role::Plain, text)
    }

    fn table() -> Table {
        let mut table = Table::new([
            Column::words("name").gives_way(4),
            Column::figures("left"),
            Column::words("due"),
        ]);
        table.row([plain("港合唱 choir"), plain("12"), plain("2026-12-04 16:00")]);
        table.row([plain("Ferry"), plain("100,000"), plain("")]);
        table
    }

    #[test]
    fn columns_are_as_wide_as_what_stands_in_them_and_never_run_together() {
        assert_eq!(
            table().text(80),
            [
                "name             left  due",
                "港合唱 choir       12  2026-12-04 16:00",
                "Ferry         100,000",
            ]
        );
    }

    #[test]
    fn a_column_that_gives_way_is_cut_and_then_left_out() {
        assert_eq!(table().text(38)[1], "港合唱 choir      12 2026-12-04 16:00");
        assert_eq!(table().text(30)[1], "港合       12 2026-12-04 16:00");
        assert_eq!(table().text(28)[1], "     12 2026-12-04 16:00");
        assert!(table().lines(9).iter().all(|line| line.width() <= 9));
    }
}
