//! Figures and sentences that the text, the table and the page say alike.

use jiff::tz::TimeZone;

use crate::screen::words::{clock, day};
use crate::shop::books::shift_report::{OrderRow, PastTarget, Report, Sheets, ShelfRow};
use crate::shop::facts::words::counted;

/// A figure with one digit behind the point; "-" where there is none.
pub fn tenths(figure: impl Into<Option<f64>>) -> String {
    figure.into().map_or_else(|| "-".to_owned(), |figure| format!("{figure:.1}"))
}

/// A share in per cent.
pub fn percent(share: Option<f64>) -> String {
    share.map_or_else(|| "-".to_owned(), |share| format!("{:.1} %", share * 100.0))
}

/// "08:00 to 10:42", with the day where it ends on another one.
pub fn hours(report: &Report, zone: &TimeZone) -> String {
    let (from, to) = (report.shift.from.0, report.shift.to.0);
    let ends = match day(to, zone) {
        same if same == day(from, zone) => clock(to, zone),
        other => format!("{other} {}", clock(to, zone)),
    };
    let running = if report.shift.running { ", still open" } else { "" };
    let length = tenths(report.shift.hours);
    format!("{} to {ends} ({length} h){running}", clock(from, zone))
}

/// Who was there, in initials.
pub fn people(report: &Report) -> String {
    match report.shift.people.as_slice() {
        [] => "nobody signed in".to_owned(),
        people => people.join(", "),
    }
}

/// A due time; "-" where there is none.
pub fn due(order: &OrderRow) -> String {
    order.due.map_or_else(|| "-".to_owned(), |due| due.to_string().replace('T', " "))
}

/// How an order stands.
pub fn standing(order: &OrderRow) -> &'static str {
    match order {
        order if order.fulfilled => "fulfilled",
        order if order.short > 0 => "short",
        _ => "open",
    }
}

/// What became of the garments that something was lost with.
pub fn became(again: usize, second: usize, out: usize) -> String {
    let parts = [(again, "again"), (second, "second"), (out, "out")];
    let said: Vec<String> = parts
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    if said.is_empty() { "-".to_owned() } else { said.join(", ") }
}

/// How losses are counted.
pub const LOSSES_COUNTED: &str = "Minutes in vain: all that a garment had been given until it was \
     out or second quality; the first attempt of a step done again; press time past the target of \
     one shut too long. Press time as recorded, hand time as the station's profile says; without \
     the printer's own.";

/// What the presses' minutes mean.
pub const PRESSES_COUNTED: &str = "Running: shut, up to the target. Past target: shut, waiting to be \
     opened. Changing: a garment taken out or laid in, by the station's hand times. Sheet work: the \
     time open before a wipe's key, at most a minute.";

/// The garments that were left in a shut press.
pub fn past_target(past: &PastTarget) -> String {
    let Some(longest) = &past.longest else {
        return "No press stayed shut past its target.".to_owned();
    };
    format!(
        "{} stayed shut past the target, {} s on average, {} of them past the longest time. The \
         longest: {} in press {}, {}, {} s past it.",
        counted(past.garments, "press cycle"),
        tenths(past.mean_s),
        past.too_long,
        longest.garment,
        longest.press,
        longest.step,
        tenths(longest.seconds)
    )
}

/// What was done to the sheets.
pub fn sheets(sheets: &Sheets) -> String {
    format!(
        "{} wiped, {} swapped, {} changed; {} of these late. {} with a sheet past its wipe.",
        sheets.wiped,
        sheets.swapped,
        sheets.changed,
        sheets.late,
        counted(sheets.presses_past, "press cycle")
    )
}

/// What came and went on the shelf.
pub fn shelf(shelf: &ShelfRow) -> String {
    format!(
        "{} stored, {} taken, {} of them past their last day. {} there at the end, {} past their \
         last day.",
        shelf.stored, shelf.taken, shelf.taken_past_day, shelf.there, shelf.there_past_day
    )
}

/// What was filled in, a line each.
pub fn fluid(report: &Report, zone: &TimeZone) -> Vec<String> {
    let fluid = &report.fluid;
    let mut lines: Vec<String> = fluid
        .fills
        .iter()
        .map(|fill| {
            format!(
                "{} filled {} g of lot {}{}",
                clock(fill.at.0, zone),
                tenths(fill.grams),
                fill.lot,
                fill.fluid.map_or_else(String::new, |fluid| format!(", {fluid}"))
            )
        })
        .collect();
    let lots = match fluid.lots.as_slice() {
        [] => "no lot is known of what was sprayed".to_owned(),
        lots => format!("sprayed from {}", lots.join(", ")),
    };
    let fills = if lines.is_empty() { "no fill; " } else { "" };
    let flushed = match fluid.flushes {
        0 => String::new(),
        1 => "; the sprayer was flushed once".to_owned(),
        times => format!("; the sprayer was flushed {times} times"),
    };
    lines.push(format!("{fills}{lots}{flushed}"));
    lines
}

/// A standard figure: its name, its value where there is one, in which unit, how it is made.
pub struct Standard {
    pub name: &'static str,
    pub value: Option<f64>,
    pub unit: &'static str,
    pub made_of: &'static str,
}

impl Standard {
    /// The value as people read it.
    pub fn words(&self) -> String {
        match self.unit {
            SHARE => percent(self.value),
            _ => format!("{} /h", tenths(self.value)),
        }
    }
}

const SHARE: &str = "share";

/// The standard figures (ISO 22400-2).
pub fn standards(report: &Report) -> [Standard; 10] {
    let kpi = &report.kpi;
    let row = |name, value, made_of| Standard { name, value, unit: SHARE, made_of };
    let rate = Standard {
        name: "throughput rate",
        value: kpi.throughput_rate,
        unit: "items/h",
        made_of: "PQ / AOET",
    };
    [
        row("availability", kpi.availability, "APT / PBT"),
        row("effectiveness", kpi.effectiveness, "PRI x PQ / APT"),
        row("quality ratio", kpi.quality_ratio, "GQ / PQ"),
        row("OEE index", kpi.oee_index, "the three multiplied"),
        rate,
        row("first pass yield", kpi.first_pass_yield, "GP / IP"),
        row("scrap ratio", kpi.scrap_ratio, "SQ / PQ"),
        row("rework ratio", kpi.rework_ratio, "RQ / PQ"),
        row("allocation efficiency", kpi.allocation_efficiency, "AUBT / PBT"),
        row("utilization efficiency", kpi.utilization_efficiency, "APT / AUBT"),
    ]
}

/// The elements that they are made of: name, value, unit.
pub fn elements(report: &Report) -> [(&'static str, f64, &'static str); 11] {
    let e = &report.elements;
    [
        ("APT", e.apt, "s"),
        ("PBT", e.pbt, "s"),
        ("AUBT", e.aubt, "s"),
        ("AOET", e.aoet, "s"),
        ("PRI", e.pri, "s"),
        ("PQ", e.pq, ""),
        ("GQ", e.gq, ""),
        ("SQ", e.sq, ""),
        ("RQ", e.rq, ""),
        ("GP", e.gp, ""),
        ("IP", e.ip, ""),
    ]
}

/// The elements in a line: "APT 1234.5 s, PBT ...".
pub fn elements_line(report: &Report) -> String {
    let one = |(name, value, unit): (&str, f64, &str)| match unit {
        "" => format!("{name} {value:.0}"),
        unit => format!("{name} {value:.1} {unit}"),
    };
    elements(report).map(one).join(", ")
}
