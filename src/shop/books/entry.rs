//! What the ledger enters: an act's facts as the books take them, with what they meant when they happened.
//!
//! This is the one place where every kind of fact says what it is to the books: a new kind does not compile without.

use std::time::Duration;

use super::opening::Opening;
use crate::shop::Shop;
use crate::shop::facts::fact::{
    CoatWeighed, Event, Fact, HandworkDone, PressOpened, PressShut, Printed, TimeCorrected, Timing,
    TroubleNoted,
};
use crate::shop::facts::ids::{ActNo, OrderId, PressNo, RecipeHash, Tag};
use crate::shop::facts::mixture::Mixture;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::recipe::Spray;
use crate::shop::facts::station::HandTimes;
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::{Outcome, Trouble};
use crate::shop::floor::garment::Place;

/// What an event changes in the ledger.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    Entered(Entry),
    Undone(ActNo),
    Corrected(Correction),
}

/// A thing that was done, and stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    pub seq: u64,
    pub act: ActNo,
    /// When it happened.
    pub moment: Moment,
    /// False where somebody has said that nobody knows when it happened: `moment` is then that of its key.
    pub timed: bool,
    pub by_hand: bool,
    pub garment: Option<Tag>,
    /// Whether it took its garment from the shelf, and whether that was past its last day.
    pub from_shelf: Option<bool>,
    /// What the scale said of a spray by hand, the first time.
    pub laid: Option<Laid>,
    pub done: Done,
}

/// What was done.
#[derive(Debug, Clone, PartialEq)]
pub enum Done {
    Order(OrderId),
    Shut {
        press: PressNo,
        step: Step,
        recipe: RecipeHash,
        /// For how long the recipe wants it shut.
        target: Duration,
        opens_itself: bool,
        /// What laying the garment in takes, as the station says.
        load: Duration,
        past_wipe: bool,
    },
    Opened(Opened),
    Handwork {
        step: Step,
        implied: bool,
        recipe: Option<RecipeHash>,
        /// Seconds of hands, as the station and the recipe say.
        hand_s: f64,
        lots: Vec<String>,
        /// Grams that the plan took out of the sprayer; None where no fill was recorded.
        fluid_g: Option<f64>,
    },
    Printed {
        step: Step,
        implied: bool,
        recipe: Option<RecipeHash>,
        hand_s: f64,
        /// What taking the print out takes, and all of it from loading on, as the station says; how many printers it has.
        unload: Duration,
        whole: Duration,
        /// The same where the recipe says what its print takes.
        own: Duration,
        printers: u8,
        /// Since when the garment had waited for its print, where it had.
        waited_since: Option<Moment>,
    },
    Trouble {
        step: Option<Step>,
        trouble: Trouble,
        outcome: Outcome,
        recipe: Option<RecipeHash>,
    },
    /// A garment is to be treated again.
    Renewed,
    Stored,
    Weighed,
    CoatWeighed(Box<CoatWeighed>),
    /// Something was done about the coat before that weight.
    CoatMended,
    /// A sheet was worked on; `late` where that was past the press by which the station wants it.
    Sheet {
        work: SheetWork,
        press: Option<PressNo>,
        late: bool,
    },
    Filled {
        lot: String,
        grams: f64,
        fluid: Option<Mixture>,
    },
    Flushed,
    OutOfUse {
        press: PressNo,
        reason: OutOfUse,
    },
    InUse(PressNo),
    SignedIn {
        who: String,
        opens_shift: bool,
    },
    SignedOut(String),
    ShiftClosed,
    /// Somebody said whether the fan runs; None: not seen.
    Fan(Option<bool>),
    /// A tap between two moves: it takes nobody's time to speak of.
    Tap,
    /// Something that takes time nobody knows.
    Other,
}

/// A press was opened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opened {
    pub opening: Opening,
    pub recipe: Option<RecipeHash>,
    /// Whether that finished the garment.
    pub finished: bool,
    /// What laying it in and taking it out take, as the station says.
    pub load: Duration,
    pub unload: Duration,
}

/// The first weight of a coat that was sprayed by hand, at the pace that was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// ln(coat / target).
    pub off: f64,
    /// Grams a second that the profile says come out.
    pub flow: f64,
    /// Who was at the bench.
    pub people: Vec<String>,
}

