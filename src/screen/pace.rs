//! The lead's pane: how many of how many, when it will be ready, how fast; below, what waits, what the presses did,
//! what was lost and to what, and the orders. What there is no room for is counted where it would stand.
//!
//! ```text
//!   ██ ██   ██ ██ █ ██ ██    READY 15:40 to 16:05
//!   ██ ██   ██ ██   ██ ██    Harbour choir, due 16:25
//!   ██ ██   ██ ██ █ ██ ██    20 min to spare
//!   finished, 24 ordered     13.2 an hour now, needed 12.4
//!   waits for   pre-press 4   spray 2   dry 1 ...
//!   last hour   13:02 to 14:02   █ running  ! past target ...
//!   1 Left      ███-███████--██████!!-███...
//!   first pass  38 of 40, 95 %     lost to scorched: 2 garments, 9 min
//! ```

use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::faces::Face;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::table::Table;
use super::theme::Role;
use super::words;
use super::{View, pace_chart, press_strip};
use crate::shop::books::finished::Scope;
use crate::shop::books::losses::Loss;
use crate::shop::books::outlook::{Outlook, Ready};
use crate::shop::books::tally::{Standing, Tally};
use crate::shop::facts::ids::{Neighbour, OrderId};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::order::Order;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Queue;

/// From this width on there are two columns below the figures.
const TWO_COLUMNS: u16 = 110;
/// How far back losses are added up.
const A_DAY: std::time::Duration = std::time::Duration::from_secs(86_400);
/// Columns of the words beside the figures.
const WORDS: u16 = 25;
/// Columns before the words.
const GAP: u16 = 3;
/// Rows of the chart.
const CHART: u16 = 12;

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let day = view.shop.counted_since(view.now);
    let tally = view.shop.tally(view.now, day);
    let begun = view.shop.day_began(day);
    let pace = view.shop.pace(view.now, begun);
    let needed = view.shop.needed_pace(view.now);
    let height = figures(view, &tally, (pace, needed), area, buf);
    let rest = paint::skip(area, 2, height);
    let wide = rest.width >= TWO_COLUMNS;
    let strips = if wide { rest.width * 3 / 5 } else { rest.width.saturating_sub(1) };
    let mut all = vec![waits(view, rest.width)];
    all.extend(busy(view, rest.width));
    all.extend(by_hour(view, begun, target(view, needed), rest.width));
    let strips: List = press_strip::lines(view, strips, rest.width).into();
    let quality: List = quality(view, &tally, day).into();
    let rows = usize::from(rest.height);
    if wide {
        all.push(Line::default());
        all.extend(strips.rows);
        all.push(Line::default());
        let taken = u16::try_from(all.len()).unwrap_or(u16::MAX);
        paint::lines(buf, view.theme, rest, &all);
        // The strips' legend is wide: what stands beside begins below it.
        let beside = paint::skip(rest, 0, taken);
        let half = rest.width / 2;
        let [left, right] = [Rect { width: half - 2, ..beside }, paint::skip(beside, half, 0)];
        chart(view, begun, needed, left, buf);
        let orders = orders(view, right.width.into(), rows);
        let lists = shared_out(&[quality, orders], right.height.into());
        paint::lines(buf, view.theme, right, &lists);
        return;
    }
    let room = usize::from(rest.height).saturating_sub(all.len());
    let orders = orders(view, rest.width.into(), rows);
    all.extend(shared_out(&[strips, quality, orders], room));
    paint::lines(buf, view.theme, rest, &all);
    let taken = u16::try_from(all.len()).unwrap_or(u16::MAX);
    chart(view, begun, needed, paint::skip(rest, 0, taken.saturating_add(1)), buf);
}

fn chart(view: &View<'_>, begun: Option<Wall>, needed: Option<f64>, area: Rect, buf: &mut Buffer) {
    if let Some(begun) = begun {
        let area = Rect { height: area.height.min(CHART), ..area };
        pace_chart::draw(view, begun, needed, area, buf);
    }
}

/// A list of which no more rows are made than a screen has, and how many it has in all.
pub(super) struct List {
    rows: Vec<Line>,
    all: usize,
}

impl From<Vec<Line>> for List {
    fn from(rows: Vec<Line>) -> Self {
        Self { all: rows.len(), rows }
    }
}

