//! What was lost and to what: garments, and the minutes of presses and hands that were given in vain.
//!
//! Counted so: for a garment that is out, or second quality, all press and hand time that it had been given until
//! then; for a step that is done again, the time of the first attempt; for a garment treated again, its pre-press,
//! spray and drying since the last cure; for one shut past its longest time, the press time past the target. Press
//! time is what was recorded; hand time is what `hands` in the station's profile says, not measured. The printer's
//! own minutes are left out. No second is counted twice.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fmt;
use std::time::Duration;

use super::Shop;
use super::fact::{Event, Fact, PressOpened, Timing, TroubleNoted};
use super::garment::Place;
use super::ids::{ActNo, Tag};
use super::moment::Moment;
use super::recipe::Spray;
use super::station::HandTimes;
use super::step::Step;
use super::trouble::{Outcome, Trouble};

/// How far back the board looks.
const A_DAY: Duration = Duration::from_secs(86_400);
/// The most entries of each kind that the board keeps, however fast they come.
const MOST_KEPT: usize = 20_000;

/// What it was lost to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    Trouble(Trouble),
    /// Opened before the recipe's shortest time. It costs minutes only where a trouble is noted for it.
    OpenedEarly,
    /// Shut past the recipe's longest time.
    ShutTooLong,
    /// A coat was laid anew.
    TreatedAgain,
}

impl Cause {
    /// The name as people read it.
    pub fn words(self) -> &'static str {
        match self {
            Cause::Trouble(trouble) => trouble.words(),
            Cause::OpenedEarly => "opened early",
            Cause::ShutTooLong => "shut too long",
            Cause::TreatedAgain => "treated again",
        }
    }
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

/// All that was lost to one cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    pub cause: Cause,
    /// Garments that it happened to, each once.
    pub garments: usize,
    /// How often what became of it was: the step again, second quality, out.
    pub again: usize,
    pub second: usize,
    pub out: usize,
    /// Seconds of presses, and of hands.
    pub press_s: f64,
    pub hand_s: f64,
}

impl Loss {
    /// Minutes of presses and hands together.
    pub fn minutes(&self) -> f64 {
        (self.press_s + self.hand_s) / 60.0
    }
}

/// Time that a garment was given at a step.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Given {
    act: ActNo,
    moment: Moment,
    garment: Tag,
    step: Step,
    press_s: f64,
    hand_s: f64,
    /// The act that showed it to have been in vain.
    in_vain: Option<ActNo>,
}

/// One time that something was lost.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lost {
    act: ActNo,
    moment: Moment,
    garment: Tag,
    cause: Cause,
    outcome: Option<Outcome>,
    press_s: f64,
    hand_s: f64,
}

/// Gathers losses, event by event.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Losses {
    /// How long entries are kept; None: for ever.
    keeps: Option<Duration>,
    given: VecDeque<Given>,
    lost: VecDeque<Lost>,
}

impl Losses {
    /// For a board: keeps the last 24 hours.
    pub fn of_a_day() -> Self {
        Self { keeps: Some(A_DAY), ..Self::default() }
    }

    /// For a report: keeps all, since what is lost today may have been begun weeks ago.
    pub fn of_all_time() -> Self {
        Self::default()
    }

    /// Takes an event that the shop has applied already.
    pub fn take(&mut self, event: &Event, shop: &Shop) {
        self.forget(event.moment);
        match &event.fact {
            Fact::PressOpened(fact) => self.opened(event, fact, shop),
            Fact::HandworkDone(fact) => {
                let hands = spray_seconds(shop, fact.garment);
                self.give(event, fact.garment, fact.step, (0.0, hands));
            }
            Fact::Printed(fact) => {
                let hands = hands(shop);
                let hands = hands.print_load.as_seconds() + hands.print_unload.as_seconds();
                self.give(event, fact.garment, fact.step, (0.0, hands));
            }
            Fact::TroubleNoted(fact) => self.trouble(event, fact, shop),
            Fact::Renewed(fact) => {
                let last_cure = |given: &Given| given.step == Step::Cure;
                let of_coat = |given: &Given| !matches!(given.step, Step::Print | Step::Cure);
                let spent = self.waste(event.act, fact.garment, last_cure, of_coat, usize::MAX);
                self.lose(event, fact.garment, Cause::TreatedAgain, None, spent);
            }
            Fact::Undone(fact) => self.undo(fact.undoes),
            _ => {}
        }
    }

    /// What was lost within `span` before `now`, most costly first.
    pub fn rows(&self, now: Moment, span: Duration) -> Vec<Loss> {
        let mut causes: BTreeMap<Cause, (Loss, BTreeSet<Tag>)> = BTreeMap::new();
        for lost in self.lost.iter().filter(|lost| now.since(lost.moment).span <= span) {
            let (loss, garments) =
                causes.entry(lost.cause).or_insert_with(|| (none(lost.cause), BTreeSet::new()));
            garments.insert(lost.garment);
            loss.garments = garments.len();
            loss.press_s += lost.press_s;
            loss.hand_s += lost.hand_s;
            match lost.outcome {
                Some(Outcome::StepAgain) => loss.again += 1,
                Some(Outcome::SecondQuality) => loss.second += 1,
                Some(Outcome::Out) => loss.out += 1,
                Some(Outcome::GoOn | Outcome::NotNoted) | None => {}
            }
        }
        let mut rows: Vec<Loss> = causes.into_values().map(|(loss, _)| loss).collect();
        rows.sort_by(|one, other| {
            let by_minutes = other.minutes().total_cmp(&one.minutes());
            by_minutes.then(other.garments.cmp(&one.garments))
        });
        rows
    }

