//! The operator's pane: which press, how long, what to do.
//!
//! ```text
//! ┌ 1 Left ─ dry A3-04 ────────────────┐┌ 2 Right ─ open ────────────────────┐
//! │ ██  ██    RUNNING                  ││                                    │
//! │ big digits                         ││  2 shuts on A3-05                  │
//! └────────────────────────────────────┘└────────────────────────────────────┘
//!  NEXT  open press 1
//!  blanks 4   spray 2   dry 1   print 3   cure 0   shelf 2   finished 7 of 24
//!  A3-07      A3-05     A3-04   A3-01
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::keymap::Deed;
use super::pacing;
use super::paint::{self, Line};
use super::press_panel;
use super::small;
use super::theme::Role;
use crate::shop::alarms::Alarm;
use crate::shop::garment::Queue;
use crate::shop::ids::{PressNo, Tag};
use crate::shop::offer::OfferedAct;
use crate::shop::order::Order;
use crate::shop::shelf::ShelfState;
use crate::shop::step::{Cover, Step};
use crate::shop::telling::named;
use crate::shop::words::counted;

/// The least room for a press with its big digits.
const PANEL: (u16, u16) = (38, 7);

/// Columns for what is finished.
const FINISHED: u16 = 20;

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let below = 4 + u16::from(area.height > 30) * 2;
    let presses = Rect { height: area.height.saturating_sub(below), ..area };
    match &view.ui.pacing {
        Some(pacing) => pacing::draw(view, pacing, presses, buf),
        None => draw_presses(view, presses, buf),
    }
    let rest = paint::skip(area, 0, presses.height);
    next_act(view, paint::row_of(rest, 0), buf);
    queues(view, paint::skip(rest, 0, 1), buf);
}

fn draw_presses(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let presses = view.shop.press_numbers();
    if presses.is_empty() {
        return;
    }
    if let Some((columns, rows)) = grid(presses.len(), area) {
        for (press, cell) in presses.iter().zip(cells(area, columns, rows)) {
            press_panel::draw(view, *press, cell, buf);
        }
        return;
    }
    // Not all fit: the two that are due first have big digits, all have a line.
    let top = Rect { height: PANEL.1.min(area.height), ..area };
    for (press, cell) in soonest(view, &presses).iter().zip(cells(top, 2, 1)) {
        press_panel::draw(view, *press, cell, buf);
    }
    let list = paint::skip(area, 0, top.height);
    for (press, row) in presses.iter().zip(0u16..) {
        paint::line(buf, view.theme, paint::row_of(list, row), &small::press_line(view, *press));
    }
}

/// The squarest grid in which every press has room for its digits.
fn grid(count: usize, area: Rect) -> Option<(u16, u16)> {
    let count = u16::try_from(count).ok()?;
    (1..=count)
        .map(|columns| (columns, count.div_ceil(columns)))
        .filter(|(columns, rows)| area.width / columns >= PANEL.0 && area.height / rows >= PANEL.1)
        .max_by_key(|(columns, rows)| {
            // What the digits can grow to: the narrower of the two sides, a cell being twice as high as wide.
            let room = (area.width / columns / 3).min(area.height / rows);
            (room, std::cmp::Reverse(columns * rows))
        })
}

fn cells(area: Rect, columns: u16, rows: u16) -> impl Iterator<Item = Rect> {
    let (width, height) = (area.width / columns.max(1), area.height / rows.max(1));
    (0..rows).flat_map(move |row| {
        (0..columns).map(move |column| Rect {
            x: area.x + column * width,
            y: area.y + row * height,
            width: if column + 1 == columns { area.width - column * width } else { width },
            height: if row + 1 == rows { area.height - row * height } else { height },
        })
    })
}

/// The presses by the time that is left to their target, shut ones first.
fn soonest(view: &View<'_>, presses: &[PressNo]) -> Vec<PressNo> {
    let left = |press: &PressNo| {
        let load = view.shop.load(*press)?;
        let target = view.shop.pressing(load)?.target.0.as_millis();
        let span = load.elapsed(view.now).span.as_millis();
        Some(i128::try_from(target).ok()? - i128::try_from(span).ok()?)
    };
    let mut order = presses.to_vec();
    order.sort_by_key(|press| left(press).map_or((1, 0), |left| (0, left)));
    order
}

/// The one thing to do now, in words that can be read from afar.
fn next_act(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    let (role, text) = most_urgent(view);
    paint::fill(buf, view.theme, row, role);
    paint::text(buf, view.theme, paint::skip(row, 1, 0), role, &text);
}

