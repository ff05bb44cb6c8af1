//! Breaks: nobody works in them, so what would have been done in one is done after it.
//!
//! A garment that lies in a press when a break begins is the operator's to take out before; a plan does not
//! shorten the last press for it.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

use crate::shop::facts::station::Break;

/// No plan reaches over more breaks than this.
const MOST: usize = 2000;

/// The moment at which so many seconds of work are done that begin at `from`, both in microseconds of the wall clock.
#[expect(clippy::cast_possible_truncation, reason = "some weeks in microseconds")]
pub fn done_at(from: i64, work_s: f64, breaks: &[Break], zone: &TimeZone) -> i64 {
    let mut left = (work_s.max(0.0) * 1e6) as i64;
    let mut at = from;
    for _ in 0..MOST {
        let Some((begins, ends)) = next(at, breaks, zone) else { break };
        if at.saturating_add(left) <= begins {
            break;
        }
        left -= (begins - at).max(0);
        at = ends;
    }
    at.saturating_add(left)
}

/// The first break that ends after `at`: its beginning and end.
fn next(at: i64, breaks: &[Break], zone: &TimeZone) -> Option<(i64, i64)> {
    let today = Timestamp::from_microsecond(at).ok()?.to_zoned_datetime(zone.clone()).date();
    let days = [today.yesterday().ok(), Some(today), today.tomorrow().ok()];
    let span = |day: Date, one: &Break| {
        let begins = DateTime::from_parts(day, one.at.0).to_zoned_datetime(zone.clone()).ok()?;
        let begins = begins.timestamp().as_microsecond();
        Some((begins, begins + i64::try_from(one.lasts.0.as_micros()).ok()?))
    };
    let all = days.into_iter().flatten().flat_map(|day| breaks.iter().map(move |one| (day, one)));
    all.filter_map(|(day, one)| span(day, one)).filter(|(_, ends)| *ends > at).min()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::units::Span;
    use crate::shop::facts::station::ClockTime;

    const MINUTE: i64 = 60_000_000;

    fn noon() -> Vec<Break> {
        let at = |text: &str| ClockTime(text.parse().unwrap());
        vec![
            Break { at: at("12:00"), lasts: Span::seconds(1800) },
            Break { at: at("15:00"), lasts: Span::seconds(900) },
        ]
    }

    fn micros(text: &str) -> i64 {
        text.parse::<Timestamp>().unwrap().as_microsecond()
    }

    #[test]
    fn work_goes_on_after_the_break() {
        let from = micros("2026-03-02T11:50:00Z");
        let done = |minutes: i64| {
            let work_s = f64::from(i32::try_from(minutes).unwrap()) * 60.0;
            (done_at(from, work_s, &noon(), &TimeZone::UTC) - from) / MINUTE
        };
        assert_eq!(done(10), 10);
        assert_eq!(done(20), 50);
        assert_eq!(done(200), 245);
        // To the next day and over its noon.
        assert_eq!(done(24 * 60), 24 * 60 + 75);
        assert_eq!(done_at(from, 600.0, &[], &TimeZone::UTC), from + 10 * MINUTE);
    }

    #[test]
    fn work_that_begins_in_a_break_begins_after_it() {
        let from = micros("2026-03-02T12:10:00Z");
        assert_eq!((done_at(from, 60.0, &noon(), &TimeZone::UTC) - from) / MINUTE, 21);
    }
}
