//! Garments that pass between the stations of one shop: what goes with one, who takes it over, what the others hear.
//!
//! Nobody keys a hand-over: the hand that takes a garment says so, and the station that kept it hears of it. Two that
//! took it after the same move are never refused and always said: somebody looks, and says where it is.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::command::{Handover, Heard, Refusal, TakenOver};
use super::decide::Facts;
use super::trail::Before;
use crate::figures::units::Colour;
use crate::shop::Shop;
use crate::shop::facts::fact::{
    Awaits, Comes, Dried, Event, FIRST_LIFE, Kept, Left, OrderOf, Received, RowId, Settled,
    unknown_order,
};
use crate::shop::facts::ids::{Neighbour, OrderId, StationId, Tag};
use crate::shop::facts::order::{LineState, Order, OrderForm, OrderLine};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Drying, Garment, LONGEST_CORRECTION, Place, Quality};
use crate::shop::floor::shelved::Shelved;
use crate::shop::floor::whereabouts::{Move, Whereabouts};

/// The colour of a garment of whose order nothing is known: no screen tells it.
const UNKNOWN: Colour = Colour { red: 128, green: 128, blue: 128 };

impl Shop {
    /// The life of this station's history that is written now.
    pub fn life(&self) -> u32 {
        self.life.max(FIRST_LIFE)
    }

    /// Says in which life of this station's history is written from now on. No fact: each move names its own.
    pub fn set_life(&mut self, life: u32) {
        self.life = life;
    }

    /// Whether this station does a step: one of its presses serves it, or hands do.
    pub fn is_done_here(&self, step: Step) -> bool {
        let Some(station) = self.station() else { return true };
        let serves = |press| station.press(press).is_some_and(|one| one.serves(step, None));
        !step.is_pressed() || station.press_numbers().into_iter().any(serves)
    }

    /// Which other station a garment waits for, where this one does not do its step: the only one that is known, else
    /// "another bench". None where it is done here, or no other station was ever heard of.
    pub fn waits_elsewhere(&self, step: Step) -> Option<String> {
        if self.neighbours.is_empty() || self.is_done_here(step) {
            return None;
        }
        let mut known = self.neighbours.keys().map(|station| self.neighbour(*station).to_string());
        let only = known.next().filter(|_| known.next().is_none());
        Some(only.unwrap_or_else(|| "another bench".to_owned()))
    }

    /// How many of an order are at which other station, the most first.
    pub fn away(&self, order: OrderId) -> Vec<(Neighbour, usize)> {
        let mut at: BTreeMap<StationId, usize> = BTreeMap::new();
        for garment in self.floor().of_order(order) {
            if let Place::Away(station) = garment.place {
                *at.entry(station).or_default() += 1;
            }
        }
        let mut all: Vec<(Neighbour, usize)> =
            at.into_iter().map(|(station, count)| (self.neighbour(station), count)).collect();
        all.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        all
    }

    /// Another station, with its name where that is known.
    pub fn neighbour(&self, station: StationId) -> Neighbour {
        let name = self.neighbours.get(&station).cloned().unwrap_or_default();
        Neighbour { station, name }
    }

    /// What is known of a garment's moves; None where it has never moved.
    pub fn whereabouts(&self, tag: Tag) -> Option<&Whereabouts> {
        self.whereabouts.get(&tag)
    }

    /// The garments that are said to be at several stations, and at which: somebody has to look.
    pub fn doubtful(&self) -> impl Iterator<Item = (Tag, Vec<StationId>)> {
        let own = self.id();
        let stations = self.whereabouts.iter().map(move |(tag, known)| (*tag, known.stations(own)));
        stations.filter(|(_, stations)| stations.len() > 1)
    }

    /// What goes with a garment to whoever takes it over; None where it is not here, or nothing is to be done with it any
    /// more. `life` says in which life of this station's history a row was written.
    pub fn handover(&self, tag: Tag, life: impl Fn(u64) -> u32) -> Option<Handover> {
        let garment = self.garment(tag)?;
        let order = self.order(garment.order())?;
        let own = self.id();
        let taken = RowId { station: order.id.station, life: life(order.row), seq: order.row };
        let last = self.whereabouts.get(&tag).and_then(|known| {
            let mut last = known.last();
            last.find(|one| one.at == own).map(|one| one.row)
        });
        let from = Neighbour {
            station: own,
            name: self.station().map(|station| station.name.clone()).unwrap_or_default(),
        };
        Some(Handover {
            after: last.unwrap_or(taken),
            from,
            comes: self.comes_with(garment, order)?,
        })
    }

