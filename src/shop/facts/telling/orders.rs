//! Orders and blanks in words.

use super::telling;
use crate::shop::facts::fact::{
    BlankAdded, BlankGivenUp, BlankReturned, BlanksCounted, ChangeHeard, NewDue, OrderCancelled,
    OrderChanged, OrderTaken, UnderbaseDecided,
};
use crate::shop::facts::ids::{OrderRef, Tag};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::words::counted;

telling!(
    |fact: OrderTaken, _| taken(fact),
    |fact: UnderbaseDecided, order| {
        let whether = if fact.underbase { "an" } else { "no" };
        let line = fact.line + 1;
        format!("{} line {line} needs {whether} underbase", order(fact.order))
    },
    |fact: BlankAdded, _| format!("{} taken in to replace a reject", fact.garment),
    |fact: BlankGivenUp, order| format!("{} stays one short", order(fact.order.into())),
    |fact: BlanksCounted, order| fact.in_words(&order(fact.order.into())),
    |fact: OrderChanged, order| changed(fact, &order(fact.order)),
    |fact: ChangeHeard, order| {
        let bench = match fact.bench.as_str() {
            "" => format!("station {}", fact.by.station.letters()),
            bench => bench.to_owned(),
        };
        let said = said(fact.rank, fact.due, fact.cancelled).join(", ");
        format!("{}: {said}, says {bench}", order(OrderRef::Of(fact.order)))
    },
    |fact: OrderCancelled, order| cancelled(fact, &order(fact.order.into())),
    |fact: BlankReturned, _| {
        format!("{} back to the blanks: its order was cancelled", fact.garment)
    },
);

/// An order that was taken in here, laid for all stations, or granted in part.
fn taken(fact: &OrderTaken) -> String {
    let OrderTaken { order, form, .. } = fact;
    let garments = counted(form.count(), "garment");
    match &fact.part {
        _ if fact.shared => {
            format!("order {order} \"{}\" laid for all stations: {garments}", form.name)
        }
        Some(part) => format!(
            "{} of {} \"{}\" taken to make here, as order {order}",
            counted(u64::from(part.count), "garment"),
            part.of,
            form.name
        ),
        None => {
            let again = form.remakes().map(|of| format!(", to make {of} again"));
            let again = again.unwrap_or_default();
            format!("order {order} \"{}\" taken in: {garments}{again}", form.name)
        }
    }
}

/// "order 3: rush, due 2026-12-04T16:00, 4 garments more of line 1".
fn changed(fact: &OrderChanged, order: &str) -> String {
    let more = fact
        .more
        .map(|more| format!("{} more of line {}", counted(more.count, "garment"), more.line + 1));
    let all = fact.shared.then(|| "for all stations".to_owned());
    let what = said(fact.rank, fact.due, fact.cancelled).into_iter().chain(more).chain(all);
    format!("{order}: {}", what.collect::<Vec<_>>().join(", "))
}

/// What is said of an order: "a rush", "due 2026-12-04T16:00", "cancelled".
fn said(rank: Option<Rank>, due: Option<NewDue>, cancelled: bool) -> Vec<String> {
    let rank = rank.map(|rank| rank.words().to_owned());
    let due = due.map(|due| match due.due() {
        Some(due) => format!("due {due}"),
        None => "no due time".to_owned(),
    });
    let cancelled = cancelled.then(|| "cancelled".to_owned());
    [rank, due, cancelled].into_iter().flatten().collect()
}

/// "order 3 cancelled: 12 blanks back, 2 under way: finish them".
fn cancelled(fact: &OrderCancelled, order: &str) -> String {
    let what = match fact.line {
        Some(line) => format!("fewer of line {}", line + 1),
        None => "cancelled".to_owned(),
    };
    let back =
        (!fact.back.is_empty()).then(|| format!("{} back", counted(count_of(&fact.back), "blank")));
    let under_way = (!fact.under_way.is_empty())
        .then(|| format!("{} under way: {}", fact.under_way.len(), fact.leaves.words()));
    let parts: Vec<String> = [back, under_way].into_iter().flatten().collect();
    format!("{order} {what}: {}", parts.join(", "))
}

fn count_of(tags: &[Tag]) -> u32 {
    u32::try_from(tags.len()).unwrap_or(u32::MAX)
}
