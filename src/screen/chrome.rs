//! What stands around every pane.
//!
//! ```text
//!  dwell  North bench     Bench  Pace  Shelf  Past                    14:32   saved
//!  (a banner, where something stands wrong)
//!  ... the pane ...
//!  shut press 1 on A3-05: dry
//!  ? A3-04: still steaming when press 2 was opened?   y yes  x no  u not seen
//!  Enter sprayed  0 printed  - undo  . trouble  + list  * steam  / wiped
//! ```
//!
//! Where no question waits, more keys stand on its row. A message or question that is longer than its row takes
//! the last rows of the pane as well: a reason without its end is none.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Clear, Widget};

use super::View;
use super::cells;
use super::forms::Form;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use super::ui::{HubStanding, Pane, Saved, Standing, Tone};
use super::words;
use crate::shop::books::coats::WeightWanted;
use crate::shop::facts::ids::{PressNo, StationId, Tag};
use crate::shop::facts::words::{behind, counted};
use crate::shop::rules::questions::Question;

/// Rows of the message, the question and the footer.
const FOOT: u16 = 3;

/// Draws bar and banners; returns what is left between them and the foot.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) -> Rect {
    let inside = bars(view, area, buf);
    Rect { height: inside.height.saturating_sub(FOOT), ..inside }
}

/// Draws bar and banners; returns what is left below them.
pub fn bars(view: &View<'_>, area: Rect, buf: &mut Buffer) -> Rect {
    bar(view, paint::row_of(area, 0), buf);
    let mut top = 1;
    for banner in banners(view) {
        let width = usize::from(area.width.saturating_sub(2));
        // A banner may say what is wrong, not take the screen.
        for part in cells::wrapped(&banner, width).into_iter().take(2) {
            let row = paint::row_of(area, top);
            paint::fill(buf, view.theme, row, Role::Danger);
            paint::text(buf, view.theme, paint::skip(row, 1, 0), Role::Danger, &part);
            top += 1;
        }
    }
    paint::skip(area, 0, top)
}

/// Draws message, question and footer, over the pane.
pub fn foot(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let wide = usize::from(area.width);
    let mut rows = message_rows(view, wide);
    let last_of_message = rows.len().saturating_sub(1);
    let keys = footer(view, wide);
    let mut keys = keys.into_iter();
    let first = keys.next().unwrap_or_default();
    rows.extend(question_rows(view, wide).or_else(|| Some(vec![keys.next()?])).unwrap_or_default());
    rows.push(first);
    let count = |rows: usize| u16::try_from(rows).unwrap_or(0);
    // The bar stays.
    let top = area.height.saturating_sub(count(rows.len())).max(1);
    for (line, row) in rows.iter().zip(top..area.height) {
        let row = paint::row_of(area, row);
        Clear.render(row.intersection(buf.area), buf);
        if line.role() == Some(Role::Danger) {
            paint::fill(buf, view.theme, row, Role::Danger);
        }
        paint::line(buf, view.theme, row, line);
    }
    if let Some(tag) = view.ui.chosen() {
        let row = paint::row_of(area, top + count(last_of_message));
        paint::right(buf, view.theme, row, Role::Chosen, &chosen_text(tag));
    }
}

fn bar(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    paint::fill(buf, view.theme, row, Role::Bar);
    let clock = words::clock(view.now.at, &view.ui.zone);
    let (role, saved) = saved(view);
    let hub = hub(view);
    let standing = match view.ui.standing {
        Standing::Writes if view.ui.practice.is_some() => "PRACTICE  ".into(),
        Standing::Writes => String::new(),
        Standing::Watches => "VIEW ONLY  ".into(),
        Standing::Rehearses { paused: true, .. } => "REHEARSAL stopped  ".into(),
        Standing::Rehearses { speed, .. } => format!("REHEARSAL {speed}x  "),
    };
    let quiet = if view.ui.quieted { "quiet  " } else { "" };
    let numlock = if view.ui.numlock_off { "NUMLOCK OFF  " } else { "" };
    let text = format!("{standing}{numlock}{quiet}{clock}  ");
    let wide = cells::width(&text) + cells::width(&saved) + cells::width(&hub) + 1;
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
    let place = paint::skip(place, taken, 0);
    let taken = paint::text(buf, view.theme, place, role, &saved);
    paint::text(buf, view.theme, paint::skip(place, taken, 0), Role::Bar, &hub);
}

/// The left part of the bar: the head and the panes.
fn named_bar(view: &View<'_>, head: String) -> Line {
    let mut line = Line::of(Role::Bar, head);
    line.add(Role::Bar, view.ui.keys.shortcut(Deed::NextScreen) + " ");
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
        Saved::Not { events: 0, .. } => (Role::Danger, "NOT SAVED".into()),
        Saved::Not { events, .. } => (Role::Danger, format!("NOT SAVED {events}")),
    }
}

