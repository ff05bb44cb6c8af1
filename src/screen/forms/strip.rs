//! Where a form stands: a strip at the bottom, so that no press is covered while somebody types.
//!
//! ```text
//! ══ New order ══════════════════════════════ presses: * then 1 to 9 ══
//!  garments    [12]  how many        print
//!  recipe       2 Dark cotton        places      front
//!  underbase    ?                    due
//!  + takes the order in   Enter next field
//!  ! no underbase: it has no place in this order
//! ```
//!
//! Rows that do not fit below each other stand in columns, the long ones below them; where those do not hold them
//! either, the ones around the chosen field are shown.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Clear, Widget};

use crate::screen::View;
use crate::screen::paint::{self, Line};
use crate::screen::theme::Role;

/// Rows of the strip on screens of so many rows.
const ROWS: [(u16, u16); 3] = [(48, 14), (34, 12), (0, 10)];
/// With fewer rows there is no title.
const LEAST: u16 = 4;
/// A row of a form with its hint takes so many columns.
const COLUMN: u16 = 38;
/// What the strip says to the right of its title: how a press is reached while the digits are its own.
const HOW_TO_PRESS: &str = " presses: * then 1 to 9 ";
/// The same once the `*` has been struck.
const WHICH_PRESS: &str = " * press? 1 to 9 ";

/// Rows of the strip on a screen of so many.
pub fn height(rows: u16) -> u16 {
    ROWS.iter().find(|(least, _)| rows >= *least).map_or(10, |(_, high)| *high)
}

/// Clears the strip and draws its title, where there is more than its chosen field can do with; returns what is
/// inside.
pub fn open(
    view: &View<'_>,
    title: &str,
    takes_digits: bool,
    area: Rect,
    buf: &mut Buffer,
) -> Rect {
    Clear.render(area.intersection(buf.area), buf);
    if area.height < LEAST {
        return area;
    }
    let top = paint::row_of(area, 0);
    paint::text(buf, view.theme, top, Role::Frame, &"═".repeat(usize::from(area.width)));
    let taken =
        paint::text(buf, view.theme, paint::skip(top, 2, 0), Role::Strong, &format!(" {title} "));
    let asks = view.ui.star.is_some_and(|star| star.asks());
    let how = if asks { WHICH_PRESS } else { HOW_TO_PRESS };
    let wide = u16::try_from(how.len()).unwrap_or(0);
    // Where both have no room the keys are told first: the form shows itself what it is.
    if (takes_digits || asks) && area.width > wide + 2 {
        let left = area.width - wide - 2;
        let role = if asks { Role::Chosen } else { Role::Abnormal };
        let place = paint::skip(top, left.max(taken.min(left) + 2).min(left), 0);
        paint::text(buf, view.theme, place, role, how);
    }
    paint::skip(area, 1, 1)
}

/// Draws the rows of a form, and below them what was said of the last key; returns the room beside them.
pub fn draw(view: &View<'_>, rows: &[Line], said: &[Line], area: Rect, buf: &mut Buffer) -> Rect {
    let said_high = u16::try_from(said.len()).unwrap_or(0).min(area.height / 2);
    let room = Rect { height: area.height - said_high, ..area };
    paint::lines(buf, view.theme, paint::skip(area, 0, room.height), said);
    let whole = folded(rows, room.width);
    if whole.len() <= usize::from(room.height) {
        paint::lines(buf, view.theme, room, &whole);
        let used = whole.iter().map(Line::width).max().unwrap_or(0);
        return paint::skip(room, u16::try_from(used + 2).unwrap_or(u16::MAX), 0);
    }
    let (columns, high, rows, below) = laid(rows, room);
    let wide = room.width / columns;
    for (n, column) in (0u16..).zip(rows.chunks(usize::from(high).max(1))) {
        let place = Rect { width: wide.saturating_sub(1), ..paint::skip(room, n * wide, 0) };
        paint::lines(buf, view.theme, place, column);
    }
    paint::lines(buf, view.theme, paint::skip(room, 0, high), &below);
    paint::skip(room, room.width, 0)
}

fn folded(rows: &[Line], width: u16) -> Vec<Line> {
    rows.iter().flat_map(|row| row.folded(usize::from(width.saturating_sub(1)))).collect()
}

/// How rows stand that do not fit below each other: how many columns of how many rows, the rows in them, and the wider
/// ones that stand below over the whole width. Where even so some have no room, the ones around the chosen field.
fn laid(rows: &[Line], room: Rect) -> (u16, u16, Vec<Line>, Vec<Line>) {
    let most = (room.width / COLUMN).max(1);
    let column = room.width / most;
    let fits = |row: &&Line| row.width() < usize::from(column);
    let narrow: Vec<Line> = rows.iter().filter(fits).cloned().collect();
    let wide: Vec<Line> = rows.iter().filter(|row| !fits(row)).cloned().collect();
    let wide = folded(&wide, room.width);
    let high = u16::try_from(narrow.len()).unwrap_or(u16::MAX).div_ceil(most);
    if usize::from(high) + wide.len() <= usize::from(room.height) {
        return (most, high, narrow, wide);
    }
    // A table broken into columns is none: where most rows are wide they stay so.
    let columns = if wide.len() > narrow.len() { 1 } else { most };
    let mut rows = folded(rows, room.width / columns);
    let holds = usize::from(room.height) * usize::from(columns);
    let chosen = rows.iter().position(Line::is_chosen).unwrap_or(0);
    let first = chosen.saturating_sub(holds / 2).min(rows.len().saturating_sub(holds));
    rows.drain(..first);
    rows.truncate(holds);
    (columns, room.height, rows, Vec::new())
}
