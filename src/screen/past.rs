//! What happened, the newest first.
//!
//! ```text
//!   14:32:07    812  opened press 1: A3-04 dry after 41 s
//!   14:31:26    811  shut press 1 on A3-04: dry
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::paint::{self, Line};
use super::theme::Role;
use super::words;
use crate::shop::fact::{Event, Fact};

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let past = &view.ui.past;
    let undone: Vec<_> = past
        .iter()
        .filter_map(|event| match &event.fact {
            Fact::Undone(undone) => Some(undone.undoes),
            _ => None,
        })
        .collect();
    let room = usize::from(area.height.saturating_sub(3));
    let top = view.ui.scroll.min(past.len().saturating_sub(room));
    let head = "the newest first; cursor keys scroll; the whole history: dwell past";
    let mut lines = vec![Line::of(Role::Strong, head), Line::default()];
    let shown = past.iter().rev().skip(top).take(room);
    lines.extend(shown.map(|event| told(view, event, undone.contains(&event.act))));
    paint::lines(buf, view.theme, paint::skip(area, 2, 0), &lines);
}

fn told(view: &View<'_>, event: &Event, undone: bool) -> Line {
    let clock = words::clock_seconds(event.moment.at, &view.ui.zone);
    let mut line = Line::of(Role::Plain, format!("{clock} {:>7}  ", event.seq));
    line.add(if undone { Role::Plain } else { Role::Strong }, event.fact.in_words());
    if undone {
        line.add(Role::Abnormal, "  (undone)");
    }
    line
}
