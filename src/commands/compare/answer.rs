//! The comparison as sections: what is beyond chance, and every group in a table.

use crate::commands::report::section::{Cell, Chart, Column, For, Part, Row, Section, Table};
use crate::commands::report::words::{percent, tenths};
use crate::shop::Shop;
use crate::shop::books::groups::{By, Group};
use crate::shop::facts::words::counted;

/// "North bench: by day of the week".
pub fn title(shop: &Shop, by: By) -> String {
    let by = match by {
        By::Shift => "shift by shift",
        By::Week => "week by week",
        By::Weekday => "by day of the week",
        By::Press => "press by press",
        By::Person => "by who was signed in",
        By::Recipe => "recipe by recipe",
    };
    format!("{}: {by}", shop.station().map_or("", |station| station.name.as_str()))
}

/// What is said, the picture, the table.
pub fn sections(rows: &[Group]) -> Vec<Section> {
    let by = rows.first().map_or(By::Shift, |row| row.by);
    vec![
        Section { id: "chance", title: "Beyond chance", parts: vec![Part::Says(says(rows, by))] },
        Section { id: "groups", title: "Right at once", parts: vec![Part::Chart(Chart::Groups)] },
        Section {
            parts: vec![Part::Table(table(rows)), Part::Explains(explains(by))],
            ..side_by_side(rows)
        },
    ]
}

/// The table alone.
pub fn side_by_side(rows: &[Group]) -> Section {
    Section { id: "table", title: "Side by side", parts: vec![Part::Table(table(rows))] }
}

/// How a share lies to its limits.
pub fn verdict(row: &Group) -> &'static str {
    match (row.beyond, row.first_pass, row.low) {
        (true, Some(share), Some(low)) if share < low => "below",
        (true, ..) => "above",
        _ => "",
    }
}

/// "88-100 %", rounded outwards, so that what lies inside is not shown outside.
fn limits(row: &Group) -> String {
    row.low.zip(row.high).map_or_else(
        || "-".to_owned(),
        |(low, high)| format!("{:.0}-{:.0} %", (low * 100.0).floor(), (high * 100.0).ceil()),
    )
}

fn says(rows: &[Group], by: By) -> Vec<String> {
    let what = if by == By::Press { "press cycle" } else { "garment" };
    let came: usize = rows.iter().map(|row| row.came).sum();
    let right = rows.iter().map(|row| row.first_pass.unwrap_or(0.0) * row.came as f64).sum::<f64>();
    if came == 0 {
        return vec!["Nothing came out and nothing was lost: there is no share to compare.".into()];
    }
    let share = percent(Some(right / came as f64));
    let mut says = vec![format!("Of {} {share} were right at once.", counted(came, what))];
    let beyond: Vec<&Group> = rows.iter().filter(|row| row.beyond).collect();
    says.extend(beyond.iter().map(|row| {
        format!(
            "{}: {} of {} right at once, {} what chance does ({}). Ask what was different there \
             before anything else.",
            row.group,
            percent(row.first_pass),
            counted(row.came, what),
            verdict(row),
            limits(row)
        )
    }));
    if beyond.is_empty() {
        let text = "No group lies beyond what chance does: none of them is better or worse for it.";
        says.push(text.to_owned());
    }
    says
}

fn table(rows: &[Group]) -> Table {
    let count = |head| Column::figures(head, "garments");
    let columns = vec![
        count("made"),
        Column::figures("right at once", "share").in_short("right"),
        Column::figures("by chance", ""),
        Column::words("beyond"),
        count("rejects"),
        Column::figures("minutes lost", "min").in_short("lost"),
        Column::figures("opened late", "times").in_short("late"),
        count("coats outside").in_short("coats"),
        Column::figures("fluid, g", "g").in_short("fluid"),
        Column::figures("an hour", "garments/h").for_whom(For::Page),
    ];
    let row = |row: &Group| Row {
        name: row.group.clone(),
        item: row.group.clone(),
        cells: vec![
            Cell::plain(row.made),
            Cell::figure(percent(row.first_pass), row.first_pass),
            Cell::plain(limits(row)),
            Cell::plain(verdict(row)).of_class(if verdict(row) == "below" {
                "bad"
            } else {
                "good"
            }),
            Cell::plain(row.rejects),
            Cell::figure(tenths(row.lost_minutes), Some(row.lost_minutes)),
            Cell::plain(row.late),
            Cell::plain(row.outside),
            Cell::figure(tenths(row.each_g), row.each_g),
            Cell::figure(tenths(row.per_hour), row.per_hour),
        ],
    };
    Table {
        section: "groups",
        caption:
            "Side by side. By chance: where the share of a group that does as all do lies in 998 \
                  cases of 1000."
                .to_owned(),
        none: "",
        head: "group",
        columns,
        rows: rows.iter().map(row).collect(),
        cards: true,
    }
}

fn explains(by: By) -> String {
    let of = match by {
        By::Press => {
            "Of a press, presses of a garment: right is one opened in time, with no trouble noted at that step."
        }
        By::Person => {
            "A garment counts with whoever was signed in when it was finished or lost; several people are a \
             group of their own, since nobody knows whose hands it was."
        }
        _ => "A garment counts where it was finished or lost.",
    };
    format!(
        "{of} By chance: exact binomial limits of 99.8 % around the share of all, after D. J. Spiegelhalter, \
         Funnel plots for comparing institutional performance, Statistics in Medicine 24(8), 2005. Coats: weighed \
         and outside the window; fluid: grams for a garment, by the sprayer's plan. Whatever was taken back since is \
         left out."
    )
}
