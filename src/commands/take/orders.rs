//! The rows of a table as orders: a row is a line of one, and what is wrong with a row is said with its place.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use jiff::tz::TimeZone;
use serde::{Serialize, Serializer};

use super::cells::Row;
use super::dates;
pub use super::dates::NoDate;
use super::heads::{Columns, Holds};
use crate::figures::units::{Colour, Rectangle, bounds, whole};
use crate::shop::facts::cloth::Cloth;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::order::{MOST_GARMENTS, OrderForm, OrderLine};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::remade::Remade;
use crate::shop::facts::station::{DateOrder, Station};
use crate::shop::facts::words::{behind, clean, counted};

/// What rows are read with.
pub struct Known<'a> {
    pub station: &'a Station,
    pub recipes: &'a BTreeMap<String, Arc<Recipe>>,
    pub dates: Option<DateOrder>,
    pub now: Moment,
    pub zone: TimeZone,
}

/// Why a row is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotTaken {
    #[error("due: {0}")]
    Due(#[from] NoDate),
    #[error("{0}")]
    Cell(String),
}

impl From<String> for NotTaken {
    fn from(why: String) -> Self {
        NotTaken::Cell(why)
    }
}

impl Serialize for NotTaken {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.collect_str(self)
    }
}

/// What became of a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Said {
    pub line: u64,
    /// The order that it is of.
    #[serde(skip)]
    pub order: String,
    /// What it will be, or why it is not taken.
    pub what: Result<String, NotTaken>,
}

impl Said {
    /// For whoever has the table before them.
    pub fn text(&self, file: &Path) -> String {
        let file = file.file_name().unwrap_or_default().to_string_lossy();
        match &self.what {
            Ok(what) => format!("{file} line {}: {what}", self.line),
            Err(why) => format!("{file} line {}: NOT TAKEN: {why}", self.line),
        }
    }
}

/// The orders of a table, and what is said of each of its rows.
#[derive(Debug, Default)]
pub struct Found {
    pub orders: Vec<OrderForm>,
    pub said: Vec<Said>,
}

impl Found {
    /// The first date that could be two, as it is written.
    pub fn doubtful_date(&self) -> Option<&str> {
        self.said.iter().find_map(|said| match &said.what {
            Err(NotTaken::Due(NoDate::Either(date))) => Some(date.as_str()),
            _ => None,
        })
    }

    /// Whether every row will be taken.
    pub fn is_whole(&self) -> bool {
        self.said.iter().all(|said| said.what.is_ok())
    }
}

/// Reads the rows below the head. An order of which a row is wrong is left out whole: half of it would be taken for
/// all of it.
pub fn read(rows: &[Row], columns: &Columns, known: &Known<'_>) -> Found {
    let mut found = Found::default();
    let mut name = String::new();
    let mut wrong: Vec<String> = Vec::new();
    for row in rows.iter().skip(columns.first_row) {
        // Under a merged cell, or where a name is written once, the order goes on.
        let said = columns.of(row, Holds::Order);
        if !said.is_empty() {
            name = clean(said, 40);
        }
        let what = if is_sum(&name) {
            name.clear();
            Ok("passed over: it counts the rows above".to_owned())
        } else {
            take(row, &name, columns, known, &mut found.orders)
        };
        if what.is_err() {
            wrong.push(name.clone());
        }
        found.said.push(Said { line: row.line, order: name.clone(), what });
    }
    found.orders.retain(|order| !wrong.contains(&order.name));
    found
}

/// A row that adds up those above.
fn is_sum(name: &str) -> bool {
    let first = name.split([' ', ':']).next().unwrap_or_default().to_lowercase();
    matches!(first.as_str(), "total" | "totals" | "sum")
}

/// Puts a row's garments into its order.
fn take(
    row: &Row,
    name: &str,
    columns: &Columns,
    known: &Known<'_>,
    orders: &mut Vec<OrderForm>,
) -> Result<String, NotTaken> {
    if name.is_empty() {
        return Err("no order is named, here or above".to_owned().into());
    }
    let due = match (columns.of(row, Holds::Due), columns.of(row, Holds::Time)) {
        ("", _) => None,
        (day, time) => Some(dates::due(day, time, known.dates, (known.now, &known.zone))?),
    };
    let rank = rank(columns.of(row, Holds::Rank))?;
    let lines = lines(row, columns, known)?;
    let place = orders.iter().position(|order| order.name == name).unwrap_or_else(|| {
        let form = OrderForm { name: name.to_owned(), due, rank, shared: false, lines: Vec::new() };
        orders.push(form);
        orders.len() - 1
    });
    let order = &mut orders[place];
    if let (Some(first), Some(other)) = (order.due, due)
        && first != other
    {
        return Err(format!("due: {other} here and {first} above, for one order").into());
    }
    order.due = order.due.or(due);
    order.rank = order.rank.min(rank);
    let told =
        lines.iter().map(|line| line_text(line, known.station)).collect::<Vec<_>>().join("; ");
    order.lines.extend(lines);
    Ok(format!("{name}: {told}{}", due.map_or_else(String::new, |due| format!(", due {due}"))))
}

