//! A whole made-up shift, run to its end without a clock.

use std::sync::Arc;
use std::time::Duration;

use serde::Serialize;

use super::operator::{Operator, Turn};
use crate::figures::artwork::Limits;
use crate::figures::units::Colour;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact, Timing};
use crate::shop::facts::ids::StationId;
use crate::shop::facts::moment::{Boot, Moment, Up, Wall};
use crate::shop::facts::order::{Artwork, OrderForm, OrderLine};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::recipe::{Recipe, Underbase};
use crate::shop::facts::station::{MOST_PRESSES, PressProfile, Station};
use crate::shop::floor::garment::Queue;
use crate::shop::rules::command::Command;

/// 2026-03-02T08:00:00Z: when every made-up shift begins.
pub const BEGINS: Moment =
    Moment { at: Wall(1_772_438_400_000_000), boot: Boot::MADE_UP, up: Up(0) };

/// Names for the presses of a made-up station.
const NAMES: [&str; MOST_PRESSES] =
    ["Left", "Right", "Window", "Door", "Corner", "Post", "Sink", "Stair", "Yard"];

/// The orders of the scenario, in turn.
const ORDERS: [(&str, &str, &str); 4] = [
    ("Harbour choir", "dark-cotton", "#16181d"),
    ("Lantern walk", "dark-cotton", "#2b2140"),
    ("Allotment fair", "light-cotton", "#f4f1ea"),
    ("Night ferry crew", "dark-cotton", "#0e2a33"),
];

/// The artwork of the scenario, by its file's name.
pub const ART: &str = "harbour-choir.png";

/// What a shift is made of.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    pub seed: u64,
    pub garments: u32,
    pub presses: usize,
    /// Leave it there once so many are finished.
    pub until: Option<usize>,
}

/// What came of a shift.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    pub seed: u64,
    pub garments: u32,
    pub presses: usize,
    pub finished: usize,
    pub out: usize,
    /// Garments that were under way when the shift was left, since it came to no end.
    pub stuck: usize,
    /// Whether it was left because hands acted without end, and not since nothing was finished for long.
    #[serde(skip)]
    pub endless: bool,
    pub wipes: usize,
    /// From the first event to the last.
    pub seconds: f64,
    pub early: usize,
    pub late: usize,
    pub events: u64,
}

/// The station of the scenario: as the profile says, with so many presses.
pub fn station(profile: &Station, presses: usize) -> Station {
    let mut station = profile.clone();
    let dial = station.presses.first().map(|press| press.dial);
    let extra = NAMES.iter().skip(station.presses.len()).filter_map(|name| {
        Some(PressProfile {
            name: (*name).to_owned(),
            dial: dial?,
            pressure: station.presses[0].pressure,
            size: None,
            uses: station.presses[0].uses.clone(),
            opens_itself: false,
        })
    });
    let extra: Vec<PressProfile> = extra.collect();
    station.presses.extend(extra);
    station.presses.truncate(presses);
    station.sounder = None;
    station
}

/// A made-up shift is short: it weighs more often than a real one, so that there is something to learn from.
fn weighed_often((name, recipe): (String, Arc<Recipe>)) -> (String, Arc<Recipe>) {
    const EVERY: u32 = 3;
    if recipe.weigh_every <= EVERY {
        return (name, recipe);
    }
    (name, Arc::new(Recipe { weigh_every: EVERY, ..recipe.as_ref().clone() }))
}

/// The commands that set the scenario up; `look` looks at its artwork on a garment.
pub fn opening(
    station: &Station,
    recipes: impl Iterator<Item = (String, Arc<Recipe>)>,
    plan: Plan,
    look: impl Fn(Colour, Limits) -> Option<Artwork>,
) -> Vec<Command> {
    let mut commands = vec![Command::SetStation(Arc::new(station.clone()))];
    let recipes: Vec<(String, Arc<Recipe>)> = recipes.map(weighed_often).collect();
    let fallback = recipes.first().map(|(name, _)| name.clone()).unwrap_or_default();
    let known = |name: &str| recipes.iter().any(|(known, _)| known == name);
    let mut left = plan.garments;
    let mut forms = Vec::new();
    for (name, recipe, colour) in ORDERS.iter().cycle() {
        if left == 0 {
            break;
        }
        let count =
            left.min(if forms.len() < 3 { plan.garments.div_ceil(4).max(1) } else { left.min(60) });
        left -= count;
        let recipe = if known(recipe) { (*recipe).to_owned() } else { fallback.clone() };
        let text = recipes.iter().find(|(name, _)| *name == recipe).map(|(_, text)| text.as_ref());
        let limits = text.map(|text| text.artwork).unwrap_or_default();
        let garment = colour.parse().unwrap_or(Colour { red: 0, green: 0, blue: 0 });
        let asks = text.is_some_and(|text| text.underbase == Underbase::FromArtwork);
        let seen = look(garment, limits);
        forms.push(form(name, &recipe, garment, count, (asks, seen)));
    }
    let keep = |(name, recipe): &(String, Arc<Recipe>)| Command::KeepRecipe {
        name: name.clone(),
        recipe: Arc::clone(recipe),
    };
    commands.extend(recipes.iter().map(keep));
    commands.extend(forms.into_iter().map(|form| Command::TakeOrder { form, file: None }));
    commands
}

