//! Breaks: nobody works in them, so what would have been done in one is done after it.
//!
//! A garment that lies in a press when a break begins is the operator's to take out before; a plan does not
//! shorten the last press for it.

use std::time::Duration;

use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

use crate::shop::facts::moment::Wall;
use crate::shop::facts::station::Break;

/// No plan reaches over more breaks than this.
const MOST: usize = 2000;

/// The moment at which so many seconds of work are done that begin at `from`.
pub fn done_at(from: Wall, work_s: f64, breaks: &[Break], zone: &TimeZone) -> Wall {
    let mut left = Duration::try_from_secs_f64(work_s.max(0.0)).unwrap_or(Duration::MAX);
    let mut at = from;
    for _ in 0..MOST {
        let Some((begins, ends)) = next(at, breaks, zone) else { break };
        if at.plus(left) <= begins {
            break;
        }
        left = left.saturating_sub(begins.since(at));
        at = ends;
    }
    at.plus(left)
}

/// The first break that ends after `at`: its beginning and end.
fn next(at: Wall, breaks: &[Break], zone: &TimeZone) -> Option<(Wall, Wall)> {
    let today = at.timestamp()?.to_zoned_datetime(zone.clone()).date();
    let days = [today.yesterday().ok(), Some(today), today.tomorrow().ok()];
    let span = |day: Date, one: &Break| {
        let begins = DateTime::from_parts(day, one.at.0).to_zoned_datetime(zone.clone()).ok()?;
        let begins = Wall::from(begins.timestamp());
        Some((begins, begins.plus(one.lasts.0)))
    };
    let all = days.into_iter().flatten().flat_map(|day| breaks.iter().map(move |one| (day, one)));
    all.filter_map(|(day, one)| span(day, one)).filter(|(_, ends)| *ends > at).min()
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;
    use crate::figures::units::Span;
    use crate::shop::facts::station::ClockTime;

    const MINUTE: Duration = Duration::from_secs(60);

    fn noon() -> Vec<Break> {
        let at = |text: &str| ClockTime(text.parse().unwrap());
        vec![
            Break { at: at("12:00"), lasts: Span::seconds(1800) },
            Break { at: at("15:00"), lasts: Span::seconds(900) },
        ]
    }

    fn wall(text: &str) -> Wall {
        text.parse::<Timestamp>().unwrap().into()
    }

    #[test]
    fn work_goes_on_after_the_break() {
        let from = wall("2026-03-02T11:50:00Z");
        let done = |minutes: i32| {
            let work_s = f64::from(minutes) * 60.0;
            (done_at(from, work_s, &noon(), &TimeZone::UTC) - from).as_mins()
        };
        assert_eq!(done(10), 10);
        assert_eq!(done(20), 50);
        assert_eq!(done(200), 245);
        // To the next day and over its noon.
        assert_eq!(done(24 * 60), 24 * 60 + 75);
        assert_eq!(done_at(from, 600.0, &[], &TimeZone::UTC), from.plus(MINUTE * 10));
    }

    #[test]
    fn work_that_begins_in_a_break_begins_after_it() {
        let from = wall("2026-03-02T12:10:00Z");
        assert_eq!(done_at(from, 60.0, &noon(), &TimeZone::UTC), from.plus(MINUTE * 21));
    }
}
