//! Parts of the journal: one garment's events, those of a lot's garments, those that a press has seen.
//!
//! Each is found by an index, so that it costs what it holds and not what the journal has grown to. What was
//! taken back is left out.

use std::collections::{BTreeSet, HashSet};
use std::sync::Arc;

use rusqlite::{ToSql, params};

use super::reader::OWN;
use super::row::{COLUMNS, Stored};
use super::views::{GARMENT, LOT, OF_ORDER, ORDER, RARE, UNDOES};
use super::{JournalError, Reader};
use crate::shop::Shop;
use crate::shop::books::ledger::Ledger;
use crate::shop::books::openings::Openings;
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::ids::{ActNo, OrderNo, PressNo, Tag};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::station::Station;

/// Some garments' events and what they rest on, in order.
#[derive(Debug, Default)]
pub struct Part {
    pub events: Vec<Event>,
    /// The shop as far as these events tell: where the garments are now.
    pub shop: Shop,
    /// Every opening among them.
    pub openings: Openings,
}

/// When fluid of a lot was in the sprayer: from a fill to the next flushing, by numbers of events.
type Spans = Vec<(u64, u64)>;

impl Reader {
    fn rows(&self, filter: &str, given: impl rusqlite::Params) -> Result<Vec<Event>, JournalError> {
        let sql = format!("SELECT {COLUMNS} FROM events WHERE {filter} ORDER BY seq");
        let mut statement = self.connection().prepare_cached(&sql)?;
        let mut rows = statement.query(given)?;
        let mut events = Vec::new();
        while let Some(row) = rows.next()? {
            events.push(Stored::read(row)?.event()?);
        }
        Ok(events)
    }

    /// The first event of a filter about a number, in an order, in a list of its own.
    fn end_of(&self, filter: &str, order: &str, number: i64) -> Result<Vec<Event>, JournalError> {
        let sql =
            format!("SELECT {COLUMNS} FROM events WHERE {filter} ORDER BY seq {order} LIMIT 1");
        let mut statement = self.connection().prepare_cached(&sql)?;
        let mut rows = statement.query([number])?;
        let row = rows.next()?.map(Stored::read).transpose()?;
        row.map(|row| row.event()).into_iter().collect()
    }

    /// Events of one rare kind, in order, without what was taken back.
    fn of_kind(&self, kind: &str) -> Result<Vec<Event>, JournalError> {
        let mut events = self.rows(&format!("kind = ?1 AND {RARE}"), [kind])?;
        self.drop_undone(&mut events)?;
        Ok(events)
    }

    /// Leaves out what was taken back: asked act by act where there are few, else learned all at
    /// once between the first and the last.
    fn drop_undone(&self, events: &mut Vec<Event>) -> Result<(), JournalError> {
        const MANY: usize = 500;
        let number = |act: ActNo| i64::try_from(act.0).unwrap_or(i64::MAX);
        let mut undone: HashSet<i64> = HashSet::new();
        if events.len() > MANY {
            let acts = || events.iter().map(|event| number(event.act));
            let ends = (acts().min().unwrap_or(0), acts().max().unwrap_or(0));
            let sql = format!(
                "SELECT {UNDOES} FROM events WHERE kind = 'undone' AND {UNDOES} BETWEEN ?1 AND ?2"
            );
            let mut statement = self.connection().prepare_cached(&sql)?;
            let mut rows = statement.query(ends)?;
            while let Some(row) = rows.next()? {
                undone.extend(row.get::<_, Option<i64>>(0)?);
            }
        } else {
            let sql = format!("SELECT 1 FROM events WHERE kind = 'undone' AND {UNDOES} = ?1");
            let mut statement = self.connection().prepare_cached(&sql)?;
            for act in events.iter().map(|event| number(event.act)).collect::<BTreeSet<_>>() {
                if statement.exists([act])? {
                    undone.insert(act);
                }
            }
        }
        events.retain(|event| !undone.contains(&number(event.act)));
        Ok(())
    }

