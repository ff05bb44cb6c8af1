//! What stands around every pane.
//!
//! ```text
//!  dwell  North bench     Bench  Pace  Shelf  Past                    14:32   saved
//!  (a banner, where something stands wrong)
//!  ... the pane ...
//!  ? Was A3-04 still steaming when press 2 was opened?   y yes  x no  u not seen
//!  shut press 1 on A3-05: dry
//!  Enter sprayed  0 printed  * steam  / wiped  - undo  . trouble  + order  ? help
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use super::ui::{Pane, Saved, Standing, Tone};
use super::words;
use crate::shop::coats::WeightWanted;
use crate::shop::questions::Question;
use crate::shop::words::counted;

/// Draws bar, banners, question, message and footer; returns what is left between them.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) -> Rect {
    bar(view, paint::row_of(area, 0), buf);
    let mut top = 1;
    for banner in banners(view) {
        let width = usize::from(area.width.saturating_sub(2));
        // A banner may say what is wrong, not take the screen.
        for part in words::wrapped(&banner, width).into_iter().take(2) {
            let row = paint::row_of(area, top);
            paint::fill(buf, view.theme, row, Role::Danger);
            paint::text(buf, view.theme, paint::skip(row, 1, 0), Role::Danger, &part);
            top += 1;
        }
    }
    let bottom = 3;
    question(view, paint::row_of(area, area.height.saturating_sub(3)), buf);
    message(view, paint::row_of(area, area.height.saturating_sub(2)), buf);
    footer(view, paint::row_of(area, area.height.saturating_sub(1)), buf);
    let inside = paint::skip(area, 0, top);
    Rect { height: inside.height.saturating_sub(bottom), ..inside }
}

fn bar(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    paint::fill(buf, view.theme, row, Role::Bar);
    let clock = words::clock(view.now.at, &view.ui.zone);
    let (role, saved) = saved(view);
    let standing = match view.ui.standing {
        Standing::Writes => String::new(),
        Standing::Watches => "VIEW ONLY  ".into(),
        Standing::Rehearses { paused: true, .. } => "REHEARSAL stopped  ".into(),
        Standing::Rehearses { speed, .. } => format!("REHEARSAL {speed}x  "),
    };
    let quiet = if view.ui.quieted { "quiet  " } else { "" };
    let text = format!("{standing}{quiet}{clock}  ");
    let wide = text.chars().count() + saved.chars().count() + 1;
    // The station's name is what can be done without where the bar is short.
    let name = view.shop.station().map_or("", |station| station.name.as_str());
    let fits = |line: &Line| line.width() + wide < usize::from(row.width);
    let heads = [format!(" dwell  {name}   "), " dwell   ".into(), " ".into()];
    let bars = heads.into_iter().map(|head| named_bar(view, head));
    let named = bars.reduce(|longer, shorter| if fits(&longer) { longer } else { shorter });
    paint::line(buf, view.theme, row, &named.unwrap_or_default());
    let left = row.width.saturating_sub(u16::try_from(wide).unwrap_or(0));
    let place = paint::skip(row, left, 0);
    let taken = paint::text(buf, view.theme, place, Role::Bar, &text);
    paint::text(buf, view.theme, paint::skip(place, taken, 0), role, &saved);
}

/// The left part of the bar: the head and the panes.
fn named_bar(view: &View<'_>, head: String) -> Line {
    let mut line = Line::of(Role::Bar, head);
    for pane in Pane::ALL {
        // Marked by brackets too: without colour the bar and what is chosen in it look alike.
        if pane == view.ui.pane {
            line.add(Role::Chosen, format!("[{}]", pane.name()));
        } else {
            line.add(Role::Bar, format!(" {} ", pane.name()));
        }
    }
    line
}

fn saved(view: &View<'_>) -> (Role, String) {
    match &view.ui.saved {
        _ if view.ui.standing == Standing::Watches => {
            (Role::Bar, format!("at {}", view.shop.seq()))
        }
        Saved::All => (Role::Bar, "saved".into()),
        Saved::Writing(events) => (Role::Bar, format!("saving {events}")),
        Saved::Not { events, .. } => (Role::Danger, format!("NOT SAVED {events}")),
    }
}

fn banners(view: &View<'_>) -> Vec<String> {
    let mut banners = Vec::new();
    if let Saved::Not { events, reason } = &view.ui.saved {
        banners
            .push(format!("NOT SAVED: {}; {reason}. The timers go on.", counted(*events, "event")));
    }
    banners.extend(view.ui.banners.iter().take(2).cloned());
    banners
}

fn question(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    if view.ui.form.as_ref().is_some_and(super::forms::Form::owns_digits) {
        let text = " PRESS KEYS OFF until this is closed ";
        paint::text(buf, view.theme, row, Role::Abnormal, text);
        return;
    }
    if let Some(line) = question_line(view) {
        paint::line(buf, view.theme, row, &line);
    }
}

