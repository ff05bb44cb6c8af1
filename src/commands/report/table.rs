//! The report as a table in long form, as RFC 4180 has it: section, item, name, value, unit. Lines end in CRLF.

use jiff::tz::TimeZone;

use super::words;
use crate::commands::Failure;
use crate::commands::history::rfc3339;
use crate::shop::books::press_spans::Doing;
use crate::shop::books::shift_report::{OrderRow, Report};

type Row = [String; 5];

/// The rows, gathered.
#[derive(Default)]
struct Table(Vec<Row>);

impl Table {
    fn add(
        &mut self,
        section: &str,
        item: impl ToString,
        name: &str,
        value: impl ToString,
        unit: &str,
    ) {
        let own = |text: &str| text.to_owned();
        self.0.push([own(section), item.to_string(), own(name), value.to_string(), own(unit)]);
    }

    /// A figure as it is; empty where there is none.
    fn figure(
        &mut self,
        section: &str,
        item: impl ToString,
        name: &str,
        value: Option<f64>,
        unit: &str,
    ) {
        let value = value.map_or_else(String::new, |value| value.to_string());
        self.add(section, item, name, value, unit);
    }
}

/// The table.
///
/// # Errors
/// None in practice: it is written to memory.
pub fn csv(report: &Report, zone: &TimeZone) -> Result<Vec<u8>, Failure> {
    let mut table = Table::default();
    head(report, &mut table);
    report.orders.iter().for_each(|row| order(row, &mut table));
    losses(report, &mut table);
    presses(report, &mut table);
    coats(report, &mut table);
    standards(report, &mut table);
    for (n, note) in (1..).zip(&report.notes) {
        table.add("notes", n, "note", note.words(zone), "");
    }
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let wrong = |wrong: csv::Error| Failure::from(std::io::Error::from(wrong));
    writer.write_record(["section", "item", "name", "value", "unit"]).map_err(wrong)?;
    for row in table.0 {
        writer.write_record(row).map_err(wrong)?;
    }
    writer.into_inner().map_err(|wrong| Failure::Other(wrong.to_string()))
}

fn head(report: &Report, table: &mut Table) {
    let (shift, output) = (&report.shift, &report.output);
    table.add("shift", "", "station", &report.station, "");
    table.add("shift", "", "day", shift.day, "");
    table.add("shift", "", "from", rfc3339(shift.from.0), "");
    table.add("shift", "", "to", rfc3339(shift.to.0), "");
    table.add("shift", "", "length", shift.hours, "h");
    table.add("shift", "", "running", shift.running, "");
    table.add("shift", "", "people", shift.people.join(" "), "");
    table.add("output", "", "finished", output.finished, "garments");
    table.add("output", "", "second quality", output.second, "garments");
    table.add("output", "", "out", output.out, "garments");
    table.add("output", "", "done", output.done, "garments");
    table.add("output", "", "ordered", output.ordered, "garments");
    table.figure("output", "", "pace", output.per_hour, "garments/h");
    table.figure("output", "", "needed pace", output.needed_per_hour, "garments/h");
    table.figure("output", "", "first-pass yield", output.first_pass_yield, "share");
    table.add("output", "", "lost", output.lost_minutes, "min");
}

fn order(row: &OrderRow, table: &mut Table) {
    let item = row.order.0;
    table.add("orders", item, "name", &row.name, "");
    table.add("orders", item, "ordered", row.ordered, "garments");
    table.add("orders", item, "done", row.done, "garments");
    table.add("orders", item, "finished in the shift", row.finished, "garments");
    table.add("orders", item, "left", row.left, "garments");
    table.add("orders", item, "short", row.short, "garments");
    let due = row.due.map_or_else(String::new, |due| due.to_string());
    table.add("orders", item, "due", due, "");
    table.add("orders", item, "fulfilled", row.fulfilled, "");
}

fn losses(report: &Report, table: &mut Table) {
    for loss in &report.losses {
        table.add("losses", loss.cause, "garments", loss.garments, "garments");
        table.add("losses", loss.cause, "step again", loss.again, "times");
        table.add("losses", loss.cause, "second quality", loss.second, "times");
        table.add("losses", loss.cause, "out", loss.out, "times");
        table.add("losses", loss.cause, "press", loss.press_minutes, "min");
        table.add("losses", loss.cause, "hands", loss.hand_minutes, "min");
        table.add("losses", loss.cause, "lost", loss.minutes, "min");
    }
}

fn presses(report: &Report, table: &mut Table) {
    for press in &report.presses {
        let item = press.press;
        table.add("presses", item, "name", &press.name, "");
        table.add("presses", item, "cycles", press.cycles, "times");
        for (doing, minutes) in Doing::ALL.iter().zip(press.minutes()) {
            table.add("presses", item, doing.words(), minutes, "min");
        }
    }
    let past = &report.past_target;
    table.add("past target", "", "press cycles", past.garments, "times");
    table.figure("past target", "", "mean", past.mean_s, "s");
    table.add("past target", "", "past the longest time", past.too_long, "times");
    if let Some(longest) = &past.longest {
        table.add("past target", longest.garment, "longest", longest.seconds, "s");
    }
    let sheets = &report.sheets;
    for (name, count) in [
        ("wiped", sheets.wiped),
        ("swapped", sheets.swapped),
        ("changed", sheets.changed),
        ("late", sheets.late),
        ("presses past the wipe", sheets.presses_past),
    ] {
        table.add("sheets", "", name, count, "times");
    }
}

fn coats(report: &Report, table: &mut Table) {
    for row in &report.weigh_ins {
        table.add("weigh-ins", &row.recipe, "weighed", row.count, "garments");
        table.add("weigh-ins", &row.recipe, "mean", row.mean, "g/m2");
        table.figure("weigh-ins", &row.recipe, "spread", row.spread, "g/m2");
        table.add("weigh-ins", &row.recipe, "outside", row.outside, "garments");
        table.add("weigh-ins", &row.recipe, "mended", row.mended, "garments");
        table.add("weigh-ins", &row.recipe, "window unconfirmed", row.unconfirmed, "");
    }
    for fill in &report.fluid.fills {
        table.add("fluid", &fill.lot, "filled at", rfc3339(fill.at.0), "");
        table.add("fluid", &fill.lot, "filled", fill.grams, "g");
        if let Some(fluid) = fill.fluid {
            table.add("fluid", &fill.lot, "is", fluid.to_string(), "");
        }
    }
    table.add("fluid", "", "flushes", report.fluid.flushes, "times");
    for lot in &report.fluid.lots {
        table.add("fluid", lot, "sprayed from", true, "");
    }
    let shelf = &report.shelf;
    for (name, count) in [
        ("stored", shelf.stored),
        ("taken", shelf.taken),
        ("taken past their last day", shelf.taken_past_day),
        ("there", shelf.there),
        ("there past their last day", shelf.there_past_day),
    ] {
        table.add("shelf", "", name, count, "garments");
    }
}

fn standards(report: &Report, table: &mut Table) {
    for row in words::standards(report) {
        table.figure("standard figures", "", row.name, row.value, row.unit);
    }
    for (name, value, unit) in words::elements(report) {
        table.add("elements", "", name, value, unit);
    }
}
