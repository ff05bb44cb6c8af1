//! Figures and sentences that the text, the table and the page say alike.

use jiff::tz::TimeZone;

use crate::screen::words::{clock, day};
use crate::shop::books::shift_report::{OrderRow, PastTarget, Report, Sheets, ShelfRow};
use crate::shop::books::used::Cost;
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
    let shifts = match report.shift.shifts {
        1 if report.shift.of_day > 1 => {
            format!(", one of {} shifts of its day", report.shift.of_day)
        }
        1 => String::new(),
        count => format!(" in {count} shifts"),
    };
    format!("{} to {ends} ({length} h{shifts}){running}", clock(from, zone))
}

/// The head of a text: station, days and hours, people.
pub fn head(report: &Report, zone: &TimeZone) -> Vec<String> {
    let day = report.shift.day.to_string();
    let name = report.shift.name.as_ref().unwrap_or(&day);
    vec![
        format!("Shift report: {}", report.station),
        format!("{name}, {}; {}", hours(report, zone), people(report)),
    ]
}

/// "Monday 2026-03-02", or how many shifts from there on.
pub fn days(report: &Report) -> String {
    let first = report.shift.day.0.strftime("%A %Y-%m-%d").to_string();
    match (report.shift.shifts, report.shift.of_day) {
        (1, 0 | 1) => first,
        (1, _) => format!(
            "{} {}",
            report.shift.day.0.strftime("%A"),
            report.shift.name.as_ref().unwrap_or(&first)
        ),
        (count, _) => format!("{count} shifts from {first}"),
    }
}

/// An amount with what the shop calls its money.
pub fn amount(sum: f64, money: &str) -> String {
    format!("{sum:.2} {money}").trim_end().to_owned()
}

/// What something cost, for a cell: "12.40", "12.40+" where something of it has no price, "no price" where nothing has.
pub fn price_cell(cost: &Cost) -> String {
    match (cost.cost, cost.at_least) {
        (Some(sum), _) => format!("{sum:.2}"),
        (None, Some(sum)) => format!("{sum:.2}+"),
        (None, None) => "no price".to_owned(),
    }
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
    let parts = [(again, "again"), (second, "second"), (out, "rejected")];
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

/// How much was sprayed on a garment.
pub fn fluid_of_each(report: &Report) -> String {
    let fluid = &report.fluid;
    match (fluid.sprayed, fluid.each_g) {
        (0, _) => "Fluid for a garment: none was sprayed.".to_owned(),
        (count, Some(each)) => format!(
            "Fluid for a garment: {} g, by the sprayer's plan; {}, {} g.",
            tenths(each),
            counted(count, "spray"),
            tenths(fluid.sprayed_g)
        ),
        (count, None) => format!(
            "Fluid for a garment: not known, since not every fill was recorded; {}.",
            counted(count, "spray")
        ),
    }
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
    /// In plain words, in at most forty letters.
    pub plainly: &'static str,
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

/// What is said of where they come from.
pub const CLAIM: &str = "After ISO 22400-2, from public summaries; no conformity claimed.";

/// The standard figures.
pub fn standards(report: &Report) -> [Standard; 10] {
    let kpi = &report.kpi;
    let row =
        |name, value, made_of, plainly| Standard { name, value, unit: SHARE, made_of, plainly };
    let rate = Standard {
        name: "throughput rate",
        value: kpi.throughput_rate,
        unit: "items/h",
        made_of: "PQ / AOET",
        plainly: "presses of a garment in an hour",
    };
    [
        row("availability", kpi.availability, "APT / PBT", "planned time that presses were shut"),
        row(
            "effectiveness",
            kpi.effectiveness,
            "PRI x PQ / APT",
            "shut time that the recipes asked for",
        ),
        row("quality ratio", kpi.quality_ratio, "GQ / PQ", "presses with no trouble after them"),
        row("OEE index", kpi.oee_index, "the three multiplied", "the three above, multiplied"),
        rate,
        row(
            "first pass yield",
            kpi.first_pass_yield,
            "GP / IP",
            "garments that were right at once",
        ),
        row("scrap ratio", kpi.scrap_ratio, "SQ / IP", "garments that became rejects"),
        row("rework ratio", kpi.rework_ratio, "RQ / PQ", "steps done again, for each press"),
        row(
            "allocation efficiency",
            kpi.allocation_efficiency,
            "AUBT / PBT",
            "planned time that presses were busy",
        ),
        row(
            "utilization efficiency",
            kpi.utilization_efficiency,
            "APT / AUBT",
            "busy time that presses were shut",
        ),
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
