//! What the lead sees of all stations: a strip for each, then what wants a hand, the orders against their due times, and
//! the garments that lie between benches. A station that is chosen fills the screen with its own pace.
//!
//! ```text
//!  dwell  2 stations                                        14:32   hub
//! ─[A North bench]── AK ──── 13.2 an hour ── ready 15:40 to 16:05 ───────
//!  1    12 s  RUNNING    A3-04   dry        Left
//!  2  open, next A3-05 pre-press  Right
//! ─ B South bench ── nobody signed in ── - an hour ── nothing to make ───
//!  1  +20 s  OPEN NOW   B1-02   cure       Only
//!  wants a hand  B  OPEN 1: B1-02 cure
//!  order  name            done  left  short  due    at            ready
//!  arrows or 1 to 9 choose   Enter its pace   q leave
//! ```

pub mod seen;
pub mod shared;

use std::sync::Arc;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::faces::Face;
use super::keymap::Keymap;
use super::paint::{self, Line};
use super::table::Table;
use super::theme::{Role, Theme};
use super::ui::{Standing, Ui};
use super::{View, cells, next_alarm, pace, small, words};
use crate::shop::books::outlook::{Outlook, Ready};
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::words::{clean, counted};
use crate::shop::rules::alarms::Level;
use crate::shop::rules::offer::Choice;
use seen::{AllSeen, OrderSeen, StationSeen, alarms, called, orders};

/// Rows of a strip beyond which its figures do not grow.
const MOST: u16 = 8;
/// Columns between figures and presses.
const GAP: u16 = 3;

/// How the hub stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HubState {
    /// Nothing was read yet.
    Reading,
    Read,
    /// It does not answer since then, by this machine's clock.
    AwaySince(Wall),
}

/// What the lead has chosen, and what is said beside the stations.
#[derive(Debug)]
pub struct LeadUi {
    /// The station that is marked.
    pub chosen: usize,
    /// Whether the marked one fills the screen.
    pub opened: bool,
    pub hub: HubState,
    /// Why the hub cannot be read, where a hand is needed.
    pub banner: Option<String>,
    /// This machine's moment and zone.
    pub now: Wall,
    pub zone: jiff::tz::TimeZone,
}

/// Draws the whole screen.
pub fn draw(all: &AllSeen, ui: &LeadUi, theme: Theme, buf: &mut Buffer) {
    let area = buf.area;
    bar(all, ui, theme, area, buf);
    let mut top = 1;
    for part in ui.banner.iter().flat_map(|text| cells::wrapped(text, usize::from(area.width))) {
        let row = paint::row_of(area, top);
        paint::fill(buf, theme, row, Role::Danger);
        paint::text(buf, theme, row, Role::Danger, &part);
        top += 1;
    }
    let inside = paint::skip(area, 0, top);
    let inside = Rect { height: inside.height.saturating_sub(1), ..inside };
    let chosen = all.stations.get(ui.chosen);
    match chosen.filter(|_| ui.opened) {
        Some(station) => opened(station, theme, inside, buf),
        None => together(all, ui, theme, inside, buf),
    }
    let keys = match (all.stations.len(), ui.opened) {
        (0, _) => " q leave",
        (_, true) => " Esc all stations   arrows or 1 to 9 another   q leave",
        (_, false) => " arrows or 1 to 9 choose   Enter its pace   q leave",
    };
    let last = paint::skip(area, 0, area.height.saturating_sub(1).max(1));
    paint::text(buf, theme, last, Role::Plain, keys);
}

fn bar(all: &AllSeen, ui: &LeadUi, theme: Theme, area: Rect, buf: &mut Buffer) {
    let row = paint::row_of(area, 0);
    paint::fill(buf, theme, row, Role::Bar);
    let stations = counted(all.stations.len(), "station");
    paint::text(buf, theme, row, Role::Bar, &format!(" dwell  {stations}"));
    let clock = |at| words::clock(at, &ui.zone);
    let (role, state) = match ui.hub {
        HubState::Reading => (Role::Bar, "reading the hub ".to_owned()),
        HubState::Read => (Role::Bar, "hub ".to_owned()),
        HubState::AwaySince(at) => (Role::Danger, format!(" no hub since {} ", clock(at))),
    };
    paint::right(buf, theme, row, role, &state);
    let left = u16::try_from(cells::width(&state)).unwrap_or(0);
    let before = Rect { width: row.width.saturating_sub(left), ..row };
    paint::right(buf, theme, before, Role::Bar, &format!("{}   ", clock(ui.now)));
}

