//! Reading all stations from the hub: heads first, then what is new of each, in batches.
//!
//! Heads are a handful of rows, so they can be asked for each second; rows are asked for only where a head says that
//! there are some. Nothing here writes, so a reader's role is enough.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use tokio_postgres::types::Type;

use super::answer::{column, from_server, stored, to_server};
use super::mirror::{Fault, Head, Life, Mirror, Row, Wanted};
use super::prepare::Version;
use super::{Connection, Destination, HubError};
use crate::shell::journal::row::Stored;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact, PartOf};
use crate::shop::facts::ids::{OrderId, OrderNo, StationId, Tag};
use crate::shop::facts::moment::Wall;
use crate::shop::floor::whereabouts::{Move, Whereabouts};

/// So many rows of a station are asked for at once.
const BATCH: i32 = 5000;
/// How long a batch may take: it is large, and the way may be slow.
const PATIENCE: Duration = Duration::from_secs(30);

/// Each station's head, and the hub's own clock.
const HEADS: &str = "
    SELECT station, name, life, upto, sum, (extract(epoch FROM heard) * 1000000)::bigint,
      (extract(epoch FROM clock_timestamp()) * 1000000)::bigint
    FROM hub.stations ORDER BY station";

/// Where each life began, and the last row that it wrote.
const LIVES: &str = "
    SELECT l.station, l.life, l.after_seq, l.after_sum,
      (SELECT max(e.seq) FROM hub.events AS e WHERE e.station = l.station AND e.life = l.life)
    FROM hub.lives AS l ORDER BY l.station, l.life";

const GRANTED: &str = "
    SELECT of_station, order_no, line, count, asked_by, station FROM hub.parts
    WHERE seq IS NULL ORDER BY station, of_station, order_no, line, asked_by";

const NEWS: &str = "
    SELECT life, station, seq, act, at, boot, up, version, kind, body, sum
    FROM hub.news($1, $2, $3) ORDER BY station, seq";

/// A station on the hub: what the owner called it, and its history as far as it was read.
#[derive(Debug)]
pub struct OnHub {
    pub name: String,
    pub mirror: Mirror,
}

impl OnHub {
    /// What people call the station: as its own profile says, else as it was added to the hub.
    pub fn name(&self) -> &str {
        self.mirror.shop().station().map_or(&self.name, |station| &station.name)
    }
}

/// All stations of a hub.
#[derive(Debug, Default)]
pub struct Stations {
    /// Which hub it was that was read first.
    hub: Option<String>,
    all: BTreeMap<StationId, OnHub>,
    /// Garments that moved, by the station that has said so.
    moves: BTreeMap<StationId, Vec<(Tag, Move)>>,
    /// The station that asks, whose own history it has: only its life is heard of.
    own: Option<(StationId, i32)>,
    /// Parts of shared orders that were granted to a station, and of which the hub has no row of it yet.
    granted: Vec<(StationId, PartOf)>,
    /// The hub's clock when the heads were told.
    pub now: Wall,
}

impl Stations {
    /// Each station, by its id.
    pub fn all(&self) -> impl Iterator<Item = &OnHub> {
        self.all.values()
    }

    /// All stations but the one that asks.
    pub fn beside(own: StationId) -> Self {
        Self { own: Some((own, 0)), ..Self::default() }
    }

    /// The life in which the station that asks writes.
    pub fn own_life(&self) -> Option<i32> {
        self.own.map(|(_, life)| life)
    }

    /// Parts that were granted to a station, and that it has not sent a row of yet.
    pub fn granted(&self) -> &[(StationId, PartOf)] {
        &self.granted
    }

    /// What the moves of each garment say of where it is.
    pub fn whereabouts(&self) -> BTreeMap<Tag, Whereabouts> {
        let mut all: BTreeMap<Tag, Whereabouts> = BTreeMap::new();
        for (garment, one) in self.moves.values().flatten() {
            all.entry(*garment).or_default().take(one.clone(), false);
        }
        all
    }

    /// Reads on over a connection until it is where the heads were when it began; `each` sees every row that is new.
    /// A station whose history does not fit keeps its fault, and the others are read on.
    ///
    /// # Errors
    /// No answer, another hub than was read before, or one that no station was added to.
    pub async fn read_on(
        &mut self,
        hub: &Connection,
        mut each: impl FnMut(&Stored, &Event),
    ) -> Result<(), HubError> {
        self.is_same(hub).await?;
        self.hear(hub).await?;
        // Before the rows: what is recorded meanwhile is known by its row too.
        self.granted = granted(hub).await?;
        loop {
            let wanted: Vec<Wanted> =
                self.all.values().filter_map(|one| one.mirror.wanted()).collect();
            if wanted.is_empty() {
                return Ok(());
            }
            let before = self.read();
            for (station, rows) in news(hub, &wanted).await? {
                let Some(one) = self.all.get_mut(&station) else { continue };
                let moves = self.moves.entry(station).or_default();
                let taken = one.mirror.take(&rows, |row, event| {
                    moves.extend(move_of(event));
                    each(&row.stored, event);
                });
                // What is wrong stays with the station.
                drop(taken);
            }
            if self.read() == before {
                // It fell back between two questions: the next heads say so.
                return Ok(());
            }
        }
    }

