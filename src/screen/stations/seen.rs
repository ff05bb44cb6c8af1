//! All stations as their rows on the hub tell them, and what is to be said over all of them: orders, garments between
//! benches, two moves that follow the same one, alarms.

use std::sync::Arc;
use std::time::Duration;

use jiff::tz::TimeZone;

use crate::screen::words;
use crate::shop::Shop;
use crate::shop::books::outlook::{NoOutlook, Outlook, Ready};
use crate::shop::books::tally::Standing;
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::{StationId, Tag};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::order::Order;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::Place;
use crate::shop::rules::alarms::Alarm;

/// A station that the hub has not heard of for so long is said to be silent: its courier asks every few seconds.
const SILENT: Duration = Duration::from_secs(60);

/// One station.
#[derive(Debug)]
pub struct StationSeen {
    pub id: StationId,
    /// What people call it; empty where nobody has said.
    pub name: String,
    pub shop: Arc<Shop>,
    /// The moment at the station.
    pub now: Moment,
    pub zone: TimeZone,
    /// When the hub heard of it last, by the hub's clock, and what that showed when this was read.
    pub heard: Option<Wall>,
    pub hub_now: Wall,
    /// The life that writes, and its last row on the hub.
    pub life: i32,
    pub upto: u64,
    /// Rows on the hub that are not in `shop`, and rows in `shop` that the hub has lost.
    pub behind: u64,
    pub missing: u64,
    /// Rows of earlier lives that do not count.
    pub left_out: u64,
    /// What is wrong with its history on the hub.
    pub fault: Option<String>,
    pub outlook: Result<Option<Outlook>, NoOutlook>,
}

impl StationSeen {
    /// "North bench", or "station A" where it has no name.
    pub fn called(&self) -> String {
        match self.name.as_str() {
            "" => format!("station {}", self.letters()),
            name => name.to_owned(),
        }
    }

    /// As its tags begin: "A".
    pub fn letters(&self) -> String {
        self.id.to_string().to_ascii_uppercase()
    }

    /// How long the hub has not heard of it, where that is long.
    pub fn silent(&self) -> Option<Duration> {
        let silent = self.hub_now.since(self.heard?);
        (silent >= SILENT).then_some(silent)
    }

    /// What is to be said of its history on the hub.
    pub fn remarks(&self) -> Vec<String> {
        let mut remarks: Vec<String> = self.fault.iter().cloned().collect();
        if self.heard.is_none() {
            remarks.push("the hub has never heard of it".to_owned());
        }
        if self.missing > 0 {
            let rows = counted(usize_of(self.missing), "row");
            remarks.push(format!("the hub has lost {rows} of it: its board sends them again"));
        }
        if self.left_out > 0 {
            let rows = counted(usize_of(self.left_out), "row");
            remarks.push(format!(
                "{rows} of an earlier life do not count: it went on from before them"
            ));
        }
        remarks
    }
}

fn usize_of(count: u64) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}

/// All of them, and what lies between them.
#[derive(Debug, Default)]
pub struct AllSeen {
    pub stations: Vec<StationSeen>,
    pub between: Vec<Between>,
    pub conflicts: Vec<Conflict>,
    /// Parts of shared orders that the hub has granted to a station, and that it has sent no row of.
    pub granted: Vec<(StationId, PartOf)>,
}

/// An order of a station.
pub struct OrderSeen<'a> {
    pub station: &'a StationSeen,
    pub order: &'a Order,
    pub standing: Standing,
    pub due: Option<Wall>,
    /// When it will be ready, where that is foreseen.
    pub ready: Option<&'a Ready>,
}

/// The orders of all stations: what is not fulfilled first, by due time; of the rest the newest first.
pub fn orders(stations: &[StationSeen]) -> Vec<OrderSeen<'_>> {
    let mut all: Vec<OrderSeen<'_>> = Vec::new();
    for station in stations {
        let foreseen = station.outlook.as_ref().ok().and_then(Option::as_ref);
        // Of another station's order only what came from it is known here: it stands at the station that took it in.
        let taken = station.shop.orders().filter(|order| order.id.station == station.id);
        all.extend(taken.map(|order| {
            let own = |ready: &&Ready| ready.order == Some(order.id);
            OrderSeen {
                station,
                order,
                standing: station.shop.floor().standing(order),
                due: order.form.due.and_then(|due| due.at(&station.zone)),
                ready: foreseen.and_then(|outlook| outlook.orders.iter().find(own)),
            }
        }));
    }
    all.sort_by_key(|seen| {
        let done = seen.standing.is_fulfilled() || seen.order.cancelled;
        let newest = done.then_some(std::cmp::Reverse(seen.order.id));
        (
            done,
            seen.due.is_none(),
            seen.due.filter(|_| !done),
            newest,
            seen.station.id,
            seen.order.id,
        )
    });
    all
}

/// A garment that its order's station does not keep any more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Between {
    pub garment: Tag,
    /// Who keeps it.
    pub at: StationId,
    /// Where it is there; None where that station has not said.
    pub place: Option<Place>,
}

impl Between {
    /// Where it is there, in words; None where that station has not said.
    pub fn place_in_words(&self, stations: &[StationSeen]) -> Option<String> {
        let there = stations.iter().find(|one| one.id == self.at)?;
        Some(words::place(&there.shop, self.place?))
    }
}

/// A garment that several stations have received after the same move.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    pub garment: String,
    /// The move that they follow, by its row; None: the order's.
    pub after: Option<String>,
    /// Who received it, and by which row.
    pub moves: Vec<(StationId, String)>,
}

impl Conflict {
    /// "A1-07 is at North bench and at South bench: look which", by the names that stations have.
    pub fn in_words(&self, stations: &[StationSeen]) -> String {
        let at = self.moves.iter().map(|(id, _)| format!("at {}", called(stations, *id)));
        let at: Vec<String> = at.collect();
        format!("{} is {}: look which", self.garment, at.join(" and "))
    }
}

/// What people call a station, whether it is known or not.
pub fn called(stations: &[StationSeen], id: StationId) -> String {
    let known = stations.iter().find(|one| one.id == id);
    known.map_or_else(|| format!("station {id}"), |one| one.called())
}

/// An alarm of a station.
#[derive(Debug, Clone, Copy)]
pub struct AlarmSeen<'a> {
    pub station: &'a StationSeen,
    pub alarm: Alarm,
}

/// All alarms, the most pressing first.
pub fn alarms(stations: &[StationSeen]) -> Vec<AlarmSeen<'_>> {
    let mut all: Vec<AlarmSeen<'_>> = Vec::new();
    for station in stations {
        let alarms = station.shop.alarms(station.now).into_iter();
        all.extend(alarms.map(|alarm| AlarmSeen { station, alarm }));
    }
    all.sort_by_key(|seen| (std::cmp::Reverse(seen.alarm.level()), seen.station.id, seen.alarm));
    all
}
