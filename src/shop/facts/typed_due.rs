//! Due times as hands type them: "1600", "tomorrow 16:00", "fri 12:00", "28-1600", "12-04-1600".
//!
//! Each is the next such moment by the shop's own clock. What has only a time of day is today's, also where that has
//! passed: an order may be late already, and it is read back in words.

use jiff::civil::{Date, Time, Weekday};
use jiff::tz::TimeZone;

use super::moment::{Moment, Wall};
use super::when::{Due, NotAMoment, time_of_day};

/// What is said where none of them fits.
pub const TYPED: &str =
    "a due time such as \"1600\", \"tomorrow 16:00\", \"fri 12:00\", \"28-1600\" or \"12-04-1600\"";

/// How far the calendar is searched for a day: a leap day comes again within eight years.
const DAYS: i32 = 8 * 366;

/// Reads a due time as it is typed into a form; also one that is written whole.
///
/// # Errors
/// A text that is none.
pub fn typed_due(text: &str, now: Moment, zone: &TimeZone) -> Result<Due, NotAMoment> {
    let text = text.trim().to_lowercase();
    if let Ok(due) = text.parse() {
        return Ok(due);
    }
    let wrong = || NotAMoment::new(&text, TYPED);
    let today = now.at.timestamp().ok_or_else(wrong)?.to_zoned_datetime(zone.clone()).date();
    let (day, time) = match text.rsplit_once([' ', '-']) {
        Some((day, time)) => (day.trim(), time),
        None => ("", text.as_str()),
    };
    let time = clock(time).ok_or_else(wrong)?;
    let date = date(day, today).ok_or_else(wrong)?;
    Ok(Due::by_shop(date.to_datetime(time)))
}

/// "1600", "930", "16:00".
fn clock(text: &str) -> Option<Time> {
    if let Ok(time) = time_of_day(text) {
        return Some(time);
    }
    let figures = (3..=4).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
    let (hours, minutes) = figures.then(|| text.split_at(text.len() - 2))?;
    Time::new(hours.parse().ok()?, minutes.parse().ok()?, 0, 0).ok()
}

/// The day that is named, from today on.
fn date(day: &str, today: Date) -> Option<Date> {
    let after = |days: i32| today.checked_add(jiff::Span::new().days(days)).ok();
    let next = |is_it: &dyn Fn(Date) -> bool| (0..DAYS).filter_map(after).find(|date| is_it(*date));
    match day {
        "" | "today" => return Some(today),
        "tomorrow" => return after(1),
        _ => {}
    }
    if let Some(weekday) = weekday(day) {
        return (1..=7).filter_map(after).find(|date| date.weekday() == weekday);
    }
    let number = |text: &str| text.parse::<i8>().ok().filter(|n| *n > 0);
    match day.split_once('-') {
        None => {
            let wanted = number(day)?;
            next(&|date| date.day() == wanted)
        }
        Some((month, day)) => {
            let (month, day) = (number(month)?, number(day)?);
            next(&|date| (date.month(), date.day()) == (month, day))
        }
    }
}

/// "fri", "friday".
fn weekday(text: &str) -> Option<Weekday> {
    const NAMES: [&str; 7] =
        ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let n = NAMES.iter().position(|name| text.len() >= 3 && name.starts_with(text))?;
    Weekday::from_monday_zero_offset(i8::try_from(n).ok()?).ok()
}

/// A due time read back in words: "today 16:00", "Fri 2026-12-04 12:00".
pub fn in_words(due: Due, now: Moment, zone: &TimeZone) -> String {
    let at = |at: Wall| Some(at.timestamp()?.to_zoned_datetime(zone.clone()));
    let (Some(at), Some(now)) = (due.at(zone).and_then(at), at(now.at)) else {
        return due.to_string();
    };
    let past = if at < now { ", which is past" } else { "" };
    let clock = at.strftime("%H:%M");
    let tomorrow = now.date().tomorrow().ok();
    match at.date() {
        date if date == now.date() => format!("today {clock}{past}"),
        date if Some(date) == tomorrow => format!("tomorrow {clock}"),
        date => format!("{} {clock}{past}", date.strftime("%a %Y-%m-%d")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::moment::{Boot, Up};
    use super::*;

    /// Wednesday 2026-12-02, 10:00 by a clock two hours ahead.
    fn read(text: &str) -> Result<String, String> {
        let zone = TimeZone::fixed(jiff::tz::Offset::constant(2));
        let at: jiff::Timestamp = "2026-12-02T08:00:00Z".parse().unwrap();
        let now = Moment { at: at.into(), boot: Boot(1), up: Up(0) };
        let due = typed_due(text, now, &zone).map_err(|wrong| wrong.to_string())?;
        assert_eq!(due.to_string().parse(), Ok(due), "{text} is stored as what it reads back as");
        Ok(format!("{due} {}", in_words(due, now, &zone)))
    }

    #[test]
    fn due_times_are_read_as_hands_type_them_and_read_back_in_words() {
        for (text, wanted) in [
            ("1600", "2026-12-02T16:00 today 16:00"),
            ("930", "2026-12-02T09:30 today 09:30, which is past"),
            ("16:00", "2026-12-02T16:00 today 16:00"),
            ("tomorrow 16:00", "2026-12-03T16:00 tomorrow 16:00"),
            ("tomorrow 1600", "2026-12-03T16:00 tomorrow 16:00"),
            ("fri 12:00", "2026-12-04T12:00 Fri 2026-12-04 12:00"),
            ("Friday 1200", "2026-12-04T12:00 Fri 2026-12-04 12:00"),
            ("wed 8:00", "2026-12-09T08:00 Wed 2026-12-09 08:00"),
            ("28-1600", "2026-12-28T16:00 Mon 2026-12-28 16:00"),
            ("1-1600", "2027-01-01T16:00 Fri 2027-01-01 16:00"),
            ("12-04-1600", "2026-12-04T16:00 Fri 2026-12-04 16:00"),
            ("11-30-0800", "2027-11-30T08:00 Tue 2027-11-30 08:00"),
            ("02-29-0800", "2028-02-29T08:00 Tue 2028-02-29 08:00"),
            ("2026-12-04T16:00", "2026-12-04T16:00 Fri 2026-12-04 16:00"),
            ("2026-12-04 16:00", "2026-12-04T16:00 Fri 2026-12-04 16:00"),
        ] {
            assert_eq!(read(text).as_deref(), Ok(wanted), "{text}");
        }
        for text in
            ["", "16", "2560", "1661", "soon 1600", "32-1600", "13-01-1600", "02-30-1600", "0-1600"]
        {
            let wrong = read(text).unwrap_err();
            assert!(wrong.contains("12-04-1600"), "{text}: {wrong}");
        }
    }
}
