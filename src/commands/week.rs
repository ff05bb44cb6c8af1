//! Open orders by the day on which they are due, against what can be made on each day.

use clap::Args;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde_json::{Value, json};

use super::ahead::Stands;
use super::{Failure, Places, output};
use crate::figures::units::spans;
use crate::forecast::habit::Habit;
use crate::forecast::outlook::{Ahead, SEED};
use crate::screen::words::day_and_clock;
use crate::shop::books::outlook::Ready;
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::moment::rfc3339;

/// What is asked for.
#[derive(Debug, Args)]
pub struct Options {
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// So many days are told of, and more only where something is due later.
const DAYS: i32 = 7;
const MOST_DAYS: i32 = 62;

/// An open order, and how many of its garments are still to be made.
struct Open {
    ready: Ready,
    left: usize,
}

/// A day, and what is due on it.
struct Due {
    day: Day,
    /// Seconds of work on it: of today, what is left.
    work_s: f64,
    /// What can be made in them: half of the time so many, nine times in ten.
    makes: [usize; 2],
    orders: Vec<Open>,
}

impl Due {
    fn left(&self) -> usize {
        self.orders.iter().map(|open| open.left).sum()
    }
}

/// What the days bring.
struct Week {
    /// Whose orders have their number alone.
    own: StationId,
    days: Vec<Due>,
    never: Vec<Open>,
    /// What is really made in an hour of work.
    per_hour: f64,
}

/// Looks ahead day by day.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let stands = Stands::read(places, false)?;
    let habit = Habit::of(&stands.work.past);
    let problem = &stands.work.problem;
    problem.check().map_err(|reason| Failure::Input(reason.to_string()))?;
    let ahead = Ahead::of(&stands.work, &habit, stands.now, SEED);
    let week = week(&stands, &ahead);
    if options.json {
        return output::json(&week.json());
    }
    output::lines(week.lines(&stands.zone))
}

#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "some thousand garments"
)]
fn week(stands: &Stands, ahead: &Ahead<'_>) -> Week {
    let (shop, zone, now) = (&stands.shop, &stands.zone, stands.now);
    let open = |ready: Ready| {
        let left = ready.order.map_or(0, |no| shop.floor().counted(no).open);
        Open { ready, left }
    };
    let (due, never): (Vec<Open>, Vec<Open>) =
        ahead.ready().into_iter().map(open).partition(|open| open.ready.due.is_some());
    let finish = ahead.foreseen.finish();
    let garments = stands.work.problem.garments() as f64;
    let rate = |end_s: f64| if end_s > 0.0 { garments / end_s } else { 0.0 };
    let today = Day::of(now, zone);
    // What was due before is due today.
    let day_of = |at: Wall| {
        let day = at.timestamp().map(|at| Day(at.to_zoned_datetime(zone.clone()).date()));
        day.map_or(today, |day| day.max(today))
    };
    let last = due.iter().filter_map(|open| open.ready.due).map(day_of).max().unwrap_or(today);
    let count = (today.until(last) + 1).clamp(DAYS, MOST_DAYS);
    let mut days: Vec<Due> = (0..count)
        .map(|n| {
            let day = Day(today.0.saturating_add(jiff::Span::new().days(n)));
            let ends = Day(day.0.tomorrow().unwrap_or(Date::MAX)).begins(zone);
            let begins = day.begins(zone).map(|begins| begins.max(now.at));
            let work_s = begins
                .zip(ends)
                .map_or(0.0, |(begins, ends)| stands.work.calendar.work_between(begins, ends));
            let makes = [finish.p50, finish.p90].map(|end_s| (rate(end_s) * work_s) as usize);
            Due { day, work_s, makes, orders: Vec::new() }
        })
        .collect();
    for open in due {
        let day = open.ready.due.map_or(today, day_of);
        let place = days.iter().position(|one| one.day >= day).unwrap_or(days.len() - 1);
        days[place].orders.push(open);
    }
    Week { own: shop.id(), days, never, per_hour: rate(finish.p50) * 3600.0 }
}

impl Week {
    fn json(&self) -> Value {
        let order = |open: &Open| {
            let ready = &open.ready;
            json!({
                "order": ready.name, "no": ready.order.map(|id| id.written_at(self.own).to_string()), "left": open.left,
                "due": ready.due.map(rfc3339), "half": rfc3339(ready.likely),
                "nine_in_ten": rfc3339(ready.latest), "late_s": ready.late(), "short": ready.short,
            })
        };
        let orders = |all: &[Open]| all.iter().map(order).collect::<Vec<Value>>();
        let day = |due: &Due| {
            json!({
                "day": due.day.to_string(), "work_s": due.work_s, "makes": due.makes[0],
                "makes_p90": due.makes[1], "due": due.left(), "orders": orders(&due.orders),
            })
        };
        json!({
            "days": self.days.iter().map(day).collect::<Vec<Value>>(),
            "never_due": orders(&self.never), "per_hour": self.per_hour,
        })
    }

    fn lines(&self, zone: &TimeZone) -> Vec<String> {
        let no_orders = self.never.is_empty() && self.days.iter().all(|due| due.orders.is_empty());
        if no_orders {
            return vec!["no open order: nothing is to be made".to_owned()];
        }
        let mut lines = vec![
            format!("{:.1} garments an hour of work, as these orders are", self.per_hour),
            format!("{:<15} {:>10}   {:<12} {:>4}   orders", "day", "work", "can be made", "due"),
        ];
        let told = |open: &Open| {
            let ready = &open.ready;
            let late = ready.late().map(|late| format!(", LATE by {}", spans::of_any_length(late)));
            let risk =
                || ready.due.filter(|due| ready.latest > *due).map(|_| ", just in time".into());
            let late = late.or_else(risk).unwrap_or_default();
            format!(
                "{} {}: ready {}{late}",
                ready.name,
                open.left,
                day_and_clock(ready.likely, zone)
            )
        };
        for due in &self.days {
            let day = due.day.0.strftime("%a %Y-%m-%d").to_string();
            let (work, made) = match due.work_s {
                work if work < 1.0 => ("closed".to_owned(), String::new()),
                work => {
                    (spans::of_any_length(work), format!("{} ({})", due.makes[0], due.makes[1]))
                }
            };
            let left = if due.left() == 0 { String::new() } else { due.left().to_string() };
            let head = format!("{day:<15} {work:>10}   {made:<12} {left:>4}   ");
            lines.extend(rows(&head, due.orders.iter().map(told)));
        }
        if !self.never.is_empty() {
            let left: usize = self.never.iter().map(|open| open.left).sum();
            let head = format!("{:<15} {:>10}   {:<12} {left:>4}   ", "never due", "", "");
            lines.extend(rows(&head, self.never.iter().map(told)));
        }
        lines.push(
            "can be made: half of the time so many, in brackets nine times in ten".to_owned(),
        );
        lines
    }
}

/// A head with what stands behind it, each below the other.
fn rows(head: &str, behind: impl Iterator<Item = String>) -> Vec<String> {
    let mut lines: Vec<String> = behind.collect();
    if lines.is_empty() {
        return vec![head.trim_end().to_owned()];
    }
    for (n, line) in lines.iter_mut().enumerate() {
        let head = if n == 0 { head.to_owned() } else { " ".repeat(head.chars().count()) };
        *line = format!("{head}{line}");
    }
    lines
}
