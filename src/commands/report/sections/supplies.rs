//! Coats, fluid and shelf; and what is unsure.

use jiff::tz::TimeZone;

use crate::commands::report::section::{Cell, Column, Datum, For, Part, Row, Table};
use crate::commands::report::words::{self, tenths};
use crate::shop::books::shift_report::Report;
use crate::shop::facts::moment::rfc3339;

/// What the scale said, what was filled in and sprayed, what lies on the shelf.
pub fn parts(report: &Report, zone: &TimeZone) -> Vec<Part> {
    let mut says: Vec<String> =
        words::fluid(report, zone).into_iter().map(|line| format!("Fluid: {line}.")).collect();
    says.push(words::fluid_of_each(report));
    says.push(format!("Shelf: {}", words::shelf(&report.shelf)));
    vec![Part::Table(weigh_ins(report)), Part::Says(says), Part::Data(data(report))]
}

fn weigh_ins(report: &Report) -> Table {
    let garments = |head| Column::figures(head, "garments");
    let rows = report.weigh_ins.iter().map(|row| Row {
        name: row.recipe.clone(),
        item: row.recipe.clone(),
        cells: vec![
            Cell::plain(row.count),
            Cell::figure(tenths(row.mean), Some(row.mean)),
            Cell::figure(tenths(row.spread), row.spread),
            Cell::plain(row.outside).of_class(if row.outside > 0 { "bad" } else { "" }),
            Cell::plain(row.mended),
            Cell::plain(if row.unconfirmed { "unconfirmed" } else { "confirmed" }),
            Cell::plain(row.unconfirmed),
        ],
    });
    Table {
        section: "weigh-ins",
        caption: "Weighed coats as dried, g/m\u{b2}; outside: of the recipe's window.".to_owned(),
        none: "No coat was weighed.",
        head: "recipe",
        columns: vec![
            garments("weighed"),
            Column::figures("mean", "g/m2"),
            Column::figures("spread", "g/m2"),
            garments("outside"),
            garments("mended"),
            Column::words("window").for_whom(For::People),
            Column::words("window unconfirmed").for_whom(For::Programs),
        ],
        rows: rows.collect(),
        cards: true,
    }
}

fn data(report: &Report) -> Vec<Datum> {
    let mut data = Vec::new();
    for fill in &report.fluid.fills {
        data.push(Datum::of("fluid", &fill.lot, "filled at", rfc3339(fill.at.0), ""));
        data.push(Datum::of("fluid", &fill.lot, "filled", fill.grams, "g"));
        data.extend(fill.fluid.map(|fluid| Datum::of("fluid", &fill.lot, "is", fluid, "")));
    }
    data.push(Datum::of("fluid", "", "flushes", report.fluid.flushes, "times"));
    data.push(Datum::of("fluid", "", "sprayed", report.fluid.sprayed, "garments"));
    data.push(Datum::figure("fluid", "for a garment", report.fluid.each_g, "g"));
    let lots = report.fluid.lots.iter();
    data.extend(lots.map(|lot| Datum::of("fluid", lot, "sprayed from", true, "")));
    let shelf = &report.shelf;
    let counts = [
        ("stored", shelf.stored),
        ("taken", shelf.taken),
        ("taken past their last day", shelf.taken_past_day),
        ("there", shelf.there),
        ("there past their last day", shelf.there_past_day),
    ];
    data.extend(counts.map(|(name, count)| Datum::of("shelf", "", name, count, "garments")));
    data
}

/// What the figures do not know for sure.
pub fn unsure(report: &Report, zone: &TimeZone) -> Vec<Part> {
    let notes: Vec<String> = report.notes.iter().map(|note| note.words(zone)).collect();
    let data = (1..).zip(&notes).map(|(n, note)| Datum::of("notes", n, "note", note, "")).collect();
    vec![Part::Says(notes), Part::Data(data)]
}
