//! What lies on the shelf, by the soonest last day; the bottles and the sprayer beside it.
//!
//! ```text
//!  on the shelf 14, within a week 3                               sprayer
//!   PAST ITS DAY 1   use first 2                                  412 g, 11 garments
//!  garment  order         mark stack    last day                  lot F-118
//!  A3-04    Harbour choir M    North  1 2026-11-20 PAST, SHIFTED
//! ```
//!
//! Where the rows are narrow the order's name gives way to what is wrong with a garment: the tag says the order too.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::telling::laying;
use crate::shop::floor::garment::Garment;
use crate::shop::floor::shelf::{ShelfPage, ShelfState};

/// Columns of the sprayer and the bottles.
const SUPPLIES: u16 = 25;
/// Rows of sums and keys above the garments.
const HEAD: usize = 6;
/// Columns of a row beside the order's name and what is wrong: tag, mark, stack, place, day.
const FIXED: usize = 9 + 5 + 9 + 4 + 10;
/// Columns of an order's name, at the least and at the most.
const NAME: (usize, usize) = (6, 30);

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let area = paint::skip(area, 1, 0);
    let right = paint::skip(area, area.width.saturating_sub(SUPPLIES), 0);
    // A column between the two stays empty.
    let left = Rect { width: area.width.saturating_sub(SUPPLIES + 1), ..area };
    let room = usize::from(left.height).saturating_sub(HEAD);
    let page = view.shop.shelf_page(view.now, view.ui.scroll, room);
    let mut lines = head(view, &page);
    let said: Vec<(Role, String)> =
        page.garments.iter().map(|(garment, _)| state_of(view, garment)).collect();
    let widest = said.iter().map(|(_, words)| words.len()).max().unwrap_or(0);
    let spare = usize::from(left.width).saturating_sub(FIXED + widest + 1);
    let name = if spare < NAME.0 + 1 { 0 } else { (spare - 1).min(NAME.1) };
    let order = if name == 0 { String::new() } else { format!("{:<name$} ", "order") };
    lines.push(Line::of(
        Role::Strong,
        format!("{:<9}{order}{:<5}{:<13}last day", "garment", "mark", "stack, place"),
    ));
    let rows = page.garments.iter().zip(said);
    lines.extend(rows.map(|(one, said)| stored_line(view, *one, name, said)));
    paint::lines(buf, view.theme, right, &supplies(view, &page));
    paint::lines(buf, view.theme, left, &lines);
}

fn head(view: &View<'_>, page: &ShelfPage<'_>) -> Vec<Line> {
    let stored = Line::of(Role::Strong, format!("on the shelf {}", page.stored))
        .and(Role::Plain, format!(", within a week {}", page.soon));
    let mut alarms = Line::default();
    if page.past > 0 {
        alarms.add(Role::Danger, format!(" PAST ITS DAY {} ", page.past)).add(Role::Plain, "  ");
    }
    if page.use_first > 0 {
        alarms.add(Role::Abnormal, format!("use first {}", page.use_first));
    }
    let keys = &view.ui.keys;
    let (stack, next) = (view.shop.stack(), page.next);
    let next = format!("next: stack {stack}, place {}: {}", next.position, laying(next.down));
    let [stores, stacks, looks_up] =
        [Deed::Store, Deed::Stack, Deed::LookUp].map(|deed| keys.key(deed));
    vec![
        stored,
        alarms,
        Line::of(Role::Plain, next),
        Line::of(
            Role::Plain,
            match view.acts() {
                true => format!("{stores} stores  {stacks} another stack  {looks_up} looks one up"),
                false => format!("{looks_up} looks one up"),
            },
        ),
        Line::default(),
    ]
}

/// Everything that is wrong with a stored garment, the worst first.
fn state_of(view: &View<'_>, garment: &Garment) -> (Role, String) {
    let Some(shelved) = garment.shelved.as_deref() else { return (Role::Plain, String::new()) };
    let state = shelved.state(view.shop.today(view.now));
    let words = [
        (state == ShelfState::Past, "PAST"),
        (shelved.disturbed, "SHIFTED"),
        (shelved.unsure, "UNSURE"),
        (state == ShelfState::UseFirst, "FIRST"),
    ];
    let words: Vec<&str> = words.iter().filter(|(is, _)| *is).map(|(_, word)| *word).collect();
    let role = match state {
        ShelfState::Past => Role::Danger,
        _ if words.is_empty() => Role::Plain,
        _ => Role::Abnormal,
    };
    (role, words.join(", "))
}