    /// The events of some garments, and the shop as far as they tell.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn part_of(&self, tags: &BTreeSet<Tag>) -> Result<Part, JournalError> {
        let mut events = Vec::new();
        for tag in tags {
            events.extend(self.rows(&format!("{GARMENT} = ?1"), [tag.to_string()])?);
        }
        self.drop_undone(&mut events)?;
        let mut ground = self.of_kind("station-set")?;
        // Another station's orders have no row here: what is known of them came with their garments.
        let own = ground.last().map(|event| event.station);
        let its = tags.iter().filter(|tag| Some(tag.station) == own);
        let orders: BTreeSet<OrderNo> = its.map(|tag| tag.order).collect();
        ground.extend(self.of_kind("recipe-kept")?);
        let filter = format!("{OF_ORDER} AND {ORDER} = ?1");
        let mut of_orders = Vec::new();
        for order in orders {
            of_orders.extend(self.rows(&filter, [i64::from(order.0)])?);
        }
        self.drop_undone(&mut of_orders)?;
        ground.extend(of_orders);
        let mut all: Vec<&Event> = events.iter().chain(&ground).collect();
        all.sort_by_key(|event| event.seq);
        let (mut shop, mut openings) = (Shop::default(), Ledger::<Openings>::default());
        for event in all {
            shop.apply_for(event, &mut openings);
        }
        // A blank that went back with its order has nothing else.
        let told =
            |event: &Event| matches!(event.fact, Fact::OrderTaken(_) | Fact::OrderCancelled(_));
        events.extend(ground.into_iter().filter(told));
        events.sort_by_key(|event| event.seq);
        Ok(Part { events, shop, openings: openings.into_now() })
    }

    /// Who was at the bench between two events: each change, with the people from then on. The first entry may
    /// lie before both.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn people(&self, from: u64, to: u64) -> Result<Vec<(u64, Vec<String>)>, JournalError> {
        let number = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
        // A closed shift leaves nobody behind: from there on it can be counted up.
        let sql = format!(
            "SELECT coalesce(max(seq), 0) FROM events WHERE kind = 'shift-closed' AND {RARE} AND seq < ?1"
        );
        let closed: i64 =
            self.connection().prepare_cached(&sql)?.query_row([number(from)], |row| row.get(0))?;
        let mut events = Vec::new();
        for kind in ["signed-in", "signed-out", "shift-closed"] {
            let filter = format!("kind = ?1 AND {RARE} AND seq BETWEEN ?2 AND ?3");
            events.extend(self.rows(&filter, params![kind, closed, number(to)])?);
        }
        self.drop_undone(&mut events)?;
        events.sort_by_key(|event| event.seq);
        let mut there: Vec<String> = Vec::new();
        let each = events.into_iter().map(|event| {
            match &event.fact {
                Fact::SignedIn(fact) => there.push(fact.who.clone()),
                Fact::SignedOut(fact) => there.retain(|who| *who != fact.who),
                _ => there.clear(),
            }
            (event.seq, there.clone())
        });
        Ok(each.collect())
    }

    /// The station's profile as of an event; None before the first. No undo takes one back.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn station_at(&self, seq: u64) -> Result<Option<Arc<Station>>, JournalError> {
        let filter = format!("kind = 'station-set' AND {RARE} AND seq <= ?1");
        let newest = self.end_of(&filter, "DESC", i64::try_from(seq).unwrap_or(i64::MAX))?;
        Ok(newest.into_iter().find_map(|event| match event.fact {
            Fact::StationSet(fact) => Some(fact.profile),
            _ => None,
        }))
    }

    /// The last probe of a press's platen before an event.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn probes(&self) -> Result<Vec<Event>, JournalError> {
        self.of_kind("platen-checked")
    }

    /// The orders, each with its number and how many garments it asked for.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn orders(&self) -> Result<Vec<(Tag, u64)>, JournalError> {
        let events =
            self.of_kind("order-taken")?.into_iter().filter_map(|event| match &event.fact {
                Fact::OrderTaken(fact) => {
                    let first = Tag { station: event.station, order: fact.order, piece: 1 };
                    Some((first, fact.form.count()))
                }
                _ => None,
            });
        Ok(events.collect())
    }

    /// The orders as they were taken in, oldest first.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn orders_taken(&self) -> Result<Vec<Event>, JournalError> {
        self.of_kind("order-taken")
    }

    /// The orders that say that they make something again, oldest first.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn remakes(&self) -> Result<Vec<Event>, JournalError> {
        let says = "instr(body, '\"remakes\"') > 0";
        let mut events = self.rows(&format!("kind = 'order-taken' AND {RARE} AND {says}"), [])?;
        self.drop_undone(&mut events)?;
        Ok(events)
    }

    /// Every return, oldest first.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn returns(&self) -> Result<Vec<Event>, JournalError> {
        self.of_kind("returned")
    }

    /// The newest garments of a recipe whose coats were weighed, at most so many.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn weighed_of(&self, recipe: &str, most: usize) -> Result<BTreeSet<Tag>, JournalError> {
        let filter =
            "kind = 'coat-weighed' AND json_valid(body) AND json_extract(body, '$.recipe') = ?1";
        let mut events = self.rows(filter, [recipe])?;
        self.drop_undone(&mut events)?;
        let tags = events.iter().rev().filter_map(|event| event.fact.garment());
        Ok(tags.take(most).collect())
    }

    /// The tags of all garments that an order has had, its blanks that came later too.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn tags_of(&self, first: Tag) -> Result<BTreeSet<Tag>, JournalError> {
        let part = self.part_of(&BTreeSet::from([first]))?;
        let next = part.shop.order(first.order_id()).map_or(1, |order| order.next_piece);
        let mut tags: BTreeSet<Tag> = (1..next).map(|piece| Tag { piece, ..first }).collect();
        // A blank for a reject is an event of its own, and numbered on.
        let sql = format!("SELECT 1 FROM events WHERE {GARMENT} = ?1");
        let mut statement = self.connection().prepare_cached(&sql)?;
        for piece in next.. {
            let tag = Tag { piece, ..first };
            if !statement.exists([tag.to_string()])? {
                break;
            }
            tags.insert(tag);
        }
        Ok(tags)
    }

    /// The lots that were registered, oldest first.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn lots(&self) -> Result<Vec<String>, JournalError> {
        let registered = self.of_kind("lot-registered")?.into_iter();
        let lots = registered.filter_map(|event| match event.fact {
            Fact::LotRegistered(fact) => Some(fact.lot),
            _ => None,
        });
        Ok(lots.collect())
    }

    /// When a lot was in the sprayer. Empty where it never was.
    fn spans_of(&self, lot: &str) -> Result<Spans, JournalError> {
        let number = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
        let fills = format!("kind = 'sprayer-filled' AND {LOT} = ?1");
        let mut fills = self.rows(&fills, [lot])?;
        self.drop_undone(&mut fills)?;
        let flush = format!("kind = 'sprayer-flushed' AND {RARE} AND seq > ?1");
        let mut spans = Spans::new();
        for fill in fills {
            if spans.last().is_some_and(|(_, to)| fill.seq < *to) {
                continue; // A top-up of the same lot.
            }
            let mut after = fill.seq;
            // A flush that was taken back was none.
            let to = loop {
                let mut next = self.end_of(&flush, "ASC", number(after))?;
                let Some(seq) = next.first().map(|event| event.seq) else { break u64::MAX };
                self.drop_undone(&mut next)?;
                if !next.is_empty() {
                    break seq;
                }
                after = seq;
            };
            spans.push((fill.seq, to));
        }
        Ok(spans)
    }

    /// The garments that were sprayed with fluid of a lot; None where no bottle of it was ever filled in.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn sprayed_with(&self, lot: &str) -> Result<Option<BTreeSet<Tag>>, JournalError> {
        let spans = self.spans_of(lot)?;
        if spans.is_empty() {
            return Ok(None);
        }
        let mut tags = BTreeSet::new();
        for (from, to) in spans {
            let number = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
            let filter = format!("{OWN} AND kind = 'handwork-done' AND seq BETWEEN ?1 AND ?2");
            let mut events = self.rows(&filter, params![number(from), number(to)])?;
            self.drop_undone(&mut events)?;
            tags.extend(events.iter().filter_map(|event| match &event.fact {
                Fact::HandworkDone(fact) if fact.lots.iter().any(|one| one == lot) => {
                    Some(fact.garment)
                }
                _ => None,
            }));
        }
        Ok(Some(tags))
    }

    /// Every time that a press was shut between two wall-clock moments in microseconds.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn shut_by(
        &self,
        press: PressNo,
        from: Wall,
        to: Wall,
    ) -> Result<Vec<Event>, JournalError> {
        let given: [&dyn ToSql; 2] = [&from.0, &to.0];
        let mut events = self.rows("kind = 'press-shut' AND at BETWEEN ?1 AND ?2", &given[..])?;
        events.retain(|event| matches!(&event.fact, Fact::PressShut(fact) if fact.press == press));
        self.drop_undone(&mut events)?;
        Ok(events)
    }
}
