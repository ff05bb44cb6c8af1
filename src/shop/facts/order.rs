//! An order as it is handed in, and as the shop keeps it.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::check::{Senseless, check_sides};
use super::cloth::Cloth;
use super::ids::OrderId;
use super::moment::Wall;
use super::pad::Pad;
use super::rank::Rank;
use super::remade::Remade;
pub use super::sizes::MOST_GARMENTS;
use super::sizes::{LONGEST_MARK, Sizes};
pub use super::when::Due;
use super::words::clean;
use crate::figures::sketch::Sketch;
use crate::figures::strokes::{Aim, USUAL_MARGIN};
use crate::figures::units::{Centimetres, Colour, Rectangle};

/// Years in which something can be due; others are a slip of the finger.
const YEARS: RangeInclusive<i16> = 2000..=2099;
/// The most places of print on one garment.
const MOST_PLACES: usize = 6;

/// An order as a file or the board's form states it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename = "Order", deny_unknown_fields)]
pub struct OrderForm {
    pub name: String,
    /// When it must be ready: by the shop's own clock, or with an offset.
    #[serde(default)]
    pub due: Option<Due>,
    /// 1 is a rush, 2 the usual, 3 can wait.
    #[serde(default, skip_serializing_if = "Rank::is_usual")]
    pub rank: Rank,
    /// Every station of the shop may take garments of it to make; this one only lays it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub shared: bool,
    pub lines: Vec<OrderLine>,
}

/// Garments of one kind within an order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderLine {
    /// With `sizes` it may be left out: it is their sum.
    #[serde(default)]
    pub count: u32,
    /// How many of each size. Once the order is taken in, each size is a line of its own.
    #[serde(default, skip_serializing_if = "Sizes::is_empty")]
    pub sizes: Sizes,
    /// The recipe by its file's name.
    pub recipe: String,
    /// The colour of the garment.
    pub garment: Colour,
    /// The artwork's file.
    #[serde(default)]
    pub art: Option<String>,
    #[serde(default)]
    pub print: Option<Rectangle>,
    /// Prints of another size than `print`, by their place: {"back": "10 in x 12 in"}.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub prints: BTreeMap<String, Rectangle>,
    /// How far around a print is sprayed; half an inch where nothing is said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margin: Option<Centimetres>,
    /// The size mark in the neck: "M".
    #[serde(default)]
    pub mark: String,
    /// What it is made of, where that is not as its recipe says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloth: Option<Cloth>,
    /// What keeps the platen off the print, and the pad that helps.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pad: Option<Pad>,
    /// Where it is printed; the garment goes round once for each.
    #[serde(default = "front")]
    pub places: Vec<String>,
    /// Whether some part of the artwork is lighter than the garment, where a person has said so.
    #[serde(default)]
    pub underbase: Option<bool>,
    /// What it makes again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remakes: Option<Remade>,
    /// What was seen when the artwork's file was looked at. Written by the program.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen: Option<Box<Artwork>>,
}

/// What an artwork says on its garment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Artwork {
    pub underbase: bool,
    pub lighter_share: f64,
    pub brighter_channel_share: f64,
    /// Whether a border of one colour is printed, where somebody was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub backdrop: Option<Backdrop>,
    /// Why, in a sentence.
    pub reason: String,
    /// How it looks on the garment.
    pub sketch: Sketch,
}

/// Whether a border of one colour is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Backdrop {
    Keep,
    Drop,
}

fn front() -> Vec<String> {
    vec!["front".to_owned()]
}

impl OrderForm {
    /// Takes control characters out of every text.
    pub fn cleaned(mut self) -> Self {
        self.name = clean(&self.name, 40);
        for line in &mut self.lines {
            line.recipe = clean(&line.recipe, 60);
            line.mark = clean(&line.mark, LONGEST_MARK);
            line.sizes = std::mem::take(&mut line.sizes).cleaned();
            if line.count == 0 {
                line.count = line.sizes.count();
            }
            line.print = line.print.map(Rectangle::as_written);
            line.margin = line.margin.map(Centimetres::as_written);
            let prints = std::mem::take(&mut line.prints).into_iter();
            line.prints =
                prints.map(|(place, size)| (clean(&place, 20), size.as_written())).collect();
            line.art = line.art.as_deref().map(|art| clean(art, 200));
            if let Some(seen) = &mut line.seen {
                seen.reason = clean(&seen.reason, 200);
            }
            line.places = line.places.iter().map(|place| clean(place, 20)).collect();
        }
        self
    }