/// Lists one below the other in so many rows, each with its head and as many rows as are its share; the last one, of the
/// orders, has all that it wants first. A list that is cut ends with how many more it has, and one for which only that would
/// be left is not shown. A blank row stands between them where there is room for all.
pub(super) fn shared_out(lists: &[List], room: usize) -> Vec<Line> {
    let lists: Vec<&List> = lists.iter().filter(|list| list.all > 0).collect();
    let whole: usize = lists.iter().map(|list| list.all).sum();
    let blanks = lists.len().saturating_sub(1);
    let mut share: Vec<usize> = vec![0; lists.len()];
    let mut left = room;
    if let Some((share, list)) = share.iter_mut().zip(&lists).next_back() {
        *share = list.all.min(left);
        left -= *share;
    }
    // A row to each in turn, the last list's first, until nothing is left or all have theirs.
    while left > 0 && share.iter().zip(&lists).any(|(share, list)| *share < list.all) {
        for (share, list) in share.iter_mut().zip(&lists).rev() {
            if left > 0 && *share < list.all {
                *share += 1;
                left -= 1;
            }
        }
    }
    let mut all = Vec::new();
    let shown =
        lists.into_iter().zip(share).filter(|(list, share)| *share > 1 || *share == list.all);
    for (n, (list, share)) in shown.enumerate() {
        if n > 0 && whole + blanks <= room {
            all.push(Line::default());
        }
        if share == list.all {
            all.extend_from_slice(&list.rows);
        } else if let Some(shown) = share.checked_sub(1) {
            all.extend(list.rows.iter().take(shown).cloned());
            let more =
                format!("{:<12}and {} more: a larger window shows them", "", list.all - shown);
            all.push(Line::of(Role::Abnormal, more));
        }
    }
    all
}

/// The figures that are read from across the room; the rows that they take.
fn figures(
    view: &View<'_>,
    tally: &Tally,
    (pace, needed): (Option<f64>, Option<f64>),
    area: Rect,
    buf: &mut Buffer,
) -> u16 {
    let finished = tally.finished.to_string();
    let outlook = view.ui.outlook.as_ref().ok().and_then(Option::as_ref);
    let tightest = outlook.and_then(Outlook::tightest);
    let likely = outlook.map(|outlook| tightest.map_or(outlook.likely, |order| order.likely));
    let clock = likely.map(|at| words::clock(at, &view.ui.zone)).unwrap_or_default();
    let room = (area.height / 3).max(7);
    let top = paint::skip(area, 2, 1);
    let width = top.width.saturating_sub(WORDS + GAP);
    // Both figures where they fit, a figure's width apart; else when it is ready: that is what a lead comes for.
    let apart = if clock.is_empty() { "" } else { "0" };
    let fitting = |text: &str| Face::fitting(view.theme.halves, text, (width, room));
    let both = fitting(&format!("{finished}{apart}{clock}"));
    let (mut left, mut height) = (0, 0);
    let mut figure = |face: Face, text: &str, role: Role, after: u16| {
        face.draw(buf, paint::skip(top, left, 0), text, view.theme.ink(role));
        left += face.width(text) + after;
        height = face.height();
    };
    if let Some(face) = both {
        let after = if clock.is_empty() { GAP } else { face.width("0") };
        figure(face, &finished, Role::RunningDot, after);
    }
    if let Some(face) = both.or_else(|| fitting(&clock))
        && !clock.is_empty()
    {
        figure(face, &clock, ready_dot(tightest), GAP);
    }
    let mut beside = ready(view, outlook, tightest);
    let pace = pace.map_or_else(|| "- an hour".to_owned(), words::an_hour);
    let needed = needed.map_or_else(String::new, |pace| format!(", needed {pace:.1}"));
    beside.push(Line::of(Role::Strong, format!("{pace}{needed}")));
    beside.extend(
        outlook.map(|outlook| {
            Line::of(Role::Plain, format!("held back by the {}", outlook.busy[0].0))
        }),
    );
    let below = Line::of(Role::Strong, days_work(view));
    paint::lines(buf, view.theme, paint::skip(top, left, 0), &beside);
    // Under the figures where the words beside leave them their rows, else as one of the words.
    let beside = u16::try_from(beside.len()).unwrap_or(0);
    let row = if below.width() <= usize::from(left) { height } else { height.max(beside) };
    paint::line(buf, view.theme, paint::row_of(top, row), &below);
    (row + 1).max(beside) + 2
}

