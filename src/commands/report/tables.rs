//! The tables of the page: each with a caption, heads that say what they are for, figures to the right.
//!
//! On a phone each row becomes a card, in which a cell carries its own head. A browser may then forget that it is a
//! table, so every part says its role.

use maud::{Markup, html};

use super::words::{self, tenths};
use crate::shop::books::press_spans::Doing;
use crate::shop::books::shift_report::{OrderRow, Report};

/// The head of a column, and whether figures stand below it.
type Head = (&'static str, bool);

/// A cell's text, and its class where it has one.
type Cell = (String, &'static str);

/// A row: what it is about, then its cells.
type Row = (String, Vec<Cell>);

fn plain(text: impl ToString) -> Cell {
    (text.to_string(), "")
}

/// The class of a table whose rows become cards on a phone; without it, it is narrow enough as it is.
const CARDS: &str = "cards";

/// A table; the first head is of the rows' own names.
fn table(caption: &str, class: &str, heads: &[Head], rows: &[Row]) -> Markup {
    let side = |figures: &bool| if *figures { "n" } else { "" };
    html! {
        table role="table" class=(class) {
            caption { (caption) }
            thead role="rowgroup" {
                tr role="row" {
                    @for (head, figures) in heads {
                        th scope="col" role="columnheader" class=(side(figures)) { (head) }
                    }
                }
            }
            tbody role="rowgroup" {
                @for (name, cells) in rows {
                    tr role="row" {
                        th scope="row" role="rowheader" { (name) }
                        @for ((head, figures), (text, class)) in heads.iter().skip(1).zip(cells) {
                            td role="cell" data-head=(head) class={ (side(figures)) " " (class) } { (text) }
                        }
                    }
                }
            }
        }
    }
}

/// Each order as it stands.
pub fn orders(report: &Report) -> Markup {
    if report.orders.is_empty() {
        return html! { p { "No order was worked on." } };
    }
    let class = |order: &OrderRow| match words::standing(order) {
        "short" => "bad",
        "fulfilled" => "good",
        _ => "",
    };
    let row = |order: &OrderRow| {
        let cells = vec![
            plain(order.ordered),
            plain(order.done),
            plain(order.left),
            plain(order.short),
            plain(words::due(order)),
            (words::standing(order).to_owned(), class(order)),
        ];
        (format!("{} {}", order.order, order.name), cells)
    };
    let rows: Vec<Row> = report.orders.iter().map(row).collect();
    let heads = [
        ("order", false),
        ("ordered", true),
        ("done", true),
        ("left", true),
        ("short", true),
        ("due", false),
        ("stands", false),
    ];
    let caption = "Garments at the end of the shift. Short: lost, and no blank has replaced them.";
    table(caption, CARDS, &heads, &rows)
}

/// What was lost to what.
pub fn losses(report: &Report) -> Markup {
    if report.losses.is_empty() {
        return html! { p { "No loss was noted." } };
    }
    let rows: Vec<Row> = report
        .losses
        .iter()
        .map(|loss| {
            let cells = vec![
                plain(loss.garments),
                plain(words::became(loss.again, loss.second, loss.out)),
                plain(tenths(loss.press_minutes)),
                plain(tenths(loss.hand_minutes)),
                plain(tenths(loss.minutes)),
            ];
            (loss.cause.to_owned(), cells)
        })
        .collect();
    let heads = [
        ("cause", false),
        ("garments", true),
        ("became", false),
        ("press", true),
        ("hands", true),
        ("minutes", true),
    ];
    html! {
        (table("Garments, and the minutes given in vain.", CARDS, &heads, &rows))
        p.said { (words::LOSSES_COUNTED) }
    }
}

/// What each press did, in minutes.
pub fn presses(report: &Report) -> Markup {
    let rows: Vec<Row> = report
        .presses
        .iter()
        .map(|press| {
            let mut cells = vec![plain(press.cycles)];
            cells.extend(press.minutes().map(|minutes| plain(tenths(minutes))));
            (format!("{} {}", press.press, press.name), cells)
        })
        .collect();
    let mut heads = vec![("press", false), ("cycles", true)];
    heads.extend(Doing::ALL.map(|doing| (doing.words(), true)));
    table("Minutes of each press, and how often it was opened on a garment.", CARDS, &heads, &rows)
}

/// What the scale said.
pub fn weigh_ins(report: &Report) -> Markup {
    if report.weigh_ins.is_empty() {
        return html! { p { "No coat was weighed." } };
    }
    let rows: Vec<Row> = report
        .weigh_ins
        .iter()
        .map(|row| {
            let cells = vec![
                plain(row.count),
                plain(tenths(row.mean)),
                plain(tenths(row.spread)),
                (row.outside.to_string(), if row.outside > 0 { "bad" } else { "" }),
                plain(row.mended),
            ];
            (row.recipe.clone(), cells)
        })
        .collect();
    let heads = [
        ("recipe", false),
        ("weighed", true),
        ("mean", true),
        ("spread", true),
        ("outside", true),
        ("mended", true),
    ];
    table(
        "Weighed coats as dried, g/m\u{b2}; outside: of the recipe's window.",
        CARDS,
        &heads,
        &rows,
    )
}

/// The standard figures, and what they are made of.
pub fn standards(report: &Report) -> Markup {
    let row =
        |row: words::Standard| (row.name.to_owned(), vec![plain(row.words()), plain(row.made_of)]);
    let rows: Vec<Row> = words::standards(report).into_iter().map(row).collect();
    let heads = [("figure", false), ("value", true), ("made of", false)];
    let caption = "By ISO 22400-2. The work unit is all presses together, an item one press of a \
         garment.";
    html! {
        (table(caption, "", &heads, &rows))
        p.said { (words::elements_line(report)) "." }
    }
}
