//! The forecast against what came of it: rehearsed shifts, asked when some of their garments are finished.
//!
//! The truth is the same shift (the same seed) run to its end. Shops of other kinds: `cargo bench --bench calibration`.

use dwell::forecast::habit::Habit;
use dwell::forecast::operator::{Operator, Turn};
use dwell::forecast::outlook::Finish;
use dwell::forecast::shift::{self, BEGINS};
use dwell::forecast::workload;
use dwell::shell::profiles;
use dwell::shop::Shop;
use dwell::shop::facts::moment::Moment;
use dwell::shop::floor::garment::Queue;
use serde_json::Value;

use crate::bench::Bench;
use crate::number;

const GARMENTS: &str = "200";
const QUARTER: &str = "50";

fn asked(bench: &Bench, args: &[&str]) -> Value {
    let ran = bench.run(args);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
    serde_json::from_str(&ran.out).unwrap()
}

#[test]
fn the_true_finish_lies_in_the_band_in_eight_of_ten_shifts() {
    let bench = Bench::new(2, 20);
    let mut told = Vec::new();
    for seed in 1..=10 {
        let seed = seed.to_string();
        let data = bench.root.path().join(&seed);
        let data = data.to_str().unwrap();
        let shift = ["rehearse", "--headless", "--json", "--seed", &seed, "--garments", GARMENTS];
        let quarter = asked(&bench, &[&shift[..], &["--until", QUARTER, "--data", data]].concat());
        let whole = asked(&bench, &shift);
        let truth = number(&whole, "seconds") - number(&quarter, "seconds");
        let forecast = asked(&bench, &["plan", "--json", "--data", data]);
        let [p10, p50, p90] =
            ["finish_p10", "finish_p50", "finish_p90"].map(|field| number(&forecast, field));
        // A band that says nothing would hold everything.
        assert!(p90 - p10 < 0.15 * p50, "seed {seed}: {p10} to {p90}");
        told.push(((p10..=p90).contains(&truth), seed, truth, p10, p50, p90));
    }
    let inside = told.iter().filter(|(inside, ..)| *inside).count();
    assert!(inside >= 8, "{told:#?}");
}

/// A shift to its end: what was foreseen each time that so many were finished, and how long it took from then on.
fn foreseen(garments: u32, presses: usize, seed: u64, marks: &[usize]) -> Vec<(Finish, f64)> {
    let directory = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("profiles");
    let profiles = profiles::load(Some(&directory)).unwrap_or_else(|wrong| panic!("{wrong}"));
    let station = shift::station(&profiles.station, presses);
    let recipes = profiles.recipes.iter().map(|(name, recipe)| (name.clone(), recipe.clone()));
    let plan = shift::Plan { seed, garments, presses, until: None };
    let (mut shop, mut now) = (Shop::default(), BEGINS);
    for command in shift::opening(&station, recipes, plan, |_, _| None) {
        shift::state(&mut shop, station.id, &command, now);
    }
    let mut operator = Operator::new(seed);
    let mut told: Vec<(Finish, Moment)> = Vec::new();
    loop {
        if marks.get(told.len()).is_some_and(|mark| shop.floor().count(Queue::Finished) >= *mark) {
            let work = workload::of_shop(&shop, now).unwrap();
            told.push((Habit::of(&work.past).finish(&work.problem, 1), now));
        }
        match operator.turn(&shop, now) {
            Turn::Act(command) => drop(shift::state(&mut shop, station.id, &command, now)),
            Turn::Until(moment) => now = moment,
            Turn::Done => break,
        }
    }
    let end = shop.newest().unwrap();
    told.into_iter().map(|(finish, at)| (finish, end.since(at).seconds())).collect()
}

/// Of a thousand ends that are known, a tenth lies below the first mark, a half below the second, and a tenth above the
/// last (percentiles by rank), in whatever order they were drawn.
#[test]
fn the_band_is_of_the_tenth_the_middle_and_the_ninetieth_percentile() {
    // 7 has no divisor in common with 1000: each number from 0 to 999 once.
    let ends: Vec<f64> = (0..1000).map(|n| f64::from(n * 7 % 1000)).collect();
    let Finish { p10, p50, p90 } = Finish::of(ends.clone());
    let below = |mark: f64| ends.iter().filter(|end| **end < mark).count();
    assert_eq!([p10, p50, p90].map(below), [100, 500, 900]);
}

const MOST_OFF: f64 = 0.06;

/// At the first garment, with no history yet, and all the way to the end: in eight of ten the truth lies in the band, at
/// no mark in less than six, and the middle of the band is never far off on average.
#[test]
fn the_band_holds_the_truth_at_every_mark_of_a_shift() {
    let (mut all, mut told) = ((0, 0), Vec::new());
    for (garments, presses) in [(60u32, 3), (200, 2)] {
        let share = |percent: u32| usize::try_from(garments * percent / 100).unwrap();
        let marks = [1, share(10), share(25), share(50), share(75), share(90)];
        let shifts: Vec<_> =
            (1..=10).map(|seed| foreseen(garments, presses, seed, &marks)).collect();
        for (n, mark) in marks.iter().enumerate() {
            let at = || shifts.iter().map(|told| told[n]);
            let inside = at().filter(|(band, truth)| (band.p10..=band.p90).contains(truth)).count();
            let off = at().map(|(band, truth)| band.p50 / truth - 1.0).sum::<f64>() / 10.0;
            let width = at().map(|(band, _)| (band.p90 - band.p10) / band.p50).sum::<f64>() / 10.0;
            let said = format!(
                "{garments} garments, {mark} finished: {inside} of 10, {:+.1} % off, {:.1} % wide",
                off * 100.0,
                width * 100.0
            );
            // Before there is any history the profile may be wrong, and the band is as wide as that.
            let widest = if *mark == 1 { 0.40 } else { 0.26 };
            told.push((inside >= 6 && off.abs() < MOST_OFF && width < widest, said));
            all = (all.0 + inside, all.1 + 10);
        }
    }
    assert!(all.0 * 10 >= all.1 * 8 && told.iter().all(|(holds, _)| *holds), "{all:?} {told:#?}");
}

/// A made-up shift ends, and says so where it cannot: of two people at one print each went on with something else, and it
/// stayed in the printer for ever.
#[test]
fn a_shift_of_a_made_up_shop_ends() {
    let bench = Bench::new(2, 20);
    let shift = ["rehearse", "--headless", "--json", "--shop", "27", "--seed", "27"];
    let ended = asked(&bench, &shift);
    assert_eq!(number(&ended, "stuck"), 0.0, "{ended}");
    let made = number(&ended, "finished") + number(&ended, "out");
    assert!(made >= number(&ended, "garments"), "{ended}");
}
