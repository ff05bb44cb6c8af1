//! The tables of a page: each with a caption, heads that say what they are for, figures to the right.
//!
//! On a phone each row becomes a card, in which a cell carries its own head. A browser may then forget that it is a
//! table, so every part says its role.

use maud::{Markup, html};

use super::section::{Cell, Column, Table};

/// The class of a table whose rows become cards on a phone.
const CARDS: &str = "cards";

/// A table, or what is said where it has no row.
pub fn table(table: &Table) -> Markup {
    if table.rows.is_empty() {
        return html! { p { (table.none) } };
    }
    let side = |column: &Column| if column.figures { "n" } else { "" };
    let shown = |(column, _): &(&Column, &Cell)| column.on_page();
    html! {
        table role="table" class=(if table.cards { CARDS } else { "" }) {
            caption { (table.caption) }
            thead role="rowgroup" {
                tr role="row" {
                    th scope="col" role="columnheader" { (table.head) }
                    @for column in table.columns.iter().filter(|column| column.on_page()) {
                        th scope="col" role="columnheader" class=(side(column)) { (column.head) }
                    }
                }
            }
            tbody role="rowgroup" {
                @for row in &table.rows {
                    tr role="row" {
                        th scope="row" role="rowheader" { (row.name) }
                        @for (column, cell) in table.columns.iter().zip(&row.cells).filter(shown) {
                            td role="cell" data-head=(column.head) class={ (side(column)) " " (cell.class) } { (cell.shown) }
                        }
                    }
                }
            }
        }
    }
}
