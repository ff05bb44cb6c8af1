//! The lead's pane: how many, how fast, what waits where.
//!
//! ```text
//!   ██ ██   finished today        last hour 14   an hour 13.2   out 1
//!   work in progress:  blanks 4  spray 2  dry 1  print 3  cure 0  in a press 2  shelf 5
//!   order  name            done  left  lost  due
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::digits::Face;
use super::paint::{self, Line};
use super::theme::Role;
use super::words;
use crate::shop::garment::{Place, Quality, Queue};
use crate::shop::order::Order;
use crate::shop::outlook::Due;
use crate::shop::step::Step;

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let tally = view.shop.tally(view.now, words::day_start(view.now.at, &view.ui.zone));
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
    let pace = tally.per_hour.map_or_else(|| "-".to_owned(), |pace| format!("{pace:.1}"));
    let due = view.shop.next_due();
    let needed = due.and_then(|due| due.needed_pace(view.now));
    let needed = needed.map_or_else(String::new, |pace| format!(", needed {pace:.1}"));
    let mut words = vec![
        Line::of(Role::Strong, format!("finished today, {} in progress", tally.in_progress)),
        Line::of(Role::Strong, format!("{pace} an hour now{needed}")),
    ];
    words.extend(ready(view, due));
    words.push(Line::of(Role::Plain, format!("{} in the last hour", tally.last_hour)));
    if tally.out + tally.second > 0 {
        let text = format!("{} out, {} second quality", tally.out, tally.second);
        words.push(Line::of(Role::Abnormal, text));
    }
    words.extend(fluid(view, tally.per_hour));
    paint::lines(buf, view.theme, paint::skip(top, left, 0), &words);
    let rest = paint::skip(area, 2, height.max(7) + 2);
    paint::lines(buf, view.theme, rest, &table(view));
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
    let share = outlook.share * 100.0;
    let mut lines = vec![
        Line::of(Role::Strong, format!("READY {when}")).and(role, against),
        Line::of(
            Role::Plain,
            format!("held back by the {}, {share:.0} % busy", outlook.bottleneck),
        ),
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

fn table(view: &View<'_>) -> Vec<Line> {
    let floor = view.shop.floor();
    let mut waits = Line::of(Role::Strong, "waiting for  ");
    for step in Step::ALL {
        waits.add(Role::Plain, format!("{step} {}   ", floor.count(Queue::Step(step))));
    }
    waits.add(Role::Plain, format!("in a press {}   ", view.shop.loads().count()));
    waits.add(Role::Plain, format!("on the shelf {}", floor.count(Queue::Shelf)));
    let head =
        format!("{:<7}{:<28}{:>6}{:>6}{:>6}  {}", "order", "name", "done", "left", "short", "due");
    let mut lines = vec![waits, Line::default(), Line::of(Role::Strong, head)];
    lines.extend(view.shop.orders().rev().map(|order| order_line(view, order)));
    lines
}

fn order_line(view: &View<'_>, order: &Order) -> Line {
    let (mut done, mut left) = (0usize, 0usize);
    for garment in view.shop.garments_of(order.no) {
        match (garment.place, garment.quality) {
            (Place::Finished, Quality::First) => done += 1,
            (Place::Finished | Place::Out, _) | (_, Quality::Second) => {}
            _ => left += 1,
        }
    }
    let ordered = usize::try_from(order.form.count()).unwrap_or(usize::MAX);
    let short = ordered.saturating_sub(done + left);
    let due = order.form.due.map_or_else(String::new, |due| due.to_string().replace('T', " "));
    let text = format!("{:<7}{:<28}{done:>6}{left:>6}{short:>6}  {due}", order.no, order.form.name);
    let fulfilled = if left == 0 && short == 0 { "  fulfilled" } else { "" };
    Line::of(if short > 0 { Role::Abnormal } else { Role::Plain }, text).and(Role::Good, fulfilled)
}