    /// What is wrong with the stations' histories.
    pub fn faults(&self) -> impl Iterator<Item = &Fault> {
        self.all.values().filter_map(|one| one.mirror.fault())
    }

    /// How many rows were read, and how many stations are at fault: what a batch changes.
    fn read(&self) -> (u64, usize) {
        (self.all.values().map(|one| one.mirror.seq()).sum(), self.faults().count())
    }

    /// Whether it is the hub that was read before.
    async fn is_same(&mut self, hub: &Connection) -> Result<(), HubError> {
        let asked =
            hub.ask("SELECT schema_version, oldest_writer, hub::text FROM hub.about", &[]).await;
        let rows = asked.map_err(|wrong| match wrong {
            HubError::Refused { code, .. } if is_absent(&code) => HubError::NotPrepared,
            wrong => wrong,
        })?;
        let row = rows.first().ok_or(HubError::NotPrepared)?;
        let id = column::<String>(row, 2)?;
        Version { schema: column(row, 0)?, oldest_writer: column(row, 1)? }.is_known()?;
        if self.hub.as_ref().is_some_and(|known| *known != id) {
            let text = "another hub lies under its address now: start again to see that one";
            return Err(HubError::Answer(text.to_owned()));
        }
        self.hub = Some(id);
        Ok(())
    }

    /// Takes in where the histories end.
    async fn hear(&mut self, hub: &Connection) -> Result<(), HubError> {
        let rows = hub.ask(HEADS, &[]).await?;
        let mut lives = lives(hub).await?;
        for row in &rows {
            let station = station_of(&column::<String>(row, 0)?)?;
            let head = Head {
                station,
                life: column(row, 2)?,
                upto: from_server(column(row, 3)?),
                sum: column(row, 4)?,
                heard: column::<Option<i64>>(row, 5)?.map(Wall),
                lives: lives.remove(&station).unwrap_or_default(),
            };
            self.now = Wall(column(row, 6)?);
            if let Some((_, life)) = self.own.as_mut().filter(|(own, _)| *own == station) {
                *life = head.life;
                continue;
            }
            let name = column(row, 1)?;
            match self.all.get_mut(&station) {
                Some(one) => {
                    one.name = name;
                    one.mirror.hear(head);
                    if one.mirror.seq() == 0 {
                        // All of it is read again.
                        self.moves.remove(&station);
                    }
                }
                None => drop(self.all.insert(station, OnHub { name, mirror: Mirror::new(head) })),
            }
        }
        Ok(())
    }
}

/// How a thread reads on for as long as it lives: over one connection, which is opened anew where it was lost.
pub struct ReadingOn {
    to: Destination,
    hub: Option<Connection>,
    /// How long it waits before it looks again.
    pub pause: Duration,
}

impl ReadingOn {
    /// Heads are asked for so often; after a failure it is tried again later and later, up to the second of them.
    const LOOK: Duration = Duration::from_secs(1);
    const LONGEST: Duration = Duration::from_secs(10);

    /// Of a hub that was not spoken to yet.
    pub fn of(to: Destination) -> Self {
        Self { to, hub: None, pause: Self::LOOK }
    }

    /// Reads on until all is read that the hub has.
    ///
    /// # Errors
    /// As for `Stations::read_on`, or no connection.
    pub async fn look(
        &mut self,
        stations: &mut Stations,
        each: impl FnMut(&Stored, &Event),
    ) -> Result<(), HubError> {
        let looked = self.read_on(stations, each).await;
        match looked {
            Ok(()) => self.pause = Self::LOOK,
            Err(_) => {
                self.hub = None;
                self.pause = (self.pause * 2).min(Self::LONGEST);
            }
        }
        looked
    }

    async fn read_on(
        &mut self,
        stations: &mut Stations,
        each: impl FnMut(&Stored, &Event),
    ) -> Result<(), HubError> {
        let hub = match &mut self.hub {
            Some(hub) if !hub.is_closed() => hub,
            hub => hub.insert(Connection::to(&self.to).await?),
        };
        stations.read_on(hub, each).await
    }
}

/// Copies of the stations' shops for whoever works beside the reading: one is made again only where something has
/// happened since.
#[derive(Debug, Default)]
pub struct Copies {
    /// With the sum of the last row that is in each: a number alone may come again in another life.
    shops: BTreeMap<StationId, (i64, Arc<Shop>)>,
}

