//! What a shift came to, as plain data: every form of the report (text, table, JSON, page) is made from this.
//!
//! Times of day are told from the end of the shift backwards along the boot clock, so that a wall clock that was
//! set in between bends no chart; where that was so, a note says it. Minutes are not rounded here.

mod bill;
mod book;
mod close;
mod crew;
mod machines;
mod notes;

pub use bill::Bill;
pub use book::ShiftBook;
pub use crew::PersonRow;
pub use machines::{HANDS, HeldBack, PRESSES, PRINTERS, PrinterRow, Resource};
pub use notes::Note;

use serde::{Serialize, Serializer};

use super::beside::Beside;
use super::losses::Loss;
use super::press_spans::Doing;
use super::used::{Cost, Used};
use crate::figures::kpi::{Elements, Ratios};
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{OrderRef, PressNo, Tag};
use crate::shop::facts::mixture::Mixture;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::order::Due;
use crate::shop::facts::step::Step;

/// A moment of the wall clock; serialised as RFC 3339 in UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct At(pub Wall);

impl Serialize for At {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0.timestamp() {
            Some(time) => serializer.collect_str(&time),
            None => serializer.serialize_none(),
        }
    }
}

/// The whole report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    pub station: String,
    pub shift: Stretch,
    pub output: Output,
    pub orders: Vec<OrderRow>,
    pub needed: Vec<Needed>,
    /// When each garment was finished, in order.
    pub finished_at: Vec<At>,
    pub losses: Vec<LossRow>,
    pub presses: Vec<PressRow>,
    pub printer: PrinterRow,
    pub people: Vec<PersonRow>,
    /// None where nothing was done.
    pub held_back: Option<HeldBack>,
    /// What all of it used; blanks are those of garments that came out or were lost.
    pub used: Used,
    /// The shift before and the usual one; None where none was before, or this is not one shift.
    pub beside: Option<Beside>,
    /// None without prices.
    pub bill: Option<Bill>,
    pub past_target: PastTarget,
    pub sheets: Sheets,
    pub weigh_ins: Vec<WeighInRow>,
    pub fluid: Fluid,
    pub shelf: ShelfRow,
    pub kpi: Ratios,
    pub elements: Elements,
    pub notes: Vec<Note>,
}

/// Which stretch of time is told of, and who was there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stretch {
    pub day: Day,
    /// What the shift is known by, "2026-12-04/2", and how many began on its day; none where it is not one shift.
    pub name: Option<String>,
    pub of_day: usize,
    pub from: At,
    pub to: At,
    /// Of work: where it is several shifts, without what lies between them.
    pub hours: f64,
    /// How many shifts it is.
    pub shifts: usize,
    /// It may still be going on.
    pub running: bool,
    /// Initials of everybody who was at the bench.
    pub people: Vec<String>,
}

/// What came out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Output {
    /// Garments finished in the shift, and those of them that are second quality.
    pub finished: usize,
    pub second: usize,
    /// Garments taken out in the shift.
    pub out: usize,
    /// Of the orders below: first-quality garments done since each order began, and garments ordered.
    pub done: usize,
    pub ordered: u64,
    /// Finished an hour over the shift; over ten minutes where it was shorter.
    pub per_hour: Option<f64>,
    /// Finished an hour that would have met every due time of the orders below; None where none is due.
    pub needed_per_hour: Option<f64>,
    /// Of finished and lost garments, those without any trouble.
    pub first_pass_yield: Option<f64>,
    pub lost_minutes: f64,
}

/// One order as it stood at the end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderRow {
    pub order: OrderRef,
    pub name: String,
    /// What it makes again; None for most.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remakes: Option<String>,
    pub ordered: u64,
    /// First quality, finished at any time; and in this shift.
    pub done: usize,
    pub finished: usize,
    pub left: usize,
    /// Ordered, and neither done nor under way.
    pub short: u64,
    pub due: Option<Due>,
    pub fulfilled: bool,
    /// What was used for it here; and what that cost, all and for each garment finished here.
    pub used: Used,
    #[serde(flatten)]
    pub cost: Cost,
    pub cost_per_garment: Option<f64>,
}