fn stored_line(
    view: &View<'_>,
    (garment, place): (&Garment, u32),
    wide: usize,
    (role, words): (Role, String),
) -> Line {
    let order = view.shop.order(garment.order());
    let name: String =
        order.map_or("", |order| order.form.name.as_str()).chars().take(wide).collect();
    let name = if wide == 0 { name } else { format!("{name:<wide$} ") };
    let line = order.and_then(|order| order.form.lines.get(garment.line));
    let mark: String = line.map_or("", |line| line.mark.as_str()).chars().take(4).collect();
    let Some(shelved) = garment.shelved.as_deref() else {
        return Line::of(Role::Plain, format!("{:<9}{name}{mark:<5}", garment.tag.to_string()));
    };
    let stack: String = shelved.stack.chars().take(8).collect();
    let text = format!(
        "{:<9}{name}{mark:<5}{stack:<9}{place:<4}{}",
        garment.tag.to_string(),
        shelved.last_day
    );
    Line::of(Role::Plain, text + " ").and(role, words)
}

fn supplies(view: &View<'_>, page: &ShelfPage<'_>) -> Vec<Line> {
    let supplies = view.shop.supplies();
    let filling = &supplies.filling;
    let mut lines = vec![Line::of(Role::Strong, "sprayer")];
    if filling.lots.is_empty() {
        let key = view.then(": ", Deed::Fill);
        let fills = if view.acts() { " fills it" } else { "" };
        lines.push(Line::of(Role::Plain, format!("empty{key}{fills}")));
    } else {
        let left = view.shop.sprays_left();
        let more = left.map_or_else(String::new, |left| format!(", {left} more"));
        lines.push(Line::of(Role::Strong, format!("{:.0} g{more}", filling.left().0)));
        lines.extend(filling.lots.iter().map(|lot| Line::of(Role::Plain, format!("lot {lot}"))));
        if filling.was_off {
            lines.push(Line::of(Role::Abnormal, "FILLED BEYOND ROOM:"));
            lines.push(Line::of(Role::Abnormal, "more had been sprayed"));
        }
        if filling.is_overdrawn() {
            lines.push(Line::of(Role::Abnormal, "MORE SPRAYED THAN"));
            lines.push(Line::of(Role::Abnormal, "FILLED: a fill missed?"));
        }
        if view.shop.flush_due(view.now) {
            lines.push(Line::of(Role::Due, format!("{} FLUSH IT ", view.then(" ", Deed::Flushed))));
        }
    }
    lines.push(Line::default());
    let adds = if view.acts() { " adds" } else { "" };
    let bottles = format!("bottles{}{adds}", view.then("   ", Deed::Lot));
    lines.push(Line::of(Role::Strong, bottles));
    let today = view.shop.today(view.now);
    for (name, lot) in &supplies.lots {
        let past = lot.best_before.is_some_and(|day| day < today);
        let role = if past { Role::Abnormal } else { Role::Plain };
        let what = match lot.contents {
            Contents::PretreatmentFluid => "fluid",
            contents => contents.words(),
        };
        let until = match lot.best_before {
            Some(_) if past => "PAST".to_owned(),
            Some(day) => day.to_string(),
            None => String::new(),
        };
        lines.push(Line::of(role, format!("{name} {what} {until}")));
    }
    lines.extend(by_order(view, page));
    lines
}

/// How many lie there of each order and size mark, the most first.
fn by_order(view: &View<'_>, page: &ShelfPage<'_>) -> Vec<Line> {
    if page.kinds.is_empty() {
        return Vec::new();
    }
    let told = page.kinds.iter().map(|((no, line), count)| {
        let order = view.shop.order(*no);
        let name = order.map_or("", |order| order.form.name.as_str());
        let mark =
            order.and_then(|order| order.form.lines.get(*line)).map(|line| line.mark.as_str());
        Line::of(Role::Plain, format!("{count:>3} {} {name}", mark.unwrap_or_default()))
    });
    let head = [Line::default(), Line::of(Role::Strong, "by order and size mark")];
    head.into_iter().chain(told).collect()
}
