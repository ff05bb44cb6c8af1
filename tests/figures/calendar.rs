//! Days of the shop's calendar, which are not always 24 hours long.
//!
//! Lengths of days and clock readings: IANA time zone database 2026, as section 9 of tests/data/README.md
//! holds them.

use dwell::figures::units::{Days, Span};
use dwell::screen::words;
use dwell::shop::facts::day::Day;
use dwell::shop::facts::moment::{Boot, Moment, Up, Wall};
use jiff::Timestamp;
use jiff::tz::TimeZone;

const HOUR_US: i64 = 3_600_000_000;

fn zone(name: &str) -> TimeZone {
    TimeZone::get(name).unwrap_or_else(|wrong| panic!("{name}: {wrong}"))
}

fn wall(text: &str) -> Wall {
    text.parse::<Timestamp>().unwrap().into()
}

/// How long the shop's day is in which a moment lies, in hours.
fn hours_of_day(moment: &str, zone: &TimeZone) -> f64 {
    let start = words::day_start(wall(moment), zone);
    // From noon of one day to noon of the next is never less than 23 hours nor more than 25.
    let next = words::day_start(Wall(start.0 + 36 * HOUR_US), zone);
    (next - start).as_secs_f64() / 3600.0
}

#[test]
fn a_day_on_which_the_clocks_change_has_23_or_25_hours() {
    for (name, noon, hours) in [
        ("America/New_York", "2026-03-08T12:00:00-04:00", 23.0),
        ("America/New_York", "2026-11-01T12:00:00-05:00", 25.0),
        ("Europe/Berlin", "2026-03-29T12:00:00+02:00", 23.0),
        // V: the last Sunday of October, the other end of the same rule.
        ("Europe/Berlin", "2026-10-25T12:00:00+01:00", 25.0),
        ("Europe/Berlin", "2026-06-01T12:00:00+02:00", 24.0),
        ("UTC", "2026-03-29T12:00:00Z", 24.0),
    ] {
        assert_eq!(hours_of_day(noon, &zone(name)), hours, "{name} {noon}");
    }
}

#[test]
fn every_moment_of_a_day_has_the_same_start() {
    let zone = zone("America/New_York");
    let midnight = wall("2026-11-01T00:00:00-04:00");
    // 01:30 comes twice on that day: both belong to it.
    for moment in [
        "2026-11-01T00:00:00-04:00",
        "2026-11-01T01:30:00-04:00",
        "2026-11-01T01:30:00-05:00",
        "2026-11-01T23:59:59-05:00",
    ] {
        assert_eq!(words::day_start(wall(moment), &zone), midnight, "{moment}");
        assert_eq!(words::day(wall(moment), &zone), "2026-11-01");
    }
    assert_eq!(words::day_start(Wall(midnight.0 - 1), &zone), wall("2026-10-31T00:00:00-04:00"));
}

#[test]
fn a_clock_reads_as_the_wall_of_the_shop() {
    let zone = zone("America/New_York");
    // 24 hours after noon on 7 March 2026 it is 13:00: an hour was left out.
    let noon = wall("2026-03-07T12:00:00-05:00");
    assert_eq!(words::clock(noon, &zone), "12:00");
    assert_eq!(words::clock(Wall(noon.0 + 24 * HOUR_US), &zone), "13:00");
    assert_eq!(words::clock_seconds(wall("1996-12-20T00:39:57Z"), &TimeZone::UTC), "00:39:57");
    // RFC 3339, section 5.8 (M): the same moment, written with an offset.
    assert_eq!(wall("1996-12-19T16:39:57-08:00"), wall("1996-12-20T00:39:57Z"));
}

#[test]
fn a_wall_clock_beyond_the_calendar_is_no_panic() {
    for at in [Wall::FIRST, Wall::LAST] {
        assert_eq!(words::clock(at, &TimeZone::UTC), "--:--");
        assert_eq!(words::day_start(at, &TimeZone::UTC), at);
    }
}

#[test]
fn days_are_whole_days_and_weeks_are_seven_of_them() {
    for (text, days) in [("21days", 21), ("3weeks", 21), ("30days", 30), ("24h", 1)] {
        assert_eq!(text.parse::<Days>().unwrap(), Days(days), "{text}");
    }
    for text in ["23h", "25h", "-1day", "1day 1s"] {
        assert!(text.parse::<Days>().is_err(), "{text}");
    }
    assert!("200years".parse::<Span>().is_err(), "longer than any sum of microseconds should bear");
}

/// Whole days are added on the calendar: tests/data/README.md, section 9 (`calendar_points.csv`, V), its rows of days alone.
#[test]
fn days_are_added_on_the_calendar() {
    let mut rows = csv::Reader::from_reader(include_str!("../data/calendar_points.csv").as_bytes());
    let mut seen = 0;
    for row in rows.records() {
        let row = row.unwrap();
        let days = row[2].strip_prefix('P').and_then(|text| text.strip_suffix('D'));
        let Some((days, from)) = days.and_then(|d| d.parse().ok()).zip(row[1].parse::<Day>().ok())
        else {
            continue;
        };
        assert_eq!(from.plus(Days(days)).to_string(), &row[3], "{}", &row[0]);
        seen += 1;
    }
    assert!(seen >= 2, "{seen}");
    // A leap day, the end of a year, and a century that is no leap year.
    for (from, days, to) in [
        ("2028-02-28", 1, "2028-02-29"),
        ("2026-12-31", 1, "2027-01-01"),
        ("2100-02-28", 1, "2100-03-01"),
        ("2026-02-28", 1, "2026-03-01"),
    ] {
        assert_eq!(from.parse::<Day>().unwrap().plus(Days(days)).to_string(), to);
    }
}

/// A shelf day is a calendar day, whatever its hours: three weeks from a day before the clocks change.
#[test]
fn three_weeks_are_twenty_one_days_over_a_change_of_the_clocks() {
    let zone = zone("Europe/Berlin");
    let moment = |text: &str| Moment { at: wall(text), boot: Boot(1), up: Up(0) };
    let before = Day::of(moment("2026-03-28T23:30:00+01:00"), &zone);
    let after = Day::of(moment("2026-03-29T00:30:00+01:00"), &zone);
    assert_eq!((before.to_string(), after.to_string()), ("2026-03-28".into(), "2026-03-29".into()));
    assert_eq!(before.plus(Days(21)).to_string(), "2026-04-18");
    assert_eq!(before.until(after), 1);
    // The last minute of a day belongs to it, the first of the next one does not.
    let last = Day::of(moment("2026-04-18T23:59:59+02:00"), &zone);
    assert_eq!(before.plus(Days(21)), last);
    assert!("2026-04-18T10:00".parse::<Day>().is_err() && "2026-02-30".parse::<Day>().is_err());
}
