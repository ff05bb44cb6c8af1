//! Six weeks of a made-up shop without a clock: two lots of fluid, a shelf that fills and empties, people who
//! come and go. What a shift is too short to show.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use serde::Serialize;

use super::shift::{self, BEGINS};
use crate::figures::units::{Colour, Grams};
use crate::shop::Shop;
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::fact::{Event, Fact, LotRegistered, SprayerFilled};
use crate::shop::facts::ids::{PressNo, SheetNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::order::{OrderForm, OrderLine};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::Station;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Queue;
use crate::shop::floor::shelf::FIRST_STACK;
use crate::shop::floor::shelved::ShelfState;
use crate::shop::rules::command::{By, Command, Which};

/// The lots of the scenario: the second turns out to be bad.
pub const LOTS: [&str; 2] = ["F-118", "F-204"];
/// The rest of an older lot, used up on the first day.
pub const REST: &str = "F-101";
const INK: &str = "W-31";
/// Grams in a bottle.
const BOTTLE: f64 = 400.0;
/// Of six garments so many go to the shelf, and so many are taken from it: fewer, so that some grow old.
const STORED_OF_SIX: u32 = 4;
const TAKEN_OF_SIX: u32 = 3;

/// On that day the stack goes into a corner, where nobody takes anything from it until it is too old.
const FORGOTTEN_ON: u32 = 2;
const CORNER: &str = "corner";

/// What came of it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Weeks {
    pub weeks: u32,
    pub finished: usize,
    pub on_shelf: usize,
    pub renewed: usize,
    /// Attempts to fill from the ink bottle, and how many of them were stopped.
    pub ink_tried: usize,
    pub ink_stopped: usize,
    /// Garments that were printed past their last day: each is flagged in the journal.
    pub printed_past: usize,
    /// Garments sprayed from the bad lot.
    pub bad: BTreeSet<Tag>,
    pub events: u64,
}

/// A shop whose days go by.
struct Diary<'a> {
    shop: Shop,
    station: &'a Station,
    recipe: String,
    now: Moment,
    keep: &'a mut dyn FnMut(&[Event]),
    a_day: u32,
    found: Weeks,
    /// None for the plain seed: everything takes just its usual time.
    random: Option<Pcg64>,
}

/// The seed with which nothing is drawn.
const PLAIN: u64 = 1;
/// No press is opened more seconds after its target than this.
const MOST_LATE_S: u64 = 4;

/// Runs the weeks, five days each, with so many garments a day, hands and presses as the seed has them. `keep` sees the
/// events of each act.
pub fn run(
    station: &Station,
    recipes: impl Iterator<Item = (String, Arc<Recipe>)>,
    (weeks, a_day, seed): (u32, u32, u64),
    keep: &mut dyn FnMut(&[Event]),
) -> Weeks {
    let recipes: Vec<(String, Arc<Recipe>)> = recipes.collect();
    let wanted = recipes.iter().find(|(name, _)| name == "dark-cotton").or(recipes.first());
    let recipe = wanted.map(|(name, _)| name.clone()).unwrap_or_default();
    let found = Weeks { weeks, ..Weeks::default() };
    let random = (seed != PLAIN).then(|| Pcg64::seed_from_u64(seed));
    let (shop, now) = (Shop::default(), BEGINS);
    let mut diary = Diary { shop, station, recipe, now, keep, a_day, found, random };
    diary.say(Command::SetStation(Arc::new(station.clone())));
    for (name, recipe) in recipes {
        // Weighing is a shift's business; here it would only take time.
        let recipe = Arc::new(Recipe { weigh_every: 0, ..recipe.as_ref().clone() });
        diary.say(Command::KeepRecipe { name, recipe });
    }
    diary.bottles();
    for day in 0..weeks * 7 {
        if day % 7 < 5 {
            diary.day(day, weeks);
        }
        diary.now = BEGINS.plus(Duration::from_secs(u64::from(day + 1) * 86_400));
    }
    diary.found.finished = diary.shop.floor().count(Queue::Finished);
    diary.found.on_shelf = diary.shop.floor().count(Queue::Shelf);
    diary.found.events = diary.shop.seq();
    diary.found
}

