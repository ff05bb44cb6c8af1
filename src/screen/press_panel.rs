//! One press with its big digits.
//!
//! ```text
//! ┌ 1 Left ──────────────── 340 F medium ┐
//! │  ██████ ██████   RUNNING             │   green dots: it runs
//! │      ██ ██       A3-04 dry           │   white dots on blue: open it
//! │  ██████ ██████   40 s to 75 s        │   white dots on red: over its longest time
//! │      ██     ██   * steam by 35 s     │   the press's number in white over or beside them
//! │  ██████ ██████   sheet 1: 7 of 10    │
//! └──────────────────────────────────────┘
//! ```
//!
//! The figures count down to the target, then up past it.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::art;
use super::digits;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::press_figures;
use super::theme::Role;
use super::words;
use crate::figures::coat::Verdict;
use crate::figures::sketch::Sketch;
use crate::shop::command::By;
use crate::shop::ids::{OrderNo, PressNo, Tag};
use crate::shop::offer::{Idle, OfferedAct};
use crate::shop::platens::ProbeDue;
use crate::shop::press::{Load, Progress};
use crate::shop::recipe::Pressing;
use crate::shop::shelf::ShelfState;
use crate::shop::step::{Cover, Step};
use crate::shop::telling::named;

/// How a press looks: its word, its figures, and what they mean.
pub struct Look {
    pub word: &'static str,
    pub role: Role,
    pub dot: Role,
    pub figures: String,
}

/// How a shut press looks at `view.now`.
pub fn look(view: &View<'_>, press: PressNo, load: &Load) -> Look {
    let elapsed = load.elapsed(view.now);
    let pressing = view.shop.pressing(load);
    let progress = pressing.map_or(Progress::Running, |p| load.progress(&p, view.now));
    let target = pressing.map_or(0, |p| p.target.0.as_secs());
    let gone = elapsed.span.as_secs();
    let figures = match progress {
        Progress::Due | Progress::Overdue => {
            format!("+{}", digits::seconds(gone.saturating_sub(target)))
        }
        // The figure of a second stands until that second is over: at 0 it is due.
        _ => digits::seconds(target.saturating_sub(gone)),
    };
    if !elapsed.sure {
        return Look { word: "CHECK", role: Role::Due, dot: Role::DueDot, figures: "?".into() };
    }
    if !load.timed {
        return Look {
            word: "NOT TIMED",
            role: Role::Abnormal,
            dot: Role::RunningDot,
            figures: "?".into(),
        };
    }
    let (word, role, dot) = match progress {
        Progress::Young | Progress::Running => ("RUNNING", Role::Running, Role::RunningDot),
        _ if view.shop.opens_itself(press) => ("OPEN: UNLOAD", Role::Due, Role::DueDot),
        Progress::Due => ("OPEN NOW", Role::Due, Role::DueDot),
        Progress::Overdue => ("TOO LONG", Role::Danger, Role::DangerDot),
    };
    Look { word, role, dot, figures }
}

/// Draws one press.
pub fn draw(view: &View<'_>, press: PressNo, area: Rect, buf: &mut Buffer) {
    let title = format!(" {press} {} ", view.shop.press_name(press));
    let inside = paint::frame(buf, view.theme, area, &title, Role::Strong);
    if let Some(set) = view.shop.setting(press) {
        let text = format!(" {} {} ", set.dial, set.pressure);
        let top = Rect { width: area.width.saturating_sub(2), height: area.height.min(1), ..area };
        paint::right(buf, view.theme, top, Role::Plain, &text);
    }
    match view.shop.load(press) {
        Some(load) => draw_shut(view, press, load, inside, buf),
        None => draw_open(view, press, inside, buf),
    }
}

