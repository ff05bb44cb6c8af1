//! One press: what it is set to, and either what it does or what it would be shut on.
//!
//! ```text
//! ─ 1 Left ────────────── 340 F medium ──│─ 2 Right ───────────── 340 F medium ──
//!   ██           ██████  ██████          │ ███ │ █▀▄ █▀▄ █▀▀     the step,
//! ████               ██      ██          │   █ │ █▀  █▀▄ █▀
//!   ██           ██████      ██          │ ███ │ ▀   ▀ ▀ ▀▀▀
//!   ██           ██        ██            │ █   │ ▄▀▄ ▄█    ▄▀▄   the garment
//! ██████         ██████    ██            │ ███ │ █▀█  █ ▀▀ █ █
//!  RUNNING  A1-02 dry  40 to 75 s        │     │ the next blank
//! ```
//!
//! Where a panel has no row left for the state of a shut press, or few rows at all, the title carries state,
//! garment and step instead of what the press is set to. How the press was set is on the title's row otherwise. An
//! open press has no title where its step and garment need that row.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::cells;
use super::paint::{self, Line};
use super::press_figures;
use super::press_look::{FEW_ROWS, Look, look};
use super::press_open::{self, OpenFaces};
use super::theme::Role;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::step::Step;
use crate::shop::floor::press::Load;
use crate::shop::rules::offer::OfferedAct;

/// Draws one press; `faces` are those of all open presses, so that none shouts. Says whether the press's garment stands
/// there in big letters.
pub fn draw(
    view: &View<'_>,
    press: PressNo,
    faces: &OpenFaces,
    area: Rect,
    buf: &mut Buffer,
) -> bool {
    let body = body(area);
    let few = body.height < FEW_ROWS;
    let Some(load) = view.shop.load(press) else {
        if press_open::takes_title(view, press, faces) {
            return press_open::draw(view, press, (faces, true), area, buf);
        }
        let words = offered_words(view, press).filter(|_| few).or_else(|| setting(view, press));
        title_with(view, press, &words.unwrap_or_default(), area, buf);
        return press_open::draw(view, press, (faces, false), body, buf);
    };
    let look = look(view, press, load);
    let places = press_figures::places(view, (press, load), &look, body, buf.area.height);
    let state = places.are_titled().then(|| state(load, &look, area.width));
    let words = state.or_else(|| setting(view, press)).unwrap_or_default();
    title_with(view, press, &words, area, buf);
    press_figures::draw(view, (press, load), &look, &places, buf);
    places.name_garment()
}

/// What lies below the title's row.
pub fn body(area: Rect) -> Rect {
    paint::skip(area, 0, 1)
}

/// The title's row with so many cells taken at its right end: the press's name is there whole or not at all.
fn title(view: &View<'_>, press: PressNo, (area, taken): (Rect, u16), buf: &mut Buffer) {
    let top = paint::row_of(area, 0);
    paint::text(buf, view.theme, top, Role::Frame, &"─".repeat(usize::from(area.width)));
    let name = format!(" {press} {} ", view.shop.press_name(press));
    let room = usize::from(area.width.saturating_sub(taken + 1));
    let name = if cells::width(&name) <= room { name } else { format!(" {press} ") };
    paint::text(buf, view.theme, paint::skip(top, 1, 0), Role::Strong, &name);
}

/// The title's row with words at its right end, one cell before the end.
fn title_with(view: &View<'_>, press: PressNo, words: &Line, area: Rect, buf: &mut Buffer) {
    let wide = u16::try_from(words.width()).unwrap_or(u16::MAX).saturating_add(1);
    title(view, press, (area, wide), buf);
    let left = area.width.saturating_sub(wide);
    paint::line(buf, view.theme, paint::skip(paint::row_of(area, 0), left, 0), words);
}

/// What the press is set to.
fn setting(view: &View<'_>, press: PressNo) -> Option<Line> {
    let set = view.shop.setting(press)?;
    let pressure = view.shop.pressure_at(press)?;
    Some(Line::of(Role::Plain, format!(" {} {pressure} ", set.dial)))
}

/// State, garment and step of a shut press; the step is shortened where the title's number would have no room.
fn state(load: &Load, look: &Look, width: u16) -> Line {
    const NUMBER: usize = 5;
    let with = |step: &str| {
        let words = format!(" {} {step} ", load.garment);
        Line::of(look.role, format!(" {} ", look.word)).and(Role::Strong, words)
    };
    let whole = with(load.step.name());
    let short = whole.width() + NUMBER > usize::from(width) && load.step == Step::PrePress;
    if short { with("pre") } else { whole }
}

/// The garment and the step that an open press would be shut on.
fn offered_words(view: &View<'_>, press: PressNo) -> Option<Line> {
    match view.offered(press)? {
        OfferedAct::Shut { garment, next, .. } => {
            Some(Line::of(Role::Strong, format!(" {garment} {} ", next.step)))
        }
        _ => None,
    }
}
