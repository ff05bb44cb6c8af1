//! The sprayer over the weeks, from coats that were paced and weighed.

use serde_json::{Value, json};

use crate::commands::{Failure, Places, output, read};
use crate::figures::wear::{self, Course, Day, Health};
use crate::screen::words::{self, signed_per_cent};
use crate::shop::books::sprayer::drift_told;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::words::counted;

/// Prints what the journal's weighed coats say of sprayer and hands.
pub fn sprayer(places: &Places, as_json_too: bool) -> Result<(), Failure> {
    let known = read(&places.data()?)?;
    let book = &known.shop.books().sprayer;
    let health = book.health(known.now).ok_or_else(|| {
        let text = "no day of coats that were sprayed by hand and weighed is over yet: m weighs on the board";
        Failure::NoJournal(text.to_owned())
    })?;
    let days: Vec<(String, Day)> =
        book.days().map(|(one, day)| (words::day(one.from.at, &known.zone), day)).collect();
    let hands: Vec<(String, Vec<Day>)> =
        book.hands().into_iter().map(|(people, days)| (named(&people), days)).collect();
    if as_json_too {
        let days: Vec<Value> = book
            .days()
            .map(|(one, day)| {
                json!({ "from": rfc3339(one.from.at), "coats": day.count, "mean": day.mean(), "flow_g_s": one.flow })
            })
            .collect();
        return output::json(&as_json(&health, days, &hands));
    }
    let mut lines = vec![
        format!(
            "sprayer      {} over {}",
            counted(health.coats, "weighed coat"),
            counted(health.days, "day")
        ),
        format!("plan         {} on the whole", signed_per_cent(health.against_plan)),
    ];
    let over = book.over(known.now);
    lines.push(format!("scatter      {} about the day", scattered(&over)));
    lines.push(format!("course       {}", course(health.course)));
    lines.extend(book.fall_told().map(|text| format!("today        {text}")));
    lines.extend(hands.iter().map(|(name, days)| {
        let all = sum(days);
        let coats = counted(all.count, "coat");
        format!(
            "hand {name:<7} {coats}, {} on plan, scatter {}",
            signed_per_cent(all.mean().exp() - 1.0),
            scattered(days)
        )
    }));
    lines.extend(days.iter().map(|(day, coats)| {
        format!(
            "{day}   {}, {} on plan",
            counted(coats.count, "coat"),
            signed_per_cent(coats.mean().exp() - 1.0)
        )
    }));
    output::lines(lines)
}

fn named(people: &[String]) -> String {
    if people.is_empty() { "unsigned".to_owned() } else { people.join("+") }
}

fn sum(days: &[Day]) -> Day {
    days.iter().fold(Day::default(), |mut sum, day| {
        sum += *day;
        sum
    })
}

/// A scatter with where it lies nine times in ten: of few coats that is wide, and says so.
fn scattered(days: &[Day]) -> String {
    match wear::scatter_90(days) {
        Some((at, from, upto)) => {
            let per_cent = |part: f64| format!("{:.0}", 100.0 * part);
            format!(
                "{} % ({} to {} % nine times in ten)",
                per_cent(at),
                per_cent(from),
                per_cent(upto)
            )
        }
        None => "not known: too few coats".to_owned(),
    }
}

fn course(course: Course) -> String {
    if let Course::Learning(left) = course {
        return format!(
            "its usual is known after {} of 3 weighed coats",
            counted(left, "more day")
        );
    }
    drift_told(course).unwrap_or_else(|| "steady: chance alone explains it".to_owned())
}

fn as_json(health: &Health, days: Vec<Value>, hands: &[(String, Vec<Day>)]) -> Value {
    let (course, drift_days, drift) = match health.course {
        Course::Learning(_) => ("learning", None, None),
        Course::Steady => ("steady", None, None),
        Course::Drifts { days, by } => ("drifts", Some(days), Some(by)),
    };
    let hands: Vec<Value> = hands
        .iter()
        .map(|(name, days)| {
            let all = sum(days);
            let scatter = wear::scatter_90(days);
            json!({
                "people": name, "coats": all.count, "against_plan": all.mean().exp() - 1.0,
                "scatter": scatter.map(|(at, ..)| at), "scatter_90": scatter.map(|(_, from, upto)| [from, upto]),
            })
        })
        .collect();
    json!({
        "days": days, "coats": health.coats, "against_plan": health.against_plan, "scatter": health.scatter,
        "course": course, "drift_days": drift_days, "drift": drift, "hands": hands,
    })
}
