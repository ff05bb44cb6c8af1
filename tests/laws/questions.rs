//! The board asks little: how many questions a rehearsed shift comes to, and which steam it asks after.

use std::collections::BTreeSet;

use dwell::forecast::operator::Operator;
use dwell::forecast::shift::{self, Plan};
use dwell::shop::Shop;
use dwell::shop::rules::questions::Question;

use super::world;

/// The questions that arise over a rehearsed shift, each once for as long as it waits; weigh-ins are no questions.
fn asked(garments: u32, presses: usize, seed: u64) -> Vec<String> {
    let profiles = world::shipped();
    let station = shift::station(&profiles.station, presses);
    let recipes = profiles.recipes.clone().into_iter();
    let mut shop = Shop::default();
    let mut waiting: BTreeSet<String> = BTreeSet::new();
    let mut arisen = Vec::new();
    let plan = Plan { seed, garments, presses, until: None };
    let opening = shift::opening(&station, recipes, plan, |_, _| None);
    shift::run(Operator::new(seed), &station, opening, plan, |events| {
        events.iter().for_each(|event| shop.apply(event));
        let questions = shop.questions().into_iter();
        let questions = questions.filter(|question| !matches!(question, Question::Weight(_)));
        let now: BTreeSet<String> = questions.map(|question| format!("{question:?}")).collect();
        arisen.extend(now.difference(&waiting).cloned());
        waiting = now;
    });
    arisen
}

/// Where steam was asked of every garment, shifts like these came to 37 to 41 questions by this count.
#[test]
fn a_shift_of_two_hundred_garments_is_asked_at_most_half_as_much_as_before() {
    for seed in [1, 2, 3] {
        let arisen = asked(200, 2, seed);
        let by_kind = |name: &str| arisen.iter().filter(|one| one.starts_with(name)).count();
        let told =
            format!("seed {seed}: {} questions, {} of steam", arisen.len(), by_kind("Steam"));
        assert!(arisen.len() * 2 <= 37, "{told}: {arisen:?}");
    }
}
