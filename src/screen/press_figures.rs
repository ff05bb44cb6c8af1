//! The big figures of a shut press: which press, and how long. From three metres only they can be read.
//!
//! ```text
//!   ██    ██████ ██████
//! ████        ██ ██        the press's number is white, the seconds have the colour of their state;
//!   ██    ██████ ██████    one stands over the other where the panel is narrow and high
//!   ██        ██     ██
//! ██████  ██████ ██████
//! ```
//!
//! Without colour the number is of another grain. Past the longest time marks stand around the seconds, so that
//! they differ from those of a press that is due by more than their colour.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::digits::Face;
use super::paint;
use super::press_panel::Look;
use super::theme::{Role, Theme};
use crate::shop::ids::PressNo;

/// Columns between the number and the seconds.
const GAP: u16 = 2;
/// Columns and rows around figures that stand over the words.
const MARGIN: u16 = 2;
/// From this height on the figures stand over the words instead of beside them.
const TALL: u16 = 7;
/// Columns of the seconds, and of a time in minutes, at the least.
const COLUMN: (u16, u16) = (21, 24);

/// Where the figures of a press go, and the words beside or below them.
struct Places {
    number: Option<(Rect, Face)>,
    seconds: Rect,
    words: Rect,
}

/// Draws the figures; returns the room that is left for so many lines of words.
pub fn draw(
    view: &View<'_>,
    press: PressNo,
    look: &Look,
    (inside, lines): (Rect, u16),
    buf: &mut Buffer,
) -> Rect {
    let number = press.to_string();
    // As wide as the figures become soon, so that they do not jump.
    let wide = if look.figures.len() < 3 { "000" } else { look.figures.as_str() };
    let places = over(inside, &number, wide, lines)
        .unwrap_or_else(|| beside(inside, &number, wide, &look.figures));
    if let Some((place, face)) = places.number {
        draw_number(buf, view.theme, place, face, &number);
    }
    if look.dot != Role::RunningDot {
        paint::fill(buf, view.theme, places.seconds, look.role);
    }
    let figures = draw_seconds(view, look, wide, places.seconds, buf);
    if look.role == Role::Danger {
        marks(buf, view.theme, places.seconds, figures);
    }
    places.words
}

/// Number and seconds in a row over the words, where there is so much room.
fn over(inside: Rect, number: &str, wide: &str, lines: u16) -> Option<Places> {
    let room = inside.height.saturating_sub(lines + 1 + MARGIN);
    let width = |face: Face| face.width(number) + face.width(wide) + GAP + 3 * MARGIN;
    let face = Face::largest(|face| face.height() <= room && width(face) <= inside.width);
    let face = face.filter(|face| face.height() >= TALL)?;
    let height = face.height() + MARGIN;
    let top = Rect { height, ..inside };
    let number_wide = MARGIN + face.width(number);
    let place =
        Rect { width: face.width(number), height: face.height(), ..paint::skip(top, MARGIN, 1) };
    let seconds = paint::skip(top, number_wide + GAP, 0);
    Some(Places { number: Some((place, face)), seconds, words: paint::skip(inside, 0, height) })
}

/// Figures beside the words: the number beside the seconds, over them, beside them without their plus, or not at
/// all.
fn beside(inside: Rect, number: &str, wide: &str, figures: &str) -> Places {
    let least = if figures.contains(':') { COLUMN.1 } else { COLUMN.0 };
    let width = (inside.width * 11 / 20).max(least).min(inside.width);
    let (column, words) = (Rect { width, ..inside }, paint::skip(inside, width, 0));
    let alone = Places { number: None, seconds: column, words };
    let Some(face) = Face::fitting(wide, column.width, column.height) else { return alone };
    let (left, high) = (face.width(number), face.height());
    let middle = column.height.saturating_sub(high) / 2;
    let at_left = Rect { width: left, height: high, ..paint::skip(column, 0, middle) };
    let seconds = paint::skip(column, left + 1, 0);
    // Two figures are narrower than the three that they may become, for a plus can go.
    let bare = figures.trim_start_matches('+');
    let bare = if bare.len() < 2 { "00" } else { bare };
    let fits = |text: &str| left + GAP + face.width(text) <= width;
    if fits(wide) {
        return Places { number: Some((at_left, face)), seconds, words };
    }
    if 2 * high < column.height {
        let spare = (column.height - 2 * high - 1) / 2;
        let at_top = Rect { width: left, height: high, ..paint::skip(column, 1, spare / 2) };
        let seconds = paint::skip(column, 0, high + 1 + spare / 2);
        return Places { number: Some((at_top, face)), seconds, words };
    }
    if fits(bare) { Places { number: Some((at_left, face)), seconds, words } } else { alone }
}

fn draw_number(buf: &mut Buffer, theme: Theme, place: Rect, face: Face, number: &str) {
    // Solid beside coloured seconds; of another grain where there is no colour to tell them apart.
    let glyph = if theme.colour { "█" } else { "▒" };
    for square in face.squares(place, number) {
        for at in square.intersection(buf.area).positions() {
            buf[at].set_symbol(glyph).set_style(theme.style(Role::Strong));
        }
    }
}

/// The seconds in the largest face that takes them, in the end as plain text: they are never left out. Returns
/// where they stand.
fn draw_seconds(view: &View<'_>, look: &Look, wide: &str, area: Rect, buf: &mut Buffer) -> Rect {
    let whole = look.figures.as_str();
    // Beside the words the plus can go, since colour and word say the same.
    let bare = whole.trim_start_matches('+');
    let fitting = [(wide, whole), (whole, whole), (bare, bare)]
        .into_iter()
        .find_map(|(room, shown)| Some((Face::fitting(room, area.width, area.height)?, shown)));
    let Some((face, shown)) = fitting else {
        let wide = paint::text(buf, view.theme, area, look.role, whole);
        return Rect { width: wide, height: area.height.min(1), ..area };
    };
    let at = Rect {
        x: area.x + area.width.saturating_sub(face.width(shown)) / 2,
        y: area.y + area.height.saturating_sub(face.height()) / 2,
        width: face.width(shown),
        height: face.height(),
    }
    .intersection(area);
    face.draw(buf, at, shown, view.theme.dot(look.dot));
    at
}

/// A frame of marks around an area: its sides, and its top and bottom, where the figures leave room for both.
fn marks(buf: &mut Buffer, theme: Theme, area: Rect, figures: Rect) {
    let area = area.intersection(buf.area);
    let sides = figures.left() > area.left() && figures.right() < area.right();
    let ends = figures.top() > area.top() && figures.bottom() < area.bottom();
    for at in area.positions() {
        let side = at.x == area.left() || at.x + 1 == area.right();
        let end = at.y == area.top() || at.y + 1 == area.bottom();
        if (sides && side) || (ends && end) {
            buf[at].set_symbol("!").set_style(theme.style(Role::Danger));
        }
    }
}
