//! Small texts that several panes share.

use jiff::tz::TimeZone;

pub use crate::figures::units::spans::{
    ago, an_hour, countdown, hours, lasting, minutes, press_time, seconds, seconds_left,
};
use crate::figures::units::table::{GRAM, Unit};
use crate::figures::units::{Grams, NotAQuantity, Typed};
use crate::shop::Shop;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::floor::garment::Place;
use jiff::SignedDuration;

/// Where a garment is, in words.
pub fn place(shop: &Shop, place: Place) -> String {
    match place {
        Place::Waiting(step) => match shop.waits_elsewhere(step) {
            Some(bench) => format!("waits for {bench}: {step}"),
            None => format!("waits for {step}"),
        },
        Place::Undecided => "waits for a yes or no: underbase?".to_owned(),
        Place::InPress(press) => format!("in press {press}"),
        Place::Shelf => "on the shelf".to_owned(),
        Place::Finished => "finished".to_owned(),
        Place::Out => "a reject".to_owned(),
        Place::Away(station) => format!("at {}", shop.neighbour(station)),
    }
}

/// A wall-clock moment as hours and minutes of the shop's day.
pub fn clock(at: Wall, zone: &TimeZone) -> String {
    wall(at, zone, "%H:%M")
}

/// A moment as it is said now: "14:02" of today, "Fri 14:02" within a week, else with its date.
pub fn moment(at: Wall, now: Wall, zone: &TimeZone) -> String {
    const WEEK: SignedDuration = SignedDuration::from_hours(6 * 24 + 12);
    let today = day_start(now, zone);
    match day_start(at, zone) {
        day if day == today => clock(at, zone),
        day if (day - today).abs() < WEEK => wall(at, zone, "%a %H:%M"),
        _ => wall(at, zone, "%Y-%m-%d %H:%M"),
    }
}

/// A part of something more or less: "+5 %".
pub fn signed_per_cent(part: f64) -> String {
    // Added to 0, what rounds to nothing has no minus.
    format!("{:+.0} %", (100.0 * part).round() + 0.0)
}

/// A moment as weekday, day and clock: "Thu 2026-12-03 14:10".
pub fn day_and_clock(at: Wall, zone: &TimeZone) -> String {
    wall(at, zone, "%a %Y-%m-%d %H:%M")
}

/// Hours and minutes with seconds.
pub fn clock_seconds(at: Wall, zone: &TimeZone) -> String {
    wall(at, zone, "%H:%M:%S")
}

fn wall(at: Wall, zone: &TimeZone, form: &str) -> String {
    match at.timestamp() {
        Some(moment) => moment.to_zoned_datetime(zone.clone()).strftime(form).to_string(),
        None => "--:--".to_owned(),
    }
}

/// The wall-clock moment at which the shop's day of `at` began.
pub fn day_start(at: Wall, zone: &TimeZone) -> Wall {
    let day = at.timestamp().map(|moment| moment.to_zoned_datetime(zone.clone()).start_of_day());
    day.and_then(Result::ok).map_or(at, |day| day.timestamp().into())
}

/// A wall-clock moment as a day of the shop's calendar.
pub fn day(at: Wall, zone: &TimeZone) -> String {
    wall(at, zone, "%Y-%m-%d")
}

/// A weight as a person or a scale types it: "152.4", "152.4 g", "+  5.38 oz". A bare number is in `unit`.
///
/// # Errors
/// A text that is no weight.
pub fn read_weight(text: &str, unit: &'static Unit) -> Result<Grams, NotAQuantity> {
    let text = text.trim().trim_start_matches('+').trim();
    Typed::read_in(text, Some(unit)).map(Typed::quantity)
}

/// The name of a weight's field, by the unit of a bare number in it.
pub fn unit_name(unit: &'static Unit) -> &'static str {
    if *unit == GRAM { "grams" } else { unit.symbol }
}

/// The unit of a weight that is typed without one.
pub fn weight_unit(shop: &Shop) -> &'static Unit {
    shop.station().map_or(&GRAM, |station| station.weight_unit())
}

/// Whether a text can only be a weight: figures around one point, with or without a unit.
pub fn is_weight(text: &str) -> bool {
    text.matches(['.', ',']).count() == 1 && !text.contains('-') && read_weight(text, &GRAM).is_ok()
}

/// The day of a wall-clock moment with its weekday.
pub fn weekday(at: Wall, zone: &TimeZone) -> String {
    wall(at, zone, "%A %Y-%m-%d")
}

/// Why a press cannot be used yet: "press 1 is soaking: 12 min left".
pub fn unready(shop: &Shop, press: PressNo, now: Moment) -> String {
    match shop.unready(press, now) {
        Some((why, left)) => format!("press {press} is {}: {} left", why.words(), lasting(left)),
        None => format!("press {press} is ready"),
    }
}
