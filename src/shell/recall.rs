//! A return seen from the journal: which garments it may be, what is known of each, and which of the same order may come
//! back as well.

use std::collections::BTreeSet;

use jiff::tz::TimeZone;

use super::journal::{JournalError, Reader};
use super::records::{self, Record};
use crate::figures::money::Money;
use crate::screen::words;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact, ReturnAsked};
use crate::shop::facts::ids::{OrderId, OrderNo, Tag};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::order::OrderLine;
use crate::shop::facts::remade::Remade;
use crate::shop::facts::words::counted;

/// An order that was once taken.
#[derive(Debug, Clone)]
pub struct Taken {
    pub id: OrderId,
    pub name: String,
    pub at: Wall,
    /// Its first garment.
    pub first: Tag,
}

impl Taken {
    fn of(event: &Event) -> Option<Self> {
        let Fact::OrderTaken(fact) = &event.fact else { return None };
        if fact.shared {
            // Its garments are of the orders by which its parts were taken.
            return None;
        }
        let first = Tag { station: event.station, order: fact.order, piece: 1 };
        Some(Self {
            id: first.order_id(),
            name: fact.form.name.clone(),
            at: event.moment.at,
            first,
        })
    }

    /// "A3 Harbour choir, taken 2026-12-04".
    pub fn dated(&self, zone: &TimeZone) -> String {
        format!("{}, taken {}", self.named(), words::day(self.at, zone))
    }

    /// "A3 Harbour choir".
    pub fn named(&self) -> String {
        format!("{} {}", self.id, self.name)
    }
}

/// Every order of a journal, oldest first.
///
/// # Errors
/// A row that does not read.
pub fn orders(reader: &Reader) -> Result<Vec<Taken>, JournalError> {
    Ok(reader.orders_taken()?.iter().filter_map(Taken::of).collect())
}

/// Another garment of the order that may come back, and what it has in common with one that did.
#[derive(Debug, Clone)]
pub struct Sibling {
    pub record: Record,
    pub shares: Vec<String>,
}

/// What is known of a return.
#[derive(Debug, Clone)]
pub struct Recall {
    pub order: Taken,
    pub size: String,
    /// The garments that it may be: those with a measured fault first, then the heaviest coat.
    pub candidates: Vec<Record>,
    /// Of the others those at risk: their own faults first, then who shares most.
    pub at_risk: Vec<Sibling>,
    /// How many of the others share nothing.
    pub others: usize,
    /// Garments and orders elsewhere that have the same lot.
    pub elsewhere: Vec<(String, usize, usize)>,
    /// What it costs by today's prices; None where the profile has none.
    pub cost: Option<ReturnCost>,
    /// Orders in which it is made again, and what they say that they make.
    pub again: Vec<(String, String)>,
}

/// What a return costs by today's prices. Hands and presses are left out.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturnCost {
    /// What the customer gets back.
    pub refund: Option<Money>,
    /// Blank, ink and fluid of another one.
    pub again: Money,
    /// What `again` lacks, for want of a price.
    pub no_price: Vec<&'static str>,
    pub money: String,
}

impl ReturnCost {
    fn of(shop: &Shop, candidates: &[Record]) -> Option<Self> {
        let station = shop.station()?;
        let costs = Some(station.costs).filter(|costs| !costs.is_unknown())?;
        let garment = candidates.first().and_then(|record| shop.garment(record.tag));
        let grams = garment.and_then(|one| shop.planned_spray(one)).map_or(0.0, |grams| grams.0);
        let fluid = costs.fluid_kg.map(|price| Money(price.0 * grams / 1000.0));
        let parts = [("blank", costs.blank), ("print", costs.print), ("fluid", fluid)];
        let known = parts.iter().filter_map(|(_, price)| *price);
        Some(Self {
            refund: costs.refund,
            again: Money(known.map(|price| price.0).sum()),
            no_price: parts
                .iter()
                .filter(|(_, price)| price.is_none())
                .map(|part| part.0)
                .collect(),
            money: station.money.clone(),
        })
    }

