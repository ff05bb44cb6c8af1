//! Made-up shifts to their end, and what was foreseen of each on the way.

use std::path::Path;

use dwell::forecast::habit::Habit;
use dwell::forecast::made_up::{HeldBack, MadeUp};
use dwell::forecast::operator::Turn;
use dwell::forecast::shift::{self, BEGINS, Watch};
use dwell::forecast::workload;
use dwell::shell::profiles::{self, Profiles};
use dwell::shop::Shop;
use dwell::shop::facts::moment::{Moment, Wall};
use dwell::shop::floor::garment::Queue;

use crate::scores::Draws;

/// Asked when so many percent are finished.
pub const MARKS: [u32; 3] = [25, 50, 75];

/// What was foreseen at a mark, and what came, in seconds from then.
pub struct Told {
    pub mark: u32,
    pub draws: Draws,
    pub truth: f64,
    /// How much longer than by the plain rule the shop is taken to be.
    pub longer: f64,
}

/// What is kept of a shift.
pub struct Shift {
    pub shop: u64,
    pub held_back: HeldBack,
    pub presses: usize,
    pub people: usize,
    pub printers: usize,
    pub told: Vec<Told>,
}

/// The profiles of the source tree.
pub fn profiles() -> Profiles {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("profiles");
    profiles::load(Some(&directory)).unwrap_or_else(|wrong| panic!("{wrong}"))
}

/// A shift of a shop to its end; where nothing is foreseen there are no draws.
pub fn shift(profiles: &Profiles, no: u64, seed: u64, foresees: bool) -> Shift {
    let made_up = MadeUp::of(no);
    let station = made_up.station(&profiles.station);
    let recipes = profiles.recipes.iter().map(|(name, recipe)| (name.clone(), recipe.clone()));
    let plan = made_up.plan(seed, None);
    let (mut shop, mut now) = (Shop::default(), BEGINS);
    shop.set_zone(jiff::tz::TimeZone::UTC);
    for command in made_up.opening(&station, recipes, plan, |_, _| None) {
        shift::state(&mut shop, station.id, &command, now);
    }
    let mut operator = made_up.operator(seed);
    let mut watch = Watch::over(made_up.garments, now);
    let mut asked: Vec<(u32, (Draws, f64), Wall)> = Vec::new();
    // What is wiped and probed once the last garment is done is nobody's wait.
    let (mut finished, mut end) = (0, now.at);
    let mut over = false;
    while watch.sees_on(&shop, now) {
        let done = shop.floor().count(Queue::Finished) + shop.floor().count(Queue::Out);
        if done != finished {
            (finished, end) = (done, now.at);
        }
        if let Some(mark) = MARKS.get(asked.len())
            && done * 100 >= (made_up.garments * mark) as usize
        {
            let foreseen = if foresees { foresee(&shop, now) } else { (Draws::default(), 1.0) };
            asked.push((*mark, foreseen, now.at));
        }
        match operator.turn(&shop, now) {
            Turn::Act(command) => drop(shift::state(&mut shop, station.id, &command, now)),
            Turn::Until(moment) => now = moment,
            Turn::Done => {
                over = true;
                break;
            }
        }
    }
    if !over {
        println!("  LEFT OUT: shop {no}, seed {seed}: {finished} are done, the rest is stuck");
        asked.clear();
    }
    let told = asked.into_iter().map(|(mark, (draws, longer), at)| Told {
        mark,
        draws,
        longer,
        truth: (end - at).as_secs_f64(),
    });
    Shift {
        shop: no,
        held_back: made_up.held_back,
        presses: made_up.presses,
        people: made_up.crew.people.len(),
        printers: made_up.crew.printers,
        told: told.collect(),
    }
}

/// When each draw has all of it done, by the wall clock, in seconds from now; and how much longer than by the rule.
fn foresee(shop: &Shop, now: Moment) -> (Draws, f64) {
    let Some(work) = workload::of_shop(shop, now) else { return (Draws::default(), 1.0) };
    let habit = Habit::of(&work.past);
    let foreseen = habit.foresee(&work.problem, &[], 1);
    let at = |end: f64| (work.calendar.done_at(now.at, end) - now.at).as_secs_f64();
    (Draws::of(foreseen.ends().map(at).collect()), habit.factor())
}
