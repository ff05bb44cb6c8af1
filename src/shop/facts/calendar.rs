//! When people work: the station's hours without its breaks. What would have been done outside them is done after.
//!
//! A garment that lies in a press when work ends is the operator's to take out before; a plan does not shorten the last
//! press for it.

use std::time::Duration;

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;

use super::hours::Hours;
use super::moment::Wall;
use super::station::{Break, Station};

/// No plan reaches over more days than this.
const MOST_DAYS: i32 = 3000;

/// When a station works, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Calendar {
    pub hours: Hours,
    pub breaks: Vec<Break>,
    pub zone: TimeZone,
}

impl Default for Calendar {
    fn default() -> Self {
        Self { hours: Hours::default(), breaks: Vec::new(), zone: TimeZone::UTC }
    }
}

impl Calendar {
    /// A station's.
    pub fn of(station: &Station, zone: TimeZone) -> Self {
        Self { hours: station.hours.clone(), breaks: station.breaks.clone(), zone }
    }

    /// The moment at which so many seconds of work are done that begin at `from`.
    pub fn done_at(&self, from: Wall, work_s: f64) -> Wall {
        let mut left = Duration::try_from_secs_f64(work_s.max(0.0)).unwrap_or(Duration::MAX);
        if self.is_always() {
            return from.plus(left);
        }
        let mut last = from;
        for (begins, ends) in self.spans_from(from) {
            let there = ends.since(begins);
            if left <= there {
                return begins.plus(left);
            }
            left = left.saturating_sub(there);
            last = ends;
        }
        last.plus(left)
    }

    /// Seconds of work between two moments.
    pub fn work_between(&self, from: Wall, to: Wall) -> f64 {
        if self.is_always() {
            return to.since(from).as_secs_f64();
        }
        let spans = self.spans_from(from).take_while(|(begins, _)| *begins < to);
        spans.map(|(begins, ends)| ends.min(to).since(begins).as_secs_f64()).sum()
    }

    /// Seconds between two moments in which nobody is meant to work: breaks, and what lies between two spans of one day's
    /// hours. Before the first span and after the last a shift that works works as planned.
    pub fn rest_between(&self, from: Wall, to: Wall) -> f64 {
        let mut rests: Vec<(Wall, Wall)> = Vec::new();
        for day in self.days_from(from) {
            if self.wall(day.to_datetime(Time::midnight())).is_some_and(|begins| begins >= to) {
                break;
            }
            let spans = self.hours.on(day);
            let gaps = spans
                .windows(2)
                .filter_map(|two| Some((self.wall(two[0].1)?, self.wall(two[1].0)?)));
            let breaks = self.breaks.iter().filter_map(|one| self.rest_on(day, one));
            rests.extend(gaps.chain(breaks));
        }
        rests.sort_unstable();
        let mut told = from;
        let mut sum = 0.0;
        for (begins, ends) in rests {
            let (begins, ends) = (begins.max(told), ends.min(to));
            sum += ends.since(begins).as_secs_f64();
            told = told.max(ends);
        }
        sum
    }

    /// Whether nobody ever rests.
    fn is_always(&self) -> bool {
        self.hours.is_always() && self.breaks.is_empty()
    }

    /// The spans of work from a moment on, one after the other.
    fn spans_from(&self, from: Wall) -> impl Iterator<Item = (Wall, Wall)> {
        let mut after = from;
        self.days_from(from).flat_map(|day| self.spans_of(day)).filter_map(move |(begins, ends)| {
            // Spans that overlap are worked once.
            let begins = begins.max(after);
            after = after.max(ends);
            (begins < ends).then_some((begins, ends))
        })
    }

    /// The days from the one before a moment's on: a span of that one may reach past midnight.
    fn days_from(&self, from: Wall) -> impl Iterator<Item = Date> + use<> {
        let today = from.timestamp().map(|at| at.to_zoned_datetime(self.zone.clone()).date());
        let first = today.and_then(|day| day.yesterday().ok());
        let day = move |n: i32| first?.checked_add(jiff::Span::new().days(n)).ok();
        (0..MOST_DAYS).map_while(day)
    }

    fn wall(&self, at: DateTime) -> Option<Wall> {
        Some(Wall::from(at.to_zoned_datetime(self.zone.clone()).ok()?.timestamp()))
    }

    /// When a break begins and ends on a day.
    fn rest_on(&self, day: Date, one: &Break) -> Option<(Wall, Wall)> {
        let begins = self.wall(DateTime::from_parts(day, one.at.0))?;
        Some((begins, begins.plus(one.lasts.0)))
    }