fn line_text(line: &OrderLine, station: &Station) -> String {
    let mark = behind(Some(&line.mark));
    let colour = station.colour_name(line.garment);
    let cloth = line.cloth.map_or_else(String::new, |cloth| format!(" of {}", cloth.words()));
    format!(
        "{}{mark} {colour}, {}{cloth}, {}",
        counted(u64::from(line.count), "garment"),
        line.recipe,
        line.places.join(" and ")
    )
}

/// A line for each size of which there is one.
fn lines(row: &Row, columns: &Columns, known: &Known<'_>) -> Result<Vec<OrderLine>, String> {
    let whole_number = |text: &str, what: &str| {
        // A spreadsheet's numbers may come as "12.0".
        let text = text.strip_suffix(".0").unwrap_or(text);
        whole::<u32>(text, what, (0, u64::from(MOST_GARMENTS)))
            .map_err(|wrong| format!("{what}: {wrong}"))
    };
    let mut counts: Vec<(u32, String)> = Vec::new();
    for (column, mark) in &columns.sizes {
        match row.cell(*column) {
            "" | "-" => {}
            count => counts.push((whole_number(count, mark)?, mark.clone())),
        }
    }
    let all = columns.of(row, Holds::Count);
    if !all.is_empty() {
        let all = whole_number(all, "count")?;
        let by_size: u32 = counts.iter().map(|(count, _)| count).sum();
        match counts.is_empty() {
            true => counts.push((all, clean(columns.of(row, Holds::Mark), 8))),
            false if by_size == all => {}
            false => return Err(format!("count: {all}, but its sizes make {by_size}")),
        }
    }
    counts.retain(|(count, _)| *count > 0);
    if counts.is_empty() {
        return Err("count: no garments, expected a number, or one under a size".to_owned());
    }
    let line = line(row, columns, known)?;
    Ok(counts.into_iter().map(|(count, mark)| OrderLine { count, mark, ..line.clone() }).collect())
}

/// What is the same for all sizes of a row.
fn line(row: &Row, columns: &Columns, known: &Known<'_>) -> Result<OrderLine, String> {
    let text = |holds| Some(columns.of(row, holds)).filter(|text| !text.is_empty());
    let places = text(Holds::Place).map_or_else(
        || vec!["front".to_owned()],
        |text| text.split([',', '+', '/', ';']).map(|place| clean(place.trim(), 20)).collect(),
    );
    let print = text(Holds::Print).map(|text| bounds::SIDE.read::<Rectangle>(text));
    let print = print.transpose().map_err(|wrong| format!("print: {wrong}"))?;
    let remakes = text(Holds::Remakes).map(|text| Remade::try_from(text.to_owned()));
    let remakes = remakes.transpose().map_err(|wrong| format!("remakes: {wrong}"))?;
    let cloth = text(Holds::Cloth).map(str::parse::<Cloth>);
    let cloth = cloth.transpose().map_err(|wrong| format!("cloth: {wrong}"))?;
    let recipe = recipe(text(Holds::Recipe), known)?;
    let garment = colour(text(Holds::Colour), known.station)?;
    Ok(OrderLine {
        art: text(Holds::Art).map(|art| clean(art, 200)),
        print,
        places,
        remakes,
        cloth,
        ..OrderLine::plain(0, &recipe, garment)
    })
}

fn recipe(text: Option<&str>, known: &Known<'_>) -> Result<String, String> {
    let names = || known.recipes.keys().cloned().collect::<Vec<_>>().join(", ");
    let usual = known.station.tables.as_ref().and_then(|tables| tables.recipe.as_deref());
    let Some(text) = text.or(usual) else {
        return match known.recipes.keys().next() {
            Some(only) if known.recipes.len() == 1 => Ok(only.clone()),
            _ => Err(format!("recipe: nothing, expected one of {}", names())),
        };
    };
    let plain = |name: &str| name.trim().to_lowercase().replace([' ', '_'], "-");
    let same = known.recipes.keys().find(|name| plain(name) == plain(text));
    same.cloned().ok_or_else(|| {
        format!("recipe: found \"{}\", expected one of {}", clean(text, 40), names())
    })
}

fn colour(text: Option<&str>, station: &Station) -> Result<Colour, String> {
    let names = || station.colour_names().join(", ");
    let Some(text) = text else {
        return Err(format!("colour: nothing, expected \"#rrggbb\" or one of {}", names()));
    };
    text.parse().ok().or_else(|| station.colour(text)).ok_or_else(|| {
        format!("colour: found \"{}\", expected \"#rrggbb\" or one of {}", clean(text, 30), names())
    })
}

fn rank(text: &str) -> Result<Rank, String> {
    match text.to_lowercase().as_str() {
        "" | "2" | "usual" | "no" => Ok(Rank::USUAL),
        "1" | "rush" | "yes" | "x" => Ok(Rank::RUSH),
        "3" | "can wait" => Ok(Rank::ALL[2]),
        _ => Err(format!("rank: found \"{}\", expected rush, usual or can wait", clean(text, 20))),
    }
}
