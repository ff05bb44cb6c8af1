//! What is left of the board on a small terminal: a line for each press, in the end a single line.
//!
//! ```text
//! 1    12 s  RUNNING    A3-04   dry      Left
//! 2  open, next A3-05 pre-press  Right
//! OPEN PRESS 2
//! ```
//!
//! What matters most stands first on a line, so that a narrow screen cuts the least of it.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::paint::{self, Line};
use super::press_look;
use super::theme::Role;
use super::ui::Saved;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::words::counted;
use crate::shop::rules::alarms::{Alarm, Level};
use crate::shop::rules::offer::{Idle, OfferedAct};

/// Below this there is one line.
const LIST: (u16, u16) = (40, 10);

/// Draws what fits; an open form has the rows below the presses.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let tiny = area.width < LIST.0 || area.height < LIST.1;
    let lines = if tiny { vec![one_line(view)] } else { lines(view) };
    let wide = usize::from(area.width);
    let lines: Vec<Line> = lines.iter().flat_map(|line| line.folded(wide)).collect();
    paint::lines(buf, view.theme, area, &lines);
    if let Some(form) = &view.ui.form {
        let used = u16::try_from(lines.len()).unwrap_or(u16::MAX);
        // Its field is there in any case: what is typed is seen.
        let used = used.min(area.height.saturating_sub(2)).max(1);
        form.draw(view, paint::skip(area, 0, used), buf);
    }
}

fn lines(view: &View<'_>) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    if let Saved::Not { events, .. } = &view.ui.saved {
        lines.push(Line::of(Role::Danger, format!("NOT SAVED: {}", counted(*events, "event"))));
    }
    let mut presses = view.shop.press_numbers();
    let calls = |press: &PressNo| view.alarms.iter().position(|one| one.press() == Some(*press));
    presses.sort_by_key(|press| calls(press).unwrap_or(usize::MAX));
    lines.extend(presses.into_iter().map(|press| press_line(view, press)));
    if let Some(alarm) = view.alarms.first() {
        lines.push(alarm_line(*alarm));
    }
    if view.ui.form.is_none() {
        // Its letters answer it here too, so it is shown.
        lines.extend(super::chrome::question_line(view));
        lines.extend(view.ui.message.as_ref().map(|said| Line::of(Role::Plain, said.text.clone())));
    }
    lines
}

/// One press on one line.
pub fn press_line(view: &View<'_>, press: PressNo) -> Line {
    let name = view.shop.press_name(press);
    let head = format!("{press}  ");
    if let Some(load) = view.shop.load(press) {
        let look = press_look::look(view, press, load);
        let tag = load.garment.to_string();
        return Line::of(Role::Strong, head)
            .and(Role::Strong, format!("{:>5} s ", look.figures))
            .and(look.role, format!(" {} ", look.word))
            .and(Role::Plain, format!(" {tag:<7} {:<9}  {name}", load.step.name()));
    }
    let what = match view.offered(press) {
        Some(OfferedAct::Shut { garment, next, .. }) => {
            format!("open, next {garment} {}", next.step)
        }
        Some(OfferedAct::None(Idle::OutOfUse(reason))) => format!("out of use: {}", reason.words()),
        Some(OfferedAct::None(Idle::SetOtherwise { garment, wanted })) => {
            format!("open, {garment} wants {}", wanted.dial)
        }
        Some(OfferedAct::None(Idle::Unready(why))) => why.words().to_owned(),
        _ => "open".into(),
    };
    Line::of(Role::Strong, head).and(Role::Plain, format!("{what}  {name}"))
}

fn alarm_line(alarm: Alarm) -> Line {
    let text = match alarm {
        Alarm::Due { press, .. } | Alarm::Overdue { press, .. } => format!("OPEN PRESS {press}"),
        Alarm::Shape { press, lifts: true, .. } => format!("LIFT PRESS {press}"),
        Alarm::Shape { press, lifts: false, .. } => format!("CLOSE PRESS {press}"),
        Alarm::Check { press, .. } => format!("CHECK PRESS {press}"),
        Alarm::WetTooLong(tag) => format!("DRY {tag}"),
        Alarm::UncuredTooLong(tag) => format!("CURE {tag}"),
        Alarm::WipeDue { sheet, .. } | Alarm::WipeOverdue { sheet, .. } => {
            format!("WIPE sheet {sheet}")
        }
    };
    let role = if alarm.level() == Level::Alarm { Role::Danger } else { Role::Due };
    Line::of(role, text)
}

/// The press that most wants somebody, its seconds and its state.
fn one_line(view: &View<'_>) -> Line {
    let pressing = view.alarms.iter().find_map(|alarm| alarm.press());
    let due = pressing.and_then(|press| Some((press, view.shop.load(press)?)));
    let running = view.shop.loads().min_by_key(|(_, load)| load.seq);
    match due.or(running) {
        Some((press, load)) => {
            let look = press_look::look(view, press, load);
            let text = format!("{press} {} s {}", look.figures, look.word);
            Line::of(look.role, text)
        }
        None => match view.alarms.first() {
            Some(alarm) => alarm_line(*alarm),
            None => Line::of(Role::Plain, "all open"),
        },
    }
}
