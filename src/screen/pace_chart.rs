//! The pace over the day as bars of characters that every console has, one for each half hour.
//!
//! ```text
//! an hour      16 ┤        █
//!              12 ┤- - █ - █ ▒ - -   needed 12.4
//!               8 ┤    █ █ █ █
//! ```

use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::paint;
use super::theme::Role;
use super::words;
use crate::shop::facts::moment::Wall;

/// A bar's time.
const SLOT: Duration = Duration::from_secs(1800);
/// Columns of the scale to the left.
const SCALE: u16 = 7;
/// Columns of a bar with its gap.
const BAR: u16 = 3;
/// The most bars: a day's.
const MOST: u64 = 48;

/// The top of the scale is a multiple of it.
const STEP: f64 = 5.0;

/// Draws the chart into an area of at least seven rows; `begun` is when the day's work began.
pub fn draw(view: &View<'_>, begun: Wall, needed: Option<f64>, area: Rect, buf: &mut Buffer) {
    let room = u64::from(area.width.saturating_sub(SCALE) / BAR).min(MOST);
    let since = view.now.at.since(begun).as_secs();
    let slots = since.div_ceil(SLOT.as_secs()).clamp(1, room.max(1));
    if area.height < 7 || room < 4 {
        return;
    }
    // From the left: the oldest slot that there is room for; the last one is the half hour that ends now.
    let paces: Vec<f64> = (0..slots).rev().map(|slot| pace(view, slot)).collect();
    let top = paces.iter().copied().chain(needed).fold(1.0f64, f64::max);
    let top = (top / STEP).ceil() * STEP;
    let title = Rect { height: 1, ..area };
    paint::text(buf, view.theme, title, Role::Strong, "finished an hour, by half hours");
    // Rows in fives, so that the scale falls on whole rows.
    let rows = (area.height - 2) / 5 * 5;
    let area = Rect { height: rows + 2, ..area };
    let chart = Rect { height: rows, ..paint::skip(area, 0, 1) };
    scale(view, top, chart, buf);
    if let Some(needed) = needed {
        let y = paint::row_of(chart, row(needed, top, chart.height));
        let strokes = "- ".repeat(usize::from(area.width.saturating_sub(SCALE + 14)) / 2);
        let text = format!("{strokes} needed {needed:.1}");
        paint::text(buf, view.theme, paint::skip(y, SCALE, 0), Role::Abnormal, &text);
    }
    for (n, pace) in (0u16..).zip(&paces) {
        bar(view, *pace / top, paint::skip(chart, SCALE + n * BAR, 0), buf);
    }
    let clock = |at| words::clock(at, &view.ui.zone);
    let first = view.now.minus(SLOT * u32::try_from(slots).unwrap_or(1)).at;
    let wide = usize::try_from(slots).unwrap_or(1) * usize::from(BAR);
    let (from, to) = (clock(first), clock(view.now.at));
    let foot = if wide > from.len() + to.len() {
        format!("{from:<pad$}{to}", pad = wide - to.len())
    } else {
        from
    };
    let below = paint::row_of(area, area.height - 1);
    paint::text(buf, view.theme, paint::skip(below, SCALE, 0), Role::Plain, &foot);
}

/// Garments an hour in the slot that ended so many slots ago.
fn pace(view: &View<'_>, ago: u64) -> f64 {
    let before = SLOT * u32::try_from(ago).unwrap_or(u32::MAX);
    let count = view.shop.books().finished.count(view.now, SLOT, before);
    #[expect(clippy::cast_precision_loss, reason = "some dozens")]
    let pace = count as f64 * 3600.0 / SLOT.as_secs_f64();
    pace
}

fn scale(view: &View<'_>, top: f64, chart: Rect, buf: &mut Buffer) {
    for y in 0..chart.height {
        let value = top * f64::from(chart.height - y) / f64::from(chart.height);
        if (value / STEP).fract() < 1e-9 {
            paint::text(
                buf,
                view.theme,
                paint::row_of(chart, y),
                Role::Plain,
                &format!("{value:>4.0}"),
            );
        }
        let axis = paint::skip(paint::row_of(chart, y), SCALE - 2, 0);
        paint::text(buf, view.theme, axis, Role::Frame, "│");
    }
}

/// A bar from the bottom; a cell that is not half full is shaded.
fn bar(view: &View<'_>, share: f64, area: Rect, buf: &mut Buffer) {
    let height = f64::from(area.height) * share;
    for y in 0..area.height {
        let full = height - f64::from(area.height - 1 - y);
        let glyph = match full {
            full if full >= 0.75 => "██",
            full if full >= 0.25 => "▒▒",
            _ => continue,
        };
        let cell = Rect { width: BAR - 1, ..paint::row_of(area, y) };
        paint::text(buf, view.theme, cell, Role::Good, glyph);
    }
}

/// The row in which a value ends, counted from the top.
fn row(value: f64, top: f64, height: u16) -> u16 {
    paint::part(height, 1.0 - value / top).min(height.saturating_sub(1))
}
