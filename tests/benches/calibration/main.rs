//! How often the truth lies below what was foreseen, at made-up shops of every kind: `cargo bench --bench calibration`.
//!
//! Shops from 10001 on, which nothing was fitted on; `-- FIRST SHOPS` takes others, so many in all, and
//! `-- FIRST SHOPS ROUNDS` so many seeds of a shop for what a perfect knowledge of the spread would say;
//! `-- FIRST SHOPS ROUNDS FILE.csv` writes each forecast down as well.

mod scores;
mod shifts;

use std::collections::BTreeMap;
use std::time::Instant;

use dwell::forecast::made_up::HeldBack;
use dwell::shell::profiles::Profiles;

use scores::Draws;
use shifts::{MARKS, Shift, Told, shift};

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if !std::env::args().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench calibration");
        return;
    }
    let number =
        |n: usize, usual: u64| words.get(n).and_then(|word| word.parse().ok()).unwrap_or(usual);
    let (first, shops, rounds) = (number(0, 10_001), number(1, 1000), number(2, 200));
    let profiles = shifts::profiles();
    let started = Instant::now();
    let shifts: Vec<Shift> =
        (first..first + shops).map(|no| shift(&profiles, no, no, true)).collect();
    if let Some(path) = words.get(3) {
        std::fs::write(path, written(&shifts)).unwrap_or_else(|wrong| panic!("{path}: {wrong}"));
    }
    println!(
        "\nForecasts of {shops} made-up shops from {first} on, a shift of each, seed as the shop"
    );
    table(&shifts);
    println!("  took {:.0} s", started.elapsed().as_secs_f64());
    beside_scipy(&shifts);
    if rounds > 0 {
        perfect(&profiles, first, rounds);
    }
}

fn table(shifts: &[Shift]) {
    println!(
        "  {:<22} {:>6} {:>10} {:>10} {:>10} {:>10} {:>8} {:>8}",
        "shops", "asked", "below P50", "below P90", "below P10", "off", "wide", "CRPS"
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
    for shift in shifts {
        for (count, what) in
            [(shift.presses, "presses"), (shift.people, "people"), (shift.printers, "printers")]
        {
            by.entry(format!("{what}: {count}")).or_default().extend(&shift.told);
        }
    }
    for (what, told) in by {
        row(&what, told.into_iter());
    }
}

/// How often the truth lay below each mark, by how much the middle was off in the middle, how wide the band is, and the
/// score, as shares of what was still to come.
#[expect(clippy::cast_precision_loss, reason = "some thousand forecasts")]
fn row<'a>(what: &str, told: impl Iterator<Item = &'a Told>) {
    let told: Vec<&Told> = told.collect();
    let count = told.len().max(1) as f64;
    let below = |percent: usize| {
        told.iter().filter(|told| told.truth < told.draws.at(percent)).count() as f64 * 100.0
            / count
    };
    let off = median(told.iter().map(|told| told.draws.at(50) / told.truth - 1.0).collect());
    let mean = |of: fn(&Told) -> f64| told.iter().map(|told| of(told)).sum::<f64>() / count;
    println!(
        "  {what:<22} {:>6} {:>8.1} % {:>8.1} % {:>8.1} % {:>+8.1} % {:>6.1} % {:>6.2} %",
        told.len(),
        below(50),
        below(90),
        below(10),
        off * 100.0,
        mean(|told| told.draws.band() / told.draws.at(50)) * 100.0,
        mean(|told| told.draws.crps(told.truth) / told.truth) * 100.0,
    );
}

/// Each forecast as a row: of which shop, what was foreseen, what came, and the share of the draws below it.
fn written(shifts: &[Shift]) -> String {
    let mut text =
        "shop,kind,presses,people,printers,mark,p10,p50,p90,truth,below,longer\n".to_owned();
    for Shift { shop, held_back, presses, people, printers, told } in shifts {
        for Told { mark, draws, truth, longer } in told {
            let [p10, p50, p90] = [10, 50, 90].map(|percent| draws.at(percent));
            text += &format!(
                "{shop},{},{presses},{people},{printers},{mark},{p10:.0},{p50:.0},{p90:.0},{truth:.0},{:.3},{longer:.4}\n",
                held_back.words(),
                draws.below(*truth)
            );
        }
    }
    text
}

/// The score of some forecasts beside SciPy's.
fn beside_scipy(shifts: &[Shift]) {
    const CHECKED: usize = 50;
    let told = shifts.iter().flat_map(|shift| &shift.told).take(CHECKED);
    let told: Vec<(&Draws, f64)> = told.map(|told| (&told.draws, told.truth)).collect();
    let Some(scores) = scores::by_scipy(&told) else {
        println!(
            "  CRPS not checked: no python3 here has SciPy; install it into a venv at target/scipy"
        );
        return;
    };
    let off = told
        .iter()
        .zip(&scores)
        .map(|((draws, truth), score)| (draws.crps(*truth) - score).abs() / score.max(1e-9));
    let most = off.fold(0.0, f64::max);
    let over = if scores.len() == told.len() && most < 1e-6 { "" } else { "   OVER" };
    println!(
        "  CRPS of {} forecasts beside SciPy's energy_distance: {most:.1e} apart{over}",
        told.len()
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
            let told =
                || shifts.iter().filter_map(|one| one.told.iter().find(|told| told.mark == mark));
            let truths = Draws::of(told().map(|told| told.truth).collect());
            let own: Vec<f64> = told().take(asked as usize).map(|told| told.draws.band()).collect();
            own.iter().sum::<f64>() / own.len().max(1) as f64 / truths.band().max(1.0)
        };
        let ratios = MARKS.map(ratio);
        let words = shifts.first().map_or("", |shift| shift.held_back.words());
        println!(
            "  shop {no}, {words:<10} {:>5.2}x {:>5.2}x {:>5.2}x",
            ratios[0], ratios[1], ratios[2]
        );
        all.extend(ratios);
    }
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    println!("  all {mean:.2}x, the middle one {:.2}x", median(all));
}
