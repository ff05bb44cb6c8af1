//! What may be said to the shop, and why it may be refused.

mod refusal;

use std::sync::Arc;

pub use refusal::{NoTrialStep, Refusal};

use crate::figures::fastness::Grade;
use crate::figures::trial::Seen;
use crate::figures::units::Colour;
use crate::figures::units::{Grams, Temperature};
use crate::shop::facts::fact::{Comes, Event, Fact, PartOf, RowId};
use crate::shop::facts::fact::{DatesSaid, Leaves, NewDue, Steam};
use crate::shop::facts::fact::{LotRegistered, Returned, SprayerFilled, Washed};
use crate::shop::facts::ids::{
    ActNo, Neighbour, OrderId, OrderNo, PressNo, SheetNo, StationId, Tag,
};
use crate::shop::facts::morning::{HeatWord, MorningCheck};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::rank::Rank;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::Station;
use crate::shop::facts::step::Pressure;
use crate::shop::facts::trouble::{Outcome, Trouble};
use crate::shop::floor::shared::Word;

/// How a garment was told from the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The board proposed it, by the plain rule.
    Suggestion,
    /// The board proposed it, by its plan.
    Plan,
    /// The operator stepped to it.
    Choice,
    /// Its tag was scanned.
    Scan,
}

/// Which garments an act takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The ones that have waited longest.
    First(u16),
    /// All that are ready.
    All,
    /// This one.
    Tagged(Tag),
}

/// What is changed of an order; None stays as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrderChange {
    pub order: OrderId,
    pub rank: Option<Rank>,
    pub due: Option<NewDue>,
    /// Of a line so many garments more.
    pub more: Option<(usize, u32)>,
}

impl OrderChange {
    /// Nothing of an order.
    pub fn of(order: OrderId) -> Self {
        Self { order, rank: None, due: None, more: None }
    }
}

/// Blanks of one colour and size that orders wait for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BlankKind {
    pub garment: Colour,
    pub mark: String,
    /// How many more are wanted than were counted before.
    pub wanted: u32,
}

/// A garment as its keeper hands it over.
#[derive(Debug, Clone, PartialEq)]
pub struct Handover {
    /// The move that taking it over follows.
    pub after: RowId,
    pub from: Neighbour,
    pub comes: Comes,
}

/// A garment that a hand takes over here.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenOver {
    pub garment: Tag,
    pub after: Option<RowId>,
    pub from: Option<Neighbour>,
    /// The hub could not be asked.
    pub unconfirmed: bool,
    pub comes: Comes,
}

impl TakenOver {
    /// As its keeper hands it over.
    pub fn handed(garment: Tag, handover: Handover, unconfirmed: bool) -> Self {
        let Handover { after, from, comes } = handover;
        Self { garment, after: Some(after), from: Some(from), unconfirmed, comes }
    }

    /// As a hand says, where its keeper cannot be asked.
    pub fn said(garment: Tag, comes: Comes) -> Self {
        Self { garment, after: None, from: None, unconfirmed: true, comes }
    }
}

/// What was heard of a garment from another station's history.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// That station took it over.
    Received { garment: Tag, row: RowId, after: Option<RowId>, bench: String },
    /// Somebody there has looked where it is.
    Settled { garment: Tag, row: RowId, at: StationId, moves: Vec<RowId> },
}

impl Heard {
    /// What an event of another station tells of a garment's moves; None of any other. `bench` is what that is called.
    pub fn of(event: &Event, bench: &str) -> Option<Self> {
        match &event.fact {
            Fact::Received(fact) => Some(Heard::Received {
                garment: fact.garment,
                row: fact.row(event.station, event.seq),
                after: fact.after,
                bench: bench.to_owned(),
            }),
            // What was only heard there is in the history that it was heard from.
            Fact::Settled(fact) if fact.by.is_none() => Some(Heard::Settled {
                garment: fact.garment,
                row: fact.row(event.station, event.seq),
                at: fact.at,
                moves: fact.moves.clone(),
            }),
            _ => None,
        }
    }

    /// The garment that it is about.
    pub fn garment(&self) -> Tag {
        match self {
            Heard::Received { garment, .. } | Heard::Settled { garment, .. } => *garment,
        }
    }

    pub(super) fn row(&self) -> RowId {
        match self {
            Heard::Received { row, .. } | Heard::Settled { row, .. } => *row,
        }
    }
}

/// A word on a shared order that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct HeardWord {
    pub order: OrderId,
    /// The life of the history that its row is in.
    pub life: u32,
    pub word: Word,
    pub bench: String,
}

/// What the hub has granted, the order that it is of as that stands, and the words by which it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Granted {
    pub part: PartOf,
    pub form: OrderForm,
    pub words: Vec<HeardWord>,
}