fn draw_shut(view: &View<'_>, press: PressNo, load: &Load, inside: Rect, buf: &mut Buffer) {
    let look = look(view, press, load);
    let mut lines = vec![Line::of(look.role, format!(" {} ", look.word))];
    lines.extend(shut_lines(view, press, load));
    let count = u16::try_from(lines.len()).unwrap_or(0);
    let words = press_figures::draw(view, press, &look, (inside, count), buf);
    let words = paint::skip(words, 1, 0);
    let wide = usize::from(words.width);
    let mut folded: Vec<Line> = lines.iter().flat_map(|line| line.folded(wide)).collect();
    // Where nothing else needs the room, what can hurt at this moment.
    let caution = caution(&look, load).folded(wide);
    if folded.len() + caution.len() < usize::from(words.height) {
        folded.push(Line::default());
        folded.extend(caution);
    }
    paint::lines(buf, view.theme, words, &folded);
}

/// What can hurt at a press that runs, or that is to be opened.
fn caution(look: &Look, load: &Load) -> Line {
    match (look.role, load.step) {
        (Role::Running, Step::Dry) => Line::of(Role::Plain, "its steam carries fluid: extraction"),
        (Role::Running, _) => Line::default(),
        _ => Line::of(Role::Abnormal, "hot platen"),
    }
}

fn shut_lines(view: &View<'_>, press: PressNo, load: &Load) -> Vec<Line> {
    let again = if load.again { " again" } else { "" };
    let garment = named(load.garment, view.shop.place_of(load.garment));
    let mut lines = vec![Line::of(Role::Strong, format!("{garment} {}{again}", load.step))];
    if let Some(pressing) = view.shop.pressing(load) {
        lines.push(Line::of(Role::Plain, times(&pressing)));
        if load.step == Step::Dry {
            lines.push(steam(view, press, load, &pressing));
        }
    }
    lines.extend(sheet_lines(view, press));
    // Nobody has confirmed the recipe's figures from the data sheets: it says so until somebody has.
    if view.shop.recipe(&load.recipe).is_some_and(|recipe| recipe.confirmed.is_none()) {
        lines.push(Line::of(Role::Plain, "unconfirmed window"));
    }
    lines
}

fn times(pressing: &Pressing) -> String {
    format!("{} to {}", words::seconds(pressing.target), words::seconds(pressing.longest))
}

fn steam(view: &View<'_>, press: PressNo, load: &Load, pressing: &Pressing) -> Line {
    let by = pressing.steam_gone_by.map_or(0, |span| span.0.as_secs());
    let heavy = |at: f64| pressing.steam_gone_by.is_some_and(|span| at > span.as_seconds());
    let key = view.ui.keys.key(Deed::SteamStopped);
    match (load.steam, load.estimate) {
        (Some(at), Some(estimate)) => {
            let inside = estimate.verdict == Verdict::Inside && !heavy(at);
            let role = if inside { Role::Plain } else { Role::Abnormal };
            let verdict = if heavy(at) { "TOO HEAVY" } else { estimate.verdict.words() };
            Line::of(role, format!("{verdict} {:.0} g/m2", estimate.coat.0))
        }
        (Some(at), None) if heavy(at) => Line::of(Role::Abnormal, format!("steam {at:.0} s HEAVY")),
        (Some(at), None) => Line::of(Role::Plain, format!("steam gone {at:.0} s")),
        // Its coat was weighed: this second teaches what every other one means.
        (None, _) if view.acts() && view.shop.steam_is_wanted(load) => {
            Line::of(Role::Chosen, format!(" {key} ")).and(Role::Strong, " steam gone?")
        }
        (None, _) if view.acts() && view.shop.steaming() == Some(press) => {
            Line::of(Role::Plain, format!("{key} steam by {by} s"))
        }
        (None, _) => Line::of(Role::Plain, format!("steam by {by} s")),
    }
}

