//! The report as text, 80 columns wide.

use jiff::tz::TimeZone;

use super::words::{self, percent, tenths};
use crate::screen::paint::Line;
use crate::screen::table::{Column, Table};
use crate::screen::theme::Role;
use crate::shop::books::press_spans::Doing;
use crate::shop::books::shift_report::Report;
use crate::shop::facts::words::clean;

const WIDTH: usize = 80;
const INDENT: usize = 2;

/// The lines of the report; the last is empty.
pub fn lines(report: &Report, zone: &TimeZone) -> Vec<String> {
    let mut lines = head(report, zone);
    orders(report, &mut lines);
    losses(report, &mut lines);
    presses(report, &mut lines);
    coats(report, zone, &mut lines);
    standards(report, &mut lines);
    section(&mut lines, "What is unsure");
    for note in &report.notes {
        wrapped(&mut lines, &note.words(zone));
    }
    lines.push(String::new());
    lines
}

fn section(lines: &mut Vec<String>, title: &str) {
    lines.extend([String::new(), title.to_uppercase()]);
}

/// Adds a text in lines that fit.
fn wrapped(lines: &mut Vec<String>, text: &str) {
    let texts = crate::screen::cells::wrapped(text, WIDTH - INDENT);
    lines.extend(texts.into_iter().map(|text| format!("{:INDENT$}{text}", "")));
}

fn head(report: &Report, zone: &TimeZone) -> Vec<String> {
    let output = &report.output;
    let mut lines = vec![
        format!("Shift report: {}", report.station),
        format!("{}, {}; {}", report.shift.day, words::hours(report, zone), words::people(report)),
        String::new(),
        format!(
            "finished          {:>8}   {} of {} ordered are done",
            output.finished, output.done, output.ordered
        ),
        format!(
            "an hour           {:>8}   needed for what is due: {}",
            tenths(output.per_hour),
            tenths(output.needed_per_hour)
        ),
        format!("first-pass yield  {:>8}", percent(output.first_pass_yield)),
        format!(
            "minutes lost      {:>8}   {} out, {} second quality",
            tenths(output.lost_minutes),
            output.out,
            output.second
        ),
    ];
    if report.elements.pq == 0.0 && output.finished == 0 {
        lines.push("Nothing was pressed in this time.".to_owned());
    }
    lines
}

fn orders(report: &Report, lines: &mut Vec<String>) {
    section(lines, "Orders");
    if report.orders.is_empty() {
        lines.push("  none was worked on".to_owned());
        return;
    }
    let mut table = Table::of_orders("status");
    for order in &report.orders {
        table.row(cells([
            order.order.0.to_string(),
            clean(&order.name, 40),
            order.done.to_string(),
            order.left.to_string(),
            order.short.to_string(),
            words::due(order),
            words::standing(order).to_string(),
        ]));
    }
    add(lines, &table);
}

/// Adds a table, moved in as all rows are.
fn add(lines: &mut Vec<String>, table: &Table) {
    let room = WIDTH - INDENT;
    lines.extend(table.text(room).into_iter().map(|row| format!("{:INDENT$}{row}", "")));
}

fn cells<const N: usize>(texts: [String; N]) -> [Line; N] {
    texts.map(|text| Line::of(Role::Plain, text))
}

fn losses(report: &Report, lines: &mut Vec<String>) {
    section(lines, "Losses, most costly first");
    if report.losses.is_empty() {
        lines.push("  none was noted".to_owned());
        return;
    }
    let mut table = Table::new([
        Column::words("cause"),
        Column::figures("garments"),
        Column::words("became"),
        Column::figures("press"),
        Column::figures("hands"),
        Column::figures("minutes"),
    ]);
    for loss in &report.losses {
        table.row(cells([
            loss.cause.to_string(),
            loss.garments.to_string(),
            words::became(loss.again, loss.second, loss.out),
            tenths(loss.press_minutes),
            tenths(loss.hand_minutes),
            tenths(loss.minutes),
        ]));
    }
    add(lines, &table);
    wrapped(lines, words::LOSSES_COUNTED);
}

fn presses(report: &Report, lines: &mut Vec<String>) {
    section(lines, "Presses, in minutes");
    let heads = ["running", "past", "change", "idle", "sheet", "out"];
    debug_assert_eq!(heads.len(), Doing::ALL.len());
    let heads = heads.into_iter().map(Column::figures);
    let columns = [Column::words("press"), Column::figures("cycles")].into_iter().chain(heads);
    let mut table = Table::new(columns.collect::<Vec<Column>>());
    for press in &report.presses {
        let name = [format!("{} {}", press.press, press.name), press.cycles.to_string()];
        let minutes = press.minutes().into_iter().map(tenths);
        table.row(name.into_iter().chain(minutes).map(|text| Line::of(Role::Plain, text)));
    }
    add(lines, &table);
    wrapped(lines, words::PRESSES_COUNTED);
    wrapped(lines, &words::past_target(&report.past_target));
    wrapped(lines, &format!("Sheets: {}", words::sheets(&report.sheets)));
}

fn coats(report: &Report, zone: &TimeZone, lines: &mut Vec<String>) {
    section(lines, "Coats, fluid, shelf");
    for row in &report.weigh_ins {
        let window = if row.unconfirmed { " (unconfirmed window)" } else { "" };
        let text = format!(
            "{}: {} weighed, mean {} g/m2, spread {}, outside {}, mended {}{window}",
            row.recipe,
            row.count,
            tenths(row.mean),
            tenths(row.spread),
            row.outside,
            row.mended
        );
        wrapped(lines, &text);
    }
    if report.weigh_ins.is_empty() {
        lines.push("  none was weighed".to_owned());
    }
    for line in words::fluid(report, zone) {
        wrapped(lines, &line);
    }
    wrapped(lines, &format!("Shelf: {}", words::shelf(&report.shelf)));
}

fn standards(report: &Report, lines: &mut Vec<String>) {
    section(lines, "Standard figures (ISO 22400-2)");
    for row in words::standards(report) {
        lines.push(format!("  {:<24}{:>10}   {}", row.name, row.words(), row.made_of));
    }
    wrapped(lines, &words::elements_line(report));
}
