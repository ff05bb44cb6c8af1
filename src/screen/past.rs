//! What happened, the newest first.
//!
//! ```text
//! Tuesday 2026-03-03
//!   08:02:07    812  opened press 1: A3-04 dry after 41 s
//!   08:01:26    811  shut press 1 on A3-04: dry
//! Monday 2026-03-02
//!   16:40:11    810  printed A3-02
//! ```
//!
//! The day of the topmost event stands in the head, wherever it is scrolled to; another day begins with a line of
//! its own.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use super::ui::{Pane, Ui};
use super::words;
use crate::shop::facts::fact::{Event, Fact};

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
    let look_up = view.ui.keys.key(Deed::LookUp);
    let corrects = if view.acts() {
        format!(", {} corrects its time", view.ui.keys.key(Deed::CorrectTime))
    } else {
        String::new()
    };
    let head = format!("newest first; cursor keys mark an act{corrects}; {look_up}: a story");
    let rows = rows(view.ui);
    let night = view.ui.night.as_ref();
    let room = usize::from(area.height.saturating_sub(if night.is_some() { 4 } else { 3 }));
    let top = view.ui.scroll.min(rows.len().saturating_sub(room));
    let marked = marked(view.ui).map(|event| event.seq);
    let day = rows[..rows.len().min(top + 1)].iter().rev().find_map(|row| match row {
        Row::Day(day) => Some(day.clone()),
        Row::Event(_) => None,
    });
    let mut lines = vec![Line::of(Role::Strong, format!(" {head}"))];
    lines.extend(night.map(|night| Line::of(Role::Plain, format!(" {night}"))));
    lines.push(Line::of(Role::Good, format!(" {}", day.unwrap_or_default())));
    // The head has said the first row's day already.
    let first = top + usize::from(matches!(rows.get(top), Some(Row::Day(_))));
    lines.extend(rows.iter().skip(first).take(room).map(|row| match row {
        Row::Day(day) => Line::of(Role::Good, format!(" {day}")),
        Row::Event(event) => {
            let is_marked = marked == Some(event.seq);
            event_line(view, event, undone.contains(&event.act), is_marked)
        }
    }));
    paint::lines(buf, view.theme, paint::skip(area, 1, 0), &lines);
}

/// A row of the history.
enum Row<'a> {
    Day(String),
    Event(&'a Event),
}

/// The event that the cursor keys have marked on the history; None where that is not what is shown.
pub fn marked(ui: &Ui) -> Option<&Event> {
    if ui.pane != Pane::Past || ui.story.is_some() {
        return None;
    }
    let rows = rows(ui);
    let from = ui.scroll.min(rows.len().checked_sub(1)?);
    // A day is no act: its first one is meant.
    rows[from..].iter().find_map(|row| match row {
        Row::Event(event) => Some(*event),
        Row::Day(_) => None,
    })
}

/// The events, the newest first, each day of them under its name.
fn rows(ui: &Ui) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    let mut last = None;
    for event in ui.past.iter().rev() {
        let day = words::weekday(event.moment.at, &ui.zone);
        if last.as_ref() != Some(&day) {
            rows.push(Row::Day(day.clone()));
            last = Some(day);
        }
        rows.push(Row::Event(event));
    }
    rows
}

/// One garment's story, in place of the shop's.
fn draw_story(view: &View<'_>, story: &[String], area: Rect, buf: &mut Buffer) {
    let room = usize::from(area.height.saturating_sub(2));
    let wide = usize::from(area.width.saturating_sub(2));
    let role = |n: usize| if n == 0 { Role::Strong } else { Role::Plain };
    let folded = story.iter().enumerate().map(|(n, text)| Line::of(role(n), text.clone()));
    let folded: Vec<Line> = folded.flat_map(|line| line.folded(wide)).collect();
    let top = view.ui.scroll.min(folded.len().saturating_sub(room));
    let head = [Line::of(Role::Strong, "+ / or Esc: back to the shop's history"), Line::default()];
    let lines: Vec<Line> =
        head.into_iter().chain(folded.into_iter().skip(top).take(room)).collect();
    paint::lines(buf, view.theme, paint::skip(area, 2, 0), &lines);
}

fn event_line(view: &View<'_>, event: &Event, undone: bool, is_marked: bool) -> Line {
    let clock = words::clock_seconds(event.moment.at, &view.ui.zone);
    let mark = if is_marked { ">" } else { " " };
    let mut line = Line::of(Role::Strong, mark);
    line.add(Role::Plain, format!("{clock} {:>7}  ", event.seq));
    line.add(if undone { Role::Plain } else { Role::Strong }, event.fact.in_words());
    if undone {
        line.add(Role::Abnormal, "  (undone)");
    }
    line
}