impl Diary<'_> {
    /// States a command; whether it was taken.
    fn say(&mut self, command: Command) -> bool {
        let events = shift::state(&mut self.shop, self.station.id, &command, self.now);
        for event in &events {
            match &event.fact {
                Fact::HandworkDone(fact) if fact.lots.iter().any(|lot| lot == LOTS[1]) => {
                    self.found.bad.insert(fact.garment);
                }
                Fact::Printed(fact) if fact.past_day => self.found.printed_past += 1,
                Fact::Renewed(_) => self.found.renewed += 1,
                _ => {}
            }
        }
        (self.keep)(&events);
        !events.is_empty()
    }

    fn wait(&mut self, seconds: u64) {
        self.now = self.now.plus(Duration::from_secs(seconds));
    }

    /// What hands take about so long for, as the seed has it.
    fn take_about(&mut self, seconds: u64) {
        let off = self.random.as_mut().map_or(0, |random| random.random_range(0..=seconds / 2));
        self.wait(seconds - seconds / 4 + if self.random.is_some() { off } else { seconds / 4 });
    }

    /// Seconds by which a press is opened after its target.
    fn late(&mut self) -> u64 {
        self.random.as_mut().map_or(0, |random| random.random_range(0..=MOST_LATE_S))
    }

    fn bottles(&mut self) {
        let labels = [
            (REST, Contents::PretreatmentFluid, "booth"),
            (LOTS[0], Contents::PretreatmentFluid, "booth"),
            (LOTS[1], Contents::PretreatmentFluid, "booth"),
            (INK, Contents::Ink, "cellar"),
        ];
        for (lot, contents, place) in labels {
            self.say(Command::RegisterLot(LotRegistered {
                lot: lot.to_owned(),
                contents,
                best_before: None,
                place: place.to_owned(),
            }));
        }
    }

    fn fill(&mut self, lot: &str) -> bool {
        self.say(Command::FillSprayer(SprayerFilled {
            lot: lot.to_owned(),
            grams: Grams(BOTTLE),
            scanned: true,
            over: None,
            fluid: None,
        }))
    }

    fn day(&mut self, day: u32, weeks: u32) {
        self.say(Command::Sign("AK".into()));
        self.say(Command::SayFan(Some(true)));
        if day.is_multiple_of(7) {
            // On Mondays somebody reaches for the wrong bottle.
            self.found.ink_tried += 1;
            self.found.ink_stopped += usize::from(!self.fill(INK));
        }
        let lot = match day {
            0 => REST,
            day => LOTS[usize::from(day >= weeks * 7 / 2)],
        };
        if !self.shop.supplies().filling.lots.is_empty() {
            self.say(Command::FlushSprayer);
        }
        self.fill(lot);
        self.empty_the_shelf();
        self.take_an_order(day);
        self.treat(lot);
        let stack = if day == FORGOTTEN_ON { CORNER } else { FIRST_STACK };
        self.say(Command::NameStack(stack.into()));
        let stored = u16::try_from((self.a_day * STORED_OF_SIX).div_ceil(6)).unwrap_or(u16::MAX);
        self.say(Command::Store(Which::First(stored)));
        self.print_and_cure();
        self.wipe();
        self.say(Command::FlushSprayer);
        self.say(Command::CloseShift);
    }

    fn wipe(&mut self) {
        let used: Vec<SheetNo> = self
            .shop
            .sheets()
            .all()
            .filter(|sheet| sheet.presses > 0)
            .map(|sheet| sheet.no)
            .collect();
        for sheet in used {
            self.say(Command::CleanSheet(sheet));
        }
    }

    fn take_an_order(&mut self, day: u32) {
        let line = OrderLine {
            mark: "M".into(),
            underbase: Some(true),
            ..OrderLine::plain(
                self.a_day,
                &self.recipe,
                Colour { red: 0x16, green: 0x18, blue: 0x1d },
            )
        };
        let form = OrderForm {
            name: format!("Day {}", day + 1),
            rank: Rank::USUAL,
            due: None,
            shared: false,
            lines: vec![line],
        };
        self.say(Command::TakeOrder { form, file: None });
    }

    fn press(&mut self, garment: Tag, by: By) {
        let press = PressNo(1);
        self.say(Command::Shut { press, garment, by });
        let pressing = self.shop.load(press).and_then(|load| self.shop.pressing(load));
        let late = self.late();
        self.wait(pressing.map_or(1, |pressing| pressing.target.0.as_secs()) + late);
        self.say(Command::Open { press });
        self.say(Command::SaySteam { garment, said: crate::shop::facts::fact::Steam::Gone });
        self.take_about(10);
    }

    fn waiting(&self, step: Step) -> Vec<Tag> {
        self.shop.floor().waiting(step).map(|garment| garment.tag).collect()
    }

    fn treat(&mut self, lot: &str) {
        for step in [Step::PrePress, Step::Spray, Step::Dry] {
            for tag in self.waiting(step) {
                if step == Step::Spray {
                    if self.shop.sprays_left() == Some(0) {
                        self.fill(lot);
                    }
                    self.take_about(30);
                    self.say(Command::HandworkDone(Which::Tagged(tag)));
                } else {
                    self.press(tag, By::Scan);
                }
            }
        }
    }

    fn print_and_cure(&mut self) {
        for tag in self.waiting(Step::Print) {
            self.take_about(200);
            self.say(Command::Printed(Which::Tagged(tag)));
            self.press(tag, By::Scan);
        }
    }

    /// The oldest go to print; those past their day are treated again, all but one that is wanted at once.
    fn empty_the_shelf(&mut self) {
        let today = self.shop.today(self.now);
        let state = |tag: &Tag| {
            let shelved = self.shop.garment(*tag).and_then(|garment| garment.shelved.as_deref());
            shelved.map(|shelved| shelved.state(today))
        };
        let all: Vec<Tag> =
            self.shop.floor().queue(Queue::Shelf).map(|garment| garment.tag).collect();
        let past: Vec<Tag> =
            all.iter().copied().filter(|tag| state(tag) == Some(ShelfState::Past)).collect();
        let in_corner = |tag: &Tag| {
            let shelved = self.shop.garment(*tag).and_then(|garment| garment.shelved.as_deref());
            shelved.is_some_and(|shelved| &*shelved.stack == CORNER)
        };
        let good: Vec<Tag> =
            all.into_iter().filter(|tag| !past.contains(tag) && !in_corner(tag)).collect();
        let wanted = past.first().copied().filter(|_| self.found.printed_past == 0);
        for tag in past.into_iter().filter(|tag| Some(*tag) != wanted) {
            self.say(Command::Renew(tag));
        }
        let taken = usize::try_from((self.a_day * TAKEN_OF_SIX).div_ceil(6)).unwrap_or(1);
        for tag in wanted.into_iter().chain(good.into_iter().take(taken)) {
            self.press(tag, By::Scan);
        }
        self.print_and_cure();
    }
}
