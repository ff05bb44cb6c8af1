//! The trail of before-images: what each act of the operator touched, as it was, so that it can be taken back.
//!
//! Only what an act touched is kept, not the whole shop, and only for the last acts. Acts of the system
//! (profiles, orders from the inbox) leave no trail: nobody at the bench did them, so nobody takes them back.

use std::collections::VecDeque;
use std::sync::Arc;

use crate::shop::books::coats::CoatBook;
use crate::shop::facts::fact::{Fact, PartOf};
use crate::shop::facts::ids::{ActNo, OrderId, OrderNo, PressNo, SheetNo, Tag};
use crate::shop::facts::order::Order;
use crate::shop::facts::recipes::BeforeSigned;
use crate::shop::facts::station::DateOrder;
use crate::shop::floor::fluid::Supplies;
use crate::shop::floor::garment::Garment;
use crate::shop::floor::press::Press;
use crate::shop::floor::sheets::Sheet;
use crate::shop::floor::trial::TrialRun;
use crate::shop::floor::wash::{CameBack, Sample};
use crate::shop::{Desk, Shop};

/// How many acts can be taken back.
pub const DEPTH: usize = 64;

/// The last acts, oldest first.
#[derive(Debug, Clone, Default)]
pub struct Trail {
    acts: VecDeque<Act>,
}

#[derive(Debug, Clone)]
struct Act {
    no: ActNo,
    /// Its first fact that was not merely implied, and how many more there were.
    what: Option<Fact>,
    more: usize,
    before: Vec<Before>,
}

/// A thing as it was before an act touched it; None where the act made it.
#[derive(Debug, Clone)]
pub enum Before {
    Garment(Tag, Option<Box<Garment>>),
    Press(PressNo, Option<Box<Press>>),
    Sheet(SheetNo, Option<Sheet>),
    Order(OrderId, Option<Box<Order>>),
    Coats(String, Option<CoatBook>),
    Supplies(Arc<Supplies>),
    Part(OrderNo, PartOf),
    Sample(Tag, Option<Sample>),
    Return(u64, Option<CameBack>),
    Trial(Option<Arc<TrialRun>>),
    Signed(Box<BeforeSigned>),
    Desk(Box<Desk>),
    Dates(Option<DateOrder>),
}

impl Trail {
    /// Opens the act of a fact, or adds the fact to it where it is open already; whether it was opened.
    pub fn open(&mut self, no: ActNo, fact: &Fact) -> bool {
        let opens = self.acts.back().is_none_or(|act| act.no != no);
        if opens {
            if self.acts.len() == DEPTH {
                self.acts.pop_front();
            }
            self.acts.push_back(Act { no, what: None, more: 0, before: Vec::new() });
        }
        let Some(act) = self.acts.back_mut() else { return opens };
        match fact {
            Fact::HandworkDone(work) if work.implied => {}
            Fact::Printed(work) if work.implied => {}
            fact if fact.says_more() => {}
            fact if act.what.is_none() => act.what = Some(fact.clone()),
            _ => act.more += 1,
        }
        opens
    }

    /// Keeps what the open act is about to touch.
    pub fn keep(&mut self, before: Before) {
        if let Some(act) = self.acts.back_mut() {
            act.before.push(before);
        }
    }

    /// The newest act, in words.
    pub fn newest(&self) -> Option<(ActNo, String)> {
        let act = self.acts.back()?;
        let what = act.what.as_ref().map_or_else(String::new, Fact::in_words);
        let what = match act.more {
            0 => what,
            more => format!("{what} and {more} more"),
        };
        Some((act.no, what))
    }

    /// The oldest act that can still be taken back.
    pub fn oldest(&self) -> Option<ActNo> {
        self.acts.front().map(|act| act.no)
    }

    /// What was touched so can no longer be taken back: neither the newest act that did, nor those before it.
    pub fn settle_upto(&mut self, touched: impl Fn(&Before) -> bool) {
        let touches = |act: &Act| act.before.iter().any(&touched);
        if let Some(newest) = self.acts.iter().rposition(touches) {
            self.acts.drain(..=newest);
        }
    }

    /// Takes the newest act off, if it is the one named.
    fn take(&mut self, no: ActNo) -> Option<Vec<Before>> {
        self.acts.pop_back_if(|act| act.no == no).map(|act| act.before)
    }
}

impl Shop {
    /// Puts everything that an act touched back as it was.
    pub(in crate::shop) fn step_back(&mut self, act: ActNo) {
        let Some(before) = self.trail.take(act) else { return };
        for thing in before.into_iter().rev() {
            match thing {
                Before::Garment(_, Some(garment)) => drop(self.floor.put(*garment)),
                Before::Garment(tag, None) => drop(self.floor.remove(tag)),
                Before::Press(no, press) => put_back(&mut self.presses, no, press.map(|p| *p)),
                Before::Sheet(no, sheet) => self.sheets.put_back(no, sheet),
                Before::Order(no, before) => {
                    // A label may have been written for a piece that was taken back: its number is used up.
                    let used = self.orders.get(&no).map_or(0, |order| order.next_piece);
                    let order = before
                        .map(|order| Order { next_piece: order.next_piece.max(used), ..*order });
                    put_back(&mut self.orders, no, order);
                }
                Before::Coats(name, book) => put_back(&mut self.coats, name, book),
                Before::Supplies(supplies) => self.supplies = supplies,
                Before::Part(no, part) => self.put_part(no, part),
                Before::Sample(tag, sample) => {
                    put_back(Arc::make_mut(&mut self.samples), tag, sample);
                }
                Before::Return(seq, back) => {
                    put_back(Arc::make_mut(&mut self.came_back), seq, back);
                }
                Before::Trial(trial) => self.trial = trial,
                Before::Signed(before) => self.recipes.unsign(*before),
                Before::Desk(desk) => self.desk = *desk,
                Before::Dates(dates) => self.dates = dates,
            }
        }
    }
}

fn put_back<K: Ord, V>(map: &mut std::collections::BTreeMap<K, V>, key: K, value: Option<V>) {
    match value {
        Some(value) => drop(map.insert(key, value)),
        None => drop(map.remove(&key)),
    }
}
