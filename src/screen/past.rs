//! What happened, the newest first.
//!
//! ```text
//!   14:32:07    812  opened press 1: A3-04 dry after 41 s
//!   14:31:26    811  shut press 1 on A3-04: dry
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use super::words;
use crate::shop::fact::{Event, Fact};

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    if let Some(story) = &view.ui.story {
        return draw_story(view, story, area, buf);
    }
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
    let look_up = view.ui.keys.key(Deed::LookUp);
    let head = format!("the newest first; cursor keys scroll; {look_up}: one garment's story");
    let mut lines = vec![Line::of(Role::Strong, head), Line::default()];
    let shown = past.iter().rev().skip(top).take(room);
    lines.extend(shown.map(|event| told(view, event, undone.contains(&event.act))));
    paint::lines(buf, view.theme, paint::skip(area, 2, 0), &lines);
}

/// One garment's story, in place of the shop's.
fn draw_story(view: &View<'_>, story: &[String], area: Rect, buf: &mut Buffer) {
    let room = usize::from(area.height.saturating_sub(2));
    let top = view.ui.scroll.min(story.len().saturating_sub(room));
    let mut lines =
        vec![Line::of(Role::Strong, "Esc: back to the shop's history"), Line::default()];
    for (n, text) in story.iter().enumerate().skip(top).take(room) {
        lines.push(Line::of(if n == 0 { Role::Strong } else { Role::Plain }, text.clone()));
    }
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
