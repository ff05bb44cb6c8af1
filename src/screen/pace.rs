//! The lead's pane: how many of how many, how fast, when it will be ready; below, what waits, what the presses did,
//! what was lost and to what.
//!
//! ```text
//!   ██ ██    finished today, 24 ordered
//!   ██ ██    13.2 an hour now, needed 12.4
//!            READY 15:40 to 16:05, 20 min to spare
//!   waits for   pre-press 4   spray 2   dry 1 ...
//!   last hour   13:02 to 14:02   █ running  ! past target ...
//!   1 Left      ███-███████--██████!!-███...
//!   first pass  38 of 40, 95 %     lost to scorched: 2 garments, 9 min
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::digits::Face;
use super::paint::{self, Line};
use super::theme::Role;
use super::words;
use super::{View, pace_chart, press_strip};
use crate::shop::garment::Queue;
use crate::shop::losses::Loss;
use crate::shop::order::Order;
use crate::shop::outlook::Due;
use crate::shop::step::Step;
use crate::shop::tally::{Standing, Tally};

/// From this width on there are two columns below the figures.
const TWO_COLUMNS: u16 = 110;
/// How far back losses are added up.
const A_DAY: std::time::Duration = std::time::Duration::from_secs(86_400);

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let day = view.shop.counted_since(view.now);
    let tally = view.shop.tally(view.now, day);
    let begun = view.shop.day_began(day);
    let pace = view.ui.day.pace(view.now, begun);
    let due = view.shop.next_due();
    let needed = due.and_then(|due| due.needed_pace(view.now));
    let height = figures(view, &tally, (pace, needed, due), area, buf);
    let rest = paint::skip(area, 2, height);
    let wide = rest.width >= TWO_COLUMNS;
    let mut left = vec![waits(view)];
    left.extend(busy(view));
    left.push(Line::default());
    let strips = if wide { rest.width * 3 / 5 } else { rest.width.saturating_sub(1) };
    left.extend(press_strip::lines(view, strips, rest.width));
    left.push(Line::default());
    let mut right = quality(view, day, if wide { 8 } else { 2 });
    right.push(Line::default());
    right.extend(orders(view));
    let taken = u16::try_from(left.len()).unwrap_or(u16::MAX);
    if !wide {
        left.append(&mut right);
        paint::lines(buf, view.theme, rest, &left);
        let taken = u16::try_from(left.len()).unwrap_or(u16::MAX);
        chart(view, begun, needed, paint::skip(rest, 0, taken.saturating_add(1)), buf);
        return;
    }
    paint::lines(buf, view.theme, rest, &left);
    // The strips' legend is wide: what stands beside begins below it.
    let beside = paint::skip(rest, 0, taken);
    let half = rest.width / 2;
    let [beside_left, beside_right] =
        [Rect { width: half - 2, ..beside }, paint::skip(beside, half, 0)];
    chart(view, begun, needed, Rect { height: beside.height.min(14), ..beside_left }, buf);
    paint::lines(buf, view.theme, beside_right, &right);
}

fn chart(view: &View<'_>, begun: Option<i64>, needed: Option<f64>, area: Rect, buf: &mut Buffer) {
    if let Some(begun) = begun {
        pace_chart::draw(view, begun, needed, Rect { height: area.height.min(12), ..area }, buf);
    }
}

/// The figures that are read from across the room; the rows that they take.
fn figures(
    view: &View<'_>,
    tally: &Tally,
    (pace, needed, due): (Option<f64>, Option<f64>, Option<Due>),
    area: Rect,
    buf: &mut Buffer,
) -> u16 {
    let figures = tally.finished.to_string();
    let room = (area.height / 3).max(7);
    let top = paint::skip(area, 2, 1);
    let mut height = 1;
    let mut left = 0;
    if let Some(face) = Face::fitting(&figures, area.width / 2, room) {
        face.draw(buf, top, &figures, view.theme.dot(Role::RunningDot));
        height = face.height();
        left = face.width(&figures) + 3;
    }
    let pace = pace.map_or_else(|| "-".to_owned(), |pace| format!("{pace:.1}"));
    let needed = needed.map_or_else(String::new, |pace| format!(", needed {pace:.1}"));
    let mut words = vec![
        Line::of(Role::Strong, format!("finished today{}", ordered(view))),
        Line::of(Role::Strong, format!("{pace} an hour now{needed}")),
    ];
    words.extend(ready(view, due));
    if tally.out + tally.second > 0 {
        let text = format!("{} out, {} second quality", tally.out, tally.second);
        words.push(Line::of(Role::Abnormal, text));
    }
    words.extend(fluid(view, tally.per_hour));
    paint::lines(buf, view.theme, paint::skip(top, left, 0), &words);
    height.max(u16::try_from(words.len()).unwrap_or(0)) + 2
}

/// How far the orders have come that are not fulfilled.
fn ordered(view: &View<'_>) -> String {
    let (mut done, mut ordered) = (0, 0);
    for order in view.shop.orders() {
        let stands = view.shop.standing(order);
        if stands.left > 0 {
            done += stands.done;
            ordered += stands.ordered;
        }
    }
    if ordered == 0 { String::new() } else { format!("; open orders: {done} of {ordered}") }
}

