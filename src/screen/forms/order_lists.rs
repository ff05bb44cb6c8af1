//! What can be chosen by number for a field of an order: colours from the station's profile; the rest is what orders
//! have named before, after what is common.

use super::order::Field;
use crate::shop::Shop;

/// Common practice of the trade, no source.
const MARKS: [&str; 6] = ["S", "M", "L", "XL", "XXL", "XXXL"];
const PRINTS: [&str; 4] = ["12 in x 14 in", "10 in x 12 in", "4 in x 4 in", "14 in x 16 in"];
const PLACES: [&str; 5] = ["front", "back", "front, back", "left chest", "sleeve"];

/// The list of a field; None where it has none.
pub fn of(field: Field, shop: &Shop) -> Option<Vec<String>> {
    let lines = || shop.orders().rev().flat_map(|order| order.form.lines.iter());
    Some(match field {
        Field::Garment => shop.station().map_or_else(Vec::new, |station| station.colour_names()),
        Field::Mark => with(&MARKS, lines().map(|line| line.mark.clone())),
        Field::Print => with(&PRINTS, lines().filter_map(|line| Some(line.print?.to_string()))),
        Field::Places => with(&PLACES, lines().map(|line| line.places.join(", "))),
        Field::Art => with(&[], lines().filter_map(|line| line.art.clone())),
        _ => return None,
    })
}

/// What is common, then what was named, each once.
fn with(common: &[&str], named: impl Iterator<Item = String>) -> Vec<String> {
    let mut items: Vec<String> = common.iter().map(|item| (*item).to_owned()).collect();
    for item in named.filter(|item| !item.is_empty()) {
        if !items.contains(&item) {
            items.push(item);
        }
    }
    items
}
