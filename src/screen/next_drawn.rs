//! The one thing to do now, drawn: its big words over the whole width, or a row above a form.
//!
//! ```text
//! █   ▄▀▀▄ ▄▀▄ █▀▄    ▀▀█   A1-06 (Harbour choir): pre-press
//! █   █  █ █▀█ █ █    █▀▀   the next blank; then press 2
//! ▀▀▀  ▀▀  ▀ ▀ ▀▀     ▀▀▀   press 1 opens next
//! ```
//!
//! Where the press that it names has no room for its garment in big letters, the garment stands here: `LOAD 4 A1-09`.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::cells;
use super::faces::Face;
use super::foot;
use super::keymap::Deed;
use super::next::{Next, shown};
use super::paint::{self, Line};
use super::theme::Role;
use crate::shop::facts::ids::PressNo;
use crate::shop::rules::offer::OfferedAct;

/// On taller screens the act is in wide letters.
const HALF_ROWS_UP_TO: u16 = 42;
/// Columns that the words beside an act want at least.
const WORDS: u16 = 26;
/// Columns before the act, and between it and the words beside it.
const MARGIN: u16 = 1;
const GAP: u16 = 3;

/// The face of the act on a screen of so many rows.
pub fn face(view: &View<'_>, rows: u16) -> Face {
    match view.theme.halves {
        true if rows <= HALF_ROWS_UP_TO => Face::HALF_5,
        true => Face::WIDE_5,
        false => Face::TALL_5,
    }
}

/// Draws it over the whole width; the garments of the presses `unread` stand nowhere else in big letters.
pub fn draw(view: &View<'_>, unread: &[PressNo], area: Rect, buf: &mut Buffer) {
    let (next, second) = shown(view);
    let filled = matches!(next.role, Role::Danger | Role::Due);
    if filled {
        paint::fill(buf, view.theme, area, next.role);
    }
    let room = (area.width.saturating_sub(MARGIN), area.height);
    let (usual, halves) = (face(view, buf.area.height), view.theme.halves);
    let in_room = |act: &str, wide: u16| {
        Face::largest_for_words(halves, |one| {
            one.half_rows() <= usual.half_rows() && one.fits(act, (wide, room.1))
        })
    };
    let least = Face::least(halves, buf.area.height);
    let named = with_garment(view, &next.act, unread).and_then(|named| {
        let face = in_room(&named, room.0.saturating_sub(GAP + WORDS))?;
        (face.half_rows() >= least.half_rows()).then_some((named, face))
    });
    let (act, face) = match named {
        Some((named, face)) => (named, Some(face)),
        None => (next.act.clone(), in_room(&next.act, room.0)),
    };
    let inside = paint::skip(area, MARGIN, 0);
    let Some(face) = face else {
        let line = Line::of(next.role, format!("{}  {}", next.act, next.beside.join("; ")));
        paint::line(buf, view.theme, inside, &line);
        return;
    };
    let dot = match next.role {
        Role::Danger => Role::DangerDot,
        Role::Due => Role::DueDot,
        role => role,
    };
    let letters = Rect { width: face.width(&act), ..inside };
    let dot = paint::letters_on(buf, view.theme, letters, dot);
    let taken = face.draw(buf, inside, &act, view.theme.ink(dot)).width + GAP;
    let mut words = paint::skip(inside, taken, 0);
    let small = if filled { next.role } else { Role::Plain };
    let mut also = second.as_ref();
    if let Some(second) = also {
        let wide = face.width(&second.act);
        // Both with their words; what is left goes to those of the first.
        let taken = wide + GAP + WORDS;
        if words.width >= WORDS + GAP + taken {
            let beside = paint::skip(words, words.width - taken, 0);
            face.draw(buf, beside, &second.act, view.theme.ink(second.role));
            let own = paint::skip(beside, wide + GAP, 0);
            draw_words(view, own, Role::Plain, &second.beside, buf);
            words.width -= taken + GAP;
            also = None;
        }
    }
    if let Some(second) = also {
        // No room for big letters: what else can be done stands out among the words.
        // Half a sentence is none: as many whole ones as there is room for.
        let with = |said: usize| format!("or {}: {}", second.act, second.beside[..said].join("; "));
        let fits = |text: &String| cells::width(text) <= usize::from(words.width);
        let text = (1..=second.beside.len()).rev().map(with).find(fits);
        let line = Line::of(Role::Strong, text.unwrap_or_else(|| format!("or {}", second.act)));
        let row = paint::row_of(words, words.height.saturating_sub(1));
        paint::line(buf, view.theme, row, &line);
        words.height = words.height.saturating_sub(1);
    }
    draw_words(view, words, small, &next.beside, buf);
}

/// The act with the garment of the press that it names, where that one cannot be read at the press.
fn with_garment(view: &View<'_>, act: &str, unread: &[PressNo]) -> Option<String> {
    let Some(Deed::Press(press)) = foot::deed(act) else { return None };
    if !unread.contains(&press) {
        return None;
    }
    let offered = match view.offered(press) {
        Some(OfferedAct::Shut { garment, .. }) => Some(garment),
        _ => None,
    };
    let garment = view.shop.load(press).map(|load| load.garment).or(offered)?;
    Some(format!("{act} {garment}"))
}

fn draw_words(view: &View<'_>, words: Rect, small: Role, beside: &[String], buf: &mut Buffer) {
    let wide = usize::from(words.width);
    let lines: Vec<Line> =
        beside.iter().flat_map(|text| Line::of(small, text.clone()).folded(wide)).collect();
    paint::lines(buf, view.theme, words, &lines);
}

/// The same in one row, above a form: an alarm names the keys that reach its press from there.
pub fn draw_row(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    let (next, second) = shown(view);
    let mut text = format!(" {}{}  ", lead(next), next.act);
    // Half a sentence is none, and none goes before one that matters more; but the first is said as far as there is room.
    let has_room = |text: &str, piece: &str| {
        cells::width(text) + cells::width(piece) <= usize::from(row.width)
    };
    for (n, piece) in next.beside.iter().enumerate() {
        let piece = if n == 0 { piece.clone() } else { format!("; {piece}") };
        if n > 0 && !has_room(&text, &piece) {
            break;
        }
        text.push_str(&piece);
    }
    if let Some(also) = second.as_ref().map(|second| format!("   or {}", second.act))
        && has_room(&text, &also)
    {
        text.push_str(&also);
    }
    paint::fill(buf, view.theme, row, next.role);
    paint::text(buf, view.theme, row, next.role, &text);
}

fn lead(next: &Next) -> &'static str {
    if matches!(next.role, Role::Danger | Role::Due) { "" } else { "NEXT: " }
}
