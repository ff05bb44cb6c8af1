//! The sections of a report, in the order in which an owner reads them: what came out, what to do, then why.

mod advice;
mod beside;
mod money;
mod supplies;
mod work;

use jiff::tz::TimeZone;

use super::section::{Datum, Figure, Part, Section};
use super::words::{percent, tenths};
use crate::shop::books::shift_report::Report;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::words::counted;

/// All sections.
pub fn sections(report: &Report, zone: &TimeZone) -> Vec<Section> {
    let section = |id, title, parts| Section { id, title, parts };
    let mut all = vec![
        section("figures", "At a glance", glance(report)),
        section("advice", "What to do", advice::parts(report)),
        section("beside", "Beside other shifts", beside::parts(report)),
        section("orders", "Orders", work::orders(report)),
    ];
    if report.shift.shifts == 1 {
        all.push(section("pace", "Finished over the shift", work::finished()));
    }
    all.extend([
        section("losses", "Losses, most costly first", work::losses(report)),
        section("money", "Money", money::parts(report)),
        section("presses", "Presses, in minutes", work::presses(report)),
        section("printer", "Printer and people", work::printer_and_people(report)),
        section("coats", "Coats, fluid, shelf", supplies::parts(report, zone)),
        section("standard", "Standard figures", work::standards(report)),
        section("unsure", "What is unsure", supplies::unsure(report, zone)),
    ]);
    all
}

/// What a table for programs begins with.
pub fn head(report: &Report) -> Vec<Datum> {
    let shift = &report.shift;
    let datum = |name, value: String, unit| Datum::of("shift", "", name, value, unit);
    vec![
        datum("station", report.station.clone(), ""),
        datum("day", shift.day.to_string(), ""),
        datum("from", rfc3339(shift.from.0), ""),
        datum("to", rfc3339(shift.to.0), ""),
        datum("length", shift.hours.to_string(), "h"),
        datum("shifts", shift.shifts.to_string(), ""),
        datum("running", shift.running.to_string(), ""),
        datum("people", shift.people.join(" "), ""),
    ]
}

/// The figures that are read from across the room.
fn glance(report: &Report) -> Vec<Part> {
    let output = &report.output;
    let needed = output.needed_per_hour.map_or_else(
        || "nothing is due at a time".to_owned(),
        |pace| format!("needed for what is due: {pace:.1}"),
    );
    let figure = |name, shown, says| Figure { name, shown, says };
    let figures = Part::Figures(vec![
        figure(
            "finished",
            output.finished.to_string(),
            format!("{} of {} ordered are done", output.done, output.ordered),
        ),
        figure("an hour", tenths(output.per_hour), needed),
        figure(
            "first-pass yield",
            percent(output.first_pass_yield),
            format!("{}, {} second quality", counted(output.out, "reject"), output.second),
        ),
        figure(
            "minutes lost",
            tenths(output.lost_minutes),
            "of presses and hands, by cause below".to_owned(),
        ),
    ]);
    let count = |name, value: usize| Datum::of("output", "", name, value, "garments");
    let data = Part::Data(vec![
        count("finished", output.finished),
        count("second quality", output.second),
        count("out", output.out),
        count("done", output.done),
        Datum::of("output", "", "ordered", output.ordered, "garments"),
        Datum::figure("output", "pace", output.per_hour, "garments/h"),
        Datum::figure("output", "needed pace", output.needed_per_hour, "garments/h"),
        Datum::figure("output", "first-pass yield", output.first_pass_yield, "share"),
        Datum::of("output", "", "lost", output.lost_minutes, "min"),
    ]);
    let pressed = report.elements.pq > 0.0 || output.finished > 0;
    let nothing = || Part::Says(vec!["Nothing was pressed in this time.".to_owned()]);
    (!pressed).then(nothing).into_iter().chain([figures, data]).collect()
}
