//! What the garments of ordinary work say of a recipe's window: those that were weighed, by what became of them; wash
//! samples; and what customers brought back. `figures/trial` counts them at half weight, and says how they lean.

use std::collections::BTreeSet;

use super::journal::{JournalError, Reader};
use super::records::{self, Record};
use crate::figures::fastness::Grade;
use crate::figures::trial::{Origin, Sample, Seen};
use crate::shop::Shop;
use crate::shop::facts::fact::{Complaint, Fact};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::trouble::Trouble;
use crate::shop::floor::garment::Quality;

/// As many garments are looked at, the newest: more than any trial has.
const MOST: usize = 2000;

/// What is asked of the journal.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    pub recipe: &'a str,
    /// Only garments that were sprayed with this lot.
    pub lot: Option<&'a str>,
    pub limit: Grade,
    pub cycles: u32,
}

/// The samples, and the lots that they are of.
#[derive(Debug, Clone, Default)]
pub struct Evidence {
    pub samples: Vec<Sample>,
    pub lots: BTreeSet<String>,
}

/// Gathers what there is.
///
/// # Errors
/// A row that does not read.
pub fn of(reader: &Reader, wanted: Wanted<'_>) -> Result<Evidence, JournalError> {
    let mut tags = reader.weighed_of(wanted.recipe, MOST)?;
    tags.extend(reader.returns()?.iter().filter_map(|event| match &event.fact {
        Fact::Returned(said) if said.recipe.as_deref() == Some(wanted.recipe) => said.garment,
        _ => None,
    }));
    let part = reader.part_of(&tags)?;
    let opaque = |tag: Tag| {
        !part.events.iter().any(|event| match &event.fact {
            Fact::TroubleNoted(fact) => fact.garment == tag && fact.trouble == Trouble::NotOpaque,
            _ => false,
        })
    };
    let mut evidence = Evidence::default();
    for record in records::of(tags.iter().copied(), &part).values() {
        let is_of_lot = wanted.lot.is_none_or(|lot| record.lots.iter().any(|one| one == lot));
        if !is_of_lot || !has_one_place(&part.shop, record.tag) {
            continue;
        }
        let whole = record.is_finished
            && part.shop.garment(record.tag).is_some_and(|one| one.quality == Quality::First);
        let white = match opaque(record.tag) {
            false => Some(Seen::Passed(false)),
            // It was looked at before it left, and left as first quality.
            true => whole.then_some(Seen::Passed(true)),
        };
        let samples = samples(record, white, wanted);
        if !samples.is_empty() {
            evidence.lots.extend(record.lots.iter().cloned());
        }
        evidence.samples.extend(samples);
    }
    Ok(evidence)
}

/// Of a garment with several places the coat that is known is that of the last one alone.
fn has_one_place(shop: &Shop, tag: Tag) -> bool {
    let line =
        shop.garment(tag).and_then(|one| shop.order(tag.order_id())?.form.lines.get(one.line));
    line.is_none_or(|line| line.places.len() == 1)
}

fn samples(record: &Record, white: Option<Seen>, wanted: Wanted<'_>) -> Vec<Sample> {
    let weighed = record.coat.filter(|(_, by_steam)| !by_steam).map(|(coat, _)| coat);
    let sample =
        move |from, white, wash| Some(Sample { from, aimed: None, coat: weighed?, white, wash });
    let Wanted { limit, cycles, .. } = wanted;
    let tested = record.washes.last();
    let wash =
        tested.and_then(|wash| after(wash.cycles, Seen::Graded(wash.grade), (cycles, limit)));
    let work = (white.is_some() || wash.is_some()).then(|| sample(Origin::Work, white, wash));
    let back = record.returns.iter().filter(|said| said.complaint == Complaint::WashedOut);
    let back = back.filter_map(move |said| {
        let seen = said.grade.map_or(Seen::Passed(false), Seen::Graded);
        // Nobody knows how often: it was too early for the customer.
        let wash = after(said.cycles.unwrap_or(cycles), seen, (cycles, limit))?;
        sample(Origin::Return, None, Some(wash))
    });
    work.flatten().into_iter().chain(back).collect()
}

/// What a print that was looked at after so many washes says of it after others: what passes after more has passed
/// before, what fails after fewer fails.
fn after(washes: u32, seen: Seen, (cycles, limit): (u32, Grade)) -> Option<Seen> {
    let passes = seen.passes(limit);
    match washes.cmp(&cycles) {
        std::cmp::Ordering::Equal => Some(seen),
        std::cmp::Ordering::Greater => passes.then_some(Seen::Passed(true)),
        std::cmp::Ordering::Less => (!passes).then_some(Seen::Passed(false)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_passes_after_more_washes_passed_before_and_what_fails_after_fewer_fails() {
        let grade = |text: &str| Seen::Graded(text.parse().unwrap());
        let asked = (5, "4".parse().unwrap());
        assert_eq!(after(5, grade("3"), asked), Some(grade("3")));
        assert_eq!(after(9, grade("4-5"), asked), Some(Seen::Passed(true)));
        assert_eq!(after(9, grade("3"), asked), None);
        assert_eq!(after(2, grade("3"), asked), Some(Seen::Passed(false)));
        assert_eq!(after(2, grade("5"), asked), None);
    }
}