/// Has something drawn as a view of the station's own board would.
fn viewed<T>(station: &StationSeen, theme: Theme, draw: impl FnOnce(&View<'_>) -> T) -> T {
    let keys = Arc::<Keymap>::default();
    let mut ui = Ui::new(keys, station.zone.clone(), Standing::Watches);
    ui.outlook = station.outlook.clone();
    let offers = station.shop.offers(&Choice::default(), station.now);
    let alarms = station.shop.alarms(station.now);
    draw(&View::new(&station.shop, &ui, (&offers, &alarms), station.now, theme))
}

/// A station that fills the screen: its title, then its pace.
fn opened(station: &StationSeen, theme: Theme, area: Rect, buf: &mut Buffer) {
    title(station, true, theme, paint::row_of(area, 0), buf);
    let remarks = remarks(station, area.width);
    paint::lines(buf, theme, paint::skip(area, 1, 1), &remarks);
    let taken = u16::try_from(remarks.len()).unwrap_or(u16::MAX).saturating_add(1);
    let rest = paint::skip(area, 0, taken);
    viewed(station, theme, |view| pace::draw(view, rest, buf));
}

/// All stations, and what is to be said over all of them.
fn together(all: &AllSeen, ui: &LeadUi, theme: Theme, area: Rect, buf: &mut Buffer) {
    let width = usize::from(area.width);
    let lists = lists(all, theme, width);
    let wanted: usize = lists.iter().map(|list| list.len() + 1).sum();
    let strips: Vec<Strip> =
        all.stations.iter().map(|one| Strip::of(one, theme, area.width)).collect();
    let rows = share_rows(&strips, theme, area, wanted);
    // All alike, so that none shouts.
    let least = rows.iter().min().map_or(0, |rows| rows.saturating_sub(1));
    let face = Face::largest(theme.halves, |face| {
        strips.iter().all(|strip| face.fits(&strip.figures(), (area.width / 2, least)))
    });
    let mut top = 0;
    for (n, (strip, rows)) in strips.iter().zip(rows).enumerate() {
        let place = paint::skip(area, 0, top);
        let place = Rect { height: place.height.min(rows), ..place };
        strip.draw((n == ui.chosen, face), theme, place, buf);
        top += rows;
    }
    let rest = paint::skip(area, 1, top);
    let lists: Vec<pace::List> = lists.into_iter().map(pace::List::from).collect();
    paint::lines(buf, theme, rest, &pace::shared_out(&lists, usize::from(rest.height)));
}

/// A station's strip, before it is known how many rows it gets.
struct Strip<'a> {
    station: &'a StationSeen,
    remarks: Vec<Line>,
    presses: Vec<Line>,
    /// How many are finished, and the clock when the rest will be ready; empty: nothing is foreseen.
    finished: String,
    ready: String,
}

impl<'a> Strip<'a> {
    fn of(station: &'a StationSeen, theme: Theme, width: u16) -> Self {
        let presses = viewed(station, theme, |view| press_lines(view, station));
        let StationSeen { shop, now, zone, .. } = station;
        let finished = shop.tally(*now, shop.counted_since(*now)).finished.to_string();
        let outlook = station.outlook.as_ref().ok().and_then(Option::as_ref);
        let ready = outlook.map_or_else(String::new, |outlook| words::clock(outlook.likely, zone));
        Self { station, remarks: remarks(station, width), presses, finished, ready }
    }

    /// Its figures in one row, a figure's width apart.
    fn figures(&self) -> String {
        [self.finished.as_str(), "0", self.ready.as_str()].concat()
    }

    /// Its title and what is always shown.
    fn least(&self) -> u16 {
        let lines = 1 + self.remarks.len() + self.presses.len();
        u16::try_from(lines).unwrap_or(u16::MAX)
    }

    fn draw(
        &self,
        (chosen, face): (bool, Option<Face>),
        theme: Theme,
        area: Rect,
        buf: &mut Buffer,
    ) {
        title(self.station, chosen, theme, paint::row_of(area, 0), buf);
        let inside = paint::skip(area, 1, 1);
        let taken = face.map_or(0, |face| self.draw_figures(face, theme, inside, buf));
        let lines: Vec<Line> = self.remarks.iter().chain(&self.presses).cloned().collect();
        paint::lines(buf, theme, paint::skip(inside, taken, 0), &lines);
    }

