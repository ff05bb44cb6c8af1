//! What was used, and what it cost by today's prices.

use crate::commands::report::section::{Cell, Column, Datum, For, Part, Row, Table};
use crate::commands::report::words::{amount, price_cell, tenths};
use crate::shop::books::shift_report::{Bill, Report};

/// Where prices come from.
const NO_PRICES: &str = "No price: station.ron has none. With costs: (blank: \"3.20\", hour: \"22\", ...) this report is \
     told in money too; `dwell help costs` names them.";

/// The section; without prices it says how to get one.
pub fn parts(report: &Report) -> Vec<Part> {
    let Some(bill) = &report.bill else {
        return vec![Part::Says(vec![NO_PRICES.to_owned()])];
    };
    vec![
        Part::Table(table(bill)),
        Part::Says(says(bill)),
        Part::Explains(
            "Counted now, by today's prices; nothing of it is stored. Hands by the hours that people were \
             signed in, where they were, else by what the acts take. Hours of presses and printers count \
             where they have a price. Rent and the rest are left out."
                .to_owned(),
        ),
        Part::Data(vec![
            Datum::of("money", "", "money", &bill.money, ""),
            Datum::figure("money", "cost", bill.cost.cost, "money"),
            Datum::figure("money", "cost of a garment", bill.per_garment, "money"),
            Datum::figure("money", "spoiled", bill.spoiled.cost, "money"),
            Datum::figure("money", "sale of a garment", bill.sale, "money"),
            Datum::figure("money", "material of a garment", bill.material, "money"),
        ]),
    ]
}

fn table(bill: &Bill) -> Table {
    let rows = bill.parts.iter().map(|part| {
        let price = part.price.map_or_else(|| "no price".to_owned(), |price| format!("{price:.2}"));
        let cost = part.cost().map_or_else(|| "no price".to_owned(), |cost| format!("{cost:.2}"));
        Row {
            name: part.what.to_owned(),
            item: part.what.to_owned(),
            cells: vec![
                Cell::figure(tenths(part.quantity), Some(part.quantity)),
                Cell::plain(part.unit),
                Cell::figure(price, part.price),
                Cell::figure(cost, part.cost()),
            ],
        }
    });
    Table {
        section: "money",
        caption: format!("What was used, and what it cost{}.", of(&bill.money)),
        none: "Nothing was used.",
        head: "what",
        columns: vec![
            Column::figures("quantity", ""),
            Column::words("unit"),
            Column::figures("price", "money"),
            Column::figures("cost", "money"),
        ],
        rows: rows.collect(),
        cards: true,
    }
}

/// ", in EUR".
pub fn of(money: &str) -> String {
    if money.is_empty() { String::new() } else { format!(", in {money}") }
}

fn says(bill: &Bill) -> Vec<String> {
    let money = &bill.money;
    let total = price_cell(&bill.cost);
    let missing = match bill.cost.no_price.as_slice() {
        [] => String::new(),
        names => format!("; no price: {}", names.join(", ")),
    };
    let each = bill.per_garment.map_or_else(
        || "no price of a garment".to_owned(),
        |sum| format!("{} for each garment that came out", amount(sum, money)),
    );
    let name = |shown: String| match money.is_empty() || shown == "no price" {
        true => shown,
        false => format!("{shown} {money}"),
    };
    vec![
        format!("All together {}{missing}; {each}.", name(total)),
        format!("Spoiled: {}.", name(price_cell(&bill.spoiled))),
    ]
}

/// The columns of what an order or a loss cost.
pub fn columns(each: bool) -> Vec<Column> {
    let cost = Column::figures("cost", "money");
    let of_each = Column::figures("each", "money").known_as("cost of a garment");
    if each { vec![cost, of_each] } else { vec![cost] }
}

/// Who reads a column that gives way to those.
pub fn gives_way(report: &Report) -> For {
    if report.bill.is_some() { For::Page } else { For::All }
}