    fn opened(&mut self, event: &Event, fact: &PressOpened, shop: &Shop) {
        let target = target_seconds(shop, fact);
        let shut = fact.seconds.unwrap_or(target);
        let hands = hands(shop);
        let hands = hands.load.as_seconds() + hands.unload.as_seconds();
        // What lies past the target is lost already: it is not lost once more with the garment.
        let late = fact.timing == Timing::Late;
        let useful = if late { shut.min(target) } else { shut };
        self.give(event, fact.garment, fact.step, (useful, hands));
        if fact.timing == Timing::Early {
            self.lose(event, fact.garment, Cause::OpenedEarly, None, (0.0, 0.0));
        }
        if late {
            let spent = (shut - useful, 0.0);
            self.lose(event, fact.garment, Cause::ShutTooLong, None, spent);
        }
    }

    fn trouble(&mut self, event: &Event, fact: &TroubleNoted, shop: &Shop) {
        let (act, tag) = (event.act, fact.garment);
        let all = |_: &Given| true;
        let never = |_: &Given| false;
        let spent = match fact.outcome {
            Outcome::Out | Outcome::SecondQuality => self.waste(act, tag, never, all, usize::MAX),
            Outcome::StepAgain => match shop.garment(tag).map(|garment| garment.place) {
                Some(Place::Waiting(step)) => {
                    self.waste(act, tag, never, |given| given.step == step, 1)
                }
                _ => (0.0, 0.0),
            },
            Outcome::GoOn | Outcome::NotNoted => (0.0, 0.0),
        };
        self.lose(event, tag, Cause::Trouble(fact.trouble), Some(fact.outcome), spent);
    }

    fn give(&mut self, event: &Event, garment: Tag, step: Step, (press_s, hand_s): (f64, f64)) {
        let (act, moment) = (event.act, event.moment);
        self.given.push_back(Given { act, moment, garment, step, press_s, hand_s, in_vain: None });
    }

    fn lose(
        &mut self,
        event: &Event,
        garment: Tag,
        cause: Cause,
        outcome: Option<Outcome>,
        (press_s, hand_s): (f64, f64),
    ) {
        let (act, moment) = (event.act, event.moment);
        self.lost.push_back(Lost { act, moment, garment, cause, outcome, press_s, hand_s });
    }

    /// Marks what a garment was given as given in vain, the newest first, back to where `ends` says; seconds of
    /// presses and of hands.
    fn waste(
        &mut self,
        act: ActNo,
        garment: Tag,
        ends: impl Fn(&Given) -> bool,
        wanted: impl Fn(&Given) -> bool,
        most: usize,
    ) -> (f64, f64) {
        let own = self.given.iter_mut().rev().filter(|given| given.garment == garment);
        let mut spent = (0.0, 0.0);
        let back = own.take_while(|given| !ends(given));
        for given in back.filter(|given| given.in_vain.is_none() && wanted(given)).take(most) {
            given.in_vain = Some(act);
            spent = (spent.0 + given.press_s, spent.1 + given.hand_s);
        }
        spent
    }

    fn undo(&mut self, undoes: ActNo) {
        self.given.retain(|given| given.act != undoes);
        self.lost.retain(|lost| lost.act != undoes);
        for given in self.given.iter_mut().filter(|given| given.in_vain == Some(undoes)) {
            given.in_vain = None;
        }
    }

    fn forget(&mut self, now: Moment) {
        let Some(keeps) = self.keeps else { return };
        let old = |moment: Moment| now.since(moment).span > keeps;
        while self.given.len() > MOST_KEPT || self.given.front().is_some_and(|g| old(g.moment)) {
            self.given.pop_front();
        }
        while self.lost.len() > MOST_KEPT || self.lost.front().is_some_and(|l| old(l.moment)) {
            self.lost.pop_front();
        }
    }
}

fn none(cause: Cause) -> Loss {
    Loss { cause, garments: 0, again: 0, second: 0, out: 0, press_s: 0.0, hand_s: 0.0 }
}

fn hands(shop: &Shop) -> HandTimes {
    shop.station().map(|station| station.hands).unwrap_or_default()
}

fn target_seconds(shop: &Shop, fact: &PressOpened) -> f64 {
    let garment = shop.garment(fact.garment);
    let recipe = garment.and_then(|garment| shop.recipe_of(garment));
    let pressing = recipe.and_then(|(_, recipe)| recipe.pressing(fact.step, fact.again));
    pressing.map_or(0.0, |pressing| pressing.target.as_seconds())
}

/// What spraying and rolling one garment takes.
fn spray_seconds(shop: &Shop, tag: Tag) -> f64 {
    let hands = hands(shop);
    let recipe = shop.garment(tag).and_then(|garment| shop.recipe_of(garment));
    let Some((_, recipe)) = recipe else { return hands.spray.as_seconds() };
    let spray = match recipe.spray {
        Spray::Machine(span) => span,
        Spray::Hand | Spray::BoughtTreated => hands.spray,
    };
    let roll = if recipe.roll { hands.roll.as_seconds() } else { 0.0 };
    spray.as_seconds() + roll
}