/// The figures of a finish that is late stand in the colour of harm.
pub(super) fn ready_dot(tightest: Option<&Ready>) -> Role {
    if tightest.is_some_and(|order| order.late().is_some()) { Role::Danger } else { Role::Running }
}

/// How far the day's work has come, or the shift's, and since when that is counted.
fn days_work(view: &View<'_>) -> String {
    let work = view.shop.days_work(view.now);
    let span = if work.of_shift {
        let since = view.shop.counted_since(view.now);
        format!("this shift, since {}", words::moment(since, view.now.at, &view.ui.zone))
    } else {
        "today".to_owned()
    };
    match work.all {
        0 => format!("nothing to make {span}"),
        all => format!("{} of {all} finished {span}", work.finished),
    }
}

/// What was made in each hour of the day, against what is needed in one; none before anything was begun.
fn by_hour(view: &View<'_>, begun: Option<Wall>, target: Option<f64>, width: u16) -> Option<Line> {
    const HOUR: Duration = Duration::from_secs(3600);
    let begun = begun?;
    // Hours of the clock: what of this one has gone is its own span.
    let at = view.now.at.timestamp()?.to_zoned_datetime(view.ui.zone.clone());
    let gone = u64::try_from(i64::from(at.minute()) * 60 + i64::from(at.second())).ok()?;
    let gone = Duration::from_secs(gone);
    let count = |span, before| view.shop.books().finished.count(view.now, span, before);
    let clock = |hour: u32| words::clock(view.now.minus(gone + HOUR * hour).at, &view.ui.zone);
    let target = target.map_or_else(String::new, |target| format!("target {target:.1}"));
    let this = format!("since {} {}   {target}", clock(0), count(gone, Duration::ZERO));
    let mut line = this;
    for hour in 1..24 {
        let ended = gone + HOUR * (hour - 1);
        let cell = format!("{} {}   ", clock(hour), count(HOUR, ended));
        let there = view.now.minus(ended).at > begun;
        if !there || 12 + cell.len() + line.len() > usize::from(width) {
            break;
        }
        line.insert_str(0, &cell);
    }
    Some(Line::of(Role::Strong, format!("{:<12}", "by hour")).and(Role::Plain, line))
}

/// Garments an hour that meet all due times; where nothing is due, what is foreseen.
fn target(view: &View<'_>, needed: Option<f64>) -> Option<f64> {
    let foreseen = || {
        let outlook = view.ui.outlook.as_ref().ok()?.as_ref()?;
        outlook.per_hour
    };
    needed.or_else(foreseen)
}

/// When the order with the least to spare will be ready, against its due time, in words; and when all is.
fn ready(view: &View<'_>, outlook: Option<&Outlook>, tightest: Option<&Ready>) -> Vec<Line> {
    let Some(outlook) = outlook else {
        let why = view.ui.outlook.as_ref().err();
        return why
            .map(|why| Line::of(Role::Abnormal, format!("READY unknown: {why}")))
            .into_iter()
            .collect();
    };
    let moment = |at| words::moment(at, view.now.at, &view.ui.zone);
    let day = |at| words::day(at, &view.ui.zone);
    let span = |likely, latest| {
        // The day is said once.
        let to = if day(likely) == day(latest) {
            words::clock(latest, &view.ui.zone)
        } else {
            moment(latest)
        };
        Line::of(Role::Strong, format!("READY {} to {to}", moment(likely)))
    };
    let Some(order) = tightest else { return vec![span(outlook.likely, outlook.latest)] };
    let (role, against) = against(order);
    let due = order.due.map_or_else(String::new, |due| format!(", due {}", moment(due)));
    let name =
        crate::shop::facts::words::clean(&order.name, usize::from(WORDS).saturating_sub(due.len()));
    let mut lines = vec![
        span(order.likely, order.latest),
        Line::of(Role::Plain, format!("{name}{due}")),
        Line::of(role, against),
    ];
    if order.short > 0 {
        lines.push(Line::of(Role::Abnormal, format!("without {} short", order.short)));
    }
    if (order.likely, order.latest) != (outlook.likely, outlook.latest) {
        lines.push(Line::of(Role::Plain, format!("all of it by {}", moment(outlook.latest))));
    }
    lines
}

