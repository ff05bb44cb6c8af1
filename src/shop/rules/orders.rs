//! Orders: taken in, changed later, cancelled; and what becomes of garments that nobody wants any more.
//!
//! Blanks go back uncounted. What is under way takes its outcome where it can: in a press at the opening, wet once it
//! is dried, printed once it is cured. So no wet garment is left lying, and every press keeps its timer.

use std::cmp::Reverse;

use super::command::{OrderChange, Refusal};
use super::decide::Facts;
use super::trail::Before;
use crate::shop::Shop;
use crate::shop::facts::check::Senseless;
use crate::shop::facts::fact::{
    BlankAdded, BlankReturned, Event, Fact, Leaves, MoreBlanks, OrderCancelled, OrderChanged,
    OrderTaken, PressOpened, TroubleNoted, UnderbaseDecided,
};
use crate::shop::facts::ids::{OrderId, OrderNo, OrderRef, PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::order::{MOST_GARMENTS, Order, OrderForm, check_due};
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::{Outcome, Trouble};
use crate::shop::floor::garment::{Garment, Place, Quality};

/// Why an order cannot be shared.
const NO_HUB: &str =
    "this station's profile names no hub: leave it out, or name one in station.ron";

/// How a garment leaves.
enum Leaving {
    Back,
    Store,
    Out,
}

impl Shop {
    pub(in crate::shop) fn take_in_order(
        &self,
        form: &OrderForm,
        file: Option<&str>,
    ) -> Result<Facts, Refusal> {
        if file.is_some_and(|file| self.taken_files().has(file)) {
            return Err(Refusal::OrderKnown);
        }
        let names: Vec<&str> = self.recipes().names().collect();
        let form = form.clone().cleaned();
        form.check(|name| self.recipes().hash_of(name).is_some(), &names.join(", "))
            .map_err(Refusal::SenselessOrder)?;
        self.check_remakes(&form)?;
        let mut form = form.by_size();
        let shared = std::mem::take(&mut form.shared);
        if shared && self.station().is_none_or(|station| station.hub.is_none()) {
            return Err(Refusal::SenselessOrder(Senseless::new("shared", NO_HUB)));
        }
        let order = OrderNo(self.next_order());
        Ok(vec![
            OrderTaken { order, shared, part: None, form, file: file.map(str::to_owned) }.into(),
        ])
    }

    pub(in crate::shop) fn settle_underbase(
        &self,
        order: OrderId,
        line: usize,
        underbase: bool,
    ) -> Result<Facts, Refusal> {
        let known = self.order(order).filter(|order| line < order.lines.len());
        let known = known.ok_or(Refusal::NotAsked)?;
        // What was said of one size holds for the others: nobody is asked again of the same artwork on the same cloth.
        let of_line = &known.form.lines[line];
        let alike = |n: usize| {
            known.lines.get(n).is_some_and(|state| state.underbase.is_none())
                && known.form.lines.get(n).is_some_and(|other| other.is_printed_like(of_line))
        };
        let others = (0..known.lines.len()).filter(|n| *n != line && alike(*n));
        let lines = std::iter::once(line).chain(others);
        let order = self.written(order);
        Ok(lines.map(|line| UnderbaseDecided { order, line, underbase }.into()).collect())
    }

    /// Whether an order is of this station; a garment of another's may be here all the same.
    pub fn is_own(&self, order: OrderId) -> bool {
        order.station == self.id()
    }

    /// Whose an order is, where it is another station's: "B3 is South bench's order".
    pub fn whose(&self, order: OrderId) -> Option<String> {
        let bench = self.neighbour(order.station);
        (!self.is_own(order)).then(|| format!("{order} is {bench}'s order"))
    }

    /// An order of this station, which alone changes it.
    pub(in crate::shop) fn own_order(&self, id: OrderId) -> Result<&Order, Refusal> {
        if !self.is_own(id) {
            return Err(Refusal::OfAnother { order: id, bench: self.neighbour(id.station) });
        }
        self.order(id).ok_or(Refusal::NoSuchOrder(id.no))
    }

    /// Whether this station has ever taken such an order.
    pub(in crate::shop) fn was_taken(&self, id: OrderId) -> Result<(), Refusal> {
        if !self.is_own(id) {
            return Err(Refusal::OfAnother { order: id, bench: self.neighbour(id.station) });
        }
        let known = id.no.0 > 0 && id.no <= self.last_order;
        if known { Ok(()) } else { Err(Refusal::NoSuchOrder(id.no)) }
    }

    /// The number of the order that is taken in next.
    pub fn next_order(&self) -> u32 {
        self.last_order.0.saturating_add(1)
    }

    /// A line that has lost a garment for which nobody has said whether a blank replaces it.
    pub(in crate::shop) fn lost_line(&self, order: OrderId, line: usize) -> Result<u16, Refusal> {
        let order = self.own_order(order).map_err(|_| Refusal::NotAsked)?;
        let state = order.lines.get(line).ok_or(Refusal::NotAsked)?;
        if state.unanswered() == 0 {
            return Err(Refusal::NotAsked);
        }
        Ok(order.next_piece)
    }

    pub(in crate::shop) fn add_blank(&self, order: OrderId, line: usize) -> Result<Facts, Refusal> {
        let piece = self.lost_line(order, line)?;
        let garment = order.tag(piece);
        Ok(vec![BlankAdded { order: order.no, line, garment }.into()])
    }

    pub(in crate::shop) fn change_order(&self, change: &OrderChange) -> Result<Facts, Refusal> {
        let OrderChange { order: id, rank, due, more } = *change;
        if let Some(due) = due.and_then(|due| due.due()) {
            check_due(due).map_err(Refusal::SenselessOrder)?;
        }
        if let Some(of) = self.shared_of(id) {
            return self.change_shared(of, change, false);
        }
        let (order, no) = (self.own_order(id)?, id.no);
        let more = more.map(|(line, count)| {
            let there = order.form.lines.len();
            if line >= there {
                return Err(Refusal::NoSuchLine { order: no, line: line + 1, there });
            }
            let most = u64::from(MOST_GARMENTS).saturating_sub(order.form.count());
            let room = u64::from(u16::MAX - order.next_piece).min(most);
            if count == 0 || u64::from(count) > room {
                let reason = format!("{count} more: expected 1 to {room}");
                return Err(Refusal::SenselessOrder(Senseless::new("count", reason)));
            }
            let first = id.tag(order.next_piece);
            Ok(MoreBlanks { line, count, first })
        });
        let more = more.transpose()?;
        let rank = rank.filter(|rank| *rank != order.form.rank);
        let due = due.filter(|due| due.due() != order.form.due);
        if rank.is_none() && due.is_none() && more.is_none() {
            return Err(Refusal::NothingChanged(no));
        }
        let order = OrderRef::Own(no);
        let (shared, cancelled, word) = (false, false, 0);
        Ok(vec![OrderChanged { order, shared, cancelled, rank, due, more, word }.into()])
    }

    /// Of a line so many garments fewer, or none of the whole order any more: those that are not begun first, the
    /// highest number first.
    pub(in crate::shop) fn cancel_order(
        &self,
        (id, fewer): (OrderId, Option<(usize, u32)>),
        leaves: Leaves,
        now: Moment,
    ) -> Result<Facts, Refusal> {
        if self.part_of(id).is_none()
            && let Some(of) = self.shared_of(id)
        {
            let change = OrderChange::of(of);
            return match fewer {
                None => self.change_shared(of, &change, true),
                Some(_) => {
                    let reason =
                        "its garments are made in parts: take them off the part of a bench";
                    Err(Refusal::SenselessOrder(Senseless::new("count", reason)))
                }
            };
        }
        let (order, no) = (self.own_order(id)?, id.no);
        let there = order.form.lines.len();
        if let Some((line, _)) = fewer.filter(|(line, _)| *line >= there) {
            return Err(Refusal::NoSuchLine { order: no, line: line + 1, there });
        }
        let of_line = |garment: &&Garment| fewer.is_none_or(|(line, _)| garment.line == line);
        let open = |garment: &&Garment| !garment.is_done() && garment.is_wanted();
        let mut all: Vec<&Garment> =
            self.floor().of_order(id).filter(of_line).filter(open).collect();
        all.sort_by_key(|garment| (garment.begun.is_some(), Reverse(garment.tag)));
        if all.is_empty() {
            return Err(Refusal::NothingToCancel(no));
        }
        if let Some((_, count)) = fewer {
            let count = usize::try_from(count).unwrap_or(usize::MAX);
            if count == 0 || count > all.len() {
                return Err(Refusal::FewerLeft { order: no, there: all.len(), asked: count });
            }
            all.truncate(count);
        }
        let (mut back, mut under_way, mut leaving) = (Vec::new(), Vec::new(), Vec::new());
        for garment in all {
            let way = match garment.begun {
                None if garment.place == Place::Waiting(Step::PrePress) => Some(Leaving::Back),
                _ => way(garment, leaves, garment.place, garment.coated),
            };
            match way {
                Some(Leaving::Back) => back.push(garment.tag),
                way => {
                    under_way.push(garment.tag);
                    leaving.extend(way.map(|way| (garment, way)));
                }
            }
        }
        let line = fewer.map(|(line, _)| line);
        let mut facts: Facts =
            vec![OrderCancelled { order: no, line, back, under_way, leaves }.into()];
        let mut on = self.floor().next_on(self.desk().stack());
        for (garment, way) in leaving {
            let above = on.above();
            facts.push(match way {
                Leaving::Store => {
                    self.stored(garment, std::mem::replace(&mut on, above), now).into()
                }
                Leaving::Back => BlankReturned { garment: garment.tag }.into(),
                Leaving::Out => rejected(garment.tag, garment.last_step),
            });
        }
        Ok(facts)
    }

    /// What becomes of a garment that nobody wants any more, when its press is opened.
    pub(in crate::shop) fn leaves_at_opening(
        &self,
        opened: &PressOpened,
        now: Moment,
    ) -> Option<Fact> {
        let garment = self.garment(opened.garment)?;
        let after = self.after(garment, opened.step, opened.again);
        let treated = opened.step == Step::PrePress && self.comes_treated(garment);
        let coated = garment.coated || treated || opened.step == Step::Dry;
        Some(match way(garment, garment.cancelled?, after, coated)? {
            Leaving::Store => {
                self.stored(garment, self.floor().next_on(self.desk().stack()), now).into()
            }
            Leaving::Back => BlankReturned { garment: garment.tag }.into(),
            Leaving::Out => rejected(garment.tag, Some((opened.step, Some(opened.press)))),
        })
    }

    /// The number of a piece is used up, and all before it.
    pub(in crate::shop) fn use_up(&mut self, order: OrderId, piece: u16) {
        if let Some(order) = self.orders.get_mut(&order) {
            order.next_piece = order.next_piece.max(piece.saturating_add(1));
        }
    }

    pub(in crate::shop) fn changed(&mut self, event: &Event, fact: &OrderChanged) {
        if fact.shared {
            return self.said_shared(event, fact);
        }
        let id = fact.order.id(event.station);
        self.with_order(id, |order| {
            order.form.rank = fact.rank.unwrap_or(order.form.rank);
            if let Some(due) = fact.due {
                order.form.due = due.due();
            }
            let Some(more) = fact.more else { return };
            order.cancelled = false;
            let count = u16::try_from(more.count).unwrap_or(u16::MAX);
            order.next_piece = order.next_piece.max(more.first.piece.saturating_add(count));
            if let Some(line) = order.form.lines.get_mut(more.line) {
                line.count = line.count.saturating_add(more.count);
            }
        });
        let Some(MoreBlanks { line, count, first }) = fact.more else { return };
        // A damaged row may ask for billions: there are no more garments than numbers for them.
        for n in 0..u16::try_from(count).unwrap_or(u16::MAX) {
            let Some(piece) = first.piece.checked_add(n) else { return };
            self.new_garment(event, Tag { piece, ..first }, line);
        }
    }

    pub(in crate::shop) fn cancelled(&mut self, event: &Event, fact: &OrderCancelled) {
        let id = event.of(fact.order);
        // What is finished all the same is made here.
        let less =
            fact.back.len() + if fact.leaves == Leaves::Finish { 0 } else { fact.under_way.len() };
        self.part_goes_back(id, less);
        fact.back.iter().for_each(|tag| self.goes_back(*tag));
        for tag in &fact.under_way {
            self.with_garment(*tag, |garment| {
                // What lies on the shelf is not under way: it stays there, or leaves.
                let stays = garment.place == Place::Shelf && fact.leaves == Leaves::Finish;
                garment.cancelled = Some(if stays { Leaves::Shelf } else { fact.leaves });
            });
        }
        let still = |line: usize| {
            let counts = |garment: &&Garment| {
                garment.line == line
                    && garment.is_wanted()
                    && garment.place != Place::Out
                    && garment.quality == Quality::First
            };
            u32::try_from(self.floor().of_order(id).filter(counts).count()).unwrap_or(u32::MAX)
        };
        let lines = self.order(id).map_or(0, |order| order.form.lines.len());
        let still: Vec<u32> = (0..lines).map(still).collect();
        self.with_order(id, |order| match fact.line {
            Some(line) => {
                if let Some(line) = order.form.lines.get_mut(line) {
                    line.count = line.count.saturating_sub(u32::try_from(less).unwrap_or(u32::MAX));
                }
            }
            None => {
                order.cancelled = true;
                for (line, still) in order.form.lines.iter_mut().zip(still) {
                    line.count = still;
                }
                // Nobody is asked for a blank any more.
                for line in &mut order.lines {
                    line.given_up += line.unanswered();
                }
            }
        });
    }

    /// A garment goes back to the blanks, of which nobody keeps count.
    pub(in crate::shop) fn goes_back(&mut self, tag: Tag) {
        if let Some(garment) = self.floor.remove(tag) {
            self.trail.keep(Before::Garment(tag, Some(Box::new(garment))));
        }
        self.desk.last = self.desk.last.filter(|last| *last != tag);
        self.desk.steam_unsaid = self.desk.steam_unsaid.filter(|(_, unsaid)| *unsaid != tag);
    }
}

/// How a garment leaves that is cancelled, from a place; None where it stays for now, or for good.
fn way(garment: &Garment, leaves: Leaves, place: Place, coated: bool) -> Option<Leaving> {
    match (leaves, place) {
        (Leaves::Finish, _)
        | (_, Place::Finished | Place::Out | Place::Away(_) | Place::InPress(_))
        | (_, Place::Waiting(Step::Dry | Step::Cure)) => None,
        (Leaves::Reject, _) => Some(Leaving::Out),
        (Leaves::Shelf, Place::Waiting(Step::Print)) if coated => Some(Leaving::Store),
        // One that has a print already is no blank: it is finished.
        (Leaves::Shelf, Place::Waiting(_) | Place::Undecided) if garment.round == 0 => {
            Some(Leaving::Back)
        }
        (Leaves::Shelf, _) => None,
    }
}

fn rejected(garment: Tag, last: Option<(Step, Option<PressNo>)>) -> Fact {
    let (trouble, outcome) = (Trouble::Cancelled, Outcome::Out);
    let (step, press) = (last.map(|(step, _)| step), last.and_then(|(_, press)| press));
    TroubleNoted { garment, step, press, trouble, outcome }.into()
}
