//! All stations for the lead: read from the hub, gathered for a screen or an answer, and followed on a thread of its
//! own, so that no key waits for the hub.

use std::collections::BTreeMap;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use super::reading::{Copies, OnHub, ReadingOn, Stations};
use super::{Destination, HubError};
use crate::forecast::{outlook, workload};
use crate::screen::stations::seen::{AllSeen, Between, Conflict, StationSeen};
use crate::shell::board::planning::MOST_PLANNED;
use crate::shell::profiles;
use crate::shop::Shop;
use crate::shop::books::outlook::{NoOutlook, Outlook};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::moment::{Boot, Moment, Up, Wall};
use crate::shop::floor::garment::Place;
use crate::shop::floor::whereabouts::{Move, Whereabouts};

/// What was read, gathered.
#[derive(Debug, Default)]
pub struct Gathering {
    copies: Copies,
}

impl Gathering {
    /// What was read, as a screen or an answer takes it. Nothing is foreseen in it yet.
    pub fn gather(&mut self, stations: &Stations) -> AllSeen {
        let seen = stations.all().map(|one| self.seen(one, stations.now)).collect::<Vec<_>>();
        let moved = stations.whereabouts();
        let (between, conflicts) = (between(&moved, &seen), conflicts(&moved));
        AllSeen { stations: seen, between, conflicts, granted: stations.granted().to_vec() }
    }

    fn seen(&mut self, one: &OnHub, hub_now: Wall) -> StationSeen {
        let (mirror, head) = (&one.mirror, one.mirror.head());
        // Before anything was read its moment is the hub's.
        let boot_of_nobody = Moment { at: hub_now, boot: Boot(0), up: Up(0) };
        let now = mirror.now(hub_now).unwrap_or(boot_of_nobody);
        let zone = profiles::zone_of(mirror.shop(), now.boot);
        let shop = self.copies.of(mirror, |shop| shop.set_zone(zone.clone()));
        StationSeen {
            id: mirror.station(),
            name: one.name().to_owned(),
            shop,
            now,
            zone,
            heard: head.heard,
            hub_now,
            life: head.life,
            upto: head.upto,
            behind: head.upto.saturating_sub(mirror.seq()),
            missing: mirror.missing_there(),
            left_out: mirror.left_out(),
            fault: mirror.fault().map(ToString::to_string),
            outlook: Ok(None),
        }
    }
}

/// Garments that another station keeps than the one that took their order, until they are done there: each by the moves
/// that none follows.
fn between(moved: &BTreeMap<Tag, Whereabouts>, seen: &[StationSeen]) -> Vec<Between> {
    let last = moved.iter().flat_map(|(tag, known)| known.last().map(move |one| (*tag, one.at)));
    let mut all: Vec<Between> = last
        .filter(|(tag, at)| *at != tag.station)
        .map(|(garment, at)| {
            let there = seen.iter().find(|station| station.id == at);
            let place = there.and_then(|station| Some(station.shop.garment(garment)?.place));
            Between { garment, at, place }
        })
        .filter(|one| !matches!(one.place, Some(Place::Finished | Place::Out)))
        .collect();
    all.sort_by_key(|one| (one.garment, one.at));
    all
}

/// Garments that several stations have received after the same move, and of which nobody has said where they are.
fn conflicts(moved: &BTreeMap<Tag, Whereabouts>) -> Vec<Conflict> {
    let conflict = |(tag, known): (&Tag, &Whereabouts)| {
        let last: Vec<&Move> = known.last().collect();
        let first = last.first()?;
        last.iter().any(|one| one.at != first.at).then(|| Conflict {
            garment: tag.to_string(),
            after: first.after.first().map(ToString::to_string),
            moves: last.iter().map(|one| (one.at, one.row.to_string())).collect(),
        })
    };
    moved.iter().filter_map(conflict).collect()
}

/// When what is open at a station will be ready; None where nothing is left. It takes its time.
///
/// # Errors
/// Why nothing can be foreseen.
pub fn foresee(shop: &Shop, now: Moment) -> Result<Option<Outlook>, NoOutlook> {
    let open = shop.floor().count_of_open();
    if open > MOST_PLANNED {
        let reason = format!("{open} garments are open: a plan takes at most {MOST_PLANNED}");
        return Err(NoOutlook(reason));
    }
    workload::of_shop(shop, now).map_or(Ok(None), |work| outlook::of(&work, now))
}

/// What the screen hears of the hub.
#[derive(Debug)]
pub enum HubNews {
    Read(Box<AllSeen>),
    /// It does not answer; it is tried again.
    Away(String),
    /// It says no, or is not what it was: a hand is needed. It is tried again all the same.
    Refused(String),
}

/// The thread, as long as this lives.
#[derive(Debug)]
pub struct HubFollower {
    news: Option<UnboundedReceiver<HubNews>>,
    _stop: Sender<()>,
}

impl HubFollower {
    /// Follows a hub.
    ///
    /// # Errors
    /// No thread is left.
    pub fn start(to: Destination) -> std::io::Result<Self> {
        let (stop, stopped) = channel();
        let (tell, news) = unbounded_channel();
        std::thread::Builder::new().name("hub".into()).spawn(move || {
            follow(ReadingOn::of(to), &tell, &stopped);
        })?;
        Ok(Self { news: Some(news), _stop: stop })
    }

    /// What is told, once.
    pub fn take_news(&mut self) -> Option<UnboundedReceiver<HubNews>> {
        self.news.take()
    }
}

fn follow(mut reading: ReadingOn, tell: &UnboundedSender<HubNews>, stopped: &Receiver<()>) {
    let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(reason) => return drop(tell.send(HubNews::Refused(reason.to_string()))),
    };
    let (mut stations, mut gathering) = (Stations::default(), Gathering::default());
    loop {
        let told = match runtime.block_on(reading.look(&mut stations, |_, _| ())) {
            Ok(()) => HubNews::Read(Box::new(gathering.gather(&stations))),
            Err(HubError::Outage(reason)) => HubNews::Away(reason),
            Err(wrong) => HubNews::Refused(wrong.to_string()),
        };
        // The screen may have ended.
        let ended = tell.send(told).is_err();
        if ended || stopped.recv_timeout(reading.pause) != Err(RecvTimeoutError::Timeout) {
            return;
        }
    }
}
