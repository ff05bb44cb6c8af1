//! The rules of the shop: what is, what may be said, what follows from it.
//!
//! `decide` turns a command into facts or a refusal, `apply` turns facts into the next state. Neither reads
//! a clock, a file or a random number: `now` is an argument. Only facts are stored; what is late, due or
//! overdue is worked out from them and the present moment.

pub mod books;
pub mod facts;
pub mod floor;
pub mod rules;

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::figures::units::Colour;
use books::Books;
use books::coats::CoatBook;
use books::ledger::Ledger;
use facts::as_text;
use facts::day::Zone;
use facts::fact::{Event, Fact};
use facts::ids::{ActNo, OrderId, OrderNo, OrderRef, PressNo, RecipeHash, StationId, Tag};
use facts::moment::{Boot, Moment, Up, Wall};
use facts::order::Order;
use facts::outage::OutOfUse;
use facts::recipe::{Pressing, Recipe};
use facts::recipes::Recipes;
use facts::station::{DateOrder, Station};
use facts::step::{Pressure, Step};
use floor::fluid::Supplies;
use floor::garment::Garment;
use floor::places::Floor;
use floor::press::{Load, Press, Setting};
use floor::shared::SharedOrders;
use floor::sheets::Sheets;
use floor::taken::TakenFiles;
use floor::trial::TrialRun;
use floor::wash::{CameBack, Sample};
use floor::whereabouts::Whereabouts;
use rules::command::{Command, Refusal};
use rules::morning::Morning;
use rules::shared::Stays;
use rules::trail::Trail;

/// The most finished and lost garments that are kept in mind; older ones are in the journal alone.
const MOST_DONE: usize = 2000;

/// The shop as the facts have made it.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Shop {
    /// None until the journal's first `station-set`.
    #[serde(with = "as_text")]
    station: Option<Arc<Station>>,
    recipes: Recipes,
    orders: BTreeMap<OrderId, Order>,
    /// Orders that this station has laid for all, and the parts of such orders that it makes.
    shared: Arc<SharedOrders>,
    floor: Floor,
    /// The moves of garments between this station and others, and what those are called.
    whereabouts: BTreeMap<Tag, Whereabouts>,
    neighbours: BTreeMap<StationId, String>,
    presses: BTreeMap<PressNo, Press>,
    sheets: Sheets,
    /// What is known of each recipe's coats, by the recipe's name.
    coats: BTreeMap<String, CoatBook>,
    /// Bottles and the sprayer, shared with the trail until they change.
    supplies: Arc<Supplies>,
    samples: Arc<BTreeMap<Tag, Sample>>,
    /// Prints that customers brought back, of which the coat is known, by the number of the event.
    came_back: Arc<BTreeMap<u64, CameBack>>,
    /// The trial that runs.
    #[serde(with = "as_text")]
    trial: Option<Arc<TrialRun>>,
    desk: Desk,
    /// Which stands first in the dates of tables, once somebody was asked and said so.
    dates: Option<DateOrder>,
    #[serde(skip)]
    zone: Zone,
    /// The life of the history that is written; 0: the first.
    #[serde(skip)]
    life: u32,
    /// The highest number an order has had. Undo gives none back: a label may have been written.
    last_order: OrderNo,
    files: TakenFiles,
    seq: u64,
    newest: Option<Moment>,
    /// The wall clock that this boot's moments are held against: see `clock_is_wrong`.
    furthest: Wall,
    /// The acts that stand, and what is counted from them.
    ledger: Ledger<Books>,
    #[serde(skip)]
    trail: Trail,
}

/// Small things that the board keeps in mind between acts.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Desk {
    /// The garment last handled: what "trouble" speaks of.
    pub last: Option<Tag>,
    /// Whether somebody has read that the board is no safety device.
    pub caution_read: bool,
    /// The garment last dried whose steam nobody has noted, and the press it came from.
    pub steam_unsaid: Option<(PressNo, Tag)>,
    /// The stack that garments are stored on; empty: the first.
    pub stack: String,
    /// Who is at the bench.
    pub people: Vec<String>,
    pub shift_open: bool,
    /// Whether this shop opens shifts at all: one that never has is not asked to.
    pub shifts_used: bool,
    /// Whether the fan is asked after: once, when a shift is opened.
    pub fan_asked: bool,
    /// Whether somebody said that it does not run, and nobody since that it does.
    pub fan_off: bool,
    /// What was said of the morning's list.
    pub morning: Morning,
    /// The last act with a moment that may be corrected.
    pub correctable: Option<Correctable>,
    /// The last act of a hand, where undo does not take it back: all stations go by it.
    pub stays: Option<Stays>,
}

