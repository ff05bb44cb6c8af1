//! Garments, each in exactly one place.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::press::Setting;
use super::shelved::Shelved;
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::facts::coat::{CoatEstimate, Weighing};
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{Dried, Event, Leaves, Steam, Timing};
use crate::shop::facts::ids::{OrderId, PressNo, RecipeHash, SheetNo, StationId, Tag};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::step::Step;

/// Where a garment is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Place {
    /// It waits for a step.
    Waiting(Step),
    /// It waits for somebody to say whether its artwork needs an underbase.
    Undecided,
    /// A press is shut on it.
    InPress(PressNo),
    Shelf,
    Finished,
    /// Taken out of its order.
    Out,
    /// Another station has taken it over.
    Away(StationId),
}

/// Whether a garment still counts for its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Quality {
    #[default]
    First,
    Second,
}

/// One garment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Garment {
    pub tag: Tag,
    /// Index of its line in the order.
    pub line: usize,
    /// The recipe that it started with; None until its first press.
    pub recipe: Option<RecipeHash>,
    /// When its first press was said to be shut, by the wall clock in microseconds: see `began`.
    pub begun: Option<Wall>,
    pub place: Place,
    /// Which of its line's places of print it is on, from 0.
    pub round: usize,
    /// When and by which event it came where it is: the order of every queue.
    pub since: Moment,
    pub since_seq: u64,
    pub quality: Quality,
    /// The last step done, and the press it was done in.
    pub last_step: Option<(Step, Option<PressNo>)>,
    /// Whether this round's coat is on and dry.
    pub coated: bool,
    /// Whether it was on the shelf and is to be pressed again before print.
    pub stored: bool,
    /// What the scale said of this round's coat.
    pub weighed: Option<Weighing>,
    /// Somebody said that this round's coat is not weighed.
    pub declined: bool,
    /// Seconds of the last cure, where that was past its longest time.
    pub overcured: Option<f64>,
    /// What is known of the coat: by the scale, or by the steam (then true). It outlives the round.
    pub coat: Option<(GramsPerSquareMetre, bool)>,
    /// What it took out of the sprayer, by the plan or by the scale, where the sprayer's filling is known.
    pub sprayed: Option<Grams>,
    /// The lots that it was sprayed with, in its last round.
    pub lots: Vec<String>,
    /// Where and until when it keeps, since it was stored.
    pub shelved: Option<Box<Shelved>>,
    /// How this round's coat was dried, until it is cured: see [`Self::drying`].
    pub dried: Option<Box<Drying>>,
    /// What becomes of it, where its order was cancelled.
    pub cancelled: Option<Leaves>,
}

/// How a garment was dried, at a press of this station or of another: what a clinging sheet is judged by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drying {
    /// The press, and how it was set then; None where that was another station's.
    pub press: Option<(PressNo, Setting)>,
    pub sheet: Option<SheetNo>,
    /// Presses under fluid that the sheet had seen before.
    pub sheet_presses: u32,
    /// The second at which the steam stopped, where it was noted, and what that says of the coat.
    pub steam: Option<f64>,
    pub estimate: Option<CoatEstimate>,
    /// Seconds shut; None where the time is not known.
    pub seconds: Option<f64>,
    pub timing: Timing,
    /// What somebody said of the steam when the press was opened.
    pub said: Option<Steam>,
    /// Whether it was stored since.
    pub stored: bool,
}

impl Drying {
    /// Whether it was opened too early or too late.
    fn is_fault(&self) -> bool {
        matches!(self.timing, Timing::Early | Timing::Late)
    }

    /// By what another station said.
    pub(in crate::shop) fn elsewhere(dried: Dried) -> Self {
        let Dried { seconds, timing } = dried;
        Self {
            press: None,
            sheet: None,
            sheet_presses: 0,
            steam: None,
            estimate: None,
            seconds,
            timing,
            said: None,
            stored: false,
        }
    }
}

