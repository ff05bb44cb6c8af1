//! Facts about a garment that passes from one station of the shop to another: taken over, gone, and where it is after all.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{Leaves, RowId, Timing, down};
use crate::figures::units::GramsPerSquareMetre;
use crate::shop::facts::coat::Weighing;
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{OrderId, RecipeHash, StationId, Tag};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::order::OrderLine;
use crate::shop::facts::rank::Rank;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::step::Step;
use crate::shop::facts::when::Due;
use crate::shop::facts::words::counted;

/// The first life of a station's history. A history that goes on from an earlier row of it is another life.
pub const FIRST_LIFE: u32 = 1;

/// What a garment waits for where it is handed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Awaits {
    PrePress,
    Spray,
    Dry,
    Print,
    Cure,
    /// A yes or no: whether its artwork needs an underbase.
    Underbase,
    /// Nothing yet: it was stored with its coat on.
    Shelf,
}

impl From<Step> for Awaits {
    fn from(step: Step) -> Self {
        match step {
            Step::PrePress => Awaits::PrePress,
            Step::Spray => Awaits::Spray,
            Step::Dry => Awaits::Dry,
            Step::Print => Awaits::Print,
            Step::Cure => Awaits::Cure,
        }
    }
}

/// A garment was taken over by this station: its tag was typed or scanned here, and somebody said so.
///
/// It is never taken back: the garment goes back by another of these.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Received {
    pub garment: Tag,
    /// The move that it follows; of the first the row that its order was taken in with. None: what became of it before
    /// could not be had.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<RowId>,
    /// The life of this station's history in which it was written.
    #[serde(default = "first_life", skip_serializing_if = "is_first_life")]
    pub life: u32,
    /// The hub could not be asked then.
    #[serde(default, skip_serializing_if = "down")]
    pub unconfirmed: bool,
    /// The station that kept it, and what that is called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<StationId>,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub bench: String,
    pub comes: Comes,
}

impl Received {
    /// Its row, where it is the event of this number of a station.
    pub fn row(&self, station: StationId, seq: u64) -> RowId {
        RowId { station, life: self.life, seq }
    }
}

/// What comes with a garment: how far it is, and what it is made by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Comes {
    pub waits: Awaits,
    /// Which of its line's places of print it is on, from 0.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub round: usize,
    /// Its recipe: the name, the fingerprint, and the text where this station had never had it.
    pub recipe: String,
    pub hash: RecipeHash,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<Arc<Recipe>>,
    /// Its order, as far as it is about this garment; None where that could not be had, or is this station's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<Box<OrderOf>>,
    /// This round's coat is on and dry.
    #[serde(default, skip_serializing_if = "down")]
    pub coated: bool,
    /// It was on a shelf, and is to be pressed again before print.
    #[serde(default, skip_serializing_if = "down")]
    pub stored: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<Kept>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weighed: Option<Weighing>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coat: Option<GramsPerSquareMetre>,
    /// The coat was told by its steam, not by the scale.
    #[serde(default, skip_serializing_if = "down")]
    pub estimated: bool,
    /// The lots that it was sprayed with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<String>,
    /// How this round's coat was dried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dried: Option<Dried>,
    /// Seconds of the last cure, where that was past its longest time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overcured: Option<f64>,
    /// When its first press was shut, and since when it waits, by the keeper's clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub begun: Option<Wall>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<Wall>,
    #[serde(default, skip_serializing_if = "down")]
    pub second: bool,
    /// What becomes of it, where its order was cancelled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cancelled: Option<Leaves>,
}

impl Comes {
    /// A garment that waits for something, of which nothing else is known.
    pub fn waiting(waits: Awaits, recipe: &str, hash: RecipeHash) -> Self {
        Self {
            waits,
            round: 0,
            recipe: recipe.to_owned(),
            hash,
            text: None,
            order: None,
            coated: false,
            stored: false,
            kept: None,
            weighed: None,
            coat: None,
            estimated: false,
            lots: Vec::new(),
            dried: None,
            overcured: None,
            begun: None,
            since: None,
            second: false,
            cancelled: None,
        }
    }

