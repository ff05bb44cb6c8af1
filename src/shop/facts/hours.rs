//! When a station works: lines such as "mon-fri 08:00-12:00 12:30-17:00", "sat 08:00-12:00", "2026-12-25 closed".
//!
//! A day that is named by its date goes by that line alone. A span that ends before it begins reaches past midnight, and
//! belongs to the day on which it begins.

use jiff::civil::{Date, DateTime, Time, Weekday};
use serde::{Deserialize, Serialize};

use super::when::time_of_day;
use super::words::clean;

/// The hours of a station; none at all: it always works.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<String>", into = "Vec<String>")]
pub struct Hours {
    lines: Vec<Line>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Line {
    days: Days,
    /// When work begins and ends.
    spans: Vec<(Time, Time)>,
    written: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Days {
    On(Date),
    /// By days of the week, Monday first.
    Every([bool; 7]),
}

/// A line that tells of no hours.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "found \"{0}\", expected days and times such as \"mon-fri 08:00-12:00 12:30-17:00\", \"sat 08:00-12:00\" or \"2026-12-25 closed\""
)]
pub struct NoHours(String);

impl TryFrom<Vec<String>> for Hours {
    type Error = NoHours;
    fn try_from(lines: Vec<String>) -> Result<Self, NoHours> {
        let lines = lines.iter().map(|text| line(text).ok_or_else(|| NoHours(clean(text, 60))));
        Ok(Self { lines: lines.collect::<Result<_, _>>()? })
    }
}

impl From<Hours> for Vec<String> {
    fn from(hours: Hours) -> Self {
        hours.lines.into_iter().map(|line| line.written).collect()
    }
}

fn line(text: &str) -> Option<Line> {
    let lower = text.trim().to_lowercase();
    let mut words = lower.split_whitespace();
    let days = days(words.next()?)?;
    let rest: Vec<&str> = words.collect();
    let spans = match rest.as_slice() {
        [] => return None,
        ["closed"] => Vec::new(),
        spans => spans.iter().map(|text| span(text)).collect::<Option<_>>()?,
    };
    Some(Line { days, spans, written: text.trim().to_owned() })
}

/// "mon", "mon-fri", "mon,wed,fri", "2026-12-25".
fn days(text: &str) -> Option<Days> {
    if text.starts_with(|first: char| first.is_ascii_digit()) {
        return (text.len() == 10).then(|| text.parse().ok().map(Days::On))?;
    }
    let mut every = [false; 7];
    for part in text.split(',') {
        let (from, to) = part.split_once('-').unwrap_or((part, part));
        let (from, to) = (weekday(from)?, weekday(to)?);
        // "sat-mon" goes over the end of the week.
        let count = (to + 7 - from) % 7;
        (0..=count).for_each(|n| every[(from + n) % 7] = true);
    }
    Some(Days::Every(every))
}

/// The day's place in the week, Monday's is 0.
fn weekday(text: &str) -> Option<usize> {
    const NAMES: [&str; 7] =
        ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    NAMES.iter().position(|name| text.len() >= 3 && name.starts_with(text))
}

/// "08:00-12:00"; "24:00" ends at midnight.
fn span(text: &str) -> Option<(Time, Time)> {
    let (from, to) = text.split_once('-')?;
    let to = if to == "24:00" { Time::midnight() } else { time_of_day(to).ok()? };
    let from = time_of_day(from).ok()?;
    (from != to || to == Time::midnight()).then_some((from, to))
}

impl Hours {
    /// Whether nothing is said, so that every hour is one.
    pub fn is_always(&self) -> bool {
        self.lines.is_empty()
    }

    /// When work begins and ends on a day, by the station's clock. The whole day where nothing is said of any.
    pub fn on(&self, day: Date) -> Vec<(DateTime, DateTime)> {
        let next = day.tomorrow().unwrap_or(day);
        if self.is_always() {
            return vec![(day.to_datetime(Time::midnight()), next.to_datetime(Time::midnight()))];
        }
        let named = self.lines.iter().rfind(|line| line.days == Days::On(day));
        let of_week =
            |line: &&Line| matches!(line.days, Days::Every(every) if every[place(day.weekday())]);
        let lines: Vec<&Line> = match named {
            Some(line) => vec![line],
            None => self.lines.iter().filter(of_week).collect(),
        };
        let spans = lines.into_iter().flat_map(|line| &line.spans);
        let span = |(from, to): &(Time, Time)| {
            let ends = if to > from { day } else { next };
            (day.to_datetime(*from), ends.to_datetime(*to))
        };
        let mut spans: Vec<_> = spans.map(span).collect();
        spans.sort_unstable();
        spans
    }
}

fn place(day: Weekday) -> usize {
    usize::try_from(day.to_monday_zero_offset()).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hours(lines: &[&str]) -> Result<Hours, NoHours> {
        lines.iter().map(|line| (*line).to_owned()).collect::<Vec<String>>().try_into()
    }

    fn on(hours: &Hours, day: &str) -> Vec<String> {
        let told = |(from, to): (DateTime, DateTime)| {
            format!("{}-{}", from.strftime("%a %H:%M"), to.strftime("%a %H:%M"))
        };
        hours.on(day.parse().unwrap()).into_iter().map(told).collect()
    }

    /// 2026-12-04 is a Friday.
    #[test]
    fn days_of_the_week_dates_and_nights() {
        let lines = [
            "mon-fri 08:00-12:00 12:30-17:00",
            "sat 22:00-02:00",
            "2026-12-25 closed",
            "sun,mon 18:00-24:00",
        ];
        let all = hours(&lines).unwrap();
        assert_eq!(on(&all, "2026-12-04"), ["Fri 08:00-Fri 12:00", "Fri 12:30-Fri 17:00"]);
        assert_eq!(on(&all, "2026-12-05"), ["Sat 22:00-Sun 02:00"]);
        assert_eq!(on(&all, "2026-12-06"), ["Sun 18:00-Mon 00:00"]);
        assert_eq!(on(&all, "2026-12-07").len(), 3);
        assert!(on(&all, "2026-12-25").is_empty());
        assert_eq!(Vec::<String>::from(all), lines);
        assert_eq!(on(&Hours::default(), "2026-12-04"), ["Fri 00:00-Sat 00:00"]);
        assert_eq!(on(&hours(&["fri-mon 8:00-9:00"]).unwrap(), "2026-12-07").len(), 1);
    }

    #[test]
    fn what_tells_of_no_hours_is_refused() {
        for wrong in [
            "",
            "mon",
            "mon 8-17",
            "08:00-17:00",
            "mun 08:00-17:00",
            "mon-fri 08:00",
            "2026-12-25",
            "2026-13-25 closed",
            "mon 08:00-08:00",
            "mon closed 08:00-12:00",
        ] {
            let told = hours(&[wrong]).unwrap_err().to_string();
            assert!(told.starts_with(&format!("found \"{wrong}\", expected days")), "{told}");
        }
    }
}
