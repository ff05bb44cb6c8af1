//! Facts about the world, as they are stored for ever: each kind has a name and a body.
//!
//! A stored name never changes its meaning. A field may be added with a default; a change of sense is a
//! new kind, and old rows are lifted when they are read.

mod fault;
mod morning;
mod moves;
mod orders;
mod returned;
mod scale;
mod supplies;
mod table;
mod trial;

pub use fault::{Fault, FaultKind, HeldShown};
pub use morning::{HeatSaid, MorningSaid, SampleSaid};
pub use moves::{
    Awaits, Comes, Dried, FIRST_LIFE, Kept, Left, OrderOf, Received, Settled, unknown_order,
};
pub use orders::{
    BlankAdded, BlankGivenUp, BlankReturned, BlanksCounted, ChangeHeard, DatesSaid, Leaves,
    MoreBlanks, NewDue, OrderCancelled, OrderChanged, OrderTaken, PartOf, UnderbaseDecided,
    short_or_over,
};
pub use returned::{Complaint, ReturnAsked, Returned};
pub use scale::{CoatMended, CoatWeighed, Weighed, WeighingDeclined};
pub use supplies::{
    FanSaid, LotRegistered, Renewed, ShiftClosed, SignedIn, SignedOut, SprayerFilled,
    SprayerFlushed, StackDisturbed, StackNamed, Stored, WashSampled, Washed,
};

pub use trial::{
    GradedAfter, TrialAnswered, TrialBegun, TrialEnded, TrialGraded, TrialSampled, TrialWeighed,
    WindowSigned,
};

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use self::table::facts;
use super::coat::CoatEstimate;
pub use super::ids::RowId;
use super::ids::{ActNo, OrderId, OrderNo, OrderRef, PressNo, RecipeHash, SheetNo, StationId, Tag};
use super::mixture::Mixture;
use super::moment::Moment;
use super::recipe::Recipe;
use super::station::Station;
pub use super::step::Timing;
use super::step::{Cover, Pressure, Step};
use super::trouble::{Outcome, Trouble};
use crate::figures::units::{Grams, HeatSpan, Temperature};
use crate::shop::facts::outage::OutOfUse;

/// The version of the bodies below.
pub const BODY_VERSION: u32 = 1;

/// A fact with its place in the history of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    pub station: StationId,
    /// Counted from 1 without a gap.
    pub seq: u64,
    pub act: ActNo,
    pub moment: Moment,
    pub fact: Fact,
}

impl Event {
    /// An order of the station whose history it is.
    pub fn of(&self, no: OrderNo) -> OrderId {
        OrderId { station: self.station, no }
    }
}

/// How a kind says what happened.
pub(super) trait Telling {
    /// One line; `order` names an order.
    fn line(&self, order: &dyn Fn(OrderRef) -> String) -> String;
}

/// A body that does not fit its kind.
#[derive(Debug, thiserror::Error)]
pub enum NotAFact {
    #[error("no event is of the kind \"{0}\"; this program may be older than the journal")]
    Kind(String),
    #[error("the body of \"{kind}\" does not read: {reason}")]
    Body { kind: String, reason: serde_json::Error },
}

