//! What lies on the shelf, the longest stored first.
//!
//! ```text
//!   on the shelf: 6
//!   garment   order                   mark   stored
//!   A3-04     Harbour choir           M      2026-12-01
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::paint::{self, Line};
use super::theme::Role;
use crate::shop::garment::{Garment, Queue};

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let floor = view.shop.floor();
    let count = floor.count(Queue::Shelf);
    let mut lines = vec![
        Line::of(Role::Strong, format!("on the shelf: {count}")),
        Line::of(
            Role::Plain,
            "treated side to treated side, release paper between, folded once, left alone",
        ),
        Line::default(),
        Line::of(
            Role::Strong,
            format!("{:<10}{:<30}{:<8}{}", "garment", "order", "mark", "stored"),
        ),
    ];
    let room = usize::from(area.height).saturating_sub(lines.len() + 1);
    let top = view.ui.scroll.min(count.saturating_sub(room));
    let shown = floor.queue(Queue::Shelf).skip(top).take(room);
    lines.extend(shown.map(|garment| stored_line(view, garment)));
    paint::lines(buf, view.theme, paint::skip(area, 2, 1), &lines);
}

fn stored_line(view: &View<'_>, garment: &Garment) -> Line {
    let order = view.shop.order(garment.order());
    let name = order.map_or("", |order| order.form.name.as_str());
    let line = order.and_then(|order| order.form.lines.get(garment.line));
    let mark = line.map_or("", |line| line.mark.as_str());
    let stored = super::words::day(garment.since.at, &view.ui.zone);
    Line::of(Role::Plain, format!("{:<10}{name:<30}{mark:<8}{stored}", garment.tag))
}