/// An act whose moment may be corrected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Correctable {
    pub act: ActNo,
    /// The garments of the act: several, where a number was typed before its key.
    pub garments: Vec<Tag>,
    pub what: Timed,
}

/// Which moment it was.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Timed {
    Shut(PressNo),
    Opened {
        press: PressNo,
        step: Step,
        again: bool,
        seconds: Option<f64>,
        /// For a press that opens by itself: how long it stood open before it was unloaded.
        waited: Option<f64>,
    },
    /// It was sprayed or printed, and waits since.
    Waits,
}

/// Two shops are the same when the same things are where they are, however they came there.
impl PartialEq for Shop {
    fn eq(&self, other: &Self) -> bool {
        self.station == other.station
            && self.recipes == other.recipes
            && self.orders == other.orders
            && self.shared == other.shared
            && self.floor == other.floor
            && self.whereabouts == other.whereabouts
            && self.neighbours == other.neighbours
            && self.presses == other.presses
            && self.sheets == other.sheets
            && self.coats == other.coats
            && self.supplies == other.supplies
            && self.samples == other.samples
            && self.came_back == other.came_back
            && self.trial == other.trial
            && self.desk == other.desk
            && self.dates == other.dates
            && self.last_order == other.last_order
            && self.files == other.files
    }
}

impl Shop {
    /// States a command: decides, numbers the facts of the act, applies them, and hands them back as events.
    ///
    /// # Errors
    /// The refusal; the shop is then as it was.
    pub fn act(
        &mut self,
        station: StationId,
        command: &Command,
        now: Moment,
    ) -> Result<Vec<Event>, Refusal> {
        let facts = self.decide(command, now)?;
        let act = ActNo(self.seq + 1);
        let event = |(seq, fact)| Event { station, seq, act, moment: now, fact };
        let events: Vec<Event> = (act.0..).zip(facts).map(event).collect();
        for event in &events {
            self.apply(event);
        }
        Ok(events)
    }

    /// Whether a command would be taken that does not depend on when it is said.
    ///
    /// # Errors
    /// The refusal.
    pub fn judge(&self, command: &Command) -> Result<(), Refusal> {
        let now = self.newest.unwrap_or(Moment { at: Wall(0), boot: Boot(0), up: Up(0) });
        self.decide(command, now).map(drop)
    }

    /// The station's profile; None before the journal's first event.
    pub fn station(&self) -> Option<&Arc<Station>> {
        self.station.as_ref()
    }

    /// What is counted from the acts that stand.
    pub fn books(&self) -> &Books {
        self.ledger.now()
    }

    /// All garments and queues.
    pub fn floor(&self) -> &Floor {
        &self.floor
    }

    /// The short name of this station.
    pub fn id(&self) -> StationId {
        self.station.as_ref().map(|station| station.id).unwrap_or_default()
    }

    /// An order of this station by its number.
    pub fn own(&self, no: OrderNo) -> OrderId {
        OrderId { station: self.id(), no }
    }

    /// An order as this station writes it: its own by the number alone.
    pub fn written(&self, order: OrderId) -> OrderRef {
        order.written_at(self.id())
    }

    /// A garment by its tag.
    pub fn garment(&self, tag: Tag) -> Option<&Garment> {
        self.floor.get(tag)
    }

    /// All orders that are kept in mind, oldest first.
    pub fn orders(&self) -> impl DoubleEndedIterator<Item = &Order> {
        self.orders.values()
    }

    /// The order of a garment.
    pub fn order(&self, id: OrderId) -> Option<&Order> {
        self.orders.get(&id)
    }

    /// The station's presses, and any that still holds a garment though the profile has dropped it.
    pub fn press_numbers(&self) -> Vec<PressNo> {
        let mut numbers: Vec<PressNo> =
            self.station.iter().flat_map(|station| station.press_numbers()).collect();
        let dropped =
            self.presses.iter().filter(|(no, press)| press.load.is_some() && !numbers.contains(no));
        let dropped: Vec<PressNo> = dropped.map(|(no, _)| *no).collect();
        numbers.extend(dropped);
        numbers
    }