    /// How many are finished and when the rest will be ready, as they are read from afar; the columns that they take.
    fn draw_figures(&self, face: Face, theme: Theme, area: Rect, buf: &mut Buffer) -> u16 {
        face.draw(buf, area, &self.finished, theme.ink(Role::RunningDot));
        let left = face.width(&self.finished) + face.width("0");
        let outlook = self.station.outlook.as_ref().ok().and_then(Option::as_ref);
        let role = pace::ready_dot(outlook.and_then(Outlook::tightest));
        face.draw(buf, paint::skip(area, left, 0), &self.ready, theme.ink(role));
        face.width(&self.figures()) + GAP
    }
}

/// A line for each press that is shut or cannot be used, and one for all that stand open.
fn press_lines(view: &View<'_>, station: &StationSeen) -> Vec<Line> {
    let shop = &station.shop;
    let is_open =
        |press: &PressNo| shop.load(*press).is_none() && shop.out_of_use(*press).is_none();
    let (open, others): (Vec<PressNo>, Vec<PressNo>) =
        shop.press_numbers().into_iter().partition(is_open);
    let mut lines: Vec<Line> =
        others.into_iter().map(|press| small::press_line(view, press)).collect();
    let open: Vec<String> =
        open.into_iter().map(|press| format!("{press} {}", shop.press_name(press))).collect();
    if !open.is_empty() {
        lines.push(Line::of(Role::Plain, format!("open: {}", open.join(", "))));
    }
    lines
}

/// How many rows each strip gets: what it needs, and what the lists leave, up to those of large figures.
fn share_rows(strips: &[Strip<'_>], theme: Theme, area: Rect, lists: usize) -> Vec<u16> {
    let mut rows: Vec<u16> = strips.iter().map(Strip::least).collect();
    let lists = u16::try_from(lists).unwrap_or(u16::MAX);
    // The lists keep some rows whatever the strips want.
    let least = lists.min(area.height / 3);
    let room = area.height.saturating_sub(least);
    while rows.iter().sum::<u16>() > room && rows.iter().any(|rows| *rows > 2) {
        if let Some(most) = rows.iter_mut().max() {
            *most -= 1;
        }
    }
    // Figures that are read from afar go before the last of the orders, if all strips can have them.
    let afar = Face::least(theme.halves, area.height).height() + 1;
    let with: u16 = rows.iter().map(|rows| (*rows).max(afar)).sum();
    if with + lists.min(area.height / 5 * 2) <= area.height {
        for rows in &mut rows {
            *rows = (*rows).max(afar);
        }
    }
    let count = u16::try_from(rows.len()).unwrap_or(u16::MAX);
    while rows.iter().any(|rows| *rows < MOST)
        && rows.iter().sum::<u16>() + count + lists <= area.height
    {
        for rows in rows.iter_mut().filter(|rows| **rows < MOST) {
            *rows += 1;
        }
    }
    rows
}

/// The title's row: who it is and who is there, how fast, and when it will be ready.
fn title(station: &StationSeen, chosen: bool, theme: Theme, row: Rect, buf: &mut Buffer) {
    paint::text(buf, theme, row, Role::Frame, &"─".repeat(usize::from(row.width)));
    let name = format!("{} {}", station.letters(), clean(&station.name, 24));
    let mut line = match chosen {
        true => Line::of(Role::Chosen, format!("[{}]", name.trim_end())),
        false => Line::of(Role::Strong, format!(" {} ", name.trim_end())),
    };
    for (role, text) in said_of(station) {
        line.add(Role::Frame, "─").add(role, format!(" {text} "));
    }
    paint::line(buf, theme, paint::skip(row, 1, 0), &line.cut(usize::from(row.width)));
}

fn said_of(station: &StationSeen) -> Vec<(Role, String)> {
    let StationSeen { shop, now, zone, .. } = station;
    let mut said = Vec::new();
    let moment = |at| words::moment(at, now.at, zone);
    match &station.outlook {
        Ok(Some(outlook)) => {
            let (likely, latest) = (moment(outlook.likely), moment(outlook.latest));
            said.push((Role::Strong, format!("ready {likely} to {latest}")));
            let late = outlook.orders.iter().filter(|order| order.late().is_some()).count();
            if late > 0 {
                said.push((Role::Danger, format!("{} late", counted(late, "order"))));
            }
        }
        Ok(None) => {}
        Err(why) => said.push((Role::Abnormal, format!("ready unknown: {why}"))),
    }
    if let Some(silent) = station.silent() {
        let since = words::moment(station.hub_now.minus(silent), station.hub_now, zone);
        said.push((Role::Abnormal, format!("not heard of since {since}")));
    }
    let since = shop.counted_since(*now);
    if let Some(pace) = shop.pace(*now, shop.day_began(since)) {
        said.push((Role::Plain, words::an_hour(pace)));
    }
    said.push((Role::Plain, format!("{} finished", shop.tally(*now, since).finished)));
    let people = &shop.desk().people;
    if !people.is_empty() {
        said.push((Role::Plain, people.join(", ")));
    }
    said
}

fn remarks(station: &StationSeen, width: u16) -> Vec<Line> {
    let room = usize::from(width.saturating_sub(2));
    let lines = |text: String| cells::wrapped(&text, room);
    let all = station.remarks().into_iter().flat_map(lines);
    all.map(|text| Line::of(Role::Abnormal, text)).collect()
}

/// What is said over all stations, each list with its head.
fn lists(all: &AllSeen, theme: Theme, width: usize) -> Vec<Vec<Line>> {
    let shared = headed("shared", shared::lines(all));
    let (conflicts, alarms) = (conflict_lines(all), alarm_lines(all, theme));
    vec![conflicts, alarms, shared, between_lines(all), order_lines(all, width)]
}

/// Lines under a head that stands before the first of them.
fn headed(head: &str, lines: Vec<Line>) -> Vec<Line> {
    let mut lines = lines.into_iter().enumerate();
    let with = |(n, line): (usize, Line)| {
        let mut whole = Line::of(Role::Strong, format!("{:<14}", if n == 0 { head } else { "" }));
        whole.append(line);
        whole
    };
    lines.by_ref().map(with).collect()
}

fn conflict_lines(all: &AllSeen) -> Vec<Line> {
    let said = all.conflicts.iter().map(|one| Line::of(Role::Danger, one.in_words(&all.stations)));
    headed("in two places", said.collect())
}

fn alarm_lines(all: &AllSeen, theme: Theme) -> Vec<Line> {
    let line = |seen: seen::AlarmSeen<'_>| {
        let (act, words) = viewed(seen.station, theme, |view| next_alarm::act(view, seen.alarm));
        let role = if seen.alarm.level() == Level::Alarm { Role::Danger } else { Role::Due };
        let words: Vec<String> = words.into_iter().filter(|text| !text.is_empty()).collect();
        Line::of(Role::Strong, format!("{:<4}", seen.station.letters()))
            .and(role, format!(" {act} "))
            .and(Role::Plain, format!(" {}", words.join("; ")))
    };
    headed("wants a hand", alarms(&all.stations).into_iter().map(line).collect())
}