    fn comes_with(&self, garment: &Garment, order: &Order) -> Option<Comes> {
        let (hash, recipe) = self.recipe_of(garment)?;
        let line = order.form.lines.get(garment.line)?;
        // Nobody has said that its press was opened. It was, for it is in somebody's hand.
        let unsaid = match garment.place {
            Place::InPress(press) => self.load(press).map(|load| (load.step, load.again)),
            _ => None,
        };
        let place = unsaid.map_or(garment.place, |(step, again)| self.after(garment, step, again));
        let waits = match place {
            Place::Waiting(step) => step.into(),
            Place::Undecided => Awaits::Underbase,
            Place::Shelf => Awaits::Shelf,
            Place::InPress(_) | Place::Finished | Place::Out | Place::Away(_) => return None,
        };
        let dried = garment.drying();
        let line = OrderLine { count: 1, sizes: Default::default(), ..line.clone() };
        let of = OrderOf {
            name: order.form.name.clone(),
            rank: order.form.rank,
            due: order.form.due,
            line,
            underbase: order.lines.get(garment.line).and_then(|state| state.underbase),
        };
        let kept = |shelved: &Shelved| Kept {
            day: shelved.day,
            good_until: shelved.good_until,
            last_day: shelved.last_day,
            unsure: shelved.unsure,
            disturbed: shelved.disturbed,
        };
        let (coat, estimated) = garment.coat.unzip();
        Some(Comes {
            round: garment.round,
            recipe: self.recipe_name(garment).unwrap_or_default().to_owned(),
            text: Some(Arc::clone(recipe)),
            order: Some(Box::new(of)),
            coated: garment.coated || unsaid.is_some_and(|(step, _)| step == Step::Dry),
            stored: garment.stored,
            kept: garment.shelved.as_deref().map(kept),
            weighed: garment.weighed,
            coat,
            estimated: estimated.unwrap_or(false),
            lots: garment.lots.clone(),
            dried: dried.map(|dried| Dried { seconds: dried.seconds, timing: dried.timing }),
            overcured: garment.overcured,
            begun: garment.began(),
            since: Some(garment.since.at),
            second: garment.quality == Quality::Second,
            cancelled: garment.cancelled,
            ..Comes::waiting(waits, "", *hash)
        })
    }

    /// A garment is taken over. What is here already is not; what is at two stations by what was said is asked first.
    pub(in crate::shop) fn take_over(&self, taken: &TakenOver) -> Result<Facts, Refusal> {
        let tag = taken.garment;
        let known = self.garment(tag);
        if known.is_some_and(|garment| !matches!(garment.place, Place::Away(_))) {
            return Err(Refusal::IsHere(tag));
        }
        if self.is_own(tag.order_id()) {
            // A piece of an order that is long done, or one that it never had.
            self.was_taken(tag.order_id())?;
            known.ok_or(Refusal::NoSuchGarment(tag))?;
        } else if tag.piece == 0 || tag.order.0 == 0 {
            return Err(Refusal::NoSuchGarment(tag));
        }
        let mut comes = taken.comes.clone();
        if self.recipes.get(&comes.hash).is_some() {
            comes.text = None;
        } else if comes.text.as_ref().is_none_or(|text| text.hash() != comes.hash) {
            return Err(Refusal::NoRecipe(tag));
        }
        comes.order = comes.order.filter(|_| !self.is_own(tag.order_id()));
        let here = self.whereabouts.get(&tag).and_then(|known| known.last().next());
        let after = taken.after.or(here.map(|last| last.row));
        let (from, bench) = taken.from.clone().map(|from| (from.station, from.name)).unzip();
        Ok(vec![
            Received {
                garment: tag,
                after,
                life: self.life(),
                unconfirmed: taken.unconfirmed || after.is_none(),
                from,
                bench: bench.unwrap_or_default(),
                comes,
            }
            .into(),
        ])
    }