    /// What a press is shut on.
    pub fn load(&self, press: PressNo) -> Option<&Load> {
        self.presses.get(&press)?.load.as_ref()
    }

    /// Every press that is shut, with what it is shut on.
    pub fn loads(&self) -> impl Iterator<Item = (PressNo, &Load)> {
        self.presses.iter().filter_map(|(no, press)| Some((*no, press.load.as_ref()?)))
    }

    /// Why a press is out of use, if it is.
    pub fn out_of_use(&self, press: PressNo) -> Option<OutOfUse> {
        self.presses.get(&press)?.out_of_use
    }

    /// A press's name.
    pub fn press_name(&self, press: PressNo) -> &str {
        self.station.as_ref().and_then(|s| s.press(press)).map_or("", |p| p.name.as_str())
    }

    /// How a press is set: as last recorded by hand, else as the profile says.
    pub fn setting(&self, press: PressNo) -> Option<Setting> {
        let by_hand = self.presses.get(&press).and_then(|press| press.set);
        let profile = || {
            let profile = self.station.as_ref()?.press(press)?;
            Some(Setting { dial: profile.dial, pressure: profile.pressure })
        };
        by_hand.or_else(profile)
    }

    /// The pressure that a press is taken to stand at: as its last step wanted it, or as it was set since.
    pub fn pressure_at(&self, press: PressNo) -> Option<Pressure> {
        let pressed = self.presses.get(&press).and_then(|press| press.pressed);
        pressed.or_else(|| self.setting(press).map(|set| set.pressure))
    }

    /// The pressure that a press is to be turned to before a step, where it is taken to stand otherwise.
    pub fn pressure_to_turn(&self, press: PressNo, wanted: &Pressing) -> Option<Pressure> {
        let stands = self.pressure_at(press)?;
        (stands != wanted.pressure).then_some(wanted.pressure)
    }

    /// Whether a press opens by itself.
    pub fn opens_itself(&self, press: PressNo) -> bool {
        self.station.as_ref().and_then(|s| s.press(press)).is_some_and(|p| p.opens_itself)
    }

    /// The recipe that a garment started with, else the one that its order names now.
    pub fn recipe_of(&self, garment: &Garment) -> Option<(&RecipeHash, &Arc<Recipe>)> {
        let hash = match &garment.recipe {
            Some(hash) => hash,
            None => {
                let line = self.orders.get(&garment.order())?.form.lines.get(garment.line)?;
                self.recipes.hash_of(&line.recipe)?
            }
        };
        self.recipes.entry(hash)
    }

    /// The recipes, and what each name means.
    pub fn recipes(&self) -> &Recipes {
        &self.recipes
    }

    /// What the press does to the garment that it is shut on.
    pub fn pressing(&self, load: &Load) -> Option<Pressing> {
        self.recipes.get(&load.recipe)?.pressing_when(load.step, load.again, load.damp)
    }

    /// The cover sheets.
    pub fn sheets(&self) -> &Sheets {
        &self.sheets
    }

    /// What the board keeps in mind.
    pub fn desk(&self) -> &Desk {
        &self.desk
    }

    /// Which stands first in the dates of tables, where somebody has said so.
    pub fn date_order(&self) -> Option<DateOrder> {
        self.dates
    }

    /// The files of the inbox that were taken in.
    pub fn taken_files(&self) -> &TakenFiles {
        &self.files
    }

    /// A colour by the name that the station has for it.
    pub fn colour_name(&self, colour: Colour) -> String {
        self.station().map_or_else(|| colour.to_string(), |station| station.colour_name(colour))
    }

    /// What happened, with the names of the orders that it is about.
    pub fn in_words(&self, fact: &Fact) -> String {
        fact.in_words_by(|order| {
            let id = order.id(self.id());
            let form = self.order(id).map(|order| &order.form);
            form.or_else(|| self.form_shared(id)).map(|form| form.name.as_str())
        })
    }

    /// The sequence number of the newest event; 0 before the first.
    pub fn seq(&self) -> u64 {
        self.seq
    }

    /// The moment of the newest event.
    pub fn newest(&self) -> Option<Moment> {
        self.newest
    }

    /// The newest act of the operator that is not undone, in words.
    pub fn undoable(&self) -> Option<(ActNo, String)> {
        self.trail.newest()
    }
}
