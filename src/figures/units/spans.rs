//! Spans of time and rates as people read them: each kind in one way, on the screen, in answers and in the report.

use std::time::Duration;

use super::time::Span;

/// From so many minutes on a span is told in hours too.
const HOURS_FROM: u64 = 120;

/// Seconds to the whole one: "31 s".
pub fn seconds(seconds: f64) -> String {
    format!("{seconds:.0} s")
}

/// The time of a press step: "40 s"; from 100 s on minutes and seconds: "1:40".
pub fn press_time(span: Span) -> String {
    let seconds = span.0.as_secs();
    if seconds < 100 { format!("{seconds} s") } else { countdown(seconds) }
}

/// Seconds as they stand on a press: "37", from 100 s on "1:40".
pub fn countdown(seconds: u64) -> String {
    if seconds < 100 {
        seconds.to_string()
    } else {
        format!("{}:{:02}", seconds / 60, seconds % 60)
    }
}

/// The whole seconds of what is left: the figure of a second stands until that second is over.
pub fn seconds_left(left: Duration) -> u64 {
    u64::try_from(left.as_millis().div_ceil(1000)).unwrap_or(u64::MAX)
}

/// A span that is waited out: in minutes, the last two of them in seconds.
pub fn lasting(span: Duration) -> String {
    match span.as_secs() {
        seconds if seconds >= 120 => format!("{} min", seconds.div_ceil(60)),
        seconds => format!("{seconds} s"),
    }
}

/// Minutes to the whole one: "35 min".
pub fn minutes(seconds: f64) -> String {
    format!("{:.0} min", seconds / 60.0)
}

/// "35 min", from two hours on "3 h 20 min".
pub fn hours(seconds: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "some weeks in minutes, never below none"
    )]
    let whole = (seconds.max(0.0) / 60.0).round() as u64;
    match whole {
        0..HOURS_FROM => format!("{whole} min"),
        _ => format!("{} h {:02} min", whole / 60, whole % 60),
    }
}

/// The same of what may be as short as a press step: "40 s", "12 min", "2 h 05 min".
pub fn of_any_length(span_s: f64) -> String {
    if span_s < 90.0 { seconds(span_s) } else { hours(span_s) }
}

/// "this hour", "3 h ago", "2 days ago".
pub fn ago(span: Duration) -> String {
    match span.as_secs() {
        0..3600 => "this hour".into(),
        seconds @ 3600..172_800 => format!("{} h ago", seconds / 3600),
        seconds => format!("{} days ago", seconds / 86_400),
    }
}

/// Garments an hour: "24.5 an hour".
pub fn an_hour(rate: f64) -> String {
    format!("{rate:.1} an hour")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_grow_into_the_next_unit() {
        let all =
            [(31.4, "31 s"), (90.0, "2 min"), (7170.0, "2 h 00 min"), (12_000.0, "3 h 20 min")];
        for (span, words) in all {
            assert_eq!(of_any_length(span), words);
        }
        assert_eq!((minutes(89.0).as_str(), hours(-5.0).as_str()), ("1 min", "0 min"));
    }

    #[test]
    fn long_press_times_are_in_minutes() {
        assert_eq!(countdown(99), "99");
        assert_eq!(countdown(100), "1:40");
        assert_eq!(countdown(3_725), "62:05");
    }
}
