//! A small shop on a made-up time line: commands go in, events come out, as on the board.

use std::sync::Arc;
use std::time::Duration;

use dwell::forecast::shift::{self, BEGINS};
use dwell::shell::profiles::{Profiles, load};
use dwell::shop::Shop;
use dwell::shop::facts::fact::Event;
use dwell::shop::facts::ids::{ActNo, OrderId, OrderNo, StationId};
use dwell::shop::facts::moment::Moment;
use dwell::shop::facts::order::{OrderForm, OrderLine};
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::station::Station;
use dwell::shop::rules::command::{Command, Refusal};

/// The profiles as they are shipped.
pub fn shipped() -> Profiles {
    let directory = crate::root().join("profiles");
    load(Some(&directory)).unwrap_or_else(|wrong| panic!("{wrong}"))
}

/// The shipped station with so many presses.
pub fn station(presses: usize) -> Station {
    shift::station(&shipped().station, presses)
}

/// An order of the first station by its number.
pub fn own(no: u32) -> OrderId {
    OrderId { station: StationId::default(), no: OrderNo(no) }
}

/// An order line of a kind that the shipped recipes know.
pub fn line(count: u32, recipe: &str) -> OrderLine {
    OrderLine {
        mark: "M".to_owned(),
        underbase: Some(true),
        ..OrderLine::plain(count, recipe, "#16181d".parse().unwrap())
    }
}

/// An order of such lines.
pub fn order(lines: Vec<OrderLine>) -> Command {
    let form = OrderForm {
        name: "Harbour choir".to_owned(),
        rank: Rank::USUAL,
        due: None,
        shared: false,
        lines,
    };
    Command::TakeOrder { form, file: None }
}

/// A shop, its present moment, and everything that has happened in it.
pub struct World {
    pub shop: Shop,
    pub now: Moment,
    pub events: Vec<Event>,
}

impl World {
    /// A shop with this station and the shipped recipes, before the first order.
    pub fn new(station: Station) -> Self {
        let mut world = Self { shop: Shop::default(), now: BEGINS, events: Vec::new() };
        world.must(Command::SetStation(Arc::new(station)));
        for (name, recipe) in shipped().recipes {
            world.must(Command::KeepRecipe { name, recipe });
        }
        world
    }

    /// States a command; its events, or why it was refused.
    pub fn say(&mut self, command: &Command) -> Result<Vec<Event>, Refusal> {
        let facts = self.shop.decide(command, self.now)?;
        let station = self.shop.station().map(|station| station.id).unwrap_or_default();
        let act = ActNo(self.shop.seq() + 1);
        let moment = self.now;
        let events: Vec<Event> = (act.0..)
            .zip(facts)
            .map(|(seq, fact)| Event { station, seq, act, moment, fact })
            .collect();
        for event in &events {
            self.shop.apply(event);
        }
        self.events.extend(events.iter().cloned());
        Ok(events)
    }

    /// States a command that cannot be refused.
    pub fn must(&mut self, command: Command) -> Vec<Event> {
        self.say(&command).unwrap_or_else(|refusal| panic!("{command:?}: {refusal}"))
    }

    /// Lets time pass.
    pub fn wait(&mut self, seconds: f64) {
        self.now = self.now.plus(Duration::from_secs_f64(seconds));
    }
}