/// How an order lies to its due time.
fn against(order: &Ready) -> (Role, String) {
    let due = order.due.unwrap_or(order.latest);
    let spare = (due - order.latest).as_secs_f64();
    match order.late() {
        Some(late) => (Role::Danger, format!(" {} LATE ", words::hours(late))),
        None if due < order.latest => (Role::Abnormal, "JUST IN TIME".to_owned()),
        None => (Role::Good, format!("{} to spare", words::hours(spare))),
    }
}

/// For how many garments the sprayer still holds fluid, and when it will want its next fill at this pace.
fn fluid(view: &View<'_>, per_hour: Option<f64>) -> Option<(Role, String)> {
    const HOUR_S: f64 = 3600.0;
    let left = view.shop.sprays_left()?;
    let until = per_hour.filter(|pace| *pace > 0.0).map(|pace| {
        let span = Duration::try_from_secs_f64(f64::from(left) / pace * HOUR_S);
        words::clock(view.now.at.plus(span.unwrap_or(Duration::MAX)), &view.ui.zone)
    });
    let until = until.map_or_else(String::new, |clock| format!(", fill about {clock}"));
    let role = if left < 3 { Role::Abnormal } else { Role::Plain };
    Some((role, format!("fluid for {left}{until}")))
}

/// Work in progress by the step that it waits for.
fn waits(view: &View<'_>, width: u16) -> Line {
    let floor = view.shop.floor();
    let steps = Step::ALL.map(|step| (step.name(), floor.count(Queue::Step(step))));
    let press = ("in presses", view.shop.loads().count());
    let shelf = ("on the shelf", floor.count(Queue::Shelf));
    let all: Vec<(&str, usize)> = steps.into_iter().chain([press, shelf]).collect();
    let line = |zeros: bool| {
        let mut line = Line::of(Role::Strong, format!("{:<12}", "waits for"));
        for (name, count) in all.iter().filter(|(_, count)| zeros || *count > 0) {
            line.add(Role::Plain, format!("{name} {count}   "));
        }
        line
    };
    // Where not all has room, what is none goes unsaid.
    let whole = line(true);
    if whole.width() > usize::from(width) + 3 { line(false) } else { whole }
}

/// How busy the work ahead keeps everything, and what one more of something would save.
fn busy(view: &View<'_>, width: u16) -> Vec<Line> {
    let Ok(Some(outlook)) = &view.ui.outlook else { return Vec::new() };
    let mut line = Line::of(Role::Strong, format!("{:<12}", "busy"));
    for (name, share) in outlook.busy {
        line.add(Role::Plain, format!("{name} {:.0} %   ", share * 100.0));
    }
    let Some((change, saves)) = outlook.helps else { return vec![line] };
    let helps = format!("{change} would save {}", words::hours(saves));
    if line.width() + helps.len() <= usize::from(width) {
        return vec![line.and(Role::Plain, helps)];
    }
    vec![line, Line::of(Role::Plain, format!("{:<12}{helps}", ""))]
}

/// What came out right at once, and what was lost to what, most costly first.
fn quality(view: &View<'_>, tally: &Tally, day: Wall) -> Vec<Line> {
    let mut lines = Vec::new();
    let head = |text: &str| Line::of(Role::Strong, format!("{text:<12}"));
    let (good, all) = view.shop.books().finished.first_pass(Scope::Since(day));
    if all > 0 {
        #[expect(clippy::cast_precision_loss, reason = "some thousand garments")]
        let share = good as f64 * 100.0 / all as f64;
        let mended = match view.shop.books().finished.mended(Scope::Since(day)) {
            0 => String::new(),
            mended => format!("; {mended} with a mended coat"),
        };
        let text = format!("{good} of {all} right at once, {share:.0} %{mended}");
        let mut line = head("first pass").and(Role::Plain, text);
        if tally.out + tally.second > 0 {
            line.add(
                Role::Abnormal,
                format!("; {} rejects, {} second quality", tally.out, tally.second),
            );
        }
        lines.push(line);
    }
    lines.extend(fluid(view, tally.per_hour).map(|(role, text)| head("sprayer").and(role, text)));
    let losses = view.shop.books().losses.rows(view.now, A_DAY);
    let rows = losses.iter().filter(|loss| loss.minutes() >= 0.5 || loss.garments > 0);
    for (n, loss) in rows.enumerate() {
        lines.push(head(if n == 0 { "lost to" } else { "" }).and(Role::Plain, lost(loss)));
    }
    lines
}

