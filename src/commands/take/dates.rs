//! Due dates as spreadsheets have them: "4.12.2026", "12/04/26 16:00", "2026-12-04", "fri 12:00".

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;

use crate::shop::facts::moment::Moment;
use crate::shop::facts::station::DateOrder;
use crate::shop::facts::typed_due::typed_due;
use crate::shop::facts::when::{Due, time_of_day};

/// What a due date without a time of day means: the end of a working day.
const END_OF_DAY: Time = Time::constant(17, 0, 0, 0);

/// Why a text is no due time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoDate {
    /// Day and month could be either.
    #[error(
        "{0} could be two dates: which stands first, the day or the month? --dates day-first or month-first"
    )]
    Either(String),
    #[error(
        "found \"{0}\", expected a date such as \"2026-12-04\" or \"4.12.2026\", with a time or without"
    )]
    None(String),
}

/// Reads a due date with its time, which may stand in a column of its own.
///
/// # Errors
/// A text that is none, or one that could be two.
pub fn due(
    text: &str,
    time: &str,
    order: Option<DateOrder>,
    (now, zone): (Moment, &TimeZone),
) -> Result<Due, NoDate> {
    let whole = format!("{text} {time}");
    let whole = whole.trim();
    if let Ok(due) = whole.parse() {
        return Ok(due);
    }
    let none = || NoDate::None(crate::shop::facts::words::clean(whole, 40));
    let (day, clock) = whole.split_once([' ', 'T']).unwrap_or((whole, ""));
    let clock = match clock.trim() {
        "" => Ok(END_OF_DAY),
        clock => time_of_day(clock),
    };
    match (date(day, order)?, clock) {
        (Some(date), Ok(clock)) => Ok(Due::by_shop(date.to_datetime(clock))),
        (Some(_), Err(_)) => Err(none()),
        (None, _) => typed_due(whole, now, zone).map_err(|_| none()),
    }
}

/// A day in figures; None where it is none. Points stand behind the day wherever they are used.
fn date(text: &str, order: Option<DateOrder>) -> Result<Option<Date>, NoDate> {
    let Some(mark) = text.chars().find(|c| "/.-".contains(*c)) else { return Ok(None) };
    let parts: Vec<Option<i16>> = text.split(mark).map(|part| part.parse().ok()).collect();
    let [Some(first), Some(second), Some(third)] = parts[..] else { return Ok(None) };
    let made = |year: i16, month: i16, day: i16| {
        let year = if year < 100 { 2000 + year } else { year };
        let narrow = |number: i16| i8::try_from(number).ok();
        Date::new(year, narrow(month)?, narrow(day)?).ok()
    };
    if first > 31 {
        return Ok(made(first, second, third));
    }
    let day_first = made(third, second, first);
    let month_first = made(third, first, second);
    let order = if mark == '.' { Some(DateOrder::DayFirst) } else { order };
    match (order, day_first, month_first) {
        (Some(DateOrder::DayFirst), day_first, _) => Ok(day_first),
        (Some(DateOrder::MonthFirst), _, month_first) => Ok(month_first),
        (None, Some(one), Some(other)) if one != other => Err(NoDate::Either(text.to_owned())),
        (None, one, other) => Ok(one.or(other)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::facts::moment::{Boot, Up, Wall};
    use DateOrder::{DayFirst, MonthFirst};

    fn read(text: &str, time: &str, order: Option<DateOrder>) -> String {
        let moment = (Moment { at: Wall(0), boot: Boot::MADE_UP, up: Up(0) }, &TimeZone::UTC);
        due(text, time, order, moment).map_or_else(|wrong| wrong.to_string(), |due| due.to_string())
    }

    #[test]
    fn dates_are_read_as_they_were_meant() {
        for (text, time, order, wanted) in [
            ("2026-12-04", "", None, "2026-12-04T17:00"),
            ("2026-12-04", "16:30", None, "2026-12-04T16:30"),
            ("4.12.2026 9:05", "", None, "2026-12-04T09:05"),
            ("4.12.26", "", Some(MonthFirst), "2026-12-04T17:00"),
            ("13/04/2026", "", None, "2026-04-13T17:00"),
            ("04/13/2026", "", None, "2026-04-13T17:00"),
            ("12/03/2026", "", Some(DayFirst), "2026-03-12T17:00"),
            ("12/03/2026", "", Some(MonthFirst), "2026-12-03T17:00"),
            ("03/03/2026", "", None, "2026-03-03T17:00"),
        ] {
            assert_eq!(read(text, time, order), wanted, "{text} {time} {order:?}");
        }
        assert!(read("12/03/2026", "", None).contains("--dates"));
        for wrong in ["soon", "31/02/2026", "2026-12-04 25:00", "13/13/2026"] {
            assert!(
                read(wrong, "", None).starts_with("found"),
                "{wrong}: {}",
                read(wrong, "", None)
            );
        }
    }
}