/// The hub beside what is saved; nothing where the shop has none, or nothing is known of it yet.
fn hub(view: &View<'_>) -> String {
    match view.ui.hub {
        None => String::new(),
        Some(HubStanding::Sent) => "  hub".into(),
        Some(HubStanding::Behind(events)) => format!("  hub {events} behind"),
        Some(HubStanding::Cut { since }) => {
            format!("  no hub since {}", words::clock(since, &view.ui.zone))
        }
        Some(HubStanding::Refused) => "  hub refused".into(),
    }
}

fn banners(view: &View<'_>) -> Vec<String> {
    let mut banners = Vec::new();
    if let Saved::Not { events, reason } = &view.ui.saved {
        // Nothing waits, and a start would not find what was saved before.
        let count = match events {
            0 => String::new(),
            events => format!("{}; ", counted(*events, "event")),
        };
        banners.push(format!("NOT SAVED: {count}{reason}. The timers go on."));
    }
    banners.extend(view.ui.banners.iter().take(2).cloned());
    banners
}

fn question_rows(view: &View<'_>, wide: usize) -> Option<Vec<Line>> {
    question_line(view).map(|line| line.folded(wide))
}

/// The question that waits, with its answers; None where none does, or nobody can answer it here.
pub fn question_line(view: &View<'_>) -> Option<Line> {
    if !view.acts() {
        return None;
    }
    let questions = view.questions();
    let first = questions.first()?;
    let keys = &view.ui.keys;
    // Where the list stands that the answers are on, its key has been struck already.
    let opened = view.ui.form.as_ref().is_some_and(Form::lists_answers);
    let key = |deed, word: &str| {
        let key = keys.key(deed);
        let here = key.rsplit(' ').next().filter(|_| opened && deed != Deed::People);
        format!("  {} {word}", here.unwrap_or(&key))
    };
    let (text, answers) = match *first {
        Question::Caution => (
            "No safety device: keep each press's own timer and buzzer on.".to_owned(),
            key(Deed::Yes, "read"),
        ),
        Question::Where { garment, at, or } => somewhere(view, garment, (at, or), key),
        Question::Steam { press, garment } => (
            format!("{garment}: still steaming when press {press} was opened?"),
            key(Deed::Yes, "yes") + &key(Deed::No, "no") + &key(Deed::NotSeen, "not seen"),
        ),
        Question::Weight(WeightWanted { garment, mends: true, .. }) => {
            let answers = key(Deed::Weigh, "weigh") + &key(Deed::No, "dry it as it is");
            (format!("{garment} {}", mend(view, garment)), answers)
        }
        Question::Weight(WeightWanted { garment, coated, .. }) => {
            let what = if coated { "with its coat on" } else { "dry, before its spray" };
            let answers = key(Deed::Weigh, "weigh") + &key(Deed::No, "not this one");
            (format!("{garment} on the scale, {what}"), answers)
        }
        Question::Who => ("Who is at the bench?".to_owned(), key(Deed::People, "initials")),
        Question::Fan => (
            match view.shop.desk().fan_off {
                true => "The fan was off. Does it run now?".to_owned(),
                false => "Does the fan at the spray booth run?".to_owned(),
            },
            key(Deed::Yes, "yes") + &key(Deed::No, "no") + &key(Deed::NotSeen, "not seen"),
        ),
        Question::Sample(garment) => (
            format!("{garment} is the first of its order: is it approved?"),
            key(Deed::Yes, "yes") + &key(Deed::No, "no"),
        ),
        Question::Dates => {
            let date = view.ui.doubtful_date.as_deref().unwrap_or_default();
            let answers = key(Deed::Yes, "yes") + &key(Deed::No, "no, the month");
            (format!("{date}: does the day stand first?"), answers)
        }
        Question::Underbase { order, line } => {
            let name = view.shop.order(order).map_or("", |order| order.form.name.as_str());
            let text = format!("{name}, line {}: is artwork lighter than the garment?", line + 1);
            (text, key(Deed::Yes, "yes") + &key(Deed::No, "no"))
        }
        Question::Blank { order, line } => {
            let known = view.shop.order(order);
            let short = known.and_then(|order| order.lines.get(line)).map(|line| line.unanswered());
            let mark = known.and_then(|order| order.form.lines.get(line));
            let mark = mark.map(|line| line.mark.as_str()).filter(|mark| !mark.is_empty());
            let mark = behind(mark);
            let name = known.map_or("", |order| order.form.name.as_str());
            let count = short.unwrap_or(1);
            let (blanks, it) = if count == 1 { ("blank", "it") } else { ("blanks", "one") };
            (
                format!("{count}{mark} {blanks} short for {name}. Replace {it}?"),
                key(Deed::Yes, "yes") + &key(Deed::No, "no blank left"),
            )
        }
    };
    let more = match questions.len() {
        1 => String::new(),
        n => format!("  (+{})", n - 1),
    };
    let line = Line::of(Role::Strong, format!(" ? {text}"));
    Some(line.and(Role::Plain, answers).and(Role::Plain, more))
}

