//! The shift beside the one before it, and beside the usual one.

use crate::commands::report::section::{Cell, Column, Part, Row, Table};
use crate::commands::report::words::{percent, tenths};
use crate::shop::books::beside::{Beside, Figures};
use crate::shop::books::shift_report::Report;

/// The table; nothing to set it beside is said.
pub fn parts(report: &Report) -> Vec<Part> {
    let Some(beside) = &report.beside else {
        return vec![Part::Says(vec![
            "There is no shift before this one to set it beside.".into(),
        ])];
    };
    let usual = match &beside.usual {
        Some(_) => {
            format!("Usual: the middle of the {} shifts before, in each figure.", beside.usual_of)
        }
        None => "Fewer than three shifts were before: none is usual yet.".to_owned(),
    };
    let says = format!("The last shift was {}. {usual}", beside.last_name);
    vec![Part::Table(table(report, beside)), Part::Explains(says)]
}

/// A figure of this shift, of the last one and of the usual one.
type Of = fn(&Figures) -> Option<f64>;

/// A figure as people read it.
type Shown = fn(Option<f64>) -> String;

fn table(report: &Report, beside: &Beside) -> Table {
    let output = &report.output;
    let this = Figures {
        finished: Some(output.finished as f64),
        per_hour: output.per_hour,
        first_pass_yield: output.first_pass_yield,
        rejects: Some(output.out as f64),
        lost_minutes: Some(output.lost_minutes),
        each_g: report.fluid.each_g,
    };
    let whole =
        |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| format!("{value}"));
    let one: Shown = |value| tenths(value);
    let kinds: [(&str, Of, Shown); 6] = [
        ("finished", |of| of.finished, whole),
        ("an hour", |of| of.per_hour, one),
        ("first-pass yield", |of| of.first_pass_yield, percent),
        ("rejects", |of| of.rejects, whole),
        ("minutes lost", |of| of.lost_minutes, one),
        ("fluid for a garment, g", |of| of.each_g, one),
    ];
    let rows = kinds.into_iter().map(|(name, of, shown)| {
        let cell = |figures: Option<&Figures>| {
            let value = figures.and_then(of);
            Cell::figure(shown(value), value)
        };
        let cells = vec![cell(Some(&this)), cell(Some(&beside.last)), cell(beside.usual.as_ref())];
        Row { name: name.to_owned(), item: name.to_owned(), cells }
    });
    Table {
        section: "beside",
        caption: "This shift, the one before it, and the usual one.".to_owned(),
        none: "",
        head: "figure",
        columns: vec![
            Column::figures("this shift", ""),
            Column::figures("last shift", ""),
            Column::figures("usual", ""),
        ],
        rows: rows.collect(),
        cards: true,
    }
}