/// The counter of the PTFE sheet, or of the paper where that is what has been used, under what is to be done to it.
/// The counter is always the presses since its wipe or change, of those after which that is due.
fn sheet_lines(view: &View<'_>, press: PressNo) -> Vec<Line> {
    let Some(rule) = view.shop.station().map(|station| station.sheet) else { return Vec::new() };
    let sheet = [Cover::PtfeSheet, Cover::ReleasePaper]
        .into_iter()
        .find_map(|kind| view.shop.sheet_at(press, kind, Step::Dry));
    let Some(sheet) = sheet else { return Vec::new() };
    let (what, due) = match sheet.kind {
        Cover::PtfeSheet if sheet.presses >= rule.wipe_by => {
            ("sheet", Line::of(Role::Danger, " WIPE FIRST "))
        }
        Cover::PtfeSheet => ("sheet", Line::of(Role::Due, " WIPE ")),
        Cover::ReleasePaper => ("paper", Line::of(Role::Due, " NEW PAPER ")),
    };
    let count = format!("{what} {}: {} of {}", sheet.no, sheet.presses, rule.wipe_at);
    let mut lines = vec![Line::of(Role::Plain, count)];
    if sheet.presses >= rule.wipe_at {
        lines.insert(0, due);
    }
    lines
}

fn draw_open(view: &View<'_>, press: PressNo, inside: Rect, buf: &mut Buffer) {
    let wide = usize::from(inside.width.saturating_sub(3));
    let lines: Vec<Line> =
        open_lines(view, press).iter().flat_map(|line| line.folded(wide)).collect();
    let height = u16::try_from(lines.len()).unwrap_or(0);
    let room = Rect {
        height: inside.height.saturating_sub(height + 1),
        ..paint::skip(inside, 2, height + 1)
    };
    let sketch = sketch_of_offered(view, press).zip(art::fitting(room));
    let tall = sketch.map_or(0, |(_, (_, rows))| rows + 1);
    let top = inside.height.saturating_sub(height + tall) / 2;
    paint::lines(buf, view.theme, paint::skip(inside, 2, top), &lines);
    if let Some((sketch, _)) = sketch {
        art::draw(buf, view.theme, paint::skip(inside, 2, top + height + 1), sketch);
    }
}

/// The artwork of the garment that the press would be shut on: it tells orders apart at a glance.
fn sketch_of_offered<'a>(view: &View<'a>, press: PressNo) -> Option<&'a Sketch> {
    let act = view.offers.iter().find(|offer| offer.press == press)?.act;
    let OfferedAct::Shut { garment, .. } = act else { return None };
    let garment = view.shop.garment(garment)?;
    let line = view.shop.order(garment.order())?.form.lines.get(garment.line)?;
    line.seen.as_ref().map(|seen| &seen.sketch)
}

fn open_lines(view: &View<'_>, press: PressNo) -> Vec<Line> {
    let keys = &view.ui.keys;
    let key = keys.key(Deed::Press(press));
    let offered = view.offers.iter().find(|offer| offer.press == press);
    let mut lines = match offered.map(|offer| offer.act) {
        Some(OfferedAct::Shut { garment, next, by, suits }) => {
            let again = if next.again { " again" } else { "" };
            let round = view.shop.place_of(garment);
            let is_blank = view.shop.garment(garment).is_none_or(|garment| garment.begun.is_none());
            let mut head = Line::default();
            if view.acts() {
                head.add(Role::Chosen, format!(" {key} ")).add(Role::Strong, "  ");
            }
            head.add(Role::Strong, format!("{}  {}{again}", named(garment, round), next.step));
            let mut lines = vec![head];
            let mut why = match by {
                By::Suggestion => match next.step {
                    Step::Dry => "wet: dry it first".to_owned(),
                    Step::Cure => "printed: cure it next".into(),
                    _ if is_blank => "the next blank".into(),
                    _ => match round {
                        Some(round) => format!("its {round} comes next"),
                        None => "this step once more".into(),
                    },
                },
                By::Plan => format!("plan: all done {} sooner", sooner(view.ui.advice.gain_s)),
                By::Choice => "your choice".into(),
                By::Scan => "scanned".into(),
            };
            if let Some(step) = next.implies {
                let done = if step == Step::Print { "printed" } else { "sprayed and rolled" };
                why = format!("{why}; notes it as {done}");
            }
            lines.push(Line::of(Role::Plain, why));
            lines.extend(shelf_lines(view, garment));
            if !suits {
                lines.push(Line::of(Role::Abnormal, "this press is set otherwise"));
            }
            lines
        }
        Some(OfferedAct::None(idle)) => idle_lines(view, idle),
        _ => Vec::new(),
    };
    lines.extend(sheet_lines(view, press));
    lines.extend(probe_line(view, press));
    lines
}

