//! What the presses are best shut on next: a plan of the next garments, taken only where it gains something.

use super::dispatch;
use super::jobshop::seconds;
use super::plan::{BRISK, Group, Part, Phase};
use super::workload::{Source, Workload};
use crate::shop::facts::step::Step;
use crate::shop::rules::offer::{Advice, Waits};

/// So many garments are planned: what comes after them changes nothing about what comes next.
const HORIZON: usize = 24;
/// A plan that ends less than this much sooner than the plain rule is not worth another habit.
const LEAST_GAIN_S: f64 = 20.0;

/// The advice, with nothing to do next where the plain rule is as good or nothing can be planned.
pub fn of(work: &Workload) -> Advice {
    let mut near = work.problem.clone();
    let mut room = HORIZON.saturating_sub(near.begun.len());
    // What is furthest on its way is nearest to the presses.
    let mut nearest: Vec<usize> = (0..near.kinds.len()).collect();
    let step = |kind: usize| match work.sources.get(kind) {
        Some(Source::Shop(waits)) => waits.step,
        _ => Step::PrePress,
    };
    // A press is offered nothing from the shelf: it is fetched by hand.
    for (kind, source) in near.kinds.iter_mut().zip(&work.sources) {
        kind.count = if matches!(source, Source::Shelf(_)) { 0 } else { kind.count };
    }
    nearest.sort_by_key(|kind| std::cmp::Reverse(step(*kind)));
    for kind in nearest {
        let count = near.kinds[kind].count.min(room);
        near.kinds[kind].count = count;
        room -= count;
    }
    let rule = Advice { binds: work.problem.binds(), ..Advice::default() };
    let Ok(plan) = near.best(BRISK) else { return rule };
    // Advice says what is laid in, and turns no press: what a plan gains by turning one is not had by it.
    if near.laid(&plan).iter().any(|laid| laid.turned_to.is_some()) {
        return rule;
    }
    let gain_s = seconds(dispatch::makespan(&near) - plan.makespan);
    if gain_s < LEAST_GAIN_S {
        return rule;
    }
    let kinds = near.kind_of_each();
    let next = plan.moves.iter().filter(|one| one.part == Part::Load && one.phase == 0);
    let waits = |garment: usize| -> Option<Waits> {
        let kind = *kinds.get(garment)?;
        let pressed = matches!(
            near.kinds[kind].route.first(),
            Some(Phase::Machine { group: Group::Press, .. })
        );
        match work.sources.get(kind)? {
            Source::Shop(waits) if pressed => Some(*waits),
            _ => None,
        }
    };
    Advice { next: next.filter_map(|one| waits(one.garment)).collect(), gain_s, ..rule }
}
