//! How many garments wait for each step: the count is read from three metres, its name and the oldest tags from
//! near by.
//!
//! ```text
//! ▀▀█ blanks  ▀▀█ spray  ▄█  dry        what has waited too long: its column white on red, the minutes first
//!  ▄▀ A1-06   █▀▀ A1-04   █  WET 31 min
//!  ▀  A1-07   ▀▀▀ A1-05  ▀▀▀ A1-03
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::cells;
use super::faces::Face;
use super::paint::{self, Line};
use super::theme::Role;
use super::words;
use crate::shop::facts::order::Order;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::{Garment, Queue};
use crate::shop::rules::alarms::Alarm;

/// Columns for what is finished, where the counts leave them.
const FINISHED: u16 = 17;
/// With fewer it could not say how many are left.
const LEAST_FINISHED: u16 = 13;
/// On screens of so many rows the tags go on below the counts, and on taller ones further.
const ROWS_OF_TAGS: [(u16, u16); 2] = [(48, 4), (TAGS_FROM, 2)];
pub const TAGS_FROM: u16 = 34;

/// One column.
struct Column {
    name: &'static str,
    count: usize,
    /// Late: what is said of it, before the tags.
    late: Option<String>,
    tags: Vec<String>,
}

/// The face of the counts on a screen of so many rows; None where they have no room to be big beside so many
/// presses.
pub fn face(view: &View<'_>, rows: u16) -> Option<Face> {
    let face = Face::least(view.theme.halves, rows);
    // A console of 24 rows with three presses needs its rows for those.
    let crowded = rows < 34 && !view.theme.halves && view.shop.press_numbers().len() > 2;
    (!crowded).then_some(face)
}

/// Rows that the counts take on a screen of so many.
pub fn height(view: &View<'_>, rows: u16) -> u16 {
    let below = ROWS_OF_TAGS.iter().find(|(least, _)| rows >= *least).map_or(0, |(_, tags)| *tags);
    face(view, rows).map_or(2, Face::height) + below
}

/// Draws all columns.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let columns = columns(view);
    // Where many counts have two figures there is no room for all of them large: nothing is cut for it.
    let all = |face| columns.iter().map(|column| width(column, face)).sum::<u16>();
    let face = face(view, buf.area.height)
        .filter(|face| all(Some(*face)).saturating_add(LEAST_FINISHED) < area.width);
    let slots = u16::try_from(columns.len()).unwrap_or(1).max(1);
    // A count or name that is cut would be another one: each has its room, and a share of what is left.
    let spare = area.width.saturating_sub(1 + all(face) + FINISHED);
    let mut left = paint::skip(area, 1, 0);
    for column in &columns {
        let wide = (width(column, face) + spare / slots).min(left.width);
        let place = Rect { width: wide.saturating_sub(1), ..left };
        draw_column(view, column, face, place, buf);
        left = paint::skip(left, wide, 0);
    }
    draw_finished(view, face, left, buf);
}

/// Cells that a column needs, with the blank behind it.
fn width(column: &Column, face: Option<Face>) -> u16 {
    let figure = face.map_or(0, |face| face.width(&column.count.to_string()) + 1);
    let head = if face.is_some() { column.name.len() } else { column.name.len() + 3 };
    figure + u16::try_from(head).unwrap_or(0) + 1
}

fn columns(view: &View<'_>) -> Vec<Column> {
    let floor = view.shop.floor();
    let mut queues = vec![
        ("blanks", Queue::Step(Step::PrePress)),
        ("spray", Queue::Step(Step::Spray)),
        ("dry", Queue::Step(Step::Dry)),
        ("print", Queue::Step(Step::Print)),
        ("cure", Queue::Step(Step::Cure)),
        ("shelf", Queue::Shelf),
    ];
    if floor.count(Queue::Undecided) > 0 {
        queues.insert(1, ("underbase?", Queue::Undecided));
    }
    // More tags than any screen has rows for.
    const MOST: usize = 12;
    // What is held is marked where its tag stands.
    let tag = |garment: &Garment| match view.shop.held(garment).is_empty() {
        true => garment.tag.to_string(),
        false => format!("{}!", garment.tag),
    };
    let column = |(name, queue)| Column {
        name,
        count: floor.count(queue),
        late: late(view, queue),
        tags: floor.queue(queue).take(MOST).map(tag).collect(),
    };
    queues.into_iter().map(column).collect()
}

