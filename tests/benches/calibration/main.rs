//! How often the truth lies below what was foreseen, at made-up shops of every kind: `cargo bench --bench calibration`.
//!
//! Shops from 10001 on, which nothing was fitted on; `-- FIRST SHOPS` takes others, so many in all, and
//! `-- FIRST SHOPS ROUNDS` so many seeds of a shop for what a perfect knowledge of the spread would say.

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Instant;

use dwell::forecast::habit::Habit;
use dwell::forecast::made_up::{HeldBack, MadeUp};
use dwell::forecast::operator::Turn;
use dwell::forecast::shift::{self, BEGINS};
use dwell::forecast::workload;
use dwell::shell::profiles::{self, Profiles};
use dwell::shop::Shop;
use dwell::shop::facts::moment::Wall;
use dwell::shop::floor::garment::Queue;

/// Asked when so many percent are finished.
const MARKS: [u32; 3] = [25, 50, 75];

/// What was foreseen at a mark, in seconds from then, and what came.
#[derive(Debug, Clone, Copy)]
struct Told {
    mark: u32,
    p10: f64,
    p50: f64,
    p90: f64,
    truth: f64,
}

/// What is kept of a shift.
struct Shift {
    held_back: HeldBack,
    presses: usize,
    people: usize,
    printers: usize,
    told: Vec<Told>,
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if !std::env::args().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench calibration");
        return;
    }
    let number =
        |n: usize, usual: u64| words.get(n).and_then(|word| word.parse().ok()).unwrap_or(usual);
    let (first, shops, rounds) = (number(0, 10_001), number(1, 1000), number(2, 200));
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("profiles");
    let profiles = profiles::load(Some(&directory)).unwrap_or_else(|wrong| panic!("{wrong}"));
    let started = Instant::now();
    let shifts: Vec<Shift> =
        (first..first + shops).map(|no| shift(&profiles, no, no, true)).collect();
    println!(
        "\nForecasts of {shops} made-up shops from {first} on, a shift of each, seed as the shop"
    );
    println!(
        "  {:<22} {:>6} {:>10} {:>10} {:>10} {:>10} {:>8}",
        "shops", "asked", "below P50", "below P90", "below P10", "off", "wide"
    );
    row("all", shifts.iter().flat_map(|shift| &shift.told));
    for kind in HeldBack::ALL {
        let own = shifts.iter().filter(|shift| shift.held_back == kind);
        row(&format!("held back by {}", kind.words()), own.flat_map(|shift| &shift.told));
    }
    for mark in MARKS {
        let told = shifts.iter().flat_map(|shift| &shift.told).filter(|told| told.mark == mark);
        row(&format!("{mark} % finished"), told);
    }
    let mut by: BTreeMap<String, Vec<&Told>> = BTreeMap::new();
    for shift in &shifts {
        for (count, what) in
            [(shift.presses, "presses"), (shift.people, "people"), (shift.printers, "printers")]
        {
            by.entry(format!("{what}: {count}")).or_default().extend(&shift.told);
        }
    }
    for (what, told) in by {
        row(&what, told.into_iter());
    }
    println!("  took {:.0} s", started.elapsed().as_secs_f64());
    if rounds > 0 {
        perfect(&profiles, first, rounds);
    }
}

/// How often the truth lay below each mark, by how much the middle was off in the middle, how wide the band is.
#[expect(clippy::cast_precision_loss, reason = "some thousand forecasts")]
fn row<'a>(what: &str, told: impl Iterator<Item = &'a Told>) {
    let told: Vec<&Told> = told.collect();
    let count = told.len().max(1) as f64;
    let below = |of: fn(&Told) -> f64| {
        told.iter().filter(|told| told.truth < of(told)).count() as f64 * 100.0 / count
    };
    let off = median(told.iter().map(|told| told.p50 / told.truth - 1.0).collect());
    let wide = told.iter().map(|told| (told.p90 - told.p10) / told.p50).sum::<f64>() / count;
    println!(
        "  {what:<22} {:>6} {:>8.1} % {:>8.1} % {:>8.1} % {:>+8.1} % {:>6.1} %",
        told.len(),
        below(|told| told.p50),
        below(|told| told.p90),
        below(|told| told.p10),
        off * 100.0,
        wide * 100.0
    );
}

fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(0.0)
}

/// The band beside that of somebody who knows how a shop's shifts scatter: the same shop with so many seeds.
#[expect(clippy::cast_precision_loss, reason = "some hundred seeds")]
fn perfect(profiles: &Profiles, first: u64, rounds: u64) {
    println!(
        "\nThe band beside that of {rounds} seeds of the same shop, at a quarter, half, three quarters"
    );
    let mut all = Vec::new();
    // Two shops of each kind.
    for no in first..first + 10 {
        // The forecasts of some of the seeds tell how wide they are.
        let asked = rounds.min(10);
        let shifts: Vec<Shift> =
            (1..=rounds).map(|seed| shift(profiles, no, seed, seed <= asked)).collect();
        let ratio = |mark: u32| {
            let of = |shift: &'_ Shift| shift.told.iter().find(|told| told.mark == mark).copied();
            let mut truths: Vec<f64> =
                shifts.iter().filter_map(of).map(|told| told.truth).collect();
            truths.sort_by(f64::total_cmp);
            let at = |share: usize| truths.get(truths.len() * share / 100).copied().unwrap_or(0.0);
            let own = shifts.iter().take(asked as usize).filter_map(of);
            let own: Vec<f64> = own.map(|told| told.p90 - told.p10).collect();
            let own = own.iter().sum::<f64>() / own.len().max(1) as f64;
            own / (at(90) - at(10)).max(1.0)
        };
        let ratios = MARKS.map(ratio);
        let words = MaybeKind(no).words();
        println!(
            "  shop {no}, {words:<10} {:>5.2}x {:>5.2}x {:>5.2}x",
            ratios[0], ratios[1], ratios[2]
        );
        all.extend(ratios);
    }
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    println!("  all {mean:.2}x, the middle one {:.2}x", median(all));
}

struct MaybeKind(u64);

impl MaybeKind {
    fn words(&self) -> &'static str {
        MadeUp::of(self.0).held_back.words()
    }
}

/// A shift to its end, and what was foreseen at each mark.
fn shift(profiles: &Profiles, no: u64, seed: u64, foresees: bool) -> Shift {
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
    let mut asked: Vec<(u32, [Wall; 3], Wall)> = Vec::new();
    loop {
        let done = shop.floor().count(Queue::Finished) + shop.floor().count(Queue::Out);
        if let Some(mark) = MARKS.get(asked.len())
            && done * 100 >= (made_up.garments * mark) as usize
        {
            let foreseen = if foresees { foresee(&shop, now) } else { [now.at; 3] };
            asked.push((*mark, foreseen, now.at));
        }
        match operator.turn(&shop, now) {
            Turn::Act(command) => drop(shift::state(&mut shop, station.id, &command, now)),
            Turn::Until(moment) => now = moment,
            Turn::Done => break,
        }
    }
    let end = shop.newest().map_or(now.at, |newest| newest.at);
    let told = asked.into_iter().map(|(mark, foreseen, at)| {
        let [p10, p50, p90] = foreseen.map(|one| (one - at).as_secs_f64());
        Told { mark, p10, p50, p90, truth: (end - at).as_secs_f64() }
    });
    Shift {
        held_back: made_up.held_back,
        presses: made_up.presses,
        people: made_up.crew.people.len(),
        printers: made_up.crew.printers,
        told: told.collect(),
    }
}

fn foresee(shop: &Shop, now: dwell::shop::facts::moment::Moment) -> [Wall; 3] {
    let Some(work) = workload::of_shop(shop, now) else { return [now.at; 3] };
    let finish = Habit::of(&work.past).finish(&work.problem, 1);
    [finish.p10, finish.p50, finish.p90].map(|after| work.calendar.done_at(now.at, after))
}
