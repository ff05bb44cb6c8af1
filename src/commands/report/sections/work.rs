//! Orders, losses, machines, people and standard figures.

use super::money;
use crate::commands::report::section::{Cell, Chart, Column, Datum, For, Part, Row, Table};
use crate::commands::report::words::{self, price_cell, tenths};
use crate::shop::books::press_spans::Doing;
use crate::shop::books::shift_report::{OrderRow, Report};

/// Each order as it stands.
pub fn orders(report: &Report) -> Vec<Part> {
    let garments = |head| Column::figures(head, "garments");
    let mut columns = vec![
        Column::words("name").for_whom(For::Programs),
        garments("ordered").for_whom(For::Page),
        garments("done"),
        garments("finished in the shift").for_whom(For::Programs),
        garments("left"),
        garments("short"),
        Column::words("due").for_whom(For::People),
        Column::words("due").for_whom(For::Programs),
        Column::words("status").for_whom(For::People),
        Column::words("fulfilled").for_whom(For::Programs),
    ];
    let priced = report.bill.is_some();
    columns.extend(priced.then(|| money::columns(true)).into_iter().flatten());
    let class = |order: &OrderRow| match words::standing(order) {
        "short" => "bad",
        "fulfilled" => "good",
        _ => "",
    };
    let rows = report.orders.iter().map(|order| {
        let mut cells = vec![
            Cell::plain(&order.name),
            Cell::plain(order.ordered),
            Cell::plain(order.done),
            Cell::plain(order.finished),
            Cell::plain(order.left),
            Cell::plain(order.short),
            Cell::plain(words::due(order)),
            Cell::plain(order.due.map_or_else(String::new, |due| due.to_string())),
            Cell::plain(words::standing(order)).of_class(class(order)),
            Cell::plain(order.fulfilled),
        ];
        let each = order.cost_per_garment;
        let shown = each.map_or_else(|| "-".to_owned(), |each| format!("{each:.2}"));
        cells.extend([
            Cell::figure(price_cell(&order.cost), order.cost.cost),
            Cell::figure(shown, each),
        ]);
        Row {
            name: match &order.remakes {
                Some(of) => format!("{} {} ({of})", order.order, order.name),
                None => format!("{} {}", order.order, order.name),
            },
            item: order.order.to_string(),
            cells,
        }
    });
    vec![Part::Table(Table {
        section: "orders",
        caption: format!(
            "Garments at the end of the time. Short: lost, and no blank has replaced them.{}",
            if priced {
                " Cost: what was used here, hands by their acts; +: and what has no price."
            } else {
                ""
            }
        ),
        none: "No order was worked on.",
        head: "order",
        columns,
        rows: rows.collect(),
        cards: true,
    })]
}

/// What was finished when.
pub fn finished() -> Vec<Part> {
    vec![Part::Chart(Chart::Finished)]
}

/// What was lost to what.
pub fn losses(report: &Report) -> Vec<Part> {
    let times = |head| Column::figures(head, "times").for_whom(For::Programs);
    let minutes = |head| Column::figures(head, "min");
    let mut columns = vec![
        Column::figures("garments", "garments"),
        Column::words("became").for_whom(For::People),
        times("step again"),
        times("second quality"),
        times("out"),
        minutes("press").for_whom(money::gives_way(report)),
        minutes("hands").for_whom(money::gives_way(report)),
        minutes("minutes").known_as("lost"),
    ];
    columns.extend(report.bill.is_some().then(|| money::columns(false)).into_iter().flatten());
    let rows = report.losses.iter().map(|loss| Row {
        name: loss.cause.to_owned(),
        item: loss.cause.to_owned(),
        cells: vec![
            Cell::plain(loss.garments),
            Cell::plain(words::became(loss.again, loss.second, loss.out)),
            Cell::plain(loss.again),
            Cell::plain(loss.second),
            Cell::plain(loss.out),
            Cell::figure(tenths(loss.press_minutes), Some(loss.press_minutes)),
            Cell::figure(tenths(loss.hand_minutes), Some(loss.hand_minutes)),
            Cell::figure(tenths(loss.minutes), Some(loss.minutes)),
            Cell::figure(price_cell(&loss.cost), loss.cost.cost),
        ],
    });
    let mut parts = vec![Part::Table(Table {
        section: "losses",
        caption: "Garments, and the minutes given in vain.".to_owned(),
        none: "No loss was noted.",
        head: "cause",
        columns,
        rows: rows.collect(),
        cards: true,
    })];
    if !report.losses.is_empty() {
        parts.push(Part::Explains(words::LOSSES_COUNTED.to_owned()));
    }
    parts
}