fn most_urgent(view: &View<'_>) -> (Role, String) {
    if let Some(alarm) = view.alarms.first() {
        let more = match view.alarms.len() {
            1 => String::new(),
            n => format!("   (+{} more)", n - 1),
        };
        let role = match alarm.level() {
            crate::shop::alarms::Level::Alarm => Role::Danger,
            crate::shop::alarms::Level::Prompt => Role::Due,
        };
        return (role, alarm_text(view, *alarm) + &more);
    }
    let shut = view.offers.iter().find_map(|offer| match offer.act {
        OfferedAct::Shut { garment, next, .. } => Some((offer.press, garment, next.step)),
        _ => None,
    });
    let floor = view.shop.floor();
    let first = |step| floor.waiting(step).next().map(|garment| garment.tag);
    let text = match (shut, first(Step::Spray), first(Step::Print)) {
        (Some((press, tag, step)), ..) => {
            let garment = named(tag, view.shop.place_of(tag));
            format!("NEXT: load press {press} with {garment} ({step})")
        }
        (None, Some(tag), _) => return spray_next(view, tag),
        (None, None, Some(tag)) => return print_next(view, tag),
        _ if view.shop.loads().next().is_some() => {
            let first = soonest(view, &view.shop.press_numbers()).first().copied();
            first.map_or_else(String::new, |press| format!("press {press} opens next"))
        }
        _ if view.shop.flush_due(view.now) => {
            return (
                Role::Abnormal,
                "FLUSH THE SPRAYER".to_owned() + &view.then(", then ", Deed::Flushed),
            );
        }
        _ => match view.shop.sheets().find(|sheet| sheet.at.is_none() && sheet.presses > 0) {
            Some(sheet) => format!(
                "a break: wipe sheet {}, set aside, both sides, cold{}",
                sheet.no,
                view.then("; then ", Deed::CleanSheet)
            ),
            None if view.acts() => {
                format!("nothing waits: {} takes in an order", view.ui.keys.key(Deed::TakeOrder))
            }
            None => "nothing waits".to_owned(),
        },
    };
    (Role::Strong, text)
}

/// What is to be done to the garment that is sprayed next, its weighing in its place.
fn spray_next(view: &View<'_>, tag: Tag) -> (Role, String) {
    let left = view.shop.sprays_left();
    if left == Some(0) {
        let fill = view.then(": ", Deed::Fill);
        return (Role::Abnormal, format!("FILL THE SPRAYER{fill}. Not enough fluid for {tag}"));
    }
    let weigh = view.then(": ", Deed::Weigh);
    let garment = named(tag, view.shop.place_of(tag));
    let text = match view.shop.weight_wanted() {
        Some(wanted) if wanted.garment == tag && wanted.coated => {
            format!("NEXT: spray and roll {garment}, then weigh it{weigh}")
        }
        Some(wanted) if wanted.garment == tag => {
            format!("NEXT: weigh {garment}{weigh}, then spray and roll it")
        }
        _ => format!("NEXT: spray and roll {garment}{}", view.then(", then ", Deed::Sprayed)),
    };
    let fluid = left.map_or_else(String::new, |left| format!("   (fluid for {left})"));
    (Role::Strong, text + &fluid)
}

/// What is printed next; one past its day is said before, not refused after.
fn print_next(view: &View<'_>, tag: Tag) -> (Role, String) {
    let shelved = view.shop.garment(tag).and_then(|garment| garment.shelved.as_deref());
    let state = shelved.map(|shelved| shelved.state(view.shop.today(view.now)));
    match shelved {
        Some(shelved) if state == Some(ShelfState::Past) => {
            let mut text = format!("PAST ITS DAY: {tag}, {}. Treat it again", shelved.last_day);
            if view.acts() {
                let key = |deed| view.ui.keys.key(deed);
                let (again, prints) = (key(Deed::LookUp), key(Deed::Printed));
                text += &format!(": {again}; {prints} prints all the same");
            }
            (Role::Danger, text)
        }
        Some(shelved) if shelved.disturbed => {
            let print = view.then(", ", Deed::Printed);
            (Role::Abnormal, format!("LOOK AT {tag}: its stack was shifted. Then print{print}"))
        }
        _ => {
            let garment = named(tag, view.shop.place_of(tag));
            (Role::Strong, format!("NEXT: print {garment}{}", view.then(", then ", Deed::Printed)))
        }
    }
}

