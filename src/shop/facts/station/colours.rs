//! The colours of garments by the names that hands type.

use std::collections::BTreeMap;

use super::Station;
use crate::figures::units::Colour;
use crate::shop::facts::pad::Tender;

/// Names for the garments that most shops print on. From memory: a shop names its own blanks' colours.
const SHIPPED_COLOURS: [(&str, u32); 14] = [
    ("black", 0x16_18_1d),
    ("white", 0xff_ff_ff),
    ("navy", 0x1b_24_40),
    ("grey", 0x8f_93_98),
    ("charcoal", 0x3c_40_45),
    ("red", 0xb3_1f_2a),
    ("maroon", 0x5c_1e_2c),
    ("royal", 0x1f_4a_a0),
    ("light blue", 0xa9_c5_e2),
    ("forest", 0x1e_3c_2b),
    ("sand", 0xd9_cc_b2),
    ("pink", 0xe9_b6_c6),
    ("purple", 0x48_2d_69),
    ("yellow", 0xf1_c4_40),
];

/// The colours of a station whose profile names none.
pub fn shipped_colours() -> BTreeMap<String, Colour> {
    let colour = |(name, rgb): (&str, u32)| {
        let [_, red, green, blue] = rgb.to_be_bytes();
        (name.to_owned(), Colour { red, green, blue })
    };
    SHIPPED_COLOURS.into_iter().map(colour).collect()
}

/// Whether they are those: they are not written then.
pub(super) fn are_shipped(colours: &BTreeMap<String, Colour>) -> bool {
    *colours == shipped_colours()
}

impl Station {
    /// The colour that a name stands for, however it is spelled in capitals.
    pub fn colour(&self, name: &str) -> Option<Colour> {
        let same = |(known, _): &(&String, &Colour)| known.eq_ignore_ascii_case(name.trim());
        self.colours.iter().find(same).map(|(_, colour)| *colour)
    }

    /// The name of a colour, where it has one; else the colour as it is written.
    pub fn colour_name(&self, colour: Colour) -> String {
        let named = self.colours.iter().find(|(_, known)| **known == colour);
        named.map_or_else(|| colour.to_string(), |(name, _)| name.clone())
    }

    /// What heat does to a colour, where the profile says so of its name.
    pub fn tender_of(&self, colour: Colour) -> Option<Tender> {
        let name = self.colour_name(colour);
        self.tender.iter().find(|(known, _)| known.eq_ignore_ascii_case(&name)).map(|(_, how)| *how)
    }

    /// The first name under `tender` that is no colour of the station.
    pub(super) fn unknown_tender(&self) -> Option<&str> {
        self.tender.keys().map(String::as_str).find(|name| self.colour(name).is_none())
    }

    /// All names, those of the shipped list in its order, the most usual first.
    pub fn colour_names(&self) -> Vec<String> {
        let place = |name: &String| SHIPPED_COLOURS.iter().position(|(known, _)| known == name);
        let mut names: Vec<String> = self.colours.keys().cloned().collect();
        names.sort_by_key(|name| place(name).unwrap_or(usize::MAX));
        names
    }
}