/// The question that waits, with its answers; None where none does, or nobody can answer it here.
pub fn question_line(view: &View<'_>) -> Option<Line> {
    if !view.acts() {
        return None;
    }
    let questions = view.shop.questions();
    let first = questions.first()?;
    let keys = &view.ui.keys;
    let key = |deed, word: &str| format!("  {} {word}", keys.key(deed));
    let (text, answers) = match *first {
        Question::Caution => (
            "No safety device: keep each press's own timer and buzzer on.".to_owned(),
            key(Deed::Yes, "understood"),
        ),
        Question::Steam { press, garment } => (
            format!("{garment}: still steaming when press {press} was opened?"),
            key(Deed::Yes, "yes") + &key(Deed::No, "no") + &key(Deed::NotSeen, "not seen"),
        ),
        Question::Weight(WeightWanted { garment, coated }) => {
            let what = if coated { "with its coat on" } else { "dry, before its spray" };
            let answers = key(Deed::Weigh, "weigh") + &key(Deed::No, "not this one");
            (format!("{garment} on the scale, {what}"), answers)
        }
        Question::Who => ("Who is at the bench?".to_owned(), key(Deed::People, "initials")),
        Question::Fan => (
            "Does the fan at the spray booth run?".to_owned(),
            key(Deed::Yes, "yes") + &key(Deed::No, "no") + &key(Deed::NotSeen, "not seen"),
        ),
        Question::Underbase { order, line } => (
            format!(
                "Order {order} line {}: is some of the artwork lighter than the garment?",
                line + 1
            ),
            key(Deed::Yes, "yes") + &key(Deed::No, "no"),
        ),
        Question::Blank { order, line } => {
            let mark = view.shop.order(order).and_then(|order| order.form.lines.get(line));
            let mark = mark.map(|line| line.mark.as_str()).filter(|mark| !mark.is_empty());
            let mark = mark.unwrap_or("blank");
            (
                format!("Order {order} is one {mark} short: is another taken in?"),
                key(Deed::Yes, "yes") + &key(Deed::No, "none to be had"),
            )
        }
    };
    let more = match questions.len() {
        1 => String::new(),
        n => format!("   (+{} more)", n - 1),
    };
    let line = Line::of(Role::Strong, format!(" ? {text}"));
    Some(line.and(Role::Plain, answers).and(Role::Plain, more))
}

fn message(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    if let Some(tag) = view.ui.chosen() {
        let text = format!(" chosen {tag}: Esc lets go ");
        paint::right(buf, view.theme, row, Role::Chosen, &text);
    }
    let Some(message) = &view.ui.message else { return };
    let (role, mark) = match message.tone {
        Tone::Done => (Role::Strong, " "),
        Tone::Refused => (Role::Abnormal, " ! "),
        Tone::Stop => (Role::Danger, " ! "),
        Tone::Note => (Role::Plain, " "),
    };
    if message.tone == Tone::Stop {
        paint::fill(buf, view.theme, row, role);
    }
    paint::text(buf, view.theme, row, role, &format!("{mark}{}", message.text));
}

/// The deeds whose keys the footer names, as far as there is room, the most wanted first.
const FOOTER: [Deed; 21] = [
    Deed::Sprayed,
    Deed::Printed,
    Deed::Undo,
    Deed::Trouble,
    Deed::TakeOrder,
    Deed::Help,
    Deed::SteamStopped,
    Deed::CleanSheet,
    Deed::NextCandidate,
    Deed::Store,
    Deed::Quiet,
    Deed::SwapSheet,
    Deed::Weigh,
    Deed::Pacing,
    Deed::Reasons,
    Deed::LookUp,
    Deed::Fill,
    Deed::Stack,
    Deed::People,
    Deed::NextScreen,
    Deed::Leave,
];

fn footer(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    let keys = &view.ui.keys;
    let mut line = Line::default();
    match view.ui.standing {
        Standing::Writes => {
            line.add(Role::Strong, " 1-9").add(Role::Plain, " press");
        }
        Standing::Watches => {}
        Standing::Rehearses { .. } => {
            line.add(Role::Strong, " f").add(Role::Plain, " faster");
            line.add(Role::Strong, "  e").add(Role::Plain, " slower");
            line.add(Role::Strong, "  space").add(Role::Plain, " stop");
        }
    }
    let all = keys.entries().map(|(entry, _)| entry);
    let words: Vec<(Deed, &str)> = all.map(|entry| (entry.deed, entry.word)).collect();
    let shown: &[Deed] = match view.ui.standing {
        Standing::Writes => &FOOTER,
        _ => &[Deed::NextScreen, Deed::Help, Deed::Leave],
    };
    for deed in shown {
        let Some((_, word)) = words.iter().find(|(d, _)| d == deed) else { continue };
        let key = keys.key(*deed);
        if line.width() + key.len() + word.len() + 3 > usize::from(row.width) {
            continue;
        }
        line.add(Role::Strong, format!("  {key}")).add(Role::Plain, format!(" {word}"));
    }
    paint::line(buf, view.theme, row, &line);
}