    /// The same with a line for each size.
    pub fn by_size(mut self) -> Self {
        self.lines = self.lines.into_iter().flat_map(OrderLine::by_size).collect();
        self
    }

    /// When it is due on the wall clock, where the shop's clock is that of a zone; None: never, or beyond the calendar.
    pub fn due_at(&self, zone: &TimeZone) -> Option<Wall> {
        self.due?.at(zone)
    }

    /// What it makes again, each once: "A3-04, one of order 7"; nothing for most.
    pub fn remakes(&self) -> Option<String> {
        let mut all: Vec<Remade> = self.lines.iter().filter_map(|line| line.remakes).collect();
        all.sort();
        all.dedup();
        let all: Vec<String> = all.iter().map(Remade::to_string).collect();
        (!all.is_empty()).then(|| all.join(", "))
    }

    /// How many garments it asks for.
    pub fn count(&self) -> u64 {
        self.lines.iter().map(|line| u64::from(line.count)).sum()
    }

    /// Whether the order makes sense; `known` says whether a recipe of that name exists.
    ///
    /// # Errors
    /// The first field that does not, with the reason.
    pub fn check(&self, known: impl Fn(&str) -> bool, names: &str) -> Result<(), Senseless> {
        if self.name.is_empty() {
            return Err(Senseless::new("name", "an order needs a name"));
        }
        if self.lines.is_empty() {
            return Err(Senseless::new("lines", "an order needs at least one line"));
        }
        self.due.map_or(Ok(()), check_due)?;
        for (n, line) in self.lines.iter().enumerate() {
            line.check(&format!("lines[{}]", n + 1), &known, names)?;
        }
        if self.count() > u64::from(MOST_GARMENTS) {
            let reason =
                format!("{} garments in all: expected at most {MOST_GARMENTS}", self.count());
            return Err(Senseless::new("lines", reason));
        }
        Ok(())
    }
}

/// Whether something can be due then.
///
/// # Errors
/// A year in which no shop has anything due.
pub fn check_due(due: Due) -> Result<(), Senseless> {
    if YEARS.contains(&due.date().year()) {
        return Ok(());
    }
    let (first, last) = (YEARS.start(), YEARS.end());
    let reason = format!("{due} is no due time of a shop: expected {first} to {last}");
    Err(Senseless::new("due", reason))
}

impl OrderLine {
    /// So many garments by a recipe, of which nothing else is said.
    pub fn plain(count: u32, recipe: &str, garment: Colour) -> Self {
        Self {
            count,
            sizes: Sizes::default(),
            recipe: recipe.to_owned(),
            garment,
            art: None,
            print: None,
            prints: BTreeMap::new(),
            margin: None,
            mark: String::new(),
            cloth: None,
            pad: None,
            places: front(),
            underbase: None,
            remakes: None,
            seen: None,
        }
    }

    /// A line for each size, which is its mark; itself where it has no row of them.
    fn by_size(mut self) -> Vec<Self> {
        let sizes = std::mem::take(&mut self.sizes);
        if sizes.is_empty() {
            return vec![self];
        }
        let line =
            |(mark, count): (&str, u32)| Self { mark: mark.to_owned(), count, ..self.clone() };
        sizes.iter().map(line).collect()
    }

    /// Whether another line has the same print on the same cloth, and differs by size and count at most.
    pub fn is_printed_like(&self, other: &Self) -> bool {
        let same = (&self.recipe, self.garment, self.cloth, &self.art, &self.places);
        same == (&other.recipe, other.garment, other.cloth, &other.art, &other.places)
    }

    /// The print at a place: its own, else the line's.
    pub fn print_at(&self, place: &str) -> Option<Rectangle> {
        self.prints.get(place).copied().or(self.print)
    }

    /// The print of a round, each place being one, from 0.
    pub fn print_of(&self, round: usize) -> Option<Rectangle> {
        self.places.get(round).map_or(self.print, |place| self.print_at(place))
    }

    /// Its print and margin in a round; None where no print is named.
    pub fn aim(&self, round: usize) -> Option<Aim> {
        let margin = self.margin.unwrap_or(USUAL_MARGIN);
        Some(Aim::Print { size: self.print_of(round)?, margin })
    }

