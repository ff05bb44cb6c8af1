//! Why a command is not taken, and what to do instead.

use crate::figures::coat::NoCoat;
use crate::figures::platen::NoGrid;
use crate::figures::trial::NoTrial;
use crate::figures::units::{Grams, Rectangle, Temperature};
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::check::Senseless;
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{Neighbour, OrderId, OrderNo, PressNo, SheetNo, Tag};
use crate::shop::facts::morning::MorningCheck;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::step::Step;

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

/// Why something said of a trial is not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoTrialStep {
    #[error("a trial of {0} runs: end it first")]
    Runs(String),
    #[error("no trial runs: begin one first")]
    None,
    #[error("there is no recipe {0}")]
    NoRecipe(String),
    #[error("{0} washes: expected 1 to 200")]
    Cycles(u32),
    #[error("{0}")]
    Asked(#[from] NoTrial),
    #[error(
        "recipe {recipe} has changed since the trial began ({changed}): end it, then begin a new one"
    )]
    RecipeChanged { recipe: String, changed: String },
    #[error(
        "the sprayer holds {now}, this trial is of {then}: flush and fill {then}, or end the trial"
    )]
    OtherFluid { now: String, then: String },
    #[error("{now} is at the bench, {then} graded the others: a trial is of one eye")]
    OtherEye { now: String, then: String },
    #[error("no weight is wanted now: the trial's garments are to be graded")]
    NotWeighed,
    #[error("no grade is wanted now: the trial's garments are to be sprayed")]
    NotGraded,
    #[error("{coat:.0} g/m2 is no coat: expected 1 g/m2 to 2000 g/m2. Was a weight mistyped?")]
    NoCoat { coat: f64 },
    #[error("the trial has found no window yet: {0}")]
    NothingToSign(String),
}