fn form(
    name: &str,
    recipe: &str,
    garment: Colour,
    count: u32,
    (asks, seen): (bool, Option<Artwork>),
) -> OrderForm {
    // Where nobody has looked at the artwork, somebody has said that it is lighter.
    let underbase = asks.then(|| seen.as_ref().is_none_or(|seen| seen.underbase));
    let line = |count, mark: &str| OrderLine {
        art: seen.is_some().then(|| ART.to_owned()),
        mark: mark.to_owned(),
        underbase,
        seen: seen.clone().map(Box::new),
        ..OrderLine::plain(count, recipe, garment)
    };
    let half = count / 2;
    let lines = [line(count - half, "M"), line(half, "L")];
    OrderForm {
        name: name.to_owned(),
        due: None,
        rank: Rank::USUAL,
        shared: false,
        lines: lines.into_iter().filter(|line| line.count > 0).collect(),
    }
}

/// States a command to a made-up shop; its events, or none where it was refused.
pub fn state(shop: &mut Shop, station: StationId, command: &Command, now: Moment) -> Vec<Event> {
    shop.act(station, command, now).unwrap_or_default()
}

/// So long no made-up shop finishes nothing, however slow its printer and whatever it rests.
pub const STUCK: Duration = Duration::from_secs(4 * 3600);

/// Watches over a made-up shift: a rule that leaves a garment stuck must not run for ever.
#[derive(Debug, Clone, Copy)]
pub struct Watch {
    turns: u64,
    done: usize,
    since: Moment,
}

impl Watch {
    /// Over a shift of so many garments that begins now.
    pub fn over(garments: u32, now: Moment) -> Self {
        Self { turns: u64::from(garments) * 2000 + 10_000, done: 0, since: now }
    }

    /// Whether another turn is to be taken: not where nothing was finished for long, nor where hands act without end and no
    /// time passes.
    pub fn sees_on(&mut self, shop: &Shop, now: Moment) -> bool {
        let done = shop.floor().count(Queue::Finished) + shop.floor().count(Queue::Out);
        if done != self.done {
            (self.done, self.since) = (done, now);
        }
        self.turns = self.turns.saturating_sub(1);
        self.turns > 0 && !self.is_idle(now)
    }

    /// Whether nothing was finished for long.
    fn is_idle(&self, now: Moment) -> bool {
        now.since(self.since).span >= STUCK
    }
}

/// Runs a shift to its end, from the commands that open it on. `keep` sees the events of each act.
pub fn run(
    mut operator: Operator,
    station: &Station,
    opening: Vec<Command>,
    plan: Plan,
    mut keep: impl FnMut(&[Event]),
) -> Summary {
    let mut shop = Shop::default();
    let mut count = Counter::default();
    let mut now = BEGINS;
    let mut take = |shop: &mut Shop, command: &Command, now: Moment| {
        let events = state(shop, station.id, command, now);
        count.take(&events);
        keep(&events);
    };
    for command in opening {
        take(&mut shop, &command, now);
    }
    let mut watch = Watch::over(plan.garments, now);
    let over =
        |shop: &Shop| plan.until.is_some_and(|until| shop.floor().count(Queue::Finished) >= until);
    let (mut stuck, mut endless) = (0, false);
    while !over(&shop) {
        if !watch.sees_on(&shop, now) {
            endless = !watch.is_idle(now);
            stuck = shop.floor().all().filter(|garment| !garment.is_done()).count();
            break;
        }
        match operator.turn(&shop, now) {
            Turn::Act(command) => take(&mut shop, &command, now),
            Turn::Until(moment) => now = moment,
            Turn::Done => break,
        }
    }
    let floor = shop.floor();
    Summary {
        seed: plan.seed,
        garments: plan.garments,
        presses: plan.presses,
        finished: floor.count(Queue::Finished),
        out: floor.count(Queue::Out),
        stuck,
        endless,
        wipes: count.wipes,
        seconds: shop.newest().map_or(0.0, |newest| newest.since(BEGINS).seconds()),
        early: count.early,
        late: count.late,
        events: shop.seq(),
    }
}

#[derive(Default)]
struct Counter {
    wipes: usize,
    early: usize,
    late: usize,
}

impl Counter {
    fn take(&mut self, events: &[Event]) {
        for event in events {
            match &event.fact {
                Fact::SheetWiped(_) => self.wipes += 1,
                Fact::PressOpened(opened) if opened.timing == Timing::Early => self.early += 1,
                Fact::PressOpened(opened) if opened.timing == Timing::Late => self.late += 1,
                _ => {}
            }
        }
    }
}
