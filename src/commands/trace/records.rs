//! A garment's record as JSON, and as a row for whoever calls the customers.

use jiff::tz::TimeZone;
use serde_json::{Value, json};

use crate::screen::words;
use crate::shell::recall::Taken;
use crate::shell::records::{Pressed, Record};
use crate::shop::facts::fact::Returned;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::words::harmless;

/// The record's fields.
pub fn as_json(record: &Record) -> Value {
    let pressed = |pressed: Option<Pressed>| {
        pressed.map(
            |one| json!({ "press": one.press, "seconds": one.seconds, "opened": rfc3339(one.at) }),
        )
    };
    json!({
        "tag": record.tag, "size": record.size, "recipe": record.recipe,
        "finished": record.is_finished,
        "coat": record.coat.map(|(coat, _)| coat),
        "coat_estimated": record.coat.map(|(_, estimated)| estimated),
        "steam": record.steam, "lots": record.lots,
        "dried": pressed(record.dried), "cured": pressed(record.cured), "outside": record.faults.values().collect::<Vec<_>>(),
        "washes": record.washes.iter().map(|wash| json!({
            "cycles": wash.cycles, "grade": wash.grade, "delta_e": wash.delta_e,
        })).collect::<Vec<Value>>(),
        "returns": record.returns.iter().map(returned).collect::<Vec<Value>>(),
    })
}

/// A return's fields.
pub fn returned(said: &Returned) -> Value {
    json!({
        "order": said.order, "tag": said.garment, "size": said.size, "complaint": said.complaint,
        "cycles": said.cycles, "grade": said.grade, "delta_e": said.delta_e,
    })
}

/// The head of a recall's table.
pub const HEAD: [&str; 19] = [
    "order",
    "name",
    "taken",
    "finished",
    "tag",
    "size",
    "place",
    "lots",
    "coat_g_m2",
    "coat_by",
    "steam",
    "dry_press",
    "dry_s",
    "cure_press",
    "cure_s",
    "outside",
    "washed",
    "returned",
    "note",
];

/// A row of it. What somebody typed is made harmless: no spreadsheet takes it for a formula.
pub fn row(
    record: &Record,
    order: &Taken,
    place: &str,
    note: &str,
    zone: &TimeZone,
) -> [String; 19] {
    let press =
        |pressed: Option<Pressed>| pressed.map_or_else(String::new, |one| one.press.to_string());
    let seconds = |pressed: Option<Pressed>| {
        let seconds = pressed.and_then(|one| one.seconds);
        seconds.map_or_else(String::new, |seconds| format!("{seconds:.1}"))
    };
    let (coat, by) = match record.coat {
        Some((coat, estimated)) => {
            (format!("{:.1}", coat.0), if estimated { "steam" } else { "scale" })
        }
        None => (String::new(), ""),
    };
    let washed: Vec<String> =
        record.washes.iter().map(|wash| format!("{} times: {}", wash.cycles, wash.grade)).collect();
    let back: Vec<String> = record.returns.iter().map(|back| back.complaint.to_string()).collect();
    let day = |at| words::day(at, zone);
    [
        record.tag.order_id().to_string(),
        order.name.clone(),
        day(order.at),
        record.cured.map_or_else(String::new, |cured| day(cured.at)),
        record.tag.to_string(),
        record.size.clone(),
        place.to_owned(),
        record.lots.join(" and "),
        coat,
        by.to_owned(),
        record.steam.clone().unwrap_or_default(),
        press(record.dried),
        seconds(record.dried),
        press(record.cured),
        seconds(record.cured),
        record.outside().unwrap_or_default(),
        washed.join(", "),
        back.join(", "),
        note.trim().to_owned(),
    ]
    .map(|cell| as_text(&cell))
}

/// A cell that a spreadsheet takes for text: one that begins like a formula gets an apostrophe before it.
fn as_text(cell: &str) -> String {
    let cell = harmless(cell).into_owned();
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{cell}") } else { cell }
}
