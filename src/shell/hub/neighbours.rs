//! What a board hears of the shop's other stations: their histories from the hub, followed on a thread of its own.
//!
//! It only reads. What it hears of garments that moved becomes commands of the board, and what comes with a garment is
//! asked of the shop of whoever keeps it, as far as that was read. No key waits for it.

use std::collections::BTreeMap;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use super::mirror::Life;
use super::reading::{OnHub, Stations};
use super::{Connection, Destination, HubError};
use crate::screen::elsewhere::{Hub, Keeps};
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, FIRST_LIFE, Fact};
use crate::shop::facts::ids::{StationId, Tag};
use crate::shop::facts::station::HubProfile;
use crate::shop::floor::garment::Place;
use crate::shop::rules::moves::{Handover, Heard};

/// Heads are asked for so often; after a failure it is tried again later and later, up to this.
const LOOK: Duration = Duration::from_secs(1);
const LONGEST: Duration = Duration::from_secs(10);
/// A refusal waits for a hand, and whoever has mended it need not come to every bench.
const REFUSED: Duration = Duration::from_secs(60);

/// What the board hears.
#[derive(Debug, Default)]
pub struct NeighbourNews {
    pub hub: Hub,
    /// What the other stations are called.
    pub names: BTreeMap<StationId, String>,
    /// The life in which this station writes, as far as the hub told.
    pub life: Option<u32>,
    /// Garments that moved, in the order of each station's rows.
    pub heard: Vec<Heard>,
}

/// A station as far as it was read.
struct Read {
    shop: Arc<Shop>,
    /// The sum of its last row: a number alone may come again in another life.
    sum: i64,
    lives: Vec<Life>,
}

type All = Arc<RwLock<BTreeMap<StationId, Read>>>;

/// The thread, as long as this lives.
pub struct Neighbours {
    all: All,
    news: Option<UnboundedReceiver<NeighbourNews>>,
    _stop: Sender<()>,
}

impl Neighbours {
    /// Follows the stations beside `own`.
    ///
    /// # Errors
    /// No thread is left.
    pub fn start(own: StationId, profile: &HubProfile) -> std::io::Result<Self> {
        let (stop, stopped) = channel();
        let (tell, news) = unbounded_channel();
        let (all, profile) = (All::default(), profile.clone());
        let following = Following { own, profile, all: Arc::clone(&all), tell };
        std::thread::Builder::new().name("neighbours".into()).spawn(move || {
            crate::shell::lower_priority();
            following.work(&stopped);
        })?;
        Ok(Self { all, news: Some(news), _stop: stop })
    }

    /// What is told, once.
    pub fn take_news(&mut self) -> Option<UnboundedReceiver<NeighbourNews>> {
        self.news.take()
    }

    /// What comes with a garment, asked of whoever keeps it.
    pub fn keeps(&self) -> Keeps {
        let all = Arc::clone(&self.all);
        Arc::new(move |tag| {
            let all = all.read().unwrap_or_else(PoisonError::into_inner);
            all.values().find_map(|one| one.handover(tag))
        })
    }
}

impl Read {
    fn handover(&self, tag: Tag) -> Option<Handover> {
        let garment = self.shop.garment(tag)?;
        if matches!(garment.place, Place::Away(_)) {
            return None;
        }
        self.shop.handover(tag, |seq| self.life_of(seq))
    }

    /// In which life a row of the history that counts was written.
    fn life_of(&self, seq: u64) -> u32 {
        let life = self.lives.iter().rev().find(|life| life.after < seq);
        life.and_then(|life| u32::try_from(life.no).ok()).unwrap_or(FIRST_LIFE)
    }
}

struct Following {
    own: StationId,
    profile: HubProfile,
    all: All,
    tell: UnboundedSender<NeighbourNews>,
}

