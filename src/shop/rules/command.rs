//! What may be said to the shop, and why it may be refused.

use std::sync::Arc;

use super::blanks::BlankKind;
use super::moves::{Heard, TakenOver};
use super::shared::{Granted, HeardWord};
use super::trials::NoTrialStep;
use crate::figures::coat::NoCoat;
use crate::figures::fastness::Grade;
use crate::figures::platen::NoGrid;
use crate::figures::trial::Seen;
use crate::figures::units::{Grams, Rectangle, Temperature};
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::day::Day;
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
use crate::shop::facts::station::{Senseless, Station};
use crate::shop::facts::step::{Pressure, Step};
use crate::shop::facts::trouble::{Outcome, Trouble};

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

/// Why a command was not taken. Each says what to do instead.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    #[error("no profile is in force yet")]
    NoStation,
    #[error("this station has no press {0}")]
    NoSuchPress(PressNo),
    #[error("no garment {0} is on the floor")]
    NoSuchGarment(Tag),
    #[error("press {press} is shut on {garment}: open it first")]
    PressIsShut { press: PressNo, garment: Tag },
    #[error("press {0} is not shut")]
    PressIsOpen(PressNo),
    #[error("press {press} is {}: put it back into use first", .reason.words())]
    PressOutOfUse { press: PressNo, reason: OutOfUse },
    #[error("press {0} is in use")]
    PressInUse(PressNo),
    #[error("{garment} is in press {press}")]
    InPress { garment: Tag, press: PressNo },
    #[error("{0} is in no press")]
    NotInPress(Tag),
    #[error("{garment} is at {bench}: take it over here first")]
    AtAnother { garment: Tag, bench: Neighbour },
    #[error("{0} is here already: nothing to take over")]
    IsHere(Tag),
    #[error("that move of {0} is known already")]
    MoveKnown(Tag),
    #[error("{0} is finished")]
    Finished(Tag),
    #[error("{0} is a reject")]
    Out(Tag),
    #[error("{0} waits for a yes or no: does its artwork need an underbase?")]
    Undecided(Tag),
    #[error("{garment} waits for {step}: record that first, or pick it for a press")]
    StepBefore { garment: Tag, step: Step },
    #[error("{garment} does not wait for {wanted}")]
    NotWaiting { garment: Tag, wanted: Step },
    #[error("no garment waits for {0}")]
    NoneWaits(Step),
    #[error("{there} wait for {step}, not {asked}")]
    FewerWait { step: Step, there: usize, asked: u16 },
    #[error("no garment is dry and ready for the shelf")]
    NoneToStore,
    #[error("a stack needs a name of up to 12 letters")]
    NoStack,
    #[error("nothing lies on stack {0}")]
    NothingOnStack(String),
    #[error("{0} is not dry and waiting, nor on the shelf: nothing to re-treat")]
    NothingToRenew(Tag),
    #[error("enter the lot's code from the label")]
    NoLot,
    #[error("where do bottles of lot {0} stand? Fluid and ink never in one place")]
    NoPlaceForLot(String),
    #[error("lot {lot} is known already: {}, {before}. Another bottle needs no entry of its own", .contents.words())]
    LotKnown { lot: String, contents: Contents, before: String },
    #[error("{} stands in \"{place}\": fluid and the others go to different places", .contents.words())]
    SamePlace { place: String, contents: Contents },
    #[error("lot {0} is not registered: do not fill. Register it from its label first")]
    NoSuchLot(String),
    #[error("STOP: lot {lot} is {}, not pretreatment fluid. Do not fill", .contents.words())]
    WrongBottle { lot: String, contents: Contents },
    #[error("lot {lot} was good until {day}: do not fill; take another bottle")]
    LotPast { lot: String, day: Day },
    #[error("{0} cannot be a fill: enter 1 g to 5 kg")]
    NoFill(Grams),
    #[error("the sprayer was flushed and has not been filled since")]
    NothingToFlush,
    #[error("initials are one to four letters")]
    NoInitials,
    #[error("six people are at this bench: somebody signs out first")]
    BenchIsFull,
    #[error("no shift is open: the first initials open one")]
    NoShift,
    #[error("no press is heating, soaking or settling")]
    HeatNotAwaited,
    #[error("\"{}\" is not on this station's morning list", .0.words())]
    NotOnTheList(MorningCheck),
    #[error("{0} % is no humidity: expected 0 to 100")]
    NoHumidity(u8),
    #[error("nobody asked about the fan")]
    FanNotAsked,
    #[error("{0} is a wash sample already")]
    SampleKnown(Tag),
    #[error("{0} is not a wash sample: mark it as one at the board first")]
    NoSample(Tag),
    #[error("{0} has not been cured: what was washed?")]
    NotYetCured(Tag),
    #[error("{0} washes: enter 1 to 200")]
    NoCycles(u32),
    #[error("that wash of {0} is noted already")]
    WashKnown(Tag),
    #[error("that return of order {0} is noted already")]
    ReturnKnown(OrderNo),
    #[error("{0} is still here: what came back is another one")]
    StillHere(Tag),
    #[error("the recipe of {0} is not known")]
    NoRecipe(Tag),
    #[error("press {0} is not drying: only a drying press has steam")]
    NotDrying(PressNo),
    #[error("the steam of press {press} was noted at {seconds:.0} s")]
    SteamNoted { press: PressNo, seconds: f64 },
    #[error("nobody asked about the steam of {0}")]
    SteamNotAsked(Tag),
    #[error("{0} cannot be a garment: enter 20 g to 5 kg")]
    NoGarmentsWeight(Grams),
    #[error("{0} was not weighed before its spray: its coat cannot be known")]
    NotWeighedBefore(Tag),
    #[error("{0} is dry: a coat is weighed before that")]
    DriedAlready(Tag),
    #[error("{0} - takes back the first weight")]
    Coat(NoCoat),
    #[error(
        "{grams} on {area} is over twice the window: was a weight mistyped? - takes back the first"
    )]
    TooMuchCoat { grams: Grams, area: Rectangle },
    #[error("nothing was said of press {0}: readings, strips, or both")]
    NothingChecked(PressNo),
    #[error("nobody asked for the weight of {0}")]
    WeightNotAsked(Tag),
    #[error("{0}")]
    Trial(#[from] NoTrialStep),
    #[error("{0}")]
    Grid(NoGrid),
    #[error("{0} cannot be a platen: enter 0 C to 300 C")]
    NoPlatensHeat(Temperature),
    #[error("there is no sheet {0}")]
    NoSuchSheet(SheetNo),
    #[error("sheet {0} is clean: no press under fluid since its wipe")]
    SheetIsClean(SheetNo),
    #[error("sheet {sheet} is in press {press}, which is shut")]
    SheetInUse { sheet: SheetNo, press: PressNo },
    #[error("press {0} has no used PTFE sheet to swap")]
    NothingToSwap(PressNo),
    #[error("no clean sheet lies ready: wipe one first, cold and away from the press")]
    NoCleanSheet,
    #[error("there is no order {0}: Pace lists those that are open")]
    NoSuchOrder(OrderNo),
    #[error("{order} is {}'s order: say it at that board", .bench)]
    OfAnother { order: OrderId, bench: Neighbour },
    #[error("{0} is of another station: name what this one made, or leave \"remakes\" out")]
    MadeElsewhere(String),
    #[error("order {order} has no line {line}: it has {there}")]
    NoSuchLine { order: OrderNo, line: usize, there: usize },
    #[error("order {0} is like that already: nothing was changed")]
    NothingChanged(OrderNo),
    #[error("order {0} has nothing left to cancel")]
    NothingToCancel(OrderNo),
    #[error("order {order} has {there} left: enter 1 to {there} fewer, not {asked}")]
    FewerLeft { order: OrderNo, there: usize, asked: usize },
    #[error("that part is taken in already")]
    PartKnown,
    #[error("no order asks that now")]
    NotAsked,
    #[error("nothing to correct: that act has no time, or is too far back")]
    NothingToCorrect,
    #[error("{0} s is longer ago than the act before")]
    TooLongAgo(f64),
    #[error("nothing is left to undo")]
    NothingToUndo,
    #[error("cancel {0} instead: it is laid for all stations, and undo takes nothing back")]
    LaidForAll(String),
    #[error(
        "change {0} again instead: all stations go by what was said of it, and undo takes nothing back"
    )]
    SaidForAll(String),
    #[error(
        "lay a new order instead: {0} is cancelled for all stations, and undo takes nothing back"
    )]
    CancelledForAll(String),
    #[error("the order is not taken: {0}")]
    SenselessOrder(Senseless),
    #[error("that order is taken in already")]
    OrderKnown,
}