    /// What was heard of a garment that is this station's business: of an order of its own, or once taken over here.
    pub(in crate::shop) fn hear(&self, heard: &Heard) -> Result<Facts, Refusal> {
        let tag = heard.garment();
        let known = self.whereabouts.get(&tag);
        if known.is_none() && self.garment(tag).is_none() {
            return Err(Refusal::NoSuchGarment(tag));
        }
        if heard.row().station == self.id() || known.is_some_and(|known| known.knows(heard.row())) {
            return Err(Refusal::MoveKnown(tag));
        }
        Ok(vec![match heard.clone() {
            Heard::Received { garment, row, after, bench } => {
                Left { garment, after, by: row, bench }.into()
            }
            Heard::Settled { garment, row, at, moves } => {
                Settled { garment, at, moves, life: row.life, by: Some(row) }.into()
            }
        }])
    }

    /// Somebody has looked where a garment is.
    pub(in crate::shop) fn settle_where(&self, tag: Tag, at: StationId) -> Result<Facts, Refusal> {
        let own = self.id();
        let doubtful = self.whereabouts.get(&tag).filter(|known| known.is_doubtful(own));
        let doubtful = doubtful.ok_or(Refusal::NotAsked)?;
        if !doubtful.stations(own).contains(&at) {
            return Err(Refusal::NotAsked);
        }
        if let Some(Garment { place: Place::InPress(press), .. }) = self.garment(tag)
            && at != own
        {
            return Err(Refusal::InPress { garment: tag, press: *press });
        }
        let moves = doubtful.last().map(|one| one.row).collect();
        Ok(vec![Settled { garment: tag, at, moves, life: self.life(), by: None }.into()])
    }

    pub(in crate::shop) fn received(&mut self, event: &Event, fact: &Received) {
        let (tag, comes) = (fact.garment, &fact.comes);
        self.beyond_recall(tag);
        if let Some(text) = &comes.text {
            self.recipes.keep(comes.hash, text);
        }
        self.remember_neighbour(fact.from, &fact.bench);
        let own = tag.station == event.station;
        let line = match self.floor.get(tag) {
            Some(garment) => garment.line,
            None if own => return,
            None => self.line_of_neighbour(event, fact),
        };
        let blank = || Garment::blank(event, tag, line);
        let mut garment = self.floor.get(tag).cloned().unwrap_or_else(blank);
        let waited = event.moment.at.since(comes.since.unwrap_or(event.moment.at));
        // Two clocks may lie hours apart: what cannot be is counted from here.
        let waited = Some(waited).filter(|span| *span < LONGEST_CORRECTION).unwrap_or_default();
        garment.go(event, Place::Waiting(Step::PrePress));
        garment.since = event.moment.minus(waited);
        garment.recipe = Some(comes.hash);
        garment.begun = comes.begun.map(|begun| begun.min(garment.since.at));
        garment.round = comes.round;
        garment.coated = comes.coated;
        garment.stored = comes.stored;
        garment.weighed = comes.weighed;
        garment.declined = false;
        garment.coat = comes.coat.map(|coat| (coat, comes.estimated));
        garment.sprayed = None;
        garment.lots.clone_from(&comes.lots);
        garment.dried = comes.dried.map(|dried| Box::new(Drying::elsewhere(dried)));
        garment.overcured = comes.overcured;
        garment.quality = if comes.second { Quality::Second } else { Quality::First };
        garment.cancelled = comes.cancelled;
        garment.last_step = None;
        garment.place = match comes.waits {
            Awaits::PrePress => Place::Waiting(Step::PrePress),
            Awaits::Spray => Place::Waiting(Step::Spray),
            Awaits::Dry => Place::Waiting(Step::Dry),
            Awaits::Print => Place::Waiting(Step::Print),
            Awaits::Cure => Place::Waiting(Step::Cure),
            Awaits::Underbase => match self.wants_fluid(&garment) {
                // Somebody here has said so of the same line before.
                Some(_) => self.after(&garment, Step::PrePress, false),
                None => Place::Undecided,
            },
            Awaits::Shelf => Place::Shelf,
        };
        garment.shelved = comes.kept.map(|kept| Box::new(self.shelved_as(kept)));
        if garment.place == Place::Shelf && garment.shelved.is_none() {
            garment.place = Place::Waiting(Step::Print);
        }
        self.floor.put(garment);
        self.note_move(event, tag, Move::received(event.station, event.seq, fact));
    }