    /// What a hand can say of a garment whose keeper cannot be asked: what it waits for, and its recipe.
    pub fn said(step: Step, recipe: &str, hash: RecipeHash) -> Self {
        let coated = matches!(step, Step::Print | Step::Cure);
        Self { coated, ..Self::waiting(step.into(), recipe, hash) }
    }
}

/// An order of another station, as far as it is about one garment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderOf {
    pub name: String,
    #[serde(default)]
    pub rank: Rank,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<Due>,
    /// Its line, of one garment.
    pub line: OrderLine,
    /// Whether the artwork asks for an underbase, as far as somebody or something has said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub underbase: Option<bool>,
}

/// How long a stored coat keeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    pub day: Day,
    pub good_until: Day,
    pub last_day: Day,
    #[serde(default, skip_serializing_if = "down")]
    pub unsure: bool,
    #[serde(default, skip_serializing_if = "down")]
    pub disturbed: bool,
}

/// How a coat was dried elsewhere.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Dried {
    pub seconds: Option<f64>,
    pub timing: Timing,
}

/// Another station took a garment over: this one heard so from the hub.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Left {
    pub garment: Tag,
    /// The move that it follows, as that station said; None: it did not know.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<RowId>,
    /// That station's row.
    pub by: RowId,
    /// What that station is called.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub bench: String,
}

/// A garment was said to be at several stations: somebody has looked, and says where it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settled {
    pub garment: Tag,
    /// Where it is.
    pub at: StationId,
    /// All the moves that this settles.
    pub moves: Vec<RowId>,
    #[serde(default = "first_life", skip_serializing_if = "is_first_life")]
    pub life: u32,
    /// Another station's row, where it was said there and heard here; None: a hand said it here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<RowId>,
}

impl Settled {
    /// Its row, where it is the event of this number of a station.
    pub fn row(&self, station: StationId, seq: u64) -> RowId {
        self.by.unwrap_or(RowId { station, life: self.life, seq })
    }
}

impl Received {
    /// In words.
    pub fn in_words(&self) -> String {
        let from = match (self.from, self.bench.as_str()) {
            (_, bench) if !bench.is_empty() => format!(" from {bench}"),
            (Some(station), _) => format!(" from station {}", station.letters()),
            (None, _) => String::new(),
        };
        let lots = match self.comes.lots.as_slice() {
            [] => String::new(),
            lots => format!(", {} {}", counted_lots(lots.len()), lots.join(" and ")),
        };
        let unconfirmed = if self.unconfirmed { ", not confirmed: no hub then" } else { "" };
        format!("{} taken over{from}{lots}{unconfirmed}", self.garment)
    }
}

fn counted_lots(count: usize) -> &'static str {
    if count == 1 { "lot" } else { "lots" }
}

impl Left {
    /// In words.
    pub fn in_words(&self) -> String {
        let to = match self.bench.as_str() {
            "" => format!("station {}", self.by.station.letters()),
            bench => bench.to_owned(),
        };
        format!("{} taken over by {to}", self.garment)
    }
}

impl Settled {
    /// In words.
    pub fn in_words(&self) -> String {
        let moves = counted(u64::try_from(self.moves.len()).unwrap_or(u64::MAX), "move");
        format!(
            "{} is at station {}: somebody looked ({moves} settled)",
            self.garment,
            self.at.letters()
        )
    }
}

fn first_life() -> u32 {
    FIRST_LIFE
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn is_first_life(life: &u32) -> bool {
    *life == FIRST_LIFE
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn is_zero(count: &usize) -> bool {
    *count == 0
}

/// An order of which only a garment came, and nothing is known.
pub fn unknown_order(order: OrderId) -> String {
    format!("order {order}")
}