/// What was done with a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SheetWork {
    Wiped,
    /// Release paper was changed.
    Changed,
    /// A PTFE sheet was thrown away for a new one.
    Renewed,
    Swapped,
}

/// What was said later of the time of an act.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// The act that said it.
    pub act: ActNo,
    pub corrects: ActNo,
    garment: Tag,
    /// How long before its key it happened; None: not known.
    ago: Option<Duration>,
    /// For an opening.
    seconds: Option<f64>,
    timing: Timing,
}

impl Change {
    /// What an event is to the books. The shop has not applied it yet.
    pub fn of(event: &Event, shop: &Shop) -> Self {
        match &event.fact {
            Fact::Undone(fact) => Change::Undone(fact.undoes),
            Fact::TimeCorrected(fact) => Change::Corrected(Correction::of(event.act, fact, shop)),
            fact => Change::Entered(Entry::of(event, done(event, fact, shop), shop)),
        }
    }

    /// Adds what shows only once the shop has applied the event.
    pub fn applied(&mut self, shop: &Shop) {
        if let Change::Entered(Entry { seq, done: Done::Opened(opened), .. }) = self
            && opened.opening.step == Step::Cure
        {
            // One that is let go of is long done.
            opened.finished = shop.garment(opened.opening.garment).is_none_or(|garment| {
                garment.place == Place::Finished && garment.since_seq == *seq
            });
        }
    }
}

impl Entry {
    fn of(event: &Event, done: Done, shop: &Shop) -> Self {
        let garment = event.fact.garment();
        let on_shelf = |tag: Tag| shop.garment(tag).is_some_and(|one| one.place == Place::Shelf);
        let past_day = match &event.fact {
            Fact::PressShut(fact) => Some(fact.past_day),
            Fact::Printed(fact) => Some(fact.past_day),
            Fact::Renewed(_) => Some(false),
            Fact::TroubleNoted(fact) => {
                matches!(fact.outcome, Outcome::Out | Outcome::StepAgain).then_some(false)
            }
            _ => None,
        };
        Self {
            seq: event.seq,
            act: event.act,
            moment: event.moment,
            timed: true,
            by_hand: event.fact.is_by_hand(),
            garment,
            from_shelf: past_day.filter(|_| garment.is_some_and(on_shelf)),
            laid: laid(&event.fact, shop),
            done,
        }
    }

    /// Amends what a correction says of it.
    pub fn correct(&mut self, correction: &Correction) {
        match correction.ago {
            Some(ago) => self.moment = self.moment.minus(ago),
            None => self.timed = false,
        }
        if let Done::Opened(Opened { opening, .. }) = &mut self.done {
            (opening.seconds, opening.timing) = (correction.seconds, correction.timing);
        }
    }
}

impl Correction {
    fn of(act: ActNo, fact: &TimeCorrected, shop: &Shop) -> Self {
        let opening = shop.ledger.of_act(fact.corrects).find_map(|entry| match &entry.done {
            Done::Opened(opened) if opened.opening.garment == fact.garment => Some(opened.opening),
            _ => None,
        });
        // An older program did not record how the corrected time lies to the recipe's.
        let timing = || Some(shop.timing_of(&opening?, fact.seconds));
        Self {
            act,
            corrects: fact.corrects,
            garment: fact.garment,
            ago: fact.ago.and_then(|ago| Duration::try_from_secs_f64(ago).ok()),
            seconds: fact.seconds,
            timing: fact.timing.or_else(timing).unwrap_or(Timing::NotTimed),
        }
    }

    /// Whether it is said of an entry.
    pub fn is_of(&self, entry: &Entry) -> bool {
        entry.act == self.corrects && entry.garment == Some(self.garment)
    }
}

/// The first weight of a coat by hand, held against its target; None of any other fact.
fn laid(fact: &Fact, shop: &Shop) -> Option<Laid> {
    let Fact::CoatWeighed(weighed) = fact else { return None };
    let sprayer = shop.station()?.sprayer?;
    let recipe = shop.recipes().get(&weighed.hash).filter(|recipe| recipe.spray == Spray::Hand)?;
    let again = shop.garment(weighed.garment)?.weighed?.after.is_some();
    let off = (weighed.coat.0 / recipe.coat.target.0).ln();
    let people = shop.desk().people.clone();
    (!again && off.is_finite()).then_some(Laid { off, flow: sprayer.flow.0, people })
}

