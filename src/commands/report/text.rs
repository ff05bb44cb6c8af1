//! The report as text, 80 columns wide.

use jiff::tz::TimeZone;

use super::words::{self, percent, tenths};
use crate::shop::books::press_spans::Doing;
use crate::shop::books::shift_report::Report;
use crate::shop::facts::words::clean;

const WIDTH: usize = 80;

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
    const INDENT: usize = 2;
    let texts = crate::screen::words::wrapped(text, WIDTH - INDENT);
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
    lines.push(format!(
        "  {:<6}{:<26}{:>5}{:>5}{:>6}  {:<16}  {}",
        "order", "name", "done", "left", "short", "due", "stands"
    ));
    for order in &report.orders {
        lines.push(format!(
            "  {:<6}{:<26}{:>5}{:>5}{:>6}  {:<16}  {}",
            order.order.0,
            clean(&order.name, 25),
            order.done,
            order.left,
            order.short,
            words::due(order),
            words::standing(order)
        ));
    }
}

fn losses(report: &Report, lines: &mut Vec<String>) {
    section(lines, "Losses, most costly first");
    if report.losses.is_empty() {
        lines.push("  none was noted".to_owned());
        return;
    }
    lines.push(format!(
        "  {:<16}{:>8}  {:<26}{:>7}{:>7}{:>9}",
        "cause", "garments", "became", "press", "hands", "minutes"
    ));
    for loss in &report.losses {
        lines.push(format!(
            "  {:<16}{:>8}  {:<26}{:>7}{:>7}{:>9}",
            loss.cause,
            loss.garments,
            words::became(loss.again, loss.second, loss.out),
            tenths(loss.press_minutes),
            tenths(loss.hand_minutes),
            tenths(loss.minutes)
        ));
    }
    wrapped(lines, words::LOSSES_COUNTED);
}

fn presses(report: &Report, lines: &mut Vec<String>) {
    section(lines, "Presses, in minutes");
    let heads = ["running", "past", "change", "idle", "sheet", "out"];
    debug_assert_eq!(heads.len(), Doing::ALL.len());
    let columns: String = heads.iter().map(|head| format!("{head:>8}")).collect();
    lines.push(format!("  {:<19}{:>7}{columns}", "press", "cycles"));
    for press in &report.presses {
        let minutes: String =
            press.minutes().iter().map(|minutes| format!("{:>8}", tenths(*minutes))).collect();
        let name = format!("{} {}", press.press, press.name);
        lines.push(format!("  {name:<19}{:>7}{minutes}", press.cycles));
    }
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