impl Following {
    fn work(self, stopped: &Receiver<()>) {
        let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
            Ok(runtime) => runtime,
            Err(reason) => return tracing::warn!(%reason, "other stations are not heard of"),
        };
        let (mut stations, mut hub, mut pause) = (Stations::beside(self.own), None, LOOK);
        let mut told = NeighbourNews::default();
        // What was read before an answer failed is told with the next one: it is not read again.
        let mut moved = Vec::new();
        loop {
            let looked = runtime.block_on(self.look(&mut stations, &mut hub, &mut moved));
            let news = match looked {
                Ok(()) => {
                    pause = LOOK;
                    self.keep(&stations);
                    self.news_of(&stations, std::mem::take(&mut moved))
                }
                Err(wrong) => {
                    // A week without the hub is one line of the log.
                    if told.hub != Hub::CutOff {
                        tracing::info!(%wrong, "other stations cannot be heard of");
                    }
                    hub = None;
                    pause = (pause * 2).min(LONGEST);
                    if !wrong.is_outage() {
                        pause = REFUSED;
                        // What was read may be another hub's: it is read from the beginning once there is an answer.
                        stations = Stations::beside(self.own);
                    }
                    NeighbourNews {
                        hub: Hub::CutOff,
                        heard: Vec::new(),
                        names: told.names.clone(),
                        life: told.life,
                    }
                }
            };
            let is_new = !news.heard.is_empty()
                || (news.hub, &news.names, news.life) != (told.hub, &told.names, told.life);
            told = NeighbourNews { heard: Vec::new(), names: news.names.clone(), ..news };
            // The board may have ended.
            let ended = is_new && self.tell.send(news).is_err();
            if ended || stopped.recv_timeout(pause) != Err(RecvTimeoutError::Timeout) {
                return;
            }
        }
    }

    async fn look(
        &self,
        stations: &mut Stations,
        hub: &mut Option<Connection>,
        moved: &mut Vec<Event>,
    ) -> Result<(), HubError> {
        let hub = match hub {
            Some(hub) if !hub.is_closed() => hub,
            _ => hub.insert(Connection::to(&Destination::of_profile(&self.profile)?).await?),
        };
        let of_moves = |fact: &Fact| matches!(fact, Fact::Received(_) | Fact::Settled(_));
        let read = stations.read_on(hub, |_, event| {
            if of_moves(&event.fact) {
                moved.push(event.clone());
            }
        });
        read.await
    }

    /// Keeps what was read where the board's keys find it. A shop is copied only where something has happened in it, and
    /// before it is laid there: no key waits for that.
    fn keep(&self, stations: &Stations) {
        for one in stations.all() {
            let (mirror, station) = (&one.mirror, one.mirror.station());
            let known = self.known(station, mirror.sum());
            let shop = known.unwrap_or_else(|| Arc::new(mirror.shop().clone()));
            let read = Read { shop, sum: mirror.sum(), lives: mirror.head().lives.clone() };
            self.all.write().unwrap_or_else(PoisonError::into_inner).insert(station, read);
        }
    }

    /// The copy of a station's shop, where nothing has happened in it since.
    fn known(&self, station: StationId, sum: i64) -> Option<Arc<Shop>> {
        let all = self.all.read().unwrap_or_else(PoisonError::into_inner);
        all.get(&station).filter(|read| read.sum == sum).map(|read| Arc::clone(&read.shop))
    }

    fn news_of(&self, stations: &Stations, moved: Vec<Event>) -> NeighbourNews {
        let named = |one: &OnHub| (one.mirror.station(), one.name().to_owned());
        let names: BTreeMap<StationId, String> = stations.all().map(named).collect();
        let life = stations.own_life().and_then(|life| u32::try_from(life).ok());
        let name = |station| names.get(&station).map_or("", String::as_str);
        let heard = moved.iter().filter_map(|event| Heard::of(event, name(event.station)));
        NeighbourNews { hub: Hub::There, life, heard: heard.collect(), names }
    }
}