/// A fact that somebody at the bench, or the system, states about the world.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    SetStation(Arc<Station>),
    KeepRecipe {
        name: String,
        recipe: Arc<Recipe>,
    },
    /// At a start: the journal had held events up to this number.
    NoteLost {
        upto: u64,
    },
    /// The hub has orders of this station up to this number.
    NoteNumbers {
        upto: OrderNo,
    },
    TakeOrder {
        form: OrderForm,
        file: Option<String>,
    },
    /// The hub has granted garments of a shared order: they are made here.
    TakePart(Box<Granted>),
    /// Another word on a shared order counts from now on.
    HearWord(Box<HeardWord>),
    DecideUnderbase {
        order: OrderId,
        line: usize,
        underbase: bool,
    },
    AddBlank {
        order: OrderId,
        line: usize,
    },
    GiveUpBlank {
        order: OrderId,
        line: usize,
    },
    /// Blanks of these colours and sizes came, so many of each.
    CountBlanks(Vec<(BlankKind, u32)>),
    ChangeOrder(OrderChange),
    /// Of a line so many garments fewer, or the whole order.
    CancelOrder {
        order: OrderId,
        fewer: Option<(usize, u32)>,
        leaves: Leaves,
    },
    Shut {
        press: PressNo,
        garment: Tag,
        by: By,
    },
    Open {
        press: PressNo,
    },
    SteamStopped {
        press: PressNo,
    },
    SaySteam {
        garment: Tag,
        said: Steam,
    },
    HandworkDone(Which),
    Printed(Which),
    Store(Which),
    /// The stack that garments are stored on from now on.
    NameStack(String),
    DisturbStack(String),
    /// A stored garment is treated again.
    Renew(Tag),
    RegisterLot(LotRegistered),
    FillSprayer(SprayerFilled),
    FlushSprayer,
    SayFan(Option<bool>),
    /// Which stands first in the dates of tables.
    SayDates(DatesSaid),
    /// Initials: in, or out where they are in.
    Sign(String),
    CloseShift,
    /// A garment that another station keeps is taken over.
    TakeOver(Box<TakenOver>),
    /// What was heard of a garment that moved.
    Hear(Heard),
    /// Somebody has looked where a garment is that was said to be at several stations.
    SettleWhere {
        garment: Tag,
        at: StationId,
    },
    SampleForWash(Tag),
    NoteWash(Washed),
    NoteReturn(Returned),
    /// A garment lay on the scale, before its spray or after.
    Weigh {
        garment: Tag,
        grams: Grams,
    },
    DeclineWeighing {
        garment: Tag,
    },
    /// A trial of a recipe's window begins: the grade that must be reached, and after how many washes.
    BeginTrial {
        recipe: String,
        limit: Grade,
        cycles: u32,
    },
    /// The trial's garment whose turn it is lay on the scale, before its spray or after.
    WeighTrial(Grams),
    /// It was graded, after the cure or after the wash; None: it was spoiled or lost.
    GradeTrial(Option<Seen>),
    /// Somebody signs the window that the trial found, by initials.
    SignWindow(String),
    EndTrial,
    CleanSheet(SheetNo),
    /// A new one lies in the place of a worn, curled or creased sheet.
    RenewSheet(SheetNo),
    SwapSheet {
        press: PressNo,
    },
    OutOfUse {
        press: PressNo,
        reason: OutOfUse,
    },
    BackInUse {
        press: PressNo,
    },
    SetDial {
        press: PressNo,
        dial: Temperature,
        pressure: Pressure,
    },
    /// A press was turned to another heat, and settles.
    TurnDial {
        press: PressNo,
        dial: Temperature,
        pressure: Pressure,
    },
    /// Something of the heat of a press; None: of all that it can be said of.
    SayHeat {
        press: Option<PressNo>,
        said: HeatWord,
    },
    /// Something of the morning's list was done, or skipped; the humidity in per cent.
    SayMorning {
        check: MorningCheck,
        percent: Option<u8>,
        skipped: bool,
    },
    /// The first garment of an order was looked at.
    SaySample {
        garment: Tag,
        approved: bool,
    },
    /// A platen was probed, strips of paper were pulled from under it, or both.
    CheckPress {
        press: PressNo,
        /// Row by row from the back left; empty: not probed.
        readings: Vec<Vec<Temperature>>,
        /// Back left, back right, front left, front right: whether the strip of paper held.
        held: Option<[bool; 4]>,
    },
    NoteTrouble {
        garment: Tag,
        trouble: Trouble,
        outcome: Outcome,
    },
    /// The last act was so many seconds before its key; None: nobody knows when.
    CorrectTime {
        ago: Option<f64>,
    },
    /// The same of an earlier act, as long as it could still be taken back.
    CorrectTimeOf {
        act: ActNo,
        ago: Option<f64>,
    },
    ReadCaution,
    Undo,
}