/// When it will be ready, against what is due, in words; then what holds it back.
fn ready(view: &View<'_>, due: Option<Due>) -> Vec<Line> {
    const MINUTE_US: i64 = 60_000_000;
    let Some(outlook) = view.ui.outlook else { return Vec::new() };
    let clock = |at| words::clock(at, &view.ui.zone);
    let (likely, latest) = (clock(outlook.likely), clock(outlook.latest));
    let when = if likely == latest { likely } else { format!("{likely} to {latest}") };
    let spare = due.map(|due| (due.at - outlook.latest) / MINUTE_US);
    let (role, against) = match spare {
        None => (Role::Strong, String::new()),
        Some(spare) if spare >= 0 => (Role::Good, format!(", {spare} min to spare")),
        Some(_) if due.is_some_and(|due| due.at >= outlook.likely) => {
            (Role::Abnormal, ", JUST IN TIME".to_owned())
        }
        Some(late) => (Role::Danger, format!(", {} MIN LATE ", -late)),
    };
    let (bottleneck, share) = outlook.busy[0];
    let share = share * 100.0;
    let mut lines = vec![
        Line::of(Role::Strong, format!("READY {when}")).and(role, against),
        Line::of(Role::Plain, format!("held back by the {bottleneck}, {share:.0} % busy")),
    ];
    lines.extend(outlook.helps.map(|(change, saves)| {
        Line::of(Role::Plain, format!("{change} would save {:.0} min", saves / 60.0))
    }));
    lines
}

/// For how many garments the sprayer still holds fluid, and when it will want its next fill at this pace.
fn fluid(view: &View<'_>, per_hour: Option<f64>) -> Option<Line> {
    const HOUR_US: f64 = 3.6e9;
    let left = view.shop.sprays_left()?;
    let until = per_hour.filter(|pace| *pace > 0.0).map(|pace| {
        #[expect(clippy::cast_possible_truncation, reason = "some hours in microseconds")]
        let span = (f64::from(left) / pace * HOUR_US) as i64;
        words::clock(view.now.at.saturating_add(span), &view.ui.zone)
    });
    let until = until.map_or_else(String::new, |clock| format!(", fill about {clock}"));
    let role = if left < 3 { Role::Abnormal } else { Role::Plain };
    Some(Line::of(role, format!("fluid for {left}{until}")))
}

/// Work in progress by the step that it waits for.
fn waits(view: &View<'_>) -> Line {
    let floor = view.shop.floor();
    let mut waits = Line::of(Role::Strong, format!("{:<12}", "waits for"));
    for step in Step::ALL {
        waits.add(Role::Plain, format!("{step} {}   ", floor.count(Queue::Step(step))));
    }
    waits.add(Role::Plain, format!("in a press {}   ", view.shop.loads().count()));
    waits.add(Role::Plain, format!("on the shelf {}", floor.count(Queue::Shelf)));
    waits
}

/// How busy the plan for the rest keeps everything.
fn busy(view: &View<'_>) -> Option<Line> {
    let outlook = view.ui.outlook?;
    let mut line = Line::of(Role::Strong, format!("{:<12}", "busy"));
    for (name, share) in outlook.busy {
        line.add(Role::Plain, format!("{name} {:.0} %   ", share * 100.0));
    }
    Some(line)
}

/// What came out right at once, and what was lost to what, most costly first.
fn quality(view: &View<'_>, day: i64, most: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    if let Some((good, all)) = view.ui.day.first_pass(view.shop, day) {
        #[expect(clippy::cast_precision_loss, reason = "some thousand garments")]
        let share = good as f64 * 100.0 / all as f64;
        let text = format!("{good} of {all} right at once, {share:.0} %");
        lines.push(Line::of(Role::Strong, format!("{:<12}", "first pass")).and(Role::Plain, text));
    }
    let losses = view.ui.day.losses.rows(view.now, A_DAY);
    let rows = losses.iter().filter(|loss| loss.minutes() >= 0.5 || loss.garments > 0).take(most);
    for (n, loss) in rows.enumerate() {
        let head = if n == 0 { "lost to" } else { "" };
        lines.push(Line::of(Role::Strong, format!("{head:<12}")).and(Role::Plain, lost(loss)));
    }
    lines
}

fn lost(loss: &Loss) -> String {
    let garments = if loss.garments == 1 { "garment" } else { "garments" };
    let mut text = format!(
        "{:<15}{:>3} {garments:<9}{:>4.0} min",
        loss.cause.words(),
        loss.garments,
        loss.minutes()
    );
    for (count, what) in [(loss.out, "out"), (loss.second, "second"), (loss.again, "again")] {
        if count > 0 {
            text.push_str(&format!(", {count} {what}"));
        }
    }
    text
}

fn orders(view: &View<'_>) -> Vec<Line> {
    let head =
        format!("{:<7}{:<18}{:>5}{:>5}{:>6}  {}", "order", "name", "done", "left", "short", "due");
    let mut lines = vec![Line::of(Role::Strong, head)];
    lines.extend(view.shop.orders().rev().map(|order| order_line(view, order)));
    lines
}

fn order_line(view: &View<'_>, order: &Order) -> Line {
    let standing = view.shop.standing(order);
    let Standing { done, left, short, .. } = standing;
    // A due time says nothing of an order that is done: the word stands in its place.
    let due = order.form.due.filter(|_| !standing.is_fulfilled());
    let due = due.map_or_else(String::new, |due| due.to_string().replace('T', " "));
    let text = format!(
        "{:<7}{:<18}{done:>5}{left:>5}{short:>6}  {due}",
        order.no,
        crate::shop::words::clean(&order.form.name, 17)
    );
    let fulfilled = if standing.is_fulfilled() { "fulfilled" } else { "" };
    Line::of(if short > 0 { Role::Abnormal } else { Role::Plain }, text).and(Role::Good, fulfilled)
}
