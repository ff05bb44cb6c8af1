//! Which column of a table holds what: by its head, in the words that shops use, or in those that the station's profile
//! names.

use super::cells::Row;
use crate::commands::Failure;
use crate::shop::facts::station::Tables;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    Order,
    Count,
    Mark,
    Colour,
    Recipe,
    Art,
    Print,
    Place,
    Due,
    Time,
    Rank,
    Remakes,
    Cloth,
}

/// Each with its name in a profile and in the template first, then what shops write at its head.
const NAMES: [(Holds, &[&str]); 13] = [
    (Holds::Order, &["order", "order name", "job", "customer", "client", "project", "name"]),
    (Holds::Count, &["count", "quantity", "qty", "pieces", "pcs", "how many"]),
    (Holds::Mark, &["size", "size mark", "mark"]),
    (
        Holds::Colour,
        &["colour", "color", "garment colour", "garment color", "shirt colour", "shirt color"],
    ),
    (Holds::Recipe, &["recipe", "garment", "fabric", "material"]),
    (Holds::Art, &["art", "artwork", "design", "file", "image"]),
    (Holds::Print, &["print", "print size"]),
    (Holds::Place, &["place", "places", "position", "print place", "location"]),
    (Holds::Due, &["due", "due date", "date", "deadline", "needed by", "ready by"]),
    (Holds::Time, &["time", "due time"]),
    (Holds::Rank, &["rank", "rush", "priority"]),
    // "Remake" alone heads a column of yes and no, too.
    (Holds::Remakes, &["remakes", "remake of", "reprint of"]),
    (Holds::Cloth, &["cloth", "fibre", "fiber"]),
];

/// Size marks that stand at the head of a column of counts.
const MARKS: [&str; 18] = [
    "xxs", "xs", "s", "m", "l", "xl", "xxl", "xxxl", "2xl", "3xl", "4xl", "5xl", "6xl", "yxs",
    "ys", "ym", "yl", "yxl",
];

/// The columns of a table.
#[derive(Debug, Default)]
pub struct Columns {
    known: Vec<(Holds, usize)>,
    /// Columns of counts, by the size mark at their head.
    pub sizes: Vec<(usize, String)>,
    /// Heads that say nothing here.
    pub unknown: Vec<String>,
    /// Where the rows begin, counted among those that hold something.
    pub first_row: usize,
}

impl Columns {
    /// Where a column is.
    pub fn at(&self, holds: Holds) -> Option<usize> {
        self.known.iter().find(|(known, _)| *known == holds).map(|(_, column)| *column)
    }

    /// A head of "cloth" where no other says the recipe: shops write the name of the recipe below it.
    fn recipe_headed_cloth(&mut self, head: &Row, tables: &Tables) {
        if self.at(Holds::Recipe).is_some() {
            return;
        }
        let plain_cloth = |column: usize| {
            let text = head.cell(column);
            plain(text) == "cloth" && !tables.columns.keys().any(|own| plain(own) == "cloth")
        };
        for (holds, column) in &mut self.known {
            if *holds == Holds::Cloth && plain_cloth(*column) {
                *holds = Holds::Recipe;
            }
        }
    }

    /// What a row says in a column; empty where there is none.
    pub fn of<'a>(&self, row: &'a Row, holds: Holds) -> &'a str {
        self.at(holds).map_or("", |column| row.cell(column))
    }
}

/// A head without capitals and what stands between its words.
fn plain(head: &str) -> String {
    let words = head.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join(" ").to_lowercase()
}

fn meaning(head: &str, tables: &Tables) -> Option<Holds> {
    let own = tables.columns.iter().find(|(name, _)| plain(name) == plain(head));
    let head = own.map_or_else(|| plain(head), |(_, means)| plain(means));
    NAMES.iter().find(|(_, names)| names.contains(&head.as_str())).map(|(holds, _)| *holds)
}

/// The first names, for words to people.
fn names() -> String {
    NAMES.map(|(_, names)| names[0]).join(", ")
}

/// Whether the profile's words name columns.
fn check(tables: &Tables) -> Result<(), Failure> {
    let is_name = |word: &str| NAMES.iter().any(|(_, names)| names[0] == plain(word));
    match tables.columns.iter().find(|(_, means)| !is_name(means)) {
        None => Ok(()),
        Some((head, means)) => Err(Failure::Input(format!(
            "station.ron: tables.columns: {head:?}: found {means:?}, expected one of {}",
            names()
        ))),
    }
}