/// What a fact is to the books.
fn done(event: &Event, fact: &Fact, shop: &Shop) -> Done {
    let late = |presses: u32| shop.station().is_some_and(|s| presses > s.sheet.wipe_by);
    let sheet = |work, press, presses| Done::Sheet { work, press, late: late(presses) };
    match fact {
        // What is laid for all stations is no order of this one.
        Fact::OrderTaken(fact) if fact.shared => Done::Other,
        Fact::OrderTaken(fact) => Done::Order(event.of(fact.order)),
        Fact::PressShut(fact) => shut(fact, shop),
        Fact::PressOpened(fact) => opened(event.act, fact, shop),
        Fact::HandworkDone(fact) => handwork(fact, shop),
        Fact::Printed(fact) => printed(fact, shop),
        Fact::TroubleNoted(fact) => trouble(fact, shop),
        Fact::Renewed(_) => Done::Renewed,
        Fact::Stored(_) => Done::Stored,
        Fact::Weighed(_) => Done::Weighed,
        Fact::CoatWeighed(fact) => Done::CoatWeighed(Box::new(fact.clone())),
        Fact::CoatMended(_) => Done::CoatMended,
        Fact::SheetWiped(fact) => sheet(SheetWork::Wiped, fact.press, fact.presses),
        Fact::SheetChanged(fact) => sheet(SheetWork::Changed, fact.press, fact.presses),
        Fact::SheetRenewed(fact) => sheet(SheetWork::Renewed, fact.press, fact.presses),
        Fact::SheetSwapped(fact) => sheet(SheetWork::Swapped, Some(fact.press), fact.presses),
        Fact::SprayerFilled(fact) => {
            Done::Filled { lot: fact.lot.clone(), grams: fact.grams.0, fluid: fact.fluid }
        }
        Fact::SprayerFlushed(_) => Done::Flushed,
        Fact::PressOutOfUse(fact) => Done::OutOfUse { press: fact.press, reason: fact.reason },
        Fact::PressInUse(fact) => Done::InUse(fact.press),
        Fact::SignedIn(fact) => {
            Done::SignedIn { who: fact.who.clone(), opens_shift: fact.opens_shift }
        }
        Fact::SignedOut(fact) => Done::SignedOut(fact.who.clone()),
        Fact::ShiftClosed(_) => Done::ShiftClosed,
        Fact::FanSaid(fact) => Done::Fan(fact.running),
        // The print that it stands behind is the move.
        Fact::HeldShown(_)
        | Fact::SteamStopped(_)
        | Fact::SteamSaid(_)
        | Fact::HeatSaid(_)
        | Fact::MorningSaid(_)
        | Fact::SampleSaid(_)
        | Fact::CautionRead(_)
        | Fact::DatesSaid(_)
        | Fact::Received(_)
        | Fact::Left(_)
        | Fact::Settled(_)
        | Fact::StackNamed(_)
        | Fact::WeighingDeclined(_)
        | Fact::UnderbaseDecided(_) => Done::Tap,
        Fact::StationSet(_)
        | Fact::RecipeKept(_)
        | Fact::TrialBegun(_)
        | Fact::TrialWeighed(_)
        | Fact::TrialSampled(_)
        | Fact::TrialGraded(_)
        | Fact::TrialAnswered(_)
        | Fact::TrialEnded(_)
        | Fact::WindowSigned(_)
        | Fact::BlankAdded(_)
        | Fact::BlankGivenUp(_)
        | Fact::BlanksCounted(_)
        | Fact::OrderChanged(_)
        | Fact::ChangeHeard(_)
        | Fact::OrderCancelled(_)
        | Fact::BlankReturned(_)
        | Fact::StackDisturbed(_)
        | Fact::LotRegistered(_)
        | Fact::WashSampled(_)
        | Fact::Washed(_)
        | Fact::Returned(_)
        | Fact::DialSet(_)
        | Fact::PlatenChecked(_)
        | Fact::PressureChecked(_)
        | Fact::EventsLost(_)
        | Fact::NumbersTaken(_)
        // Those two never come here: they are no entries.
        | Fact::TimeCorrected(_)
        | Fact::Undone(_) => Done::Other,
    }
}