/// What each press did, in minutes.
pub fn presses(report: &Report) -> Vec<Part> {
    const SHORT: [&str; 6] = ["running", "past", "change", "idle", "sheet", "out"];
    let doing = Doing::ALL.iter().zip(SHORT);
    let mut columns =
        vec![Column::words("name").for_whom(For::Programs), Column::figures("cycles", "times")];
    columns
        .extend(doing.map(|(doing, short)| Column::figures(doing.words(), "min").in_short(short)));
    let rows = report.presses.iter().map(|press| {
        let mut cells = vec![Cell::plain(&press.name), Cell::plain(press.cycles)];
        cells.extend(press.minutes().map(|minutes| Cell::figure(tenths(minutes), Some(minutes))));
        Row {
            name: format!("{} {}", press.press, press.name),
            item: press.press.to_string(),
            cells,
        }
    });
    let table = Part::Table(Table {
        section: "presses",
        caption: "Minutes of each press, and how often it was opened on a garment.".to_owned(),
        none: "The station has no press.",
        head: "press",
        columns,
        rows: rows.collect(),
        cards: true,
    });
    let drawn = report.shift.shifts == 1 && !report.presses.is_empty();
    let chart = drawn.then_some(Part::Chart(Chart::Presses));
    let said = [
        table,
        Part::Explains(words::PRESSES_COUNTED.to_owned()),
        Part::Says(vec![words::past_target(&report.past_target)]),
        Part::Says(vec![format!("Sheets: {}", words::sheets(&report.sheets))]),
        Part::Data(past_and_sheets(report)),
    ];
    chart.into_iter().chain(said).collect()
}

fn past_and_sheets(report: &Report) -> Vec<Datum> {
    let past = &report.past_target;
    let mut data = vec![
        Datum::of("past target", "", "press cycles", past.garments, "times"),
        Datum::figure("past target", "mean", past.mean_s, "s"),
        Datum::of("past target", "", "past the longest time", past.too_long, "times"),
    ];
    let longest = past.longest.as_ref();
    data.extend(
        longest.map(|one| Datum::of("past target", one.garment, "longest", one.seconds, "s")),
    );
    let sheets = &report.sheets;
    let counts = [
        ("wiped", sheets.wiped),
        ("swapped", sheets.swapped),
        ("changed", sheets.changed),
        ("late", sheets.late),
        ("presses past the wipe", sheets.presses_past),
    ];
    data.extend(counts.map(|(name, count)| Datum::of("sheets", "", name, count, "times")));
    data
}

/// The printer's row, and everybody's.
pub fn printer_and_people(report: &Report) -> Vec<Part> {
    let printer = &report.printer;
    let minutes = |head| Column::figures(head, "min");
    let cells = vec![
        Cell::plain(printer.prints),
        Cell::figure(tenths(printer.busy_minutes), Some(printer.busy_minutes)),
        Cell::figure(tenths(printer.idle_minutes), Some(printer.idle_minutes)),
    ];
    let name = match printer.printers {
        1 => "printer".to_owned(),
        count => format!("{count} printers"),
    };
    let printers = Table {
        section: "printer",
        caption:
            "Minutes of the printer: prints by what they take, as learned, else as recipe and \
                  station say; breaks are left out."
                .to_owned(),
        none: "",
        head: "machine",
        columns: vec![Column::figures("prints", "prints"), minutes("at work"), minutes("idle")],
        rows: vec![Row { name, item: String::new(), cells }],
        cards: true,
    };
    let acts = |head| Column::figures(head, "garments");
    let rows = report.people.iter().map(|one| Row {
        name: one.who.clone(),
        item: one.who.clone(),
        cells: vec![
            Cell::figure(tenths(one.hours), Some(one.hours)),
            Cell::plain(one.sprayed),
            Cell::plain(one.printed),
            Cell::plain(one.pressed),
            Cell::plain(one.finished),
            Cell::plain(one.shared),
        ],
    });
    let people = Table {
        section: "people",
        caption: "Who was signed in, and what was done while nobody else was; with others: acts of which \
                  nobody knows whose they were."
            .to_owned(),
        none: "Nobody signed in.",
        head: "who",
        columns: vec![
            Column::figures("hours", "h"),
            acts("sprayed"),
            acts("printed"),
            acts("pressed"),
            acts("finished"),
            acts("with others"),
        ],
        rows: rows.collect(),
        cards: true,
    };
    vec![Part::Table(printers), Part::Table(people)]
}

/// The standard figures, each in plain words, and what they are made of.
pub fn standards(report: &Report) -> Vec<Part> {
    let all = words::standards(report);
    let rows = all.iter().map(|one| Row {
        name: one.name.to_owned(),
        item: String::new(),
        cells: vec![Cell::plain(one.words()), Cell::plain(one.plainly), Cell::plain(one.made_of)],
    });
    let table = Table {
        section: "standard figures",
        caption: "The work unit is all presses together, an item one press of a garment."
            .to_owned(),
        none: "",
        head: "figure",
        columns: vec![
            Column::figures("value", "").for_whom(For::People),
            Column::words("in plain words").for_whom(For::People),
            Column::words("made of").for_whom(For::Page),
        ],
        rows: rows.collect(),
        cards: true,
    };
    let mut data: Vec<Datum> = all
        .iter()
        .map(|one| Datum::figure("standard figures", one.name, one.value, one.unit))
        .collect();
    let elements = words::elements(report).into_iter();
    data.extend(elements.map(|(name, value, unit)| Datum::of("elements", "", name, value, unit)));
    vec![
        Part::Table(table),
        Part::Explains(format!("{} {}.", words::CLAIM, words::elements_line(report))),
        Part::Data(data),
    ]
}
