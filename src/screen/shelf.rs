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
use super::table::{Column, Table};
use super::theme::Role;
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::telling::laying;
use crate::shop::floor::garment::Garment;
use crate::shop::floor::shelf::ShelfPage;
use crate::shop::floor::shelved::ShelfState;

/// Columns of the sprayer and the bottles.
const SUPPLIES: u16 = 25;
/// Rows of sums and keys above the garments.
const HEAD: usize = 6;
/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let area = paint::skip(area, 1, 0);
    let right = paint::skip(area, area.width.saturating_sub(SUPPLIES), 0);
    // A column between the two stays empty.
    let left = Rect { width: area.width.saturating_sub(SUPPLIES + 1), ..area };
    let room = usize::from(left.height).saturating_sub(HEAD);
    let page = view.shop.shelf_page(view.now, view.ui.scroll, room);
    let mut lines = head(view, &page);
    let mut table = Table::new([
        Column::words("garment"),
        Column::words("order").gives_way(6),
        Column::words("mark"),
        Column::words("stack"),
        Column::figures("place"),
        Column::words("last day"),
        Column::words(""),
    ]);
    for (garment, place) in &page.garments {
        table.row(stored_cells(view, garment, *place));
    }
    lines.extend(table.lines(usize::from(left.width)));
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
    let (stack, next) = (view.shop.desk().stack(), page.next);
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
                true => format!("{stores} store  {stacks} another stack  {looks_up} look one up"),
                false => format!("{looks_up} look one up"),
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

fn stored_cells(view: &View<'_>, garment: &Garment, place: u32) -> [Line; 7] {
    let order = view.shop.order(garment.order());
    let line = order.and_then(|order| order.form.lines.get(garment.line));
    let shelved = garment.shelved.as_deref();
    let (role, words) = state_of(view, garment);
    let [tag, name, mark, stack, place, day] = [
        garment.tag.to_string(),
        order.map_or_else(String::new, |order| order.form.name.clone()),
        line.map_or_else(String::new, |line| line.mark.clone()),
        shelved.map_or_else(String::new, |shelved| shelved.stack.to_string()),
        place.to_string(),
        shelved.map_or_else(String::new, |shelved| shelved.last_day.to_string()),
    ]
    .map(|text| Line::of(Role::Plain, text));
    [tag, name, mark, stack, place, day, Line::of(role, words)]
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
        let said = filling.fluids.iter().map(|fluid| Line::of(Role::Plain, fluid.to_string()));
        lines.extend(said);
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
