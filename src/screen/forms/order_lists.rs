//! What can be chosen by number for a field of an order: colours from the station's profile; the rest is what orders
//! have named before, after what is common.

use super::order_fields::Field;
use crate::shop::Shop;
use crate::shop::facts::cloth::Cloth;
use crate::shop::facts::pad::Over;
use crate::shop::facts::sizes::{NoRow, Sizes, usual_sizes};

/// Common practice of the trade, no source.
const PRINTS: [&str; 4] = ["12 in x 14 in", "10 in x 12 in", "4 in x 4 in", "14 in x 16 in"];
const PLACES: [&str; 5] = ["front", "back", "front, back", "left chest", "sleeve"];

/// The list of a field; None where it has none.
pub fn of(field: Field, shop: &Shop) -> Option<Vec<String>> {
    let lines = || shop.orders().rev().flat_map(|order| order.form.lines.iter());
    Some(match field {
        Field::Garment => shop.station().map_or_else(Vec::new, |station| station.colour_names()),
        Field::Mark => with(sizes_of(shop), lines().map(|line| line.mark.clone())),
        Field::Pad => Over::ALL.iter().map(|over| over.name().to_owned()).collect(),
        Field::Cloth => Cloth::ALL.iter().map(|cloth| cloth.words().to_owned()).collect(),
        Field::Print => {
            with(known(&PRINTS), lines().filter_map(|line| Some(line.print?.to_string())))
        }
        Field::Places => with(known(&PLACES), lines().map(|line| line.places.join(", "))),
        Field::Art => with(Vec::new(), lines().filter_map(|line| line.art.clone())),
        _ => return None,
    })
}

/// The sizes of a row of counts, each at its place.
pub(super) fn sizes_of(shop: &Shop) -> Vec<String> {
    shop.station().map_or_else(usual_sizes, |station| station.sizes.clone())
}

/// The row of counts, where sizes stand in it: "2-4-3".
pub(super) fn row(text: &str, shop: &Shop) -> Option<Result<Sizes, NoRow>> {
    text.contains('-').then(|| Sizes::read_row(text, &sizes_of(shop)))
}

/// How many garments, and of which sizes where a row of them was typed.
pub(super) fn counted(text: &str, shop: &Shop) -> Result<(u32, Sizes), String> {
    if let Some(row) = row(text, shop) {
        let row = row.map_err(|wrong| wrong.to_string())?;
        return Ok((row.count(), row));
    }
    let count = text.parse();
    let count = count.map_err(|_| "how many garments? A whole number, then + again".to_owned())?;
    Ok((count, Sizes::default()))
}

fn known(common: &[&str]) -> Vec<String> {
    common.iter().map(|item| (*item).to_owned()).collect()
}

/// What is common, then what was named, each once.
fn with(common: Vec<String>, named: impl Iterator<Item = String>) -> Vec<String> {
    let mut items = common;
    for item in named.filter(|item| !item.is_empty()) {
        if !items.contains(&item) {
            items.push(item);
        }
    }
    items
}
