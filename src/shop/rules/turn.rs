//! The plain rule, in one place: whose turn it is, and which act comes next. The board's offers, the forecast's
//! hands, the rehearsal's operator and the gain of a plan all go by it.
//!
//! Garments that wait go by: over half of what they may wait; rank of the order; due, none last; wet; wait. Where the
//! printer holds the shop back and has nothing ready, what feeds it goes before all but what spoils and a rush.

use std::cell::Cell;
use std::cmp::Ordering;
use std::time::Duration;

use crate::shop::Shop;
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place, Queue};
use crate::shop::floor::press::Load;
use crate::shop::floor::waiting::Waiting;

/// The most garments that wait for spray or dryer before the next blank is pressed.
pub const MOST_AHEAD: usize = 3;

/// What an order says of the turn of its garments: the least is the most urgent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Urgency {
    pub rank: Rank,
    /// What is never due comes last.
    due: Due,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
enum Due {
    At(Wall),
    #[default]
    Never,
}

impl Urgency {
    /// Of an order of this rank that is due at this moment of the wall clock.
    pub fn of(rank: Rank, due: Option<Wall>) -> Self {
        Self { rank, due: due.map_or(Due::Never, Due::At) }
    }

    /// When it is due on the wall clock.
    pub fn due(self) -> Option<Wall> {
        match self.due {
            Due::At(at) => Some(at),
            Due::Never => None,
        }
    }
}

/// Whose turn is first among garments that wait: the least; who has waited longest among equals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// A blank, while enough are between their first press and the dryer.
    pub too_soon: bool,
    /// It has not waited, wet, for over half of what it may.
    pub in_time: bool,
    pub urgency: Urgency,
    /// It leads to nothing that stands hungry.
    pub feeds_nothing: bool,
    pub dry: bool,
}

impl Ord for Turn {
    fn cmp(&self, other: &Self) -> Ordering {
        // What feeds the hungry goes before all but a rush.
        let key = |turn: &Self| {
            let Turn { too_soon, in_time, urgency, feeds_nothing, dry } = *turn;
            (too_soon, in_time, !turn.is_rush(), feeds_nothing, urgency, dry)
        };
        key(self).cmp(&key(other))
    }
}

impl PartialOrd for Turn {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Turn {
    fn is_rush(&self) -> bool {
        self.urgency.rank == Rank::RUSH
    }

    /// Whether it goes before another for which a press need not be set anew: it spoils, its order has another rank, or
    /// is due a day sooner.
    pub fn outranks(&self, other: &Turn) -> bool {
        const DAY: Duration = Duration::from_secs(86_400);
        let sooner = match (self.urgency.due(), other.urgency.due()) {
            (Some(own), Some(other)) => own.plus(DAY) <= other,
            (own, other) => own.is_some() && other.is_none(),
        };
        let (class, than) =
            ((self.in_time, self.urgency.rank), (other.in_time, other.urgency.rank));
        class < than || (class == than && sooner)
    }

    /// Whether it goes before what holds the shop back: a rush, or what spoils.
    pub fn presses(self) -> bool {
        !self.in_time || self.is_rush()
    }
}

/// Whether a garment is wet that waits for a step: sprayed, or printed.
pub fn is_wet(step: Step) -> bool {
    matches!(step, Step::Dry | Step::Cure)
}

/// Whether another blank is pressed while so many are between their first press and the dryer: a rush in any case.
pub fn presses_blank(ahead: usize, rank: Rank) -> bool {
    ahead < MOST_AHEAD || rank == Rank::RUSH
}

/// Whether another garment is sprayed while so many wait wet for so many presses: a rush in any case.
pub fn sprays(wet: usize, presses: usize, rank: Rank) -> bool {
    wet <= presses || rank == Rank::RUSH
}

/// What holds a shop back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binds {
    Hands,
    Presses,
    Printers,
}

/// An act of the hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Open a press whose time is up.
    Open,
    /// Shut a press on what leads to the printer.
    Feed,
    /// Shut a press.
    Load,
    /// Serve the printer.
    Print,
    Spray,
    /// Take what is wanted from the shelf.
    Fetch,
}

/// The acts in the order in which they are looked for; the first that can be done is the next.
///
/// What holds the shop back is kept fed: a printer is served before any press is loaded, and where it is `hungry`
/// (nothing is ready for it, nor in a press on the way to it) its next garment is made ready first. Where presses
/// hold it back and one stands `empty`, spraying goes before printing.
pub fn acts(binds: Option<Binds>, hungry: bool, empty: bool) -> &'static [Act] {
    use Act::{Feed, Fetch, Load, Open, Print, Spray};
    match binds {
        Some(Binds::Printers) if hungry => &[Open, Print, Feed, Spray, Load, Fetch],
        Some(Binds::Printers) => &[Open, Print, Load, Spray, Fetch],
        Some(Binds::Presses) if empty => &[Open, Load, Spray, Print, Fetch],
        _ => &[Open, Load, Print, Spray, Fetch],
    }
}

