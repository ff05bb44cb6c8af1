//! Small strokes that every pane uses. All are clipped: no size of terminal makes them panic.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::widgets::{Block, Widget};

use super::cells;
use super::theme::{Role, Theme};

/// Pieces of text, each with what it means.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Line {
    pieces: Vec<(Role, String)>,
}

impl Line {
    /// A line of one piece.
    pub fn of(role: Role, text: impl Into<String>) -> Self {
        Self { pieces: vec![(role, text.into())] }
    }

    /// Adds a piece at the end.
    pub fn add(&mut self, role: Role, text: impl Into<String>) -> &mut Self {
        self.pieces.push((role, text.into()));
        self
    }

    /// Adds a piece at the end of a line under construction.
    pub fn and(mut self, role: Role, text: impl Into<String>) -> Self {
        self.add(role, text);
        self
    }

    /// Adds the pieces of another line at the end.
    pub fn append(&mut self, other: Line) {
        self.pieces.extend(other.pieces);
    }

    /// The line in as many as it takes to keep within so many cells: broken between its pieces, a longer piece
    /// between its words.
    pub fn folded(&self, width: usize) -> Vec<Line> {
        if self.width() <= width {
            return vec![self.clone()];
        }
        let mut lines = vec![Line::default()];
        for (role, text) in &self.pieces {
            let taken = lines.last().map_or(0, Line::width);
            if taken + cells::width(text) <= width {
                lines.last_mut().map(|line| line.add(*role, text.clone()));
                continue;
            }
            if taken == 0 {
                lines.pop();
            }
            if cells::width(text) <= width {
                lines.push(Line::of(*role, text.clone()));
                continue;
            }
            lines.extend(cells::wrapped(text, width).into_iter().map(|part| Line::of(*role, part)));
        }
        lines
    }

    /// Its first so many cells.
    pub fn cut(mut self, width: usize) -> Line {
        let mut room = width;
        for (_, text) in &mut self.pieces {
            text.truncate(cells::cut(text, room).len());
            room = room.saturating_sub(cells::width(text));
        }
        self
    }

    /// What its first piece means; None where there is none.
    pub fn role(&self) -> Option<Role> {
        self.pieces.first().map(|(role, _)| *role)
    }

    /// What it says.
    pub fn words(&self) -> String {
        self.pieces.iter().map(|(_, text)| text.as_str()).collect()
    }

    /// Whether a piece of it is the chosen one.
    pub fn is_chosen(&self) -> bool {
        self.pieces.iter().any(|(role, _)| *role == Role::Chosen)
    }

    /// How many cells it takes.
    pub fn width(&self) -> usize {
        self.pieces.iter().map(|(_, text)| cells::width(text)).sum()
    }
}

/// Writes one line of text at the top of `area`, cut at its right edge; returns the cells that it took.
pub fn text(buf: &mut Buffer, theme: Theme, area: Rect, role: Role, words: &str) -> u16 {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return 0;
    }
    let (end, _) =
        buf.set_stringn(area.x, area.y, words, usize::from(area.width), theme.style(role));
    end.saturating_sub(area.x)
}

/// Writes a line of pieces at the top of `area`.
pub fn line(buf: &mut Buffer, theme: Theme, area: Rect, line: &Line) -> u16 {
    let mut taken = 0u16;
    for (role, words) in &line.pieces {
        taken = taken.saturating_add(text(buf, theme, skip(area, taken, 0), *role, words));
    }
    taken
}

/// Writes lines from the top of `area` down, as many as there is room for.
pub fn lines(buf: &mut Buffer, theme: Theme, area: Rect, all: &[Line]) {
    for (row, one) in (0..area.height).zip(all) {
        line(buf, theme, row_of(area, row), one);
    }
}

/// Writes a text flush with the right edge of the top row.
pub fn right(buf: &mut Buffer, theme: Theme, area: Rect, role: Role, words: &str) {
    let width = u16::try_from(cells::width(words)).unwrap_or(u16::MAX);
    let left = area.width.saturating_sub(width);
    text(buf, theme, skip(area, left, 0), role, words);
}

/// Fills an area with the ground of a role.
pub fn fill(buf: &mut Buffer, theme: Theme, area: Rect, role: Role) {
    buf.set_style(area.intersection(buf.area), theme.style(role));
}

/// Big letters on a ground are holes in it without colour, and where they touch its edge nobody reads them: there they
/// stand bright, in a gap of the ground. Says what they are drawn as.
pub fn letters_on(buf: &mut Buffer, theme: Theme, letters: Rect, dot: Role) -> Role {
    let on_ground = matches!(dot, Role::DueDot | Role::DangerDot);
    if theme.colour || !on_ground {
        return dot;
    }
    let gap =
        Rect { x: letters.x.saturating_sub(1), width: letters.width.saturating_add(2), ..letters };
    let none = Style::new().remove_modifier(Modifier::REVERSED | Modifier::BOLD);
    buf.set_style(gap.intersection(buf.area), none);
    Role::Strong
}

/// The area without its first columns and rows.
pub fn skip(area: Rect, columns: u16, rows: u16) -> Rect {
    let columns = columns.min(area.width);
    let rows = rows.min(area.height);
    Rect {
        x: area.x.saturating_add(columns),
        y: area.y.saturating_add(rows),
        width: area.width - columns,
        height: area.height - rows,
    }
}

/// One row of an area; empty below its end.
pub fn row_of(area: Rect, row: u16) -> Rect {
    let below = skip(area, 0, row);
    Rect { height: below.height.min(1), ..below }
}

/// A frame with a title, from glyphs that every console font has; returns what is inside.
pub fn frame(buf: &mut Buffer, theme: Theme, area: Rect, title: &str, role: Role) -> Rect {
    let area = area.intersection(buf.area);
    let block = Block::bordered().border_style(theme.style(Role::Frame));
    let inside = block.inner(area);
    block.render(area, buf);
    if area.height > 0 && area.width > 4 {
        let top = Rect { x: area.x + 2, width: area.width - 4, height: 1, y: area.y };
        text(buf, theme, top, role, title);
    }
    inside
}

/// A share of a side, in whole cells.
pub fn part(side: u16, share: f64) -> u16 {
    let cells = (f64::from(side) * share.clamp(0.0, 1.0)).round();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 0 and the side"
    )]
    let cells = cells as u16;
    cells
}