facts! {
    "station-set" => StationSet: system, nothing;
    "recipe-kept" => RecipeKept: system, nothing;
    "order-taken" => OrderTaken: order, nothing;
    "underbase-decided" => UnderbaseDecided: hand, nothing;
    "blank-added" => BlankAdded: hand, garment;
    "blank-given-up" => BlankGivenUp: hand, nothing;
    "blanks-counted" => BlanksCounted: hand, nothing;
    "order-changed" => OrderChanged: order, nothing;
    "change-heard" => ChangeHeard: system, nothing;
    "order-cancelled" => OrderCancelled: hand, nothing;
    "blank-returned" => BlankReturned: hand, garment;
    "received" => Received: received, garment;
    "left" => Left: system, garment;
    "settled" => Settled: received, garment;
    "press-shut" => PressShut: hand, garment;
    "press-opened" => PressOpened: hand, garment;
    "steam-stopped" => SteamStopped: hand, garment;
    "steam-said" => SteamSaid: hand, garment;
    "handwork-done" => HandworkDone: hand, garment;
    "printed" => Printed: hand, garment;
    "held-shown" => HeldShown: before, garment;
    "stored" => Stored: hand, garment;
    "stack-named" => StackNamed: hand, nothing;
    "stack-disturbed" => StackDisturbed: hand, nothing;
    "renewed" => Renewed: hand, garment;
    "lot-registered" => LotRegistered: hand, nothing;
    "sprayer-filled" => SprayerFilled: hand, nothing;
    "sprayer-flushed" => SprayerFlushed: hand, nothing;
    "fan-said" => FanSaid: hand, nothing;
    "dates-said" => DatesSaid: file, nothing;
    "signed-in" => SignedIn: hand, nothing;
    "signed-out" => SignedOut: hand, nothing;
    "shift-closed" => ShiftClosed: hand, nothing;
    "wash-sampled" => WashSampled: hand, garment;
    "washed" => Washed: file, garment;
    "returned" => Returned: file, perhaps;
    "weighed" => Weighed: hand, garment;
    "coat-weighed" => CoatWeighed: hand, garment;
    "coat-mended" => CoatMended: before, garment;
    "weighing-declined" => WeighingDeclined: hand, garment;
    "trial-begun" => TrialBegun: hand, nothing;
    "trial-weighed" => TrialWeighed: hand, nothing;
    "trial-sampled" => TrialSampled: hand, nothing;
    "trial-graded" => TrialGraded: hand, nothing;
    "trial-answered" => TrialAnswered: before, nothing;
    "trial-ended" => TrialEnded: hand, nothing;
    "window-signed" => WindowSigned: hand, nothing;
    "sheet-wiped" => SheetWiped: hand, nothing;
    "sheet-changed" => SheetChanged: hand, nothing;
    "sheet-renewed" => SheetRenewed: hand, nothing;
    "sheet-swapped" => SheetSwapped: hand, nothing;
    "press-out-of-use" => PressOutOfUse: hand, nothing;
    "press-in-use" => PressInUse: hand, nothing;
    "dial-set" => DialSet: hand, nothing;
    "heat-said" => HeatSaid: hand, nothing;
    "morning-said" => MorningSaid: hand, nothing;
    "sample-said" => SampleSaid: hand, garment;
    "platen-checked" => PlatenChecked: hand, nothing;
    "pressure-checked" => PressureChecked: hand, nothing;
    "trouble" => TroubleNoted: hand, garment;
    "time-corrected" => TimeCorrected: hand, garment;
    "caution-read" => CautionRead: hand, nothing;
    "undone" => Undone: system, nothing;
    "events-lost" => EventsLost: system, nothing;
    "numbers-taken" => NumbersTaken: system, nothing;
}

/// A flag is written only where it is up.
fn down(flag: &bool) -> bool {
    !flag
}

/// The station's profile came into force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StationSet {
    pub profile: Arc<Station>,
}

/// A recipe came into force under its name. Its text is stored once, by its fingerprint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecipeKept {
    pub recipe: String,
    pub hash: RecipeHash,
    pub text: Arc<Recipe>,
}

/// A press was shut on a garment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PressShut {
    pub press: PressNo,
    pub garment: Tag,
    pub step: Step,
    #[serde(default, skip_serializing_if = "down")]
    pub again: bool,
    /// The place of print that its round is for, where the garment has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    pub recipe: RecipeHash,
    pub dial: Temperature,
    pub pressure: Pressure,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<SheetNo>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cover: Option<Cover>,
    /// Presses under fluid that the sheet had seen since its wipe, before this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet_presses: Option<u32>,
    /// Whether the tag was scanned; else it was assumed from the order of the queue.
    pub scanned: bool,
    /// The sheet was past the press by which it wanted its wipe.
    #[serde(default, skip_serializing_if = "down")]
    pub past_wipe: bool,
    /// The garment had waited wet for longer than its recipe allows.
    #[serde(default, skip_serializing_if = "down")]
    pub waited_too_long: bool,
    /// The dial or the pressure was not what the recipe wants.
    #[serde(default, skip_serializing_if = "down")]
    pub set_otherwise: bool,
    /// The press had not soaked, or not settled.
    #[serde(default, skip_serializing_if = "down")]
    pub unsettled: bool,
    /// The room was damp: a garment from the shelf is pressed for longer.
    #[serde(default, skip_serializing_if = "down")]
    pub damp: bool,
    /// It came from the shelf: past its last day, before an older one of its kind, from a shifted stack.
    #[serde(default, skip_serializing_if = "down")]
    pub past_day: bool,
    #[serde(default, skip_serializing_if = "down")]
    pub out_of_turn: bool,
    #[serde(default, skip_serializing_if = "down")]
    pub disturbed: bool,
}

/// A press was opened and its garment taken out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PressOpened {
    pub press: PressNo,
    pub garment: Tag,
    pub step: Step,
    #[serde(default, skip_serializing_if = "down")]
    pub again: bool,
    /// The place of print that its round is for, where the garment has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// Seconds shut, to the millisecond; None where the time is not known.
    pub seconds: Option<f64>,
    pub timing: Timing,
    /// Seconds between opening by itself and being unloaded, for a press that does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub waited: Option<f64>,
    /// The span reaches over a restart of the machine: it is not timed.
    #[serde(default, skip_serializing_if = "down")]
    pub over_restart: bool,
    /// The press failed: its step is not done.
    #[serde(default, skip_serializing_if = "down")]
    pub failed: bool,
}