impl Copies {
    /// That of a station, which `finish` has made ready.
    pub fn of(&mut self, mirror: &Mirror, finish: impl FnOnce(&mut Shop)) -> Arc<Shop> {
        if let Some((sum, shop)) = self.shops.get(&mirror.station())
            && *sum == mirror.sum()
        {
            return Arc::clone(shop);
        }
        let mut shop = mirror.shop().clone();
        finish(&mut shop);
        let shop = Arc::new(shop);
        self.shops.insert(mirror.station(), (mirror.sum(), Arc::clone(&shop)));
        shop
    }
}

/// Opens a connection and reads all stations from the beginning.
///
/// # Errors
/// As for `read_on`, or no connection.
pub async fn read_all(
    to: &Destination,
    each: impl FnMut(&Stored, &Event),
) -> Result<Stations, HubError> {
    let hub = Connection::to(to).await?;
    let mut stations = Stations::default();
    stations.read_on(&hub, each).await?;
    Ok(stations)
}

/// The move that an event tells of: a garment came to a station, or somebody there has looked where it is.
fn move_of(event: &Event) -> Option<(Tag, Move)> {
    match &event.fact {
        Fact::Received(fact) => {
            Some((fact.garment, Move::received(event.station, event.seq, fact)))
        }
        // What was only heard there is in the history that it was heard from.
        Fact::Settled(fact) if fact.by.is_none() => {
            Some((fact.garment, Move::settled(event.station, event.seq, fact)))
        }
        _ => None,
    }
}

/// A table, a schema or a function that is not there.
fn is_absent(code: &str) -> bool {
    matches!(code, "42P01" | "3F000" | "42883")
}

/// What was granted to stations that have sent no row of it yet.
async fn granted(hub: &Connection) -> Result<Vec<(StationId, PartOf)>, HubError> {
    let rows = present(hub.ask(GRANTED, &[]).await)?;
    let part = |row: &tokio_postgres::Row| {
        let number = |at| Ok::<_, HubError>(u32::try_from(column::<i64>(row, at)?).unwrap_or(0));
        let station = station_of(&column::<String>(row, 0)?)?;
        let part = PartOf {
            of: OrderId { station, no: OrderNo(number(1)?) },
            line: usize::try_from(column::<i32>(row, 2)?).unwrap_or(usize::MAX),
            count: number(3)?,
            grant: column(row, 4)?,
        };
        Ok((station_of(&column::<String>(row, 5)?)?, part))
    };
    rows.iter().map(part).collect()
}

/// Rows of a table that a hub has only since there are shared orders: one that was prepared before has none.
fn present(
    rows: Result<Vec<tokio_postgres::Row>, HubError>,
) -> Result<Vec<tokio_postgres::Row>, HubError> {
    match rows {
        Err(HubError::Refused { code, .. }) if is_absent(&code) => Ok(Vec::new()),
        rows => rows,
    }
}

async fn lives(hub: &Connection) -> Result<BTreeMap<StationId, Vec<Life>>, HubError> {
    let mut lives: BTreeMap<StationId, Vec<Life>> = BTreeMap::new();
    for row in &hub.ask(LIVES, &[]).await? {
        let after = from_server(column(row, 2)?);
        // A life that has written nothing ends where it began.
        let last = column::<Option<i64>>(row, 4)?.map_or(after, from_server);
        let life = Life { no: column(row, 1)?, after, after_sum: column(row, 3)?, last };
        lives.entry(station_of(&column::<String>(row, 0)?)?).or_default().push(life);
    }
    Ok(lives)
}

/// What is new, by station.
async fn news(
    hub: &Connection,
    wanted: &[Wanted],
) -> Result<BTreeMap<StationId, Vec<Row>>, HubError> {
    let ids: Vec<String> = wanted.iter().map(|one| one.station.to_string()).collect();
    let after: Vec<i64> = wanted.iter().map(|one| to_server(one.after)).collect();
    let with = [
        (&ids as &(dyn tokio_postgres::types::ToSql + Sync), Type::TEXT_ARRAY),
        (&after, Type::INT8_ARRAY),
        (&BATCH, Type::INT4),
    ];
    let mut news: BTreeMap<StationId, Vec<Row>> = BTreeMap::new();
    for row in &hub.ask_within(PATIENCE, NEWS, &with).await? {
        let row = Row { life: column(row, 0)?, stored: stored(row, 1)? };
        news.entry(station_of(&row.stored.station)?).or_default().push(row);
    }
    Ok(news)
}

fn station_of(text: &str) -> Result<StationId, HubError> {
    text.parse()
        .map_err(|wrong: crate::shop::facts::ids::NotAStation| HubError::Answer(wrong.to_string()))
}