    /// It lies on top of the stack that garments are stored on here.
    fn shelved_as(&self, kept: Kept) -> Shelved {
        Shelved {
            stack: self.name_of(self.desk().stack()),
            down: self.floor().next_on(self.desk().stack()).down,
            day: kept.day,
            good_until: kept.good_until,
            last_day: kept.last_day,
            unsure: kept.unsure,
            disturbed: kept.disturbed,
        }
    }

    /// The line of another station's order of which a garment came, in the order as far as it is known here.
    fn line_of_neighbour(&mut self, event: &Event, fact: &Received) -> usize {
        let id = fact.garment.order_id();
        let of = fact.comes.order.as_deref();
        let unknown = || OrderLine::plain(1, &fact.comes.recipe, UNKNOWN);
        let line = of.map_or_else(unknown, |of| of.line.clone());
        let underbase = of.and_then(|of| of.underbase);
        let order = self.orders.entry(id).or_insert_with(|| Order::of_neighbour(id, event.seq));
        if let Some(of) = of {
            order.form.name.clone_from(&of.name);
            (order.form.rank, order.form.due) = (of.rank, of.due);
        }
        let same = |known: &OrderLine| OrderLine { count: 1, ..known.clone() } == line;
        match order.form.lines.iter().position(same) {
            Some(place) => {
                let known = &mut order.form.lines[place];
                known.count = known.count.saturating_add(1);
                let state = &mut order.lines[place];
                state.underbase = underbase.or(state.underbase);
                place
            }
            None => {
                order.form.lines.push(line);
                order.lines.push(LineState { underbase, ..LineState::default() });
                order.form.lines.len() - 1
            }
        }
    }

    pub(in crate::shop) fn left(&mut self, event: &Event, fact: &Left) {
        self.beyond_recall(fact.garment);
        self.remember_neighbour(Some(fact.by.station), &fact.bench);
        let after = fact.after.into_iter().collect();
        self.note_move(event, fact.garment, Move { row: fact.by, after, at: fact.by.station });
    }

    pub(in crate::shop) fn said_where(&mut self, event: &Event, fact: &Settled) {
        self.beyond_recall(fact.garment);
        self.note_move(event, fact.garment, Move::settled(event.station, event.seq, fact));
    }

    /// What was done with a garment before it moved stays: nobody takes back what others go by.
    fn beyond_recall(&mut self, tag: Tag) {
        let order = tag.order_id();
        let own = self.is_own(order);
        self.trail.settle_upto(|before| match before {
            Before::Garment(touched, _) => *touched == tag,
            Before::Order(touched, _) => !own && *touched == order,
            _ => false,
        });
    }

    fn remember_neighbour(&mut self, station: Option<StationId>, name: &str) {
        if let Some(station) = station.filter(|_| !name.is_empty()) {
            self.neighbours.insert(station, name.to_owned());
        }
    }

    /// Another move: the garment is here, or at the station that its moves end with.
    fn note_move(&mut self, event: &Event, tag: Tag, other: Move) {
        let own = self.id();
        let shut_here =
            self.garment(tag).is_some_and(|garment| matches!(garment.place, Place::InPress(_)));
        let known = self.whereabouts.entry(tag).or_default();
        known.take(other, shut_here);
        let stations = known.stations(own);
        let Some(garment) = self.floor.get(tag) else { return };
        let place = match (stations.first().copied(), garment.place) {
            (Some(first), Place::Away(_)) if first == own => {
                known.was.take().unwrap_or(Place::Waiting(Step::PrePress))
            }
            (Some(first), place) if first == own => place,
            (Some(first), Place::Away(_)) => Place::Away(first),
            (Some(first), place) => {
                known.was = Some(place);
                Place::Away(first)
            }
            (None, place) => place,
        };
        if place != garment.place {
            self.floor.change(tag, |garment| garment.go(event, place));
        }
    }
}

impl Order {
    /// Of another station, of which no garment has come yet.
    fn of_neighbour(id: OrderId, row: u64) -> Self {
        let form = OrderForm {
            name: unknown_order(id),
            rank: Rank::USUAL,
            due: None,
            shared: false,
            lines: Vec::new(),
        };
        Self {
            id,
            row,
            form,
            next_piece: 1,
            lines: Vec::new(),
            file: None,
            cancelled: false,
            sample: None,
        }
    }
}