/// Finds the head: the first row that names an order and something else that is known. A row of size marks below it,
/// as under a merged cell, belongs to it.
///
/// # Errors
/// No row names the columns, or one is named twice.
pub fn find(rows: &[Row], tables: &Tables) -> Result<Columns, Failure> {
    check(tables)?;
    let known = |row: &Row| row.cells.iter().filter(|cell| meaning(cell, tables).is_some()).count();
    let named =
        |row: &Row| row.cells.iter().any(|cell| meaning(cell, tables) == Some(Holds::Order));
    let place = rows.iter().take(20).position(|row| named(row) && known(row) >= 2);
    let Some(place) = place else {
        return Err(Failure::Input(format!(
            "no row names the columns: expected a head with \"order\" and \"count\" or sizes; `dwell take --template` \
             prints one. Columns: {}. Other words can be named in station.ron under tables.columns",
            names()
        )));
    };
    let mut columns = Columns { first_row: place + 1, ..Columns::default() };
    let is_mark = |text: &str| MARKS.contains(&plain(text).as_str());
    let below = rows.get(place + 1).filter(|row| {
        let filled = || row.cells.iter().filter(|cell| !cell.is_empty());
        filled().count() > 0 && filled().all(|cell| is_mark(cell))
    });
    columns.first_row += usize::from(below.is_some());
    let width = rows[place].cells.len().max(below.map_or(0, |row| row.cells.len()));
    for column in 0..width {
        let head = rows[place].cell(column);
        let mark = below.map_or("", |row| row.cell(column));
        let mark = if mark.is_empty() { head } else { mark };
        match meaning(head, tables) {
            _ if is_mark(mark) => columns.sizes.push((column, mark.to_uppercase())),
            Some(holds) => {
                if columns.at(holds).is_some() {
                    let line = rows[place].line;
                    let text = format!(
                        "line {line}, column {}: \"{head}\" names a column that is there already",
                        column + 1
                    );
                    return Err(Failure::Input(text));
                }
                columns.known.push((holds, column));
            }
            None if head.is_empty() => {}
            None => columns.unknown.push(head.to_owned()),
        }
    }
    columns.recipe_headed_cloth(&rows[place], tables);
    if columns.at(Holds::Count).is_none() && columns.sizes.is_empty() {
        let text =
            "no column says how many: expected \"count\", or columns of sizes such as S, M, L";
        return Err(Failure::Input(text.to_owned()));
    }
    Ok(columns)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(line: u64, cells: &[&str]) -> Row {
        Row { line, cells: cells.iter().map(|cell| (*cell).to_owned()).collect() }
    }

    #[test]
    fn a_head_is_found_below_a_title_and_with_sizes_under_a_merged_cell() {
        let rows = [
            row(1, &["Orders of the week"]),
            row(3, &["Customer", "Shirt color", "Sizes", "", "", "Needed by"]),
            row(4, &["", "", "S", "M", "2XL", ""]),
            row(5, &["Harbour choir", "black", "1", "2", "3", "2026-12-04"]),
        ];
        let columns = find(&rows, &Tables::default()).unwrap();
        assert_eq!(columns.first_row, 3);
        let sizes = [(2, "S".to_owned()), (3, "M".to_owned()), (4, "2XL".to_owned())];
        assert_eq!(columns.sizes, sizes);
        assert_eq!(columns.at(Holds::Due), Some(5));
    }

    /// A column of yes and no, as shops head it, says nothing of which garment is made again.
    #[test]
    fn remake_alone_is_no_head() {
        let rows = [row(1, &["Order", "Count", "Remake"]), row(2, &["Choir", "4", "no"])];
        let columns = find(&rows, &Tables::default()).unwrap();
        assert_eq!(
            (columns.at(Holds::Remakes), columns.unknown),
            (None, vec!["Remake".to_owned()])
        );
        let rows = [row(1, &["Order", "Count", "Remake of"])];
        assert_eq!(find(&rows, &Tables::default()).unwrap().at(Holds::Remakes), Some(2));
    }

    /// "cloth" alone has always headed the recipe; beside a recipe it is what the garment is made of.
    #[test]
    fn cloth_is_a_column_of_its_own_beside_the_recipe() {
        let of = |head: &[&str], own: &[(&str, &str)]| {
            let own = own.iter().map(|(head, means)| ((*head).to_owned(), (*means).to_owned()));
            let tables = Tables { columns: own.collect(), ..Tables::default() };
            let columns = find(&[row(1, head)], &tables).unwrap();
            (columns.at(Holds::Recipe), columns.at(Holds::Cloth))
        };
        assert_eq!(of(&["Order", "Count", "Cloth"], &[]), (Some(2), None));
        assert_eq!(of(&["Order", "Count", "Cloth", "Recipe"], &[]), (Some(3), Some(2)));
        assert_eq!(of(&["Order", "Count", "Fibre"], &[]), (None, Some(2)));
        assert_eq!(of(&["Order", "Count", "Stoff"], &[("stoff", "cloth")]), (None, Some(2)));
        assert_eq!(of(&["Order", "Count", "Cloth"], &[("cloth", "cloth")]), (None, Some(2)));
    }

    #[test]
    fn a_profiles_own_word_counts() {
        let rows = [row(1, &["Besteller", "Anzahl"]), row(2, &["Chor", "4"])];
        assert!(find(&rows, &Tables::default()).is_err());
        let columns = [("besteller", "order"), ("anzahl", "count")];
        let columns = columns.map(|(head, means)| (head.to_owned(), means.to_owned()));
        let tables = Tables { columns: columns.into(), ..Tables::default() };
        assert_eq!(find(&rows, &tables).unwrap().at(Holds::Count), Some(1));
    }
}