    fn text(&self, at_risk: usize) -> String {
        let amount = |money: Money| format!("{money} {}", self.money).trim_end().to_owned();
        let refund = self.refund.map_or_else(
            || "no price of a refund".to_owned(),
            |refund| format!("refund {}", amount(refund)),
        );
        let missing = match self.no_price.as_slice() {
            [] => String::new(),
            names => format!(" (no price: {})", names.join(", ")),
        };
        let all = self.refund.filter(|_| at_risk > 0).map_or_else(String::new, |refund| {
            format!(
                "; up to {} if all {at_risk} at risk come back",
                amount(Money(refund.0 * at_risk as f64))
            )
        });
        format!(
            "cost: {refund}, another one {}{missing}, hands and presses left out{all}",
            amount(self.again)
        )
    }
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum NoRecall {
    #[error("{0}: its board knows what it made")]
    OfAnother(String),
    #[error("no order {0} is known here")]
    NoOrder(OrderNo),
    #[error("no finished garment {0} is known here")]
    NoGarment(Tag),
    #[error("no finished garment of {order} has size {size}; there are: {known}")]
    NoSize { order: String, size: String, known: String },
    #[error("no garment of {0} is finished yet: what came back is of another order")]
    NoneFinished(String),
    #[error(transparent)]
    Journal(#[from] JournalError),
}

/// The orders that make something again, by their names, and what they say that it is. Whether that is meant hangs on
/// the size of their line, too.
pub fn made_again(
    taken: &[Event],
    is_meant: impl Fn(Remade, &str) -> bool,
) -> Vec<(String, String)> {
    let remakes = |event: &Event| {
        let Fact::OrderTaken(fact) = &event.fact else { return None };
        let meant = |line: &OrderLine| line.remakes.is_some_and(|of| is_meant(of, &line.mark));
        fact.form.lines.iter().any(meant).then_some(())?;
        Some((Taken::of(event)?.named(), fact.form.remakes()?))
    };
    taken.iter().filter_map(remakes).collect()
}

/// Looks a return up.
///
/// # Errors
/// An order or a garment that is not known, a size that it has not, a row that does not read.
pub fn of(reader: &Reader, asked: &ReturnAsked) -> Result<Recall, NoRecall> {
    let all = orders(reader)?;
    let order = all.into_iter().find(|one| one.id == asked.order);
    let order = match order {
        Some(order) => order,
        None => {
            let ground = reader.part_of(&BTreeSet::new())?.shop;
            let whose = ground.whose(asked.order).map(NoRecall::OfAnother);
            return Err(whose.unwrap_or(NoRecall::NoOrder(asked.order.no)));
        }
    };
    let tags = reader.tags_of(order.first)?;
    let part = reader.part_of(&tags)?;
    let finished = records::of(tags, &part).into_values().filter(|record| record.is_finished);
    let finished: Vec<Record> = finished.collect();
    if finished.is_empty() {
        return Err(NoRecall::NoneFinished(order.named()));
    }
    let is_meant = |record: &Record| match asked.garment {
        Some(tag) => record.tag == tag,
        None => asked.size.is_empty() || record.size.eq_ignore_ascii_case(&asked.size),
    };
    let known = sizes(&finished);
    let (mut candidates, siblings): (Vec<Record>, Vec<Record>) =
        finished.into_iter().partition(is_meant);
    if candidates.is_empty() {
        return Err(match asked.garment {
            Some(tag) => NoRecall::NoGarment(tag),
            None => NoRecall::NoSize { order: order.named(), size: asked.size.clone(), known },
        });
    }
    let weight = |record: &Record| record.coat.map_or(0.0, |(coat, _)| coat.0);
    candidates.sort_by(|a, b| {
        let faults = b.faults.len().cmp(&a.faults.len());
        faults.then(weight(b).total_cmp(&weight(a))).then(a.tag.cmp(&b.tag))
    });
    let (at_risk, others) = at_risk(&candidates, siblings);
    let elsewhere = elsewhere(reader, &candidates, order.id)?;
    let (size, cost) = (asked.size.clone(), ReturnCost::of(&part.shop, &candidates));
    let again = made_again(&reader.remakes()?, |of, size| {
        candidates.iter().any(|record| of.may_be(size, (record.tag, &record.size)))
    });
    Ok(Recall { order, size, candidates, at_risk, others, elsewhere, cost, again })
}

fn sizes(records: &[Record]) -> String {
    let sizes: BTreeSet<&str> = records.iter().map(|record| record.size.as_str()).collect();
    let named: Vec<&str> = sizes.into_iter().filter(|size| !size.is_empty()).collect();
    if named.is_empty() { "none, its sizes were not entered".to_owned() } else { named.join(", ") }
}

/// What two garments have in common that could take a print off: the lot, the day's press of the cure.
fn shared(one: &Record, other: &Record) -> Vec<String> {
    const DAY: i64 = 86_400_000_000;
    let lots = one.lots.iter().filter(|lot| other.lots.contains(lot));
    let mut shares: Vec<String> = lots.map(|lot| format!("lot {lot}")).collect();
    if let (Some(here), Some(there)) = (one.cured, other.cured)
        && here.press == there.press
        && (here.at.0 - there.at.0).abs() < DAY
    {
        shares.push(format!("cured in press {} within a day", here.press));
    }
    shares
}

fn at_risk(candidates: &[Record], siblings: Vec<Record>) -> (Vec<Sibling>, usize) {
    let all = siblings.len();
    let sibling = |record: Record| {
        let shares: BTreeSet<String> =
            candidates.iter().flat_map(|candidate| shared(candidate, &record)).collect();
        Sibling { shares: shares.into_iter().collect(), record }
    };
    let is_at_risk = |one: &Sibling| !one.shares.is_empty() || !one.record.faults.is_empty();
    let mut at_risk: Vec<Sibling> = siblings.into_iter().map(sibling).filter(is_at_risk).collect();
    at_risk.sort_by_key(|one| {
        let (faults, shares) = (one.record.faults.len(), one.shares.len());
        (std::cmp::Reverse(faults), std::cmp::Reverse(shares), one.record.tag)
    });
    let others = all - at_risk.len();
    (at_risk, others)
}

fn elsewhere(
    reader: &Reader,
    candidates: &[Record],
    order: OrderId,
) -> Result<Vec<(String, usize, usize)>, JournalError> {
    let lots: BTreeSet<&String> = candidates.iter().flat_map(|record| &record.lots).collect();
    let mut found = Vec::new();
    for lot in lots {
        let tags = reader.sprayed_with(lot)?.unwrap_or_default();
        let tags: Vec<Tag> = tags.into_iter().filter(|tag| tag.order_id() != order).collect();
        let orders: BTreeSet<OrderId> = tags.iter().map(|tag| tag.order_id()).collect();
        if !tags.is_empty() {
            found.push((lot.clone(), tags.len(), orders.len()));
        }
    }
    Ok(found)
}

/// As many of those at risk are listed; the others are counted.
const MOST_LISTED: usize = 12;

impl Recall {
    /// In lines.
    pub fn lines(&self, zone: &TimeZone) -> Vec<String> {
        let size =
            if self.size.is_empty() { String::new() } else { format!(", size {}", self.size) };
        let one = self.candidates.len() == 1;
        let which = if one { "it is" } else { "it may be one of" };
        let likeliest = if one { "" } else { " (measured faults first, then the heaviest coat)" };
        let mut lines = vec![
            format!("came back: {}{size}", self.order.dated(zone)),
            format!("{which} {}{likeliest}", counted(self.candidates.len(), "garment")),
        ];
        lines.extend(self.candidates.iter().map(|record| {
            let cured = record.cured.map(|cured| format!(" on {}", words::day(cured.at, zone)));
            format!(
                "  {:<8} {}{}",
                record.tag.to_string(),
                record.made_with(),
                cured.unwrap_or_default()
            )
        }));
        lines.push(match (self.at_risk.len(), self.others) {
            (0, 0) => "nothing else of this order is finished".to_owned(),
            (0, _) => "no other of this order shares lot or cure".to_owned(),
            (at_risk, 0) => format!("at risk: all others of this order, {at_risk}"),
            (at_risk, others) => {
                format!("at risk: {at_risk} of the {} others of this order", at_risk + others)
            }
        });
        lines.extend(self.at_risk.iter().take(MOST_LISTED).map(|one| {
            let outside = one.record.outside();
            let outside = outside.map_or_else(String::new, |told| format!("; OUTSIDE: {told}"));
            let (tag, size) = (one.record.tag.to_string(), &one.record.size);
            let shares = if one.shares.is_empty() {
                "shares nothing".to_owned()
            } else {
                one.shares.join(", ")
            };
            format!("  {tag:<8} {size:<4} {}: {shares}{outside}", one.record.coat_told())
        }));
        if self.at_risk.len() > MOST_LISTED {
            let more = self.at_risk.len() - MOST_LISTED;
            lines.push(format!("  and {more} more"));
        }
        lines.extend(self.elsewhere.iter().map(|(lot, garments, orders)| {
            let (garments, orders) =
                (counted(*garments, "garment"), counted(*orders, "other order"));
            format!("elsewhere: {garments} of {orders} have lot {lot}: dwell trace --lot {lot}")
        }));
        lines.extend(self.again.iter().map(|(order, of)| format!("made again: {order}, for {of}")));
        lines.extend(self.cost.as_ref().map(|cost| cost.text(self.at_risk.len())));
        lines
    }
}
