//! What lies before the shop as a problem for the planner: garments by the way that is still before them.

use std::collections::BTreeMap;

use super::plan::{Begun, Dwell, Group, Kind, Millis, Phase, Problem};
use crate::figures::units::Span;
use crate::shop::Shop;
use crate::shop::garment::{Garment, Place};
use crate::shop::ids::{OrderNo, PressNo};
use crate::shop::moment::Moment;
use crate::shop::order::OrderForm;
use crate::shop::recipe::{Recipe, Spray};
use crate::shop::station::HandTimes;
use crate::shop::step::Step;

/// A garment's way, begun at a step; each of `rounds` goes round once more after the first.
fn route(recipe: &Recipe, fluid: bool, from: Step, rounds: usize, hands: &HandTimes) -> Vec<Phase> {
    let mut route = Vec::new();
    for round in 0..rounds.max(1) {
        let first = if round == 0 { from } else { Step::PrePress };
        for step in Step::ALL.into_iter().filter(|step| *step >= first) {
            let treated = step == Step::Spray || step == Step::Dry;
            if !treated || fluid || (round == 0 && step == from) {
                phases(recipe, step, hands, &mut route);
            }
        }
    }
    route
}

fn millis(span: Span) -> Millis {
    Millis::try_from(span.0.as_millis()).unwrap_or(Millis::MAX / 1000)
}

fn phases(recipe: &Recipe, step: Step, hands: &HandTimes, route: &mut Vec<Phase>) {
    let name = step.name();
    match step {
        Step::Spray => {
            let takes = match recipe.spray {
                Spray::Machine(span) => millis(span),
                _ => millis(hands.spray),
            };
            route.push(Phase::Hand { name, takes });
            if recipe.roll {
                route.push(Phase::Hand { name: "roll", takes: millis(hands.roll) });
            }
        }
        Step::Print => route.push(Phase::Machine {
            name,
            group: Group::Printer,
            load: millis(hands.print_load),
            run: millis(hands.print),
            unload: millis(hands.print_unload),
        }),
        _ => {
            let Some(pressing) = recipe.pressing(step, false) else { return };
            route.push(Phase::Machine {
                name,
                group: Group::Press,
                load: millis(hands.load),
                run: millis(pressing.target),
                unload: millis(hands.unload),
            });
        }
    }
}

/// The garments of an order as it stands in a file.
pub fn of_order(
    form: &OrderForm,
    recipe: impl Fn(&str) -> Option<Recipe>,
    hands: &HandTimes,
) -> Vec<Kind> {
    let kinds = form.lines.iter().filter_map(|line| {
        let recipe = recipe(&line.recipe)?;
        // Where nobody has said yet, white is the longer way and the more likely one.
        let fluid = recipe.wants_fluid(line.underbase.or(Some(true))).unwrap_or(true);
        let route = route(&recipe, fluid, Step::PrePress, line.places.len(), hands);
        Some(Kind { route, count: usize::try_from(line.count).unwrap_or(0) })
    });
    kinds.collect()
}

/// Everything that is under way or waits, as it stands; the shelf is left where it lies.
pub fn of_shop(shop: &Shop, now: Moment, printers: usize) -> Problem {
    let hands = shop.station().map(|station| station.hands).unwrap_or_default();
    let mut counts: BTreeMap<(OrderNo, usize, Step, usize), usize> = BTreeMap::new();
    let mut shut: Vec<(&Garment, PressNo)> = Vec::new();
    for garment in shop.floor().all() {
        match garment.place {
            Place::Waiting(step) => {
                let key = (garment.order(), garment.line, step, garment.round);
                *counts.entry(key).or_default() += 1;
            }
            Place::Undecided => {
                let key = (garment.order(), garment.line, Step::Spray, garment.round);
                *counts.entry(key).or_default() += 1;
            }
            Place::InPress(press) => shut.push((garment, press)),
            Place::Shelf | Place::Finished | Place::Out => {}
        }
    }
    let way = |order: OrderNo, line: usize, step: Step, round: usize| -> Option<Vec<Phase>> {
        let garment = shop.garments_of(order).find(|garment| garment.line == line)?;
        let (_, recipe) = shop.recipe_of(garment)?;
        let fluid = shop.wants_fluid(garment).unwrap_or(true);
        let places = shop.places(garment).len().saturating_sub(round);
        Some(route(recipe, fluid, step, places, &hands))
    };
    let mut kinds: Vec<Kind> = counts
        .into_iter()
        .filter_map(|((order, line, step, round), count)| {
            Some(Kind { route: way(order, line, step, round)?, count })
        })
        .collect();
    let mut begun = Vec::new();
    for (garment, press) in shut {
        let Some(load) = shop.load(press) else { continue };
        let Some(route) = way(garment.order(), garment.line, load.step, garment.round) else {
            continue;
        };
        let target = shop.pressing(load).map_or(0, |pressing| millis(pressing.target));
        let gone = Millis::try_from(load.elapsed(now).span.as_millis()).unwrap_or(target);
        begun.push(Begun { kind: kinds.len(), phase: 0, left: (target - gone).max(0) });
        kinds.push(Kind { route, count: 0 });
    }
    let usable =
        shop.press_numbers().into_iter().filter(|no| shop.out_of_use(*no).is_none()).count();
    let operators = shop.desk().people.len().max(1);
    Problem { presses: usable, printers, operators, dwell: Dwell::Free, kinds, begun }
}