/// At which of several stations a garment is.
fn somewhere(
    view: &View<'_>,
    garment: Tag,
    (at, or): (StationId, Option<StationId>),
    key: impl Fn(Deed, &str) -> String,
) -> (String, String) {
    let named = |station: StationId| match station {
        own if own == view.shop.id() => "this bench".to_owned(),
        other => view.ui.elsewhere.bench(view.shop, other).to_string(),
    };
    let others = or.map_or_else(|| "others".to_owned(), named);
    let at = named(at);
    let text = format!("{garment} is at {at} and at {others}: look which. At {at}?");
    let no = or.map_or_else(String::new, |_| key(Deed::No, &format!("no, at {others}")));
    (text, key(Deed::Yes, "yes") + &no)
}

/// What to do about a coat that was weighed outside.
pub fn mend(view: &View<'_>, tag: Tag) -> String {
    let garment = view.shop.garment(tag);
    garment.and_then(|garment| view.shop.mend(garment)).unwrap_or_default()
}

fn chosen_text(tag: Tag) -> String {
    format!(" picked {tag}: + / lets go ")
}

/// Draws as much of the message as a row holds.
pub fn message(view: &View<'_>, row: Rect, buf: &mut Buffer) {
    for line in message_rows(view, usize::from(row.width)).iter().take(1) {
        paint::line(buf, view.theme, row, line);
    }
}

/// The message, in full, and in one row at least.
fn message_rows(view: &View<'_>, wide: usize) -> Vec<Line> {
    let Some(message) = &view.ui.message else { return vec![Line::default()] };
    let (role, mark) = match message.tone {
        Tone::Done => (Role::Strong, " "),
        Tone::Refused => (Role::Abnormal, " ! "),
        Tone::Stop => (Role::Danger, " ! "),
        Tone::Note => (Role::Plain, " "),
    };
    let beside = view.ui.chosen().map_or(0, |tag| cells::width(&chosen_text(tag)));
    let room = wide.saturating_sub(beside + mark.len());
    let parts = cells::wrapped(&message.text, room);
    parts.iter().map(|part| Line::of(role, format!("{mark}{part}"))).collect()
}

/// The deeds whose keys the footer names, as far as there is room, the most wanted first. The panes' key stands
/// before their names in the bar.
const FOOTER: [Deed; 22] = [
    Deed::Sprayed,
    Deed::Printed,
    Deed::Undo,
    Deed::Trouble,
    Deed::Acts,
    Deed::SteamStopped,
    Deed::CleanSheet,
    Deed::Press(PressNo(1)),
    Deed::Help,
    Deed::Leave,
    Deed::Store,
    Deed::SwapSheet,
    Deed::NextCandidate,
    Deed::Count,
    Deed::Quiet,
    Deed::Weigh,
    Deed::Pacing,
    Deed::Reasons,
    Deed::LookUp,
    Deed::Fill,
    Deed::Stack,
    Deed::People,
];

/// The rows of keys: the footer, and what stands on the question's row where none waits.
fn footer(view: &View<'_>, wide: usize) -> Vec<Line> {
    let keys = &view.ui.keys;
    let mut lines = vec![Line::default(), Line::default()];
    if let Standing::Rehearses { .. } = view.ui.standing {
        for (key, word) in [("f", "faster"), ("e", "slower"), ("space", "stop")] {
            lines[0].add(Role::Strong, format!("  {key}")).add(Role::Plain, format!(" {word}"));
        }
    }
    let shown: &[Deed] = match view.ui.standing {
        Standing::Writes => &FOOTER,
        _ => &[Deed::NextScreen, Deed::Help, Deed::LookUp, Deed::Leave],
    };
    for deed in shown {
        let Some((entry, _)) = keys.entries().find(|(entry, _)| entry.deed == *deed) else {
            continue;
        };
        let key = match deed {
            Deed::Press(_) => "1-9".to_owned(),
            deed => keys.shortcut(*deed),
        };
        let needs = key.len() + entry.word.len() + 3;
        // Each on the first row that has room, so that the most wanted stay where a question takes the second.
        if let Some(line) = lines.iter_mut().find(|line| line.width() + needs <= wide) {
            let gap = if line.width() == 0 { " " } else { "  " };
            line.add(Role::Strong, format!("{gap}{key}"));
            line.add(Role::Plain, format!(" {}", entry.word));
        }
    }
    lines
}
