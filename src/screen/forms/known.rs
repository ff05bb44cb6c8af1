//! The recipes among which a form lets choose.

use crate::figures::units::table::Unit;
use crate::shop::Shop;
use crate::shop::facts::cloth::Cloth;
use crate::shop::facts::recipe::Underbase;

/// A recipe that can be chosen.
pub struct Known {
    pub name: String,
    pub title: String,
    /// Whether it goes by the artwork.
    pub asks: bool,
    /// The unit of its area: a size that is typed without one is in it.
    pub unit: &'static Unit,
    /// What its garments are made of, where it says so.
    pub cloth: Option<Cloth>,
}

impl Known {
    /// All that are in force, by name.
    pub fn all(shop: &Shop) -> Vec<Self> {
        shop.recipes()
            .in_force()
            .map(|(name, _, recipe)| Self {
                name: name.to_owned(),
                title: recipe.title.clone(),
                asks: recipe.underbase == Underbase::FromArtwork,
                unit: recipe.area.unit(),
                cloth: recipe.cloth,
            })
            .collect()
    }

    /// A size in its unit, as an example.
    pub fn a_size(&self) -> &'static str {
        match self.unit.symbol {
            "in" => "12 in x 14 in",
            "mm" => "300 mm x 360 mm",
            "cm" => "30 cm x 36 cm",
            _ => "with its unit",
        }
    }
}