/// The steam of a drying press stopped.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SteamStopped {
    pub press: PressNo,
    pub garment: Tag,
    pub step: Step,
    pub seconds: f64,
    /// What it says of the coat, where the press has been learned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<CoatEstimate>,
}

/// What was seen of the steam when the press was opened, where its second was not noted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Steam {
    Gone,
    StillSteaming,
    NotSeen,
}

/// The answer to the question about the steam.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SteamSaid {
    pub press: PressNo,
    pub garment: Tag,
    pub said: Steam,
}

/// A garment was sprayed and rolled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HandworkDone {
    pub garment: Tag,
    pub step: Step,
    /// The place of print that its round is for, where the garment has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// Nobody recorded it: it follows from the press that was shut on the garment.
    pub implied: bool,
    /// The board had asked for its weight before, and got none.
    #[serde(default, skip_serializing_if = "down")]
    pub unweighed: bool,
    /// The lots in the sprayer, and the grams that the plan takes out of it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lots: Vec<String>,
    /// What was said of the fluids in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fluids: Vec<Mixture>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub used: Option<Grams>,
}

/// A garment was printed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Printed {
    pub garment: Tag,
    pub step: Step,
    /// The place of print that its round is for, where the garment has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    pub implied: bool,
    /// It came from the shelf: past its last day, before an older one of its kind, from a shifted stack.
    #[serde(default, skip_serializing_if = "down")]
    pub past_day: bool,
    #[serde(default, skip_serializing_if = "down")]
    pub out_of_turn: bool,
    #[serde(default, skip_serializing_if = "down")]
    pub disturbed: bool,
}

/// A sheet was wiped, both sides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetWiped {
    pub sheet: SheetNo,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub press: Option<PressNo>,
    /// Presses under fluid since the wipe before.
    pub presses: u32,
}

/// A sheet of release paper was changed for a new one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetChanged {
    pub sheet: SheetNo,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub press: Option<PressNo>,
    pub presses: u32,
}

/// A PTFE sheet was thrown away, worn, curled or creased, and a new one laid in its place: it goes by the same number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetRenewed {
    pub sheet: SheetNo,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub press: Option<PressNo>,
    /// Presses under fluid since its wipe.
    pub presses: u32,
    /// Presses of all kinds in its life, where it is known when that began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub life: Option<u32>,
}

/// A press's sheet was set aside and a clean one laid in its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetSwapped {
    pub press: PressNo,
    pub aside: SheetNo,
    pub sheet: SheetNo,
    /// What the sheet set aside had seen.
    pub presses: u32,
}

/// A press was taken out of use.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PressOutOfUse {
    pub press: PressNo,
    pub reason: OutOfUse,
}

/// A press is in use again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PressInUse {
    pub press: PressNo,
}

/// A press was set, and the platen has settled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DialSet {
    pub press: PressNo,
    pub dial: Temperature,
    pub pressure: Pressure,
}

/// A platen was probed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlatenChecked {
    pub press: PressNo,
    pub dial: Temperature,
    /// Row by row from the back left.
    pub readings: Vec<Vec<Temperature>>,
    pub tolerance: HeatSpan,
    pub mean_c: f64,
    pub spread_c: f64,
    pub correction_c: f64,
    /// Every reading lies within the tolerance of the dial.
    pub within: bool,
}

/// Strips of paper were laid under the corners of a press and pulled at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PressureChecked {
    pub press: PressNo,
    pub pressure: Pressure,
    /// Back left, back right, front left, front right: whether the strip held.
    pub held: [bool; 4],
}

/// Something went wrong with a garment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TroubleNoted {
    pub garment: Tag,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<Step>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub press: Option<PressNo>,
    pub trouble: Trouble,
    pub outcome: Outcome,
}

/// The last act was some seconds before its key, or was not timed at all.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TimeCorrected {
    pub corrects: ActNo,
    pub garment: Tag,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub press: Option<PressNo>,
    /// How many seconds before its key it happened; None: not known.
    pub ago: Option<f64>,
    /// For an opening: the seconds shut, corrected, and how that lies to the recipe's times.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seconds: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub timing: Option<Timing>,
}

/// Somebody has read that the board is no safety device.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CautionRead {}

/// An act was taken back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Undone {
    pub undoes: ActNo,
    /// What it was, in words.
    pub what: String,
}

/// Numbers of orders that this station's history does not hold were given out all the same: those of a life that is no
/// part of it any more, whose labels may hang on garments.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NumbersTaken {
    /// The highest.
    pub upto: OrderNo,
}

/// At a start the journal ended before its time: it had held more events, and they are gone. Their numbers are given anew.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EventsLost {
    /// The number of the last event that was there.
    pub after: u64,
    /// The number of the last one that is known to have been saved.
    pub upto: u64,
}