fn between_lines(all: &AllSeen) -> Vec<Line> {
    let line = |one: &seen::Between| {
        let place = one.place_in_words(&all.stations);
        let place = place.unwrap_or_else(|| "not seen there yet".to_owned());
        let at = called(&all.stations, one.at);
        Line::of(Role::Plain, format!("{} at {at}: {place}", one.garment))
    };
    headed("away", all.between.iter().map(line).collect())
}

fn order_lines(all: &AllSeen, width: usize) -> Vec<Line> {
    let seen = orders(&all.stations);
    if seen.is_empty() {
        return Vec::new();
    }
    let mut table = Table::of_orders("ready");
    for one in &seen {
        table.row(order_cells(one));
    }
    table.lines(width.saturating_sub(2))
}

fn order_cells(one: &OrderSeen<'_>) -> [Line; 7] {
    let OrderSeen { station, order, standing, due, ready } = one;
    let moment = |at: Wall| words::moment(at, station.now.at, &station.zone);
    let role = if standing.short > 0 { Role::Abnormal } else { Role::Plain };
    let due = due.filter(|_| !standing.is_fulfilled()).map(moment);
    let ready = match (standing.is_fulfilled(), order.cancelled, ready) {
        (true, ..) => Line::of(Role::Good, "fulfilled"),
        (_, true, _) => Line::of(Role::Plain, "cancelled"),
        (.., Some(ready)) => ready_cell(ready, moment),
        (.., None) => Line::default(),
    };
    let part_of = shared::part_of(station, order.id);
    let part_of = part_of.map_or_else(String::new, |of| format!(", of {of}"));
    let [id, name, done, left, short, due] = [
        order.id.to_string(),
        clean(&order.form.name, 30) + &part_of,
        standing.done.to_string(),
        standing.left.to_string(),
        standing.short.to_string(),
        due.unwrap_or_default(),
    ]
    .map(|text| Line::of(role, text));
    [id, name, done, left, short, due, ready]
}

fn ready_cell(ready: &Ready, moment: impl Fn(Wall) -> String) -> Line {
    match ready.late() {
        Some(_) => Line::of(Role::Danger, format!("LATE {}", moment(ready.likely))),
        None => Line::of(Role::Plain, moment(ready.likely)),
    }
}