    /// The spans of work that begin on a day.
    fn spans_of(&self, day: Date) -> Vec<(Wall, Wall)> {
        let hours = self.hours.on(day).into_iter();
        let mut spans: Vec<(Wall, Wall)> =
            hours.filter_map(|(from, to)| Some((self.wall(from)?, self.wall(to)?))).collect();
        let near = [day.yesterday().ok(), Some(day), day.tomorrow().ok()];
        for day in near.into_iter().flatten() {
            for one in &self.breaks {
                let Some((begins, ends)) = self.rest_on(day, one) else { continue };
                let cut = |(from, to): (Wall, Wall)| [(from, to.min(begins)), (from.max(ends), to)];
                spans = spans.into_iter().flat_map(cut).filter(|(from, to)| from < to).collect();
            }
        }
        spans
    }
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;
    use crate::figures::units::Span;
    use crate::shop::facts::station::ClockTime;

    const MINUTE: Duration = Duration::from_secs(60);

    fn noon() -> Calendar {
        let at = |text: &str| ClockTime(text.parse().unwrap());
        let breaks = vec![
            Break { at: at("12:00"), lasts: Span::seconds(1800) },
            Break { at: at("15:00"), lasts: Span::seconds(900) },
        ];
        Calendar { breaks, ..Calendar::default() }
    }

    fn wall(text: &str) -> Wall {
        text.parse::<Timestamp>().unwrap().into()
    }

    #[test]
    fn work_goes_on_after_the_break() {
        let from = wall("2026-03-02T11:50:00Z");
        let done = |minutes: i32| {
            let work_s = f64::from(minutes) * 60.0;
            (noon().done_at(from, work_s) - from).as_mins()
        };
        assert_eq!(done(10), 10);
        assert_eq!(done(20), 50);
        assert_eq!(done(200), 245);
        // To the next day and over its noon.
        assert_eq!(done(24 * 60), 24 * 60 + 75);
        assert_eq!(Calendar::default().done_at(from, 600.0), from.plus(MINUTE * 10));
    }

    #[test]
    fn work_that_begins_in_a_break_begins_after_it() {
        let from = wall("2026-03-02T12:10:00Z");
        assert_eq!(noon().done_at(from, 60.0), from.plus(MINUTE * 21));
    }

    #[test]
    fn a_rest_is_taken_once_and_no_longer_than_it_is_asked_about() {
        let works = Calendar {
            hours: Hours::try_from(vec!["mon-fri 08:00-12:00 12:20-17:00".to_owned()]).unwrap(),
            ..noon()
        };
        let rest = |from: &str, to: &str| works.rest_between(wall(from), wall(to)) / 60.0;
        // The half hour from 12:00 and the twenty minutes of the hours are one rest; 15:00 is another.
        assert_eq!(rest("2026-03-02T06:00:00Z", "2026-03-02T20:00:00Z"), 45.0);
        assert_eq!(rest("2026-03-02T12:10:00Z", "2026-03-02T15:05:00Z"), 25.0);
        // No hours on a Saturday, but its breaks; whoever works at night works as planned.
        assert_eq!(rest("2026-03-06T18:00:00Z", "2026-03-07T12:30:00Z"), 30.0);
        assert_eq!(
            Calendar::default()
                .rest_between(wall("2026-03-02T06:00:00Z"), wall("2026-03-09T06:00:00Z")),
            0.0
        );
    }

    /// 2026-03-06 is a Friday: what is not done by 17:00 is done on Monday, and Wednesday is closed.
    #[test]
    fn nobody_works_outside_the_hours() {
        let lines = ["mon-fri 08:00-17:00", "2026-03-11 closed"].map(str::to_owned);
        let hours = Hours::try_from(lines.to_vec()).unwrap();
        let works = Calendar { hours, ..noon() };
        let from = wall("2026-03-06T16:00:00Z");
        assert_eq!(works.done_at(from, 3600.0), wall("2026-03-06T17:00:00Z"));
        assert_eq!(works.done_at(from, 7200.0), wall("2026-03-09T09:00:00Z"));
        // An hour on Friday, two days of 8 h 15 min without their breaks, and no Wednesday.
        let days = 3600.0 * (1.0 + 2.0 * 8.25);
        assert_eq!(works.done_at(from, days + 60.0), wall("2026-03-12T08:01:00Z"));
        assert_eq!(works.work_between(from, wall("2026-03-12T08:01:00Z")), days + 60.0);
        assert_eq!(works.work_between(from, from), 0.0);
    }
}
