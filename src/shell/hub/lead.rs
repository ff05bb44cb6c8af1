//! All stations for the lead: read from the hub, gathered for a screen or an answer, and followed on a thread of its
//! own, so that no key waits for the hub.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use super::reading::{OnHub, Stations};
use super::{Connection, Destination, HubError};
use crate::forecast::{outlook, workload};
use crate::screen::stations::seen::{AllSeen, Between, Conflict, StationSeen};
use crate::shell::board::planning::MOST_PLANNED;
use crate::shell::profiles;
use crate::shop::Shop;
use crate::shop::books::outlook::{NoOutlook, Outlook};
use crate::shop::facts::ids::{StationId, Tag};
use crate::shop::facts::moment::{Boot, Moment, Up, Wall};
use crate::shop::floor::garment::Place;
use crate::shop::floor::whereabouts::{Move, Whereabouts};

/// Heads are asked for so often.
const LOOK: Duration = Duration::from_secs(1);
/// After a failure it is tried again later and later, up to this.
const LONGEST: Duration = Duration::from_secs(10);

/// Copies of the stations' shops: one is made again only where something has happened since.
#[derive(Debug, Default)]
pub struct Gathering {
    /// With the sum of the last row that is in each: a number alone may come again in another life.
    shops: BTreeMap<StationId, (i64, Arc<Shop>)>,
}

impl Gathering {
    /// What was read, as a screen or an answer takes it. Nothing is foreseen in it yet.
    pub fn gather(&mut self, stations: &Stations) -> AllSeen {
        let seen = stations.all().map(|one| self.seen(one, stations.now)).collect::<Vec<_>>();
        let (between, conflicts) = (between(stations, &seen), conflicts(stations));
        AllSeen { stations: seen, between, conflicts }
    }

    fn seen(&mut self, one: &OnHub, hub_now: Wall) -> StationSeen {
        let (mirror, head) = (&one.mirror, one.mirror.head());
        // Before anything was read its moment is the hub's.
        let boot_of_nobody = Moment { at: hub_now, boot: Boot(0), up: Up(0) };
        let now = mirror.now(hub_now).unwrap_or(boot_of_nobody);
        let zone = profiles::zone_of(mirror.shop(), now.boot);
        let known = self.shops.get(&mirror.station()).filter(|(sum, _)| *sum == mirror.sum());
        let shop = known.map(|(_, shop)| Arc::clone(shop)).unwrap_or_else(|| {
            let mut shop = mirror.shop().clone();
            shop.set_zone(zone.clone());
            Arc::new(shop)
        });
        self.shops.insert(mirror.station(), (mirror.sum(), Arc::clone(&shop)));
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
fn between(stations: &Stations, seen: &[StationSeen]) -> Vec<Between> {
    let moved = stations.whereabouts();
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
fn conflicts(stations: &Stations) -> Vec<Conflict> {
    let moved = stations.whereabouts();
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
            let following = Following { to, stations: Stations::default(), tell };
            following.work(&stopped);
        })?;
        Ok(Self { news: Some(news), _stop: stop })
    }

    /// What is told, once.
    pub fn take_news(&mut self) -> Option<UnboundedReceiver<HubNews>> {
        self.news.take()
    }
}

struct Following {
    to: Destination,
    stations: Stations,
    tell: UnboundedSender<HubNews>,
}

impl Following {
    fn work(mut self, stopped: &Receiver<()>) {
        let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
            Ok(runtime) => runtime,
            Err(reason) => return drop(self.tell.send(HubNews::Refused(reason.to_string()))),
        };
        let (mut gathering, mut hub, mut pause) = (Gathering::default(), None, LOOK);
        loop {
            let told = match runtime.block_on(self.look(&mut hub)) {
                Ok(()) => {
                    pause = LOOK;
                    HubNews::Read(Box::new(gathering.gather(&self.stations)))
                }
                Err(wrong) => {
                    hub = None;
                    pause = (pause * 2).min(LONGEST);
                    match wrong {
                        HubError::Outage(reason) => HubNews::Away(reason),
                        wrong => HubNews::Refused(wrong.to_string()),
                    }
                }
            };
            // The screen may have ended.
            let ended = self.tell.send(told).is_err();
            if ended || stopped.recv_timeout(pause) != Err(RecvTimeoutError::Timeout) {
                return;
            }
        }
    }

    async fn look(&mut self, hub: &mut Option<Connection>) -> Result<(), HubError> {
        let hub = match hub {
            Some(hub) if !hub.is_closed() => hub,
            _ => hub.insert(Connection::to(&self.to).await?),
        };
        self.stations.read_on(hub, |_, _| ()).await
    }
}
