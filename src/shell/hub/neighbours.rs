//! What a board hears of the shop's other stations: their histories from the hub, followed on a thread of its own.
//!
//! It only reads. What it hears of garments that moved becomes commands of the board, and what comes with a garment is
//! asked of the shop of whoever keeps it, as far as that was read. No key waits for it.

use std::collections::BTreeMap;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use super::Destination;
use super::mirror::Life;
use super::reading::{Copies, OnHub, ReadingOn, Stations};
use crate::screen::elsewhere::{Hub, Keeps};
use crate::shell::journal::row::Stored;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, FIRST_LIFE, Fact};
use crate::shop::facts::ids::{StationId, Tag};
use crate::shop::floor::garment::Place;
use crate::shop::rules::command::HeardWord;
use crate::shop::rules::command::{Handover, Heard};
use crate::shop::rules::shared::SharedBoard;

/// A refusal waits for a hand, and whoever has mended it need not come to every bench.
const REFUSED: Duration = Duration::from_secs(60);

/// What the board hears.
#[derive(Debug, Clone, Default)]
pub struct NeighbourNews {
    pub hub: Hub,
    /// What the other stations are called.
    pub names: BTreeMap<StationId, String>,
    /// The life in which this station writes, as far as the hub told.
    pub life: Option<u32>,
    /// What they say of orders that all stations share.
    pub shared: SharedBoard,
    /// The words on shared orders that count among them.
    pub words: Vec<HeardWord>,
    /// Garments that moved, in the order of each station's rows.
    pub heard: Vec<Heard>,
}

impl NeighbourNews {
    /// Whether it says the same beside what has moved.
    fn stands_as(&self, other: &Self) -> bool {
        let told = |one: &Self| (one.hub, one.life);
        (told(self), &self.names) == (told(other), &other.names)
            && (&self.shared, &self.words) == (&other.shared, &other.words)
    }
}

/// A station as far as it was read.
struct Read {
    shop: Arc<Shop>,
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
    pub fn start(own: StationId, to: Destination) -> std::io::Result<Self> {
        let (stop, stopped) = channel();
        let (tell, news) = unbounded_channel();
        let all = All::default();
        let following = Following { own, to, all: Arc::clone(&all), tell };
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
    to: Destination,
    all: All,
    tell: UnboundedSender<NeighbourNews>,
}

impl Following {
    fn work(self, stopped: &Receiver<()>) {
        let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
            Ok(runtime) => runtime,
            Err(reason) => return tracing::warn!(%reason, "other stations are not heard of"),
        };
        let mut reading = ReadingOn::of(self.to.clone());
        let (mut stations, mut copies) = (Stations::beside(self.own), Copies::default());
        let mut told = NeighbourNews::default();
        // What was read before an answer failed is told with the next one: it is not read again.
        let mut moved = Vec::new();
        loop {
            let each = |_: &Stored, event: &Event| {
                if matches!(event.fact, Fact::Received(_) | Fact::Settled(_)) {
                    moved.push(event.clone());
                }
            };
            let mut pause = None;
            let news = match runtime.block_on(reading.look(&mut stations, each)) {
                Ok(()) => {
                    let shared = self.keep(&stations, &mut copies);
                    let heard = std::mem::take(&mut moved);
                    self.news_of(&stations, shared, heard)
                }
                Err(wrong) => {
                    // A week without the hub is one line of the log.
                    if told.hub != Hub::CutOff {
                        tracing::info!(%wrong, "other stations cannot be heard of");
                    }
                    if !wrong.is_outage() {
                        pause = Some(REFUSED);
                        // What was read may be another hub's: it is read from the beginning once there is an answer.
                        stations = Stations::beside(self.own);
                    }
                    NeighbourNews { hub: Hub::CutOff, ..told.clone() }
                }
            };
            let is_new = !news.heard.is_empty() || !news.stands_as(&told);
            told = NeighbourNews { heard: Vec::new(), ..news.clone() };
            // The board may have ended.
            let ended = is_new && self.tell.send(news).is_err();
            let pause = pause.unwrap_or(reading.pause);
            if ended || stopped.recv_timeout(pause) != Err(RecvTimeoutError::Timeout) {
                return;
            }
        }
    }

    /// Keeps what was read where the board's keys find it: in one exchange, for which no key waits. What all say of shared
    /// orders.
    fn keep(&self, stations: &Stations, copies: &mut Copies) -> SharedBoard {
        let read = stations.all().map(|one| {
            let (shop, lives) = (copies.of(&one.mirror, |_| ()), one.mirror.head().lives.clone());
            (one.mirror.station(), Read { shop, lives })
        });
        let read: BTreeMap<StationId, Read> = read.collect();
        let shared = SharedBoard::of(read.values().map(|one| &*one.shop));
        *self.all.write().unwrap_or_else(PoisonError::into_inner) = read;
        shared.beside(stations.granted().to_vec())
    }

    fn news_of(
        &self,
        stations: &Stations,
        shared: SharedBoard,
        moved: Vec<Event>,
    ) -> NeighbourNews {
        let named = |one: &OnHub| (one.mirror.station(), one.name().to_owned());
        let names: BTreeMap<StationId, String> = stations.all().map(named).collect();
        let life = stations.own_life().and_then(|life| u32::try_from(life).ok());
        let name = |station| names.get(&station).map_or("", String::as_str);
        let all = self.all.read().unwrap_or_else(PoisonError::into_inner);
        let words = shared.words().map(|(order, word)| HeardWord {
            order,
            // A word of this station that only the others know is of a life that is over.
            life: all.get(&word.station).map_or(FIRST_LIFE, |one| one.life_of(word.seq)),
            bench: name(word.station).to_owned(),
            word,
        });
        let heard = moved.iter().filter_map(|event| Heard::of(event, name(event.station)));
        NeighbourNews {
            hub: Hub::There,
            life,
            heard: heard.collect(),
            words: words.collect(),
            shared,
            names,
        }
    }
}