/// How long the longest has waited too long in a queue, if any has.
fn late(view: &View<'_>, queue: Queue) -> Option<String> {
    let (word, longest) = view.alarms.iter().find_map(|alarm| match (*alarm, queue) {
        (Alarm::WetTooLong(tag), Queue::Step(Step::Dry)) => Some(("WET", tag)),
        (Alarm::UncuredTooLong(tag), Queue::Step(Step::Cure)) => Some(("UNCURED", tag)),
        _ => None,
    })?;
    let since = view.shop.garment(longest)?.since;
    let waits = view.now.since(since).span;
    Some(format!("{word} {}", words::minutes(waits.as_secs_f64())))
}

fn draw_column(view: &View<'_>, column: &Column, face: Option<Face>, area: Rect, buf: &mut Buffer) {
    let role = match (&column.late, column.count) {
        (Some(_), _) => Role::Danger,
        (None, 0) => Role::Plain,
        (None, _) => Role::Strong,
    };
    if column.late.is_some() {
        paint::fill(buf, view.theme, area, Role::Danger);
    }
    let said = column.late.iter().chain(&column.tags);
    let small = if column.late.is_some() { Role::Danger } else { Role::Plain };
    let Some(face) = face else {
        let head = format!("{} {}", column.count, column.name);
        paint::text(buf, view.theme, area, role, &head);
        for (row, text) in (1..area.height).zip(said) {
            paint::text(buf, view.theme, paint::row_of(area, row), small, text);
        }
        return;
    };
    let count = column.count.to_string();
    let ink = view.theme.ink(if role == Role::Danger { Role::DangerDot } else { role });
    face.draw(buf, area, &count, ink);
    let beside = paint::skip(area, face.width(&count) + 1, 0);
    paint::text(buf, view.theme, beside, role, column.name);
    // All beside the figure in one column; where that is too narrow, below the figure in what the figure took too.
    let fits = |room: Rect, text: &str| cells::width(text) <= usize::from(room.width);
    let aligned = said.clone().all(|text| fits(beside, text));
    let mut said = said.peekable();
    for row in 1..area.height {
        let room = if aligned || row < face.height() { beside } else { area };
        if said.peek().is_some_and(|text| fits(room, text)) {
            let text = said.next().map_or("", String::as_str);
            paint::text(buf, view.theme, paint::row_of(room, row), small, text);
        }
    }
}

/// Finished today, and what is left of the oldest order that is not done.
fn draw_finished(view: &View<'_>, face: Option<Face>, area: Rect, buf: &mut Buffer) {
    let tally = view.shop.tally(view.now, view.shop.counted_since(view.now));
    let count = tally.finished.to_string();
    let mut lines = Vec::new();
    let words = match face {
        Some(face) => {
            face.draw(buf, area, &count, view.theme.ink(Role::Strong));
            lines.push(Line::of(Role::Strong, "done"));
            paint::skip(area, face.width(&count) + 1, 0)
        }
        None => {
            lines.push(Line::of(Role::Strong, format!("{count} done")));
            area
        }
    };
    if tally.out > 0 {
        lines[0].add(Role::Abnormal, format!("  {}", counted(tally.out, "reject")));
    }
    let open = |order: &Order| view.shop.floor().counted(order.id).open;
    if let Some((order, open)) =
        view.shop.orders().map(|order| (order, open(order))).find(|(_, open)| *open > 0)
    {
        let left = format!("{open} left");
        let whole = Line::of(Role::Plain, format!("{}: {left}", order.form.name));
        if whole.width() <= usize::from(words.width) {
            lines.push(whole);
        } else {
            // Its name is cut rather than what is left of it.
            let name = Line::of(Role::Plain, order.form.name.clone());
            lines.push(name.cut(usize::from(words.width)));
            lines.push(Line::of(Role::Plain, left));
        }
    }
    paint::lines(buf, view.theme, words, &lines);
}