fn alarm_text(view: &View<'_>, alarm: Alarm) -> String {
    match alarm {
        Alarm::Due { press, .. } => format!("OPEN PRESS {press}"),
        Alarm::Overdue { press, .. } => format!("OPEN PRESS {press} NOW: over its longest time"),
        Alarm::Check { press, .. } => {
            format!("CHECK PRESS {press}: how long it has been shut is not sure")
        }
        Alarm::WetTooLong(tag) => format!("DRY {tag}: it has waited wet too long"),
        Alarm::UncuredTooLong(tag) => format!("CURE {tag}: its print has waited too long"),
        Alarm::WipeDue { sheet, press } | Alarm::WipeOverdue { sheet, press } => {
            let paper = view.shop.sheet(sheet).is_some_and(|s| s.kind == Cover::ReleasePaper);
            let first = match alarm {
                _ if paper => "CHANGE PAPER",
                Alarm::WipeOverdue { .. } => "WIPE FIRST",
                _ => "WIPE",
            };
            if paper {
                let at = press.map_or_else(String::new, |press| format!(" of press {press}"));
                let key = view.then("  ", Deed::CleanSheet);
                return format!("{first}{key}: paper {sheet}{at}");
            }
            let at = press.map_or_else(|| "set aside".to_owned(), |p| format!("of press {p}"));
            let keys = view.then("  ", Deed::CleanSheet) + &view.then(" or ", Deed::SwapSheet);
            format!("{first}{keys}: sheet {sheet} {at}, both sides, cold, away: alcohol burns")
        }
    }
}

fn queues(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let floor = view.shop.floor();
    let undecided = floor.count(Queue::Undecided);
    let mut columns = vec![
        ("blanks", Queue::Step(Step::PrePress)),
        ("spray", Queue::Step(Step::Spray)),
        ("dry", Queue::Step(Step::Dry)),
        ("print", Queue::Step(Step::Print)),
        ("cure", Queue::Step(Step::Cure)),
        ("shelf", Queue::Shelf),
    ];
    if undecided > 0 {
        columns.insert(1, ("yes or no?", Queue::Undecided));
    }
    let slots = u16::try_from(columns.len()).unwrap_or(1);
    // What is finished has more to say than a queue.
    let least = (area.width.saturating_sub(FINISHED) / slots.max(1)).min(area.width / (slots + 1));
    let mut left = paint::skip(area, 1, 0);
    for (name, queue) in columns {
        let count = floor.count(queue);
        let head = format!("{name} {count}");
        // A count that is cut would be another count.
        let width = least.max(u16::try_from(head.len() + 1).unwrap_or(least));
        let column = Rect { width: width.saturating_sub(1).min(left.width), ..left };
        let role = if count > 0 { Role::Strong } else { Role::Plain };
        paint::text(buf, view.theme, paint::row_of(column, 0), role, &head);
        for (garment, row) in floor.queue(queue).zip(1..column.height) {
            let tag = garment.tag.to_string();
            paint::text(buf, view.theme, paint::row_of(column, row), Role::Plain, &tag);
        }
        left = paint::skip(left, width, 0);
    }
    finished(view, left, buf);
}

/// Finished of ordered, for the oldest order that is not done.
fn finished(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let tally = view.shop.tally(view.now, view.shop.counted_since(view.now));
    let mut day = Line::of(Role::Strong, format!("done {}", tally.finished));
    if tally.out > 0 {
        day.add(Role::Abnormal, format!("  {}", counted(tally.out, "reject")));
    }
    let mut lines = vec![day];
    if let Some(order) = view.shop.orders().find(|order| order_left(view, order) > 0) {
        let left = format!("{} left", order_left(view, order));
        let name = &order.form.name;
        let whole = format!("{name}: {left}");
        let wide = usize::from(area.width);
        match whole.chars().count() <= wide {
            true => lines.push(Line::of(Role::Plain, whole)),
            // Its name is cut rather than what is left of it.
            false => {
                let name: String = name.chars().take(wide.saturating_sub(1)).collect();
                lines.push(Line::of(Role::Plain, format!("{name}:")));
                lines.push(Line::of(Role::Plain, left));
            }
        }
    }
    paint::lines(buf, view.theme, area, &lines);
}

fn order_left(view: &View<'_>, order: &Order) -> usize {
    view.shop.garments_of(order.no).filter(|garment| !garment.is_done()).count()
}