impl Shop {
    /// The turn of an order's garments.
    pub fn urgency(&self, order: OrderId) -> Urgency {
        self.order(order).map_or_else(Urgency::default, |order| {
            let due = order.form.due_at(self.zone());
            Urgency::of(order.form.rank, due)
        })
    }

    /// Those who wait in some queues by their turn at `now`; `hungry` where what leads to the printer goes before all
    /// but a rush.
    pub fn by_turn(&self, queues: &[Queue], now: Moment, hungry: bool) -> Waiting<'_, Turn> {
        // Garments of a kind come one after the other: each order is looked up once.
        let last: Cell<Option<(OrderId, Urgency)>> = Cell::new(None);
        let urgency = move |order: OrderId| match last.get() {
            Some((known, urgency)) if known == order => urgency,
            _ => {
                let urgency = self.urgency(order);
                last.set(Some((order, urgency)));
                urgency
            }
        };
        let ahead = self.ahead();
        // Whether one has waited for long is its own: a time that was corrected goes before the order of the queue.
        let wet = |queue: &Queue| matches!(queue, Queue::Step(step) if is_wet(*step));
        let (others, queues): (Vec<Queue>, Vec<Queue>) =
            queues.iter().partition(|queue| wet(queue));
        self.floor().ordered(&queues, &others, move |garment| Turn {
            feeds_nothing: !(hungry && self.leads_to_print(garment)),
            ..self.turn_of(garment, urgency(garment.order()), ahead, now)
        })
    }

    /// The turn of one that waits.
    pub fn turn(&self, garment: &Garment, now: Moment) -> Turn {
        self.turn_of(garment, self.urgency(garment.order()), self.ahead(), now)
    }

    fn turn_of(&self, garment: &Garment, urgency: Urgency, ahead: usize, now: Moment) -> Turn {
        Turn {
            too_soon: self.is_blank(garment) && !presses_blank(ahead, urgency.rank),
            in_time: !self.waits_long(garment, now),
            urgency,
            feeds_nothing: true,
            dry: !matches!(garment.place, Place::Waiting(step) if is_wet(step)),
        }
    }

    /// Whether the printer holds the shop back, and nothing is ready for it nor in a press on the way to it.
    pub fn is_hungry(&self, binds: Option<Binds>, now: Moment) -> bool {
        let printing = self.in_printers(now).len();
        binds == Some(Binds::Printers)
            && self.floor().count(Queue::Step(Step::Print)) <= printing
            && self.pressed_for(Step::Print) == 0
    }

    /// Garments between their first press and the dryer.
    pub fn ahead(&self) -> usize {
        let waiting = [Step::Spray, Step::Dry].map(|step| self.floor().count(Queue::Step(step)));
        waiting.iter().sum::<usize>() + self.pressed_for(Step::Spray)
    }

    /// How many are in a press that wait for a step after it.
    fn pressed_for(&self, step: Step) -> usize {
        let leads = |load: &Load| {
            let garment = self.garment(load.garment);
            let after = garment.map(|garment| self.after(garment, load.step, load.again));
            after == Some(Place::Waiting(step))
        };
        self.loads().filter(|(_, load)| leads(load)).count()
    }

    /// Whether a garment has waited, wet, for over half of what it may.
    fn waits_long(&self, garment: &Garment, now: Moment) -> bool {
        let limit = self.wait_limit(garment);
        limit.is_some_and(|limit| now.since(garment.since).span > limit / 2)
    }

    /// Whether a garment waits for a press before its spray.
    fn is_blank(&self, garment: &Garment) -> bool {
        garment.place == Place::Waiting(Step::PrePress) && !self.leads_to_print(garment)
    }

    /// Whether the press that a garment waits for is the last before its print.
    pub fn leads_to_print(&self, garment: &Garment) -> bool {
        match garment.place {
            Place::Waiting(Step::Dry) | Place::Shelf => true,
            Place::Waiting(Step::PrePress) => {
                garment.coated || self.wants_fluid(garment) == Some(false)
            }
            _ => false,
        }
    }

    /// Who waits to be sprayed, by turn.
    pub fn to_spray(&self) -> Waiting<'_, Urgency> {
        let queue = [Queue::Step(Step::Spray)];
        self.floor().ordered(&queue, &[], |garment| self.urgency(garment.order()))
    }

    /// Who waits to be printed, by turn. What is in a printer stays first there, whatever has come since.
    pub fn to_print(&self, now: Moment) -> impl Iterator<Item = &Garment> {
        let printing: Vec<Tag> = self.in_printers(now).into_iter().map(|one| one.garment).collect();
        let first: Vec<&Garment> = printing.iter().filter_map(|tag| self.garment(*tag)).collect();
        let others = self.by_turn(&[Queue::Step(Step::Print)], now, false);
        first.into_iter().chain(others.filter(move |one| !printing.contains(&one.tag)))
    }
}