fn lost(loss: &Loss) -> String {
    let garments = if loss.garments == 1 { "garment" } else { "garments" };
    let mut text = format!(
        "{:<15}{:>3} {garments:<9}{:>8}",
        loss.cause.words(),
        loss.garments,
        words::minutes(60.0 * loss.minutes())
    );
    for (count, what) in [(loss.out, "reject"), (loss.second, "second"), (loss.again, "again")] {
        if count > 0 {
            text.push_str(&format!(", {count} {what}"));
        }
    }
    text
}

/// The orders, what is not fulfilled first: by due time, then as they came in.
fn orders(view: &View<'_>, room: usize, most: usize) -> List {
    let mut all: Vec<(Standing, &Order)> =
        view.shop.orders().map(|order| (view.shop.floor().standing(order), order)).collect();
    // Another station's, of which nothing is here any more, is that one's to tell of.
    all.retain(|(stands, order)| view.shop.is_own(order.id) || stands.done + stands.left > 0);
    all.sort_by_cached_key(|(standing, order)| {
        let done = standing.is_fulfilled();
        // Of those that are fulfilled the newest are of interest.
        let newest =
            if done { std::cmp::Reverse(order.id) } else { std::cmp::Reverse(OrderId::LEAST) };
        let due = order.form.due.filter(|_| !done).and_then(|due| due.at(view.shop.zone()));
        (done, due.is_none(), due, newest, order.id)
    });
    let mut table = Table::of_orders("ready");
    for (standing, order) in all.iter().take(most) {
        table.row(order_cells(view, *standing, order));
    }
    let mut rows: Vec<Line> = table.lines(room);
    let mut count = all.len() + 1;
    if view.acts() && (1..most).contains(&all.len()) {
        let key = view.ui.keys.key(Deed::ChangeOrder);
        rows.push(Line::of(Role::Plain, format!("{key} changes or cancels an order")));
        count += 1;
    }
    List { rows, all: count }
}

fn order_cells(view: &View<'_>, standing: Standing, order: &Order) -> [Line; 7] {
    let Standing { done, left, short, .. } = standing;
    let moment = |at| words::moment(at, view.now.at, &view.ui.zone);
    // A due time says nothing of an order that is done: the word stands in its place.
    let due = order.form.due.filter(|_| !standing.is_fulfilled());
    let due = due.and_then(|due| due.at(&view.ui.zone)).map_or_else(String::new, moment);
    let role = if short > 0 { Role::Abnormal } else { Role::Plain };
    let name = crate::shop::facts::words::clean(&order.form.name, 30);
    let [no, name, done, left, short, due] = [
        view.shop.written(order.id).to_string(),
        name,
        done.to_string(),
        left.to_string(),
        short.to_string(),
        due,
    ]
    .map(|text| Line::of(role, text));
    [no, name, done, left, short, due, ready_at(view, standing, order)]
}

/// "3 at South bench, 1 at station C".
fn away(view: &View<'_>, order: &Order) -> String {
    let at = |(bench, count): (Neighbour, usize)| {
        let bench = view.ui.elsewhere.bench(view.shop, bench.station);
        format!("{count} at {bench}")
    };
    view.shop.away(order.id).into_iter().map(at).collect::<Vec<_>>().join(", ")
}

/// When an order will be ready; where all that is left of it is elsewhere, where.
fn ready_at(view: &View<'_>, standing: Standing, order: &Order) -> Line {
    if standing.is_fulfilled() {
        return Line::of(Role::Good, "fulfilled");
    }
    let moment = |at| words::moment(at, view.now.at, &view.ui.zone);
    let outlook = view.ui.outlook.as_ref().ok().and_then(Option::as_ref);
    let own = |ready: &&Ready| ready.order == Some(order.id);
    match outlook.and_then(|outlook| outlook.orders.iter().find(own)) {
        Some(ready) if ready.late().is_some() => {
            Line::of(Role::Danger, format!("LATE {}", moment(ready.likely)))
        }
        Some(ready) => Line::of(Role::Plain, moment(ready.likely)),
        None => Line::of(Role::Plain, away(view, order)),
    }
}