fn trouble(fact: &TroubleNoted, shop: &Shop) -> Done {
    Done::Trouble {
        step: fact.step,
        trouble: fact.trouble,
        outcome: fact.outcome,
        recipe: recipe_of(fact.garment, shop),
    }
}

fn shut(fact: &PressShut, shop: &Shop) -> Done {
    let recipe = shop.recipes().get(&fact.recipe);
    let pressing = recipe.and_then(|recipe| recipe.pressing_when(fact.step, fact.again, fact.damp));
    Done::Shut {
        press: fact.press,
        step: fact.step,
        recipe: fact.recipe,
        target: pressing.map_or(Duration::ZERO, |pressing| pressing.target.0),
        opens_itself: shop.opens_itself(fact.press),
        load: hands(shop).load.0,
        past_wipe: fact.past_wipe,
    }
}

fn opened(act: ActNo, fact: &PressOpened, shop: &Shop) -> Done {
    let load = shop.load(fact.press).filter(|load| load.garment == fact.garment);
    let recipe = load.map(|load| load.recipe).or_else(|| recipe_of(fact.garment, shop));
    let damp = load.is_some_and(|load| load.damp);
    let pressing = recipe
        .and_then(|recipe| shop.recipes().get(&recipe)?.pressing_when(fact.step, fact.again, damp));
    let hands = hands(shop);
    let opening = Opening {
        act,
        press: fact.press,
        garment: fact.garment,
        step: fact.step,
        again: fact.again,
        damp,
        over_restart: fact.over_restart,
        target: pressing.map(|pressing| pressing.target.as_seconds()),
        seconds: fact.seconds,
        timing: fact.timing,
    };
    Done::Opened(Opened {
        opening,
        recipe,
        finished: false,
        load: hands.load.0,
        unload: hands.unload.0,
    })
}

fn handwork(fact: &HandworkDone, shop: &Shop) -> Done {
    let recipe = recipe_of(fact.garment, shop);
    let hands = hands(shop);
    let hand_s = recipe.and_then(|recipe| shop.recipes().get(&recipe)).map_or(
        hands.spray.as_seconds(),
        |recipe| {
            let spray = match recipe.spray {
                Spray::Machine(span) => span,
                Spray::Hand | Spray::BoughtTreated => hands.spray,
            };
            let roll = if recipe.roll { hands.roll.as_seconds() } else { 0.0 };
            spray.as_seconds() + roll
        },
    );
    let lots = fact.lots.clone();
    let fluid_g = fact.used.map(|used| used.0);
    Done::Handwork { step: fact.step, implied: fact.implied, recipe, hand_s, lots, fluid_g }
}

fn printed(fact: &Printed, shop: &Shop) -> Done {
    let hands = hands(shop);
    let recipe = recipe_of(fact.garment, shop);
    let said = recipe.and_then(|recipe| shop.recipes().get(&recipe)?.print).unwrap_or(hands.print);
    let waits = shop.garment(fact.garment).filter(|one| one.place == Place::Waiting(Step::Print));
    Done::Printed {
        step: fact.step,
        implied: fact.implied,
        recipe,
        hand_s: hands.print_load.as_seconds() + hands.print_unload.as_seconds(),
        unload: hands.print_unload.0,
        whole: hands.print_load.0 + hands.print.0 + hands.print_unload.0,
        own: hands.print_load.0 + said.0 + hands.print_unload.0,
        printers: shop.station().map_or(1, |station| station.printers),
        waited_since: waits.map(|garment| garment.since),
    }
}

fn recipe_of(garment: Tag, shop: &Shop) -> Option<RecipeHash> {
    Some(*shop.recipe_of(shop.garment(garment)?)?.0)
}

/// The station's own hand times, not what was learned.
fn hands(shop: &Shop) -> HandTimes {
    shop.station().map(|station| station.hands).unwrap_or_default()
}
