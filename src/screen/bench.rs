//! The operator's pane: which press, how long, what to do.
//!
//! ```text
//! ─ 1 Left ──────────── 340 F medium ──│─ 2 Right ──────── 340 F medium ──
//!  {1}   {27}                          │ {2} │ {PRE}       big digits, big words
//!  RUNNING A1-02 dry                   │     │ {A1-06}
//!  {LOAD 2}   A1-06: pre-press                             next_drawn.rs
//!  {7} blanks  {2} spray  {1} dry  {12} print  {3} done    counts.rs
//! ```
//!
//! With a form open the presses have what is left above its strip, and the next act has one row: no figure is ever
//! covered.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::counts;
use super::next_drawn;
use super::paint;
use super::press_open::OpenFaces;
use super::press_panel;
use super::small;
use super::theme::Role;
use crate::shop::facts::ids::PressNo;

/// The least room for a press with its big digits in half dots, and in whole ones.
const PANEL: (u16, u16) = (24, 4);
const PANEL_WHOLE: (u16, u16) = (24, 6);
/// The same for a press with its step and its garment in the smallest big words.
const ROOMY: (u16, u16) = (27, 6);
const ROOMY_WHOLE: (u16, u16) = (27, 11);

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let rows = buf.area.height;
    let (next, counts_high) = (next_drawn::face(view, rows), counts::height(view, rows));
    // Letters of half dots leave half a row below them; under whole ones the last row of tags makes room.
    let gap = u16::from(rows >= counts::TAGS_FROM && next.half_rows().is_multiple_of(2));
    let below = (next.height() + counts_high).min(area.height);
    let presses = Rect { height: area.height - below, ..area };
    let small = draw_presses(view, presses, buf);
    let rest = paint::skip(area, 0, presses.height);
    let next_area = Rect { height: next.height().min(rest.height), ..rest };
    next_drawn::draw(view, &small, next_area, buf);
    counts::draw(view, paint::skip(rest, 0, next.height() + gap), buf);
}

/// Draws what stays of it above an open form: every press, and the next act in one row.
pub fn draw_above_form(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let last = area.height.saturating_sub(1);
    draw_presses(view, Rect { height: last, ..area }, buf);
    next_drawn::draw_row(view, paint::row_of(area, last), buf);
}

/// Draws all presses; returns those whose garment cannot be read from afar.
fn draw_presses(view: &View<'_>, area: Rect, buf: &mut Buffer) -> Vec<PressNo> {
    let presses = view.shop.press_numbers();
    if presses.is_empty() {
        return presses;
    }
    if let Some(grid) = grid(presses.len(), view.theme.halves, area) {
        return draw_grid(view, &presses, grid, area, buf);
    }
    // Not all fit: the two that are due first have big digits, the others a line each.
    let least = if view.theme.halves { PANEL } else { PANEL_WHOLE };
    let large = soonest(view, &presses);
    let lines = u16::try_from(presses.len() - large.len()).unwrap_or(0);
    let top = Rect { height: area.height.saturating_sub(lines), ..area };
    let is_large = |press: &PressNo| top.height >= least.1 && large.contains(press);
    if top.height >= least.1 {
        draw_grid(view, &large, (2, 1), top, buf);
    }
    let list = paint::skip(area, 0, if top.height >= least.1 { top.height } else { 0 });
    for (press, row) in presses.iter().filter(|press| !is_large(press)).zip(0u16..) {
        paint::line(buf, view.theme, paint::row_of(list, row), &small::press_line(view, *press));
    }
    presses
}

fn draw_grid(
    view: &View<'_>,
    presses: &[PressNo],
    (columns, rows): (u16, u16),
    area: Rect,
    buf: &mut Buffer,
) -> Vec<PressNo> {
    let mut small = Vec::new();
    let cells: Vec<Rect> = cells(area, columns, rows).collect();
    let narrowest = cells.iter().map(|cell| cell.width).min().unwrap_or(0);
    let room = (narrowest, cells.first().map_or(0, |cell| cell.height.saturating_sub(1)));
    let faces = OpenFaces::for_room(view, room, buf.area.height);
    for (press, cell) in presses.iter().zip(&cells) {
        if !press_panel::draw(view, *press, &faces, *cell, buf) {
            small.push(*press);
        }
        // A line between the columns; none at the right edge.
        let right = Rect {
            x: cell.right(),
            width: area.right().min(cell.right() + 1).saturating_sub(cell.right()),
            ..*cell
        };
        for row in 0..right.height {
            paint::text(buf, view.theme, paint::row_of(right, row), Role::Frame, "│");
        }
    }
    small
}

/// The squarest grid in which every press has room for its digits, and for its two words if any grid has.
fn grid(count: usize, halves: bool, area: Rect) -> Option<(u16, u16)> {
    let count = u16::try_from(count).ok()?;
    let (least, roomy) = if halves { (PANEL, ROOMY) } else { (PANEL_WHOLE, ROOMY_WHOLE) };
    (1..=count)
        .map(|columns| (columns, count.div_ceil(columns)))
        .filter(|(columns, rows)| area.width / columns >= least.0 && area.height / rows >= least.1)
        .max_by_key(|(columns, rows)| {
            let (width, height) = (area.width / columns, area.height / rows);
            // What the digits can grow to: the narrower of the two sides, a cell being twice as high as wide.
            let room = (width / 3).min(height);
            let is_roomy = width >= roomy.0 && height >= roomy.1;
            (is_roomy, room, std::cmp::Reverse(columns * rows))
        })
}

/// The panels of a grid, a column apart and all of one height, so that none looks more important.
fn cells(area: Rect, columns: u16, rows: u16) -> impl Iterator<Item = Rect> {
    let (width, height) = (area.width / columns.max(1), area.height / rows.max(1));
    (0..rows).flat_map(move |row| {
        (0..columns).map(move |column| {
            let last = column + 1 == columns;
            Rect {
                x: area.x + column * width,
                y: area.y + row * height,
                width: if last { area.width - column * width } else { width.saturating_sub(1) },
                height,
            }
        })
    })
}

/// The two presses by the time that is left to their target, shut ones first.
fn soonest(view: &View<'_>, presses: &[PressNo]) -> Vec<PressNo> {
    let left = |press: &PressNo| {
        let load = view.shop.load(*press)?;
        let target = view.shop.pressing(load)?.target.0.as_millis();
        let span = load.elapsed(view.now).span.as_millis();
        Some(i128::try_from(target).ok()? - i128::try_from(span).ok()?)
    };
    let mut order = presses.to_vec();
    order.sort_by_key(|press| left(press).map_or((1, 0), |left| (0, left)));
    order.truncate(2);
    order
}
