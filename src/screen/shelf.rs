//! What lies on the shelf, by the soonest last day; the bottles and the sprayer beside it.
//!
//! ```text
//!  on the shelf 14   past 1   use first 2   within a week 3       sprayer
//!  garment   order               mark stack  place last day       412 g, 11 garments
//!  A3-04     Harbour choir       M    North  1     2026-11-20 PAST lot F-118
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use crate::shop::fluid::Contents;
use crate::shop::garment::Garment;
use crate::shop::shelf::{ShelfPage, ShelfState, laying};

/// Columns of the sprayer and the bottles.
const SUPPLIES: u16 = 25;
/// Rows of sums and keys above the garments.
const HEAD: usize = 5;

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let area = paint::skip(area, 1, 0);
    let right = paint::skip(area, area.width.saturating_sub(SUPPLIES), 0);
    // A column between the two stays empty.
    let left = Rect { width: area.width.saturating_sub(SUPPLIES + 1), ..area };
    let room = usize::from(left.height).saturating_sub(HEAD);
    let page = view.shop.shelf_page(view.now, view.ui.scroll, room);
    let mut lines = head(view, &page);
    let wide = usize::from(left.width).saturating_sub(44).clamp(8, 30);
    lines.push(Line::of(
        Role::Strong,
        format!(
            "{:<9}{:<wide$} {:<5}{:<9}{:<6}{}",
            "garment", "order", "mark", "stack", "place", "last day"
        ),
    ));
    lines.extend(page.garments.iter().map(|one| stored_line(view, *one, wide)));
    paint::lines(buf, view.theme, right, &supplies(view, &page));
    paint::lines(buf, view.theme, left, &lines);
}

fn head(view: &View<'_>, page: &ShelfPage<'_>) -> Vec<Line> {
    let mut line = Line::of(Role::Strong, format!("on the shelf {}", page.stored));
    if page.past > 0 {
        line.add(Role::Danger, format!("  PAST ITS DAY {} ", page.past));
    }
    if page.use_first > 0 {
        line.add(Role::Abnormal, format!("  use first {}", page.use_first));
    }
    line.add(Role::Plain, format!("   within a week {}", page.soon));
    let keys = &view.ui.keys;
    let (stack, next) = (view.shop.stack(), page.next);
    let next = format!("next: stack {stack}, place {}: {}", next.position, laying(next.down));
    let [stores, stacks, looks_up] =
        [Deed::Store, Deed::Stack, Deed::LookUp].map(|deed| keys.key(deed));
    vec![
        line,
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

fn stored_line(view: &View<'_>, (garment, place): (&Garment, u32), wide: usize) -> Line {
    let order = view.shop.order(garment.order());
    let name: String =
        order.map_or("", |order| order.form.name.as_str()).chars().take(wide).collect();
    let line = order.and_then(|order| order.form.lines.get(garment.line));
    let mark: String = line.map_or("", |line| line.mark.as_str()).chars().take(4).collect();
    let Some(shelved) = garment.shelved.as_deref() else {
        return Line::of(
            Role::Plain,
            format!("{:<9}{name:<wide$} {mark:<5}", garment.tag.to_string()),
        );
    };
    let stack: String = shelved.stack.chars().take(8).collect();
    let text = format!(
        "{:<9}{name:<wide$} {mark:<5}{stack:<9}{place:<6}{}",
        garment.tag.to_string(),
        shelved.last_day
    );
    let state = shelved.state(view.shop.today(view.now));
    let (role, word) = match state {
        ShelfState::Past => (Role::Danger, " PAST"),
        _ if shelved.disturbed => (Role::Abnormal, " SHIFTED"),
        _ if shelved.unsure => (Role::Abnormal, " UNSURE"),
        ShelfState::UseFirst => (Role::Abnormal, " FIRST"),
        ShelfState::Good => (Role::Plain, ""),
    };
    Line::of(Role::Plain, text).and(role, word)
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