impl Garment {
    /// A blank, as an order or a replacement brings it.
    pub(in crate::shop) fn blank(event: &Event, tag: Tag, line: usize) -> Self {
        Self {
            tag,
            line,
            recipe: None,
            begun: None,
            place: Place::Waiting(Step::PrePress),
            round: 0,
            since: event.moment,
            since_seq: event.seq,
            quality: Quality::First,
            last_step: None,
            coated: false,
            stored: false,
            weighed: None,
            declined: false,
            overcured: None,
            coat: None,
            sprayed: None,
            lots: Vec::new(),
            shelved: None,
            dried: None,
            cancelled: None,
        }
    }

    /// It comes to a place.
    pub(in crate::shop) fn go(&mut self, event: &Event, place: Place) {
        self.place = place;
        self.since = event.moment;
        self.since_seq = event.seq;
    }

    /// The order that it belongs to.
    pub fn order(&self) -> OrderId {
        self.tag.order_id()
    }

    /// Whether it is still made for its order.
    pub fn is_wanted(&self) -> bool {
        matches!(self.cancelled, None | Some(Leaves::Finish))
    }

    /// The coat of this round, where both weights are there.
    pub fn coat_by_scale(&self) -> Option<GramsPerSquareMetre> {
        self.weighed?.after?;
        self.coat.filter(|(_, by_steam)| !by_steam).map(|(coat, _)| coat)
    }

    /// Whether the steam of its drying says something of its coat: that was weighed. One that was mended says nothing,
    /// since its first pass had begun to dry.
    pub fn teaches_steam(&self) -> bool {
        self.weighed.is_some_and(|weighing| !weighing.mended)
    }

    /// When its first press was shut, by the wall clock. Not after it came where it is: where that was set right, a press
    /// that was not timed is known to have been shut by then.
    pub fn began(&self) -> Option<Wall> {
        self.begun.map(|begun| begun.min(self.since.at))
    }

    /// How this round's coat was dried. Of what was stored since its sheet came off long ago, so that this is nobody's
    /// question any more, unless it was a fault.
    pub fn drying(&self) -> Option<&Drying> {
        self.dried.as_deref().filter(|dried| !dried.stored || dried.is_fault())
    }

    /// Forgets this round's coat: it gets another.
    pub(in crate::shop) fn forget_coat(&mut self) {
        (self.weighed, self.declined) = (None, false);
    }

    /// Whose turn is first on the shelf: by the soonest last day, then by who was stored first. None anywhere else.
    pub(super) fn turn(&self) -> Option<(Day, u64, Tag)> {
        let last_day = self.shelved.as_deref()?.last_day;
        (self.place == Place::Shelf).then_some((last_day, self.since_seq, self.tag))
    }

    /// Whether another station has taken it over.
    pub fn is_away(&self) -> bool {
        matches!(self.place, Place::Away(_))
    }

    /// Whether nothing more will happen to it here.
    pub fn is_done(&self) -> bool {
        matches!(self.place, Place::Finished | Place::Out | Place::Away(_))
    }
}

/// A shift: nothing that is corrected was longer ago.
pub(in crate::shop) const LONGEST_CORRECTION: Duration = Duration::from_secs(36_000);

/// A place in which garments queue up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Queue {
    Step(Step),
    Undecided,
    Shelf,
    Finished,
    Out,
    Away,
}

impl Place {
    /// The queue of a garment in this place; None in a press.
    pub(in crate::shop) fn queue(self) -> Option<Queue> {
        Some(match self {
            Place::Waiting(step) => Queue::Step(step),
            Place::Undecided => Queue::Undecided,
            Place::InPress(_) => return None,
            Place::Shelf => Queue::Shelf,
            Place::Finished => Queue::Finished,
            Place::Out => Queue::Out,
            Place::Away(_) => Queue::Away,
        })
    }
}