    /// The prints of all its places.
    pub fn all_prints(&self) -> impl Iterator<Item = Rectangle> {
        self.places.iter().filter_map(|place| self.print_at(place))
    }

    fn check(
        &self,
        field: &str,
        known: &impl Fn(&str) -> bool,
        names: &str,
    ) -> Result<(), Senseless> {
        self.check_sizes(field)?;
        if !(1..=MOST_GARMENTS).contains(&self.count) {
            let reason = format!("{} garments: expected 1 to {MOST_GARMENTS}", self.count);
            return Err(Senseless::new(format!("{field}.count"), reason));
        }
        if !known(&self.recipe) {
            let reason = format!("there is no recipe \"{}\"; there are: {names}", self.recipe);
            return Err(Senseless::new(format!("{field}.recipe"), reason));
        }
        if let Some(print) = self.print {
            check_sides(format!("{field}.print"), print)?;
        }
        let places = &self.places;
        let twice = (1..places.len()).any(|n| places[..n].contains(&places[n]));
        if places.is_empty()
            || places.len() > MOST_PLACES
            || twice
            || places.iter().any(String::is_empty)
        {
            let reason = format!(
                "expected 1 to {MOST_PLACES} different places such as [\"front\", \"back\"]"
            );
            return Err(Senseless::new(format!("{field}.places"), reason));
        }
        self.check_prints(field)
    }

    /// The row of sizes, and what else says how many or which.
    fn check_sizes(&self, field: &str) -> Result<(), Senseless> {
        let at = |part: &str| format!("{field}.{part}");
        if self.sizes.is_empty() {
            return Ok(());
        }
        if let Some(wrong) = self.sizes.wrong() {
            return Err(Senseless::new(at("sizes"), wrong));
        }
        if !self.mark.is_empty() {
            let reason = format!("\"{}\", but its sizes stand in a row: {}", self.mark, self.sizes);
            return Err(Senseless::new(at("mark"), reason));
        }
        let all = self.sizes.count();
        if self.count != all {
            let reason = format!("{}, but its sizes make {all}: {}", self.count, self.sizes);
            return Err(Senseless::new(at("count"), reason));
        }
        Ok(())
    }

    /// Prints and margin.
    fn check_prints(&self, field: &str) -> Result<(), Senseless> {
        if let Some(place) = self.prints.keys().find(|place| !self.places.contains(place)) {
            let there = self.places.join(", ");
            let reason = format!("\"{place}\" is none of this line's places: {there}");
            return Err(Senseless::new(format!("{field}.prints"), reason));
        }
        // From memory: a margin wider than this is no margin any more.
        if let Some(margin) = self.margin.filter(|margin| !(0.0..=20.0).contains(&margin.0)) {
            let reason = format!("{margin}: expected 0 to 20 cm, such as \"0.5 in\"");
            return Err(Senseless::new(format!("{field}.margin"), reason));
        }
        Ok(())
    }
}

/// An order that the shop works on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Order {
    pub id: OrderId,
    /// The event that it was taken in with, or by which its first garment came.
    pub row: u64,
    #[serde(with = "crate::shop::facts::as_text")]
    pub form: OrderForm,
    /// The number of the next piece, for a replacement blank.
    pub next_piece: u16,
    /// What became of each line, in the order of the form's lines.
    pub lines: Vec<LineState>,
    /// The inbox file it came in, if it did.
    pub file: Option<String>,
    /// Nobody wants it any more: what is under way of it is finished, or leaves.
    pub cancelled: bool,
    /// Whether its first garment was approved; None: nobody has said.
    pub sample: Option<bool>,
}

/// What is known of one line beside its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct LineState {
    /// Whether the artwork asks for an underbase; None until somebody or something has said.
    pub underbase: Option<bool>,
    /// Garments that went out of the order: rejects, second quality, wrong blanks.
    pub lost: u32,
    /// Blanks that were taken in to replace them.
    pub replaced: u32,
    /// Lost ones for which no blank was to be had.
    pub given_up: u32,
    /// Blanks that came, as they were counted; None: nobody has counted them.
    pub counted: Option<u32>,
}

impl LineState {
    /// Lost garments for which nobody has yet said whether a blank replaces them.
    pub fn unanswered(self) -> u32 {
        self.lost.saturating_sub(self.replaced + self.given_up)
    }
}