/// By a due time so many must be finished in this shift.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Needed {
    pub at: At,
    pub finished: usize,
}

/// What was lost to one cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LossRow {
    pub cause: &'static str,
    pub garments: usize,
    pub again: usize,
    pub second: usize,
    pub out: usize,
    pub press_minutes: f64,
    pub hand_minutes: f64,
    pub minutes: f64,
    /// What to do about it.
    pub remedy: &'static str,
    /// What was used in vain, and what that cost.
    pub used: Used,
    #[serde(flatten)]
    pub cost: Cost,
}

impl From<Loss> for LossRow {
    fn from(loss: Loss) -> Self {
        Self {
            cause: loss.cause.words(),
            garments: loss.garments,
            again: loss.again,
            second: loss.second,
            out: loss.out,
            press_minutes: loss.press_s / 60.0,
            hand_minutes: loss.hand_s / 60.0,
            minutes: loss.minutes(),
            remedy: loss.cause.remedy(),
            used: loss.used,
            cost: Cost::default(),
        }
    }
}

/// What one press did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PressRow {
    pub press: PressNo,
    pub name: String,
    /// How often it was opened on a garment.
    pub cycles: usize,
    pub running_minutes: f64,
    /// Shut past the target.
    pub past_target_minutes: f64,
    /// Open while a garment was changed.
    pub changing_minutes: f64,
    pub idle_minutes: f64,
    pub sheet_minutes: f64,
    pub out_of_use_minutes: f64,
    pub spans: Vec<Span>,
}

impl PressRow {
    /// The minutes of each thing that a press can be doing, in the order of `Doing::ALL`.
    pub fn minutes(&self) -> [f64; 6] {
        [
            self.running_minutes,
            self.past_target_minutes,
            self.changing_minutes,
            self.idle_minutes,
            self.sheet_minutes,
            self.out_of_use_minutes,
        ]
    }
}

/// A span of a press.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Span {
    pub from: At,
    pub to: At,
    pub doing: Doing,
}

/// Garments left in a shut press past the target.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PastTarget {
    pub garments: usize,
    pub mean_s: Option<f64>,
    /// Those of them past the recipe's longest time.
    pub too_long: usize,
    pub longest: Option<Longest>,
}

/// The longest of them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Longest {
    pub garment: Tag,
    pub press: PressNo,
    pub step: Step,
    /// Seconds past the target.
    pub seconds: f64,
}

/// Cover sheets.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Sheets {
    pub wiped: usize,
    pub changed: usize,
    pub swapped: usize,
    /// Those of them past the press by which the station wants it.
    pub late: usize,
    /// Presses under fluid with a sheet that was past it.
    pub presses_past: usize,
}

/// The weighed coats of a recipe, in g/m2.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeighInRow {
    pub recipe: String,
    pub count: usize,
    pub mean: f64,
    /// Standard deviation of the sample; None for one.
    pub spread: Option<f64>,
    /// Coats outside the recipe's window as they were dried.
    pub outside: usize,
    /// Coats that lie inside since they were mended.
    pub mended: usize,
    /// Nobody had confirmed the window from a data sheet.
    pub unconfirmed: bool,
}

/// What went into the sprayer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fluid {
    pub fills: Vec<Fill>,
    pub flushes: usize,
    /// The lots that garments were sprayed from.
    pub lots: Vec<String>,
    /// Sprays, and grams that the plan took for them: for each, where all are known.
    pub sprayed: u32,
    pub sprayed_g: f64,
    pub each_g: Option<f64>,
}

/// One fill.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fill {
    pub at: At,
    pub lot: String,
    pub grams: f64,
    /// What was said of the fluid.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fluid: Option<Mixture>,
}

/// The shelf.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct ShelfRow {
    pub stored: usize,
    pub taken: usize,
    /// Those taken that were past their last day.
    pub taken_past_day: usize,
    /// What lay there at the end, and what of it was past its last day.
    pub there: usize,
    pub there_past_day: usize,
}