/// Five words hold no seconds: what a plan gains is said in whole minutes.
fn sooner(gain_s: f64) -> String {
    match (gain_s / 60.0).round() {
        minutes if minutes < 1.0 => "a little".to_owned(),
        minutes => format!("{minutes:.0} min"),
    }
}

/// What the shelf says against a garment, before the press is shut on it.
fn shelf_lines(view: &View<'_>, tag: Tag) -> Option<Line> {
    let shelved = view.shop.garment(tag)?.shelved.as_deref()?;
    let text = match shelved.state(view.shop.today(view.now)) {
        ShelfState::Past => return Some(Line::of(Role::Danger, " PAST ITS DAY ")),
        _ if shelved.disturbed => "its stack was shifted: look".to_owned(),
        _ if shelved.unsure => "days unsure: the clock was wrong".to_owned(),
        ShelfState::UseFirst => format!("use first: last day {}", shelved.last_day),
        ShelfState::Good => return None,
    };
    Some(Line::of(Role::Abnormal, text))
}

/// Whether the platen wants its probe. One that never was is said without urgency.
fn probe_line(view: &View<'_>, press: PressNo) -> Option<Line> {
    let key = if view.acts() { view.ui.keys.key(Deed::Probe) + " " } else { String::new() };
    let (role, why) = match view.shop.probe_due(press, view.now)? {
        ProbeDue::Never => (Role::Plain, "not yet".to_owned()),
        ProbeDue::Old(span) => (Role::Abnormal, words::ago(span)),
        ProbeDue::OtherDial => (Role::Abnormal, "dial was turned".into()),
    };
    Some(Line::of(role, format!("{key}probe the platen: {why}")))
}

fn idle_lines(view: &View<'_>, idle: Idle) -> Vec<Line> {
    let mut lines = idle_lines_with_keys(view, idle);
    if !view.acts() {
        // The first says why, what follows says which keys.
        lines.truncate(1);
    }
    lines
}

fn idle_lines_with_keys(view: &View<'_>, idle: Idle) -> Vec<Line> {
    let keys = &view.ui.keys;
    let choose = format!("{} chooses one all the same", keys.key(Deed::NextCandidate));
    match idle {
        Idle::OutOfUse(reason) => vec![
            Line::of(Role::Abnormal, format!("OUT OF USE: {}", reason.words())),
            Line::of(Role::Plain, format!("{} brings it back", keys.key(Deed::OutOfUse))),
        ],
        Idle::SetOtherwise { garment, wanted } => vec![
            Line::of(
                Role::Abnormal,
                format!("{garment} wants {} {}", wanted.dial, wanted.pressure),
            ),
            Line::of(Role::Plain, format!("{} when set and settled", keys.key(Deed::SetDial))),
        ],
        Idle::SprayFirst => vec![
            Line::of(Role::Plain, "open: a garment is sprayed first"),
            Line::of(Role::Plain, format!("{} when one is", keys.key(Deed::Sprayed))),
            Line::of(Role::Plain, choose),
        ],
        Idle::PrintFirst => vec![
            Line::of(Role::Plain, "open: a garment is printed first"),
            Line::of(Role::Plain, format!("{} when one is", keys.key(Deed::Printed))),
            Line::of(Role::Plain, choose),
        ],
        Idle::OnShelf { order, count } => vec![
            Line::of(Role::Plain, format!("{count} on the shelf for {}", order_name(view, order))),
            Line::of(Role::Plain, format!("{} takes one", keys.key(Deed::NextCandidate))),
        ],
        Idle::NothingWaits => vec![Line::of(Role::Plain, "open: nothing waits")],
    }
}

/// An order by its name, as far as it is known.
fn order_name(view: &View<'_>, order: OrderNo) -> String {
    view.shop.order(order).map_or_else(|| order.to_string(), |order| order.form.name.clone())
}
