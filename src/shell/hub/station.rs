//! What a station asks of its hub: its head, to take rows, to begin a life, to give rows back.

use tokio_postgres::Row;
use tokio_postgres::types::Type;

use super::agreement::{Relation, Verdict};
use super::answer::{column, from_server, stored, to_server};
use super::connection::{Connection, Parameter};
use super::head::Head;
use super::memory::Memory;
use super::{Destination, HubError, prepare};
use crate::shell::journal::row::{FIRST_SUM, Stored};
use crate::shell::journal::{JournalError, Reader};
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::{OrderNo, StationId};

/// The most rows that are sent or fetched at once.
pub const BATCH: usize = 2000;

/// A station's connection to a hub that this program knows.
pub struct StationLine {
    hub: Connection,
}

/// What became of rows that were sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pushed {
    /// They are there. The garments of which another station had the move before.
    Taken { contested: Vec<String> },
    /// The head is another than was thought: it is asked again.
    Elsewhere,
}

fn no_station() -> HubError {
    let reason = "this role is no station's".to_owned();
    HubError::Refused { code: "42501".into(), reason }
}

impl StationLine {
    /// Connects, and looks whether the hub is one that this program may write to, and the role is this station's.
    ///
    /// # Errors
    /// No way there, no hub, one of another version, or the role of another station.
    pub async fn to(destination: &Destination, own: StationId) -> Result<Self, HubError> {
        let hub = Connection::to_writer(destination).await?;
        prepare::is_known(&hub).await?;
        let rows =
            hub.ask("SELECT station FROM hub.stations WHERE role = session_user", &[]).await?;
        let theirs: String = rows.first().ok_or_else(no_station)?.get(0);
        if theirs != own.to_string() {
            let role = destination.role.clone();
            return Err(HubError::OtherStation { role, theirs, own });
        }
        Ok(Self { hub })
    }

    /// Asks one statement whose answer counts only where no warning came with it: a wait for a standby that was cancelled
    /// answers beside one. What the server had to say before is no part of the answer.
    async fn ask_confirmed(&self, sql: &str, with: &[Parameter<'_>]) -> Result<Vec<Row>, HubError> {
        drop(self.hub.take_warnings());
        let rows = self.hub.ask(sql, with).await?;
        match self.hub.take_warnings().pop() {
            None => Ok(rows),
            Some(warning) => Err(HubError::Outage(format!("not confirmed: {warning}"))),
        }
    }

    /// The head, by a statement that writes: where it is answered, what was there before it is as safe as it is.
    ///
    /// # Errors
    /// What the server says; a warning means that it is not on all of its disks.
    pub async fn head(&self) -> Result<Head, HubError> {
        let sql =
            "SELECT hub, cluster, timeline, station, life, begun_by, upto, sum FROM hub.head()";
        self.one_head(sql).await
    }

    /// The head without a lock and without a trace, for whoever only looks.
    ///
    /// # Errors
    /// What the server says.
    pub async fn look(&self) -> Result<Head, HubError> {
        let sql = "SELECT a.hub::text, (SELECT system_identifier::text FROM pg_control_system()), \
             substring(pg_walfile_name(pg_current_wal_lsn()) FROM 1 FOR 8), s.station, s.life, l.begun_by, s.upto, s.sum \
             FROM hub.about AS a, hub.stations AS s JOIN hub.lives AS l USING (station, life) \
             WHERE s.role = session_user";
        self.one_head(sql).await
    }

    async fn one_head(&self, sql: &str) -> Result<Head, HubError> {
        let rows = self.ask_confirmed(sql, &[]).await?;
        let row = rows.first().ok_or_else(no_station)?;
        let timeline: String = column(row, 2)?;
        let wrong = |_| HubError::Answer(format!("the timeline \"{timeline}\""));
        Ok(Head {
            hub: column(row, 0)?,
            cluster: column(row, 1)?,
            timeline: u32::from_str_radix(&timeline, 16).map_err(wrong)?,
            station: column(row, 3)?,
            life: column(row, 4)?,
            begun_by: column(row, 5)?,
            upto: from_server(column(row, 6)?),
            sum: column(row, 7)?,
        })
    }

    /// How the hub's history stands to the journal.
    ///
    /// # Errors
    /// What the server says, or a journal that does not read.
    async fn relation(
        &self,
        head: &Head,
        reader: Option<&Reader>,
    ) -> Result<Relation, CourierError> {
        let (last, own) = match reader {
            Some(reader) => (reader.last()?, reader.sum_of(head.upto)?),
            None => ((0, FIRST_SUM), (head.upto == 0).then_some(FIRST_SUM)),
        };
        let hub = match head.upto > last.0 {
            true => self.sum_at(&head.station, last.0).await?,
            false => None,
        };
        Ok(Relation::of(head, last, own, hub))
    }

    /// What the station is to do, and how the hub's history stands to its journal. A journal in which no hand has
    /// recorded anything, as a board makes it that starts on a new machine without its hub, is no history that stands
    /// against the hub's.
    ///
    /// # Errors
    /// What the server says, or a journal that does not read.
    pub async fn verdict(
        &self,
        memory: &Memory,
        head: &Head,
        reader: Option<&Reader>,
    ) -> Result<(Verdict, Relation), CourierError> {
        let relation = self.relation(head, reader).await?;
        let verdict = Verdict::of(memory.hub.as_ref(), &memory.machine, head, relation);
        let is_bare = || reader.map_or(Ok(true), Reader::is_bare);
        Ok(match verdict {
            Verdict::Apart if is_bare()? => (Verdict::Fetch, relation),
            verdict => (verdict, relation),
        })
    }

    /// The sum of a row of a station's history.
    async fn sum_at(&self, station: &str, at: u64) -> Result<Option<i64>, HubError> {
        let rows = self
            .hub
            .ask(
                "SELECT hub.sum_at($1, $2)",
                &[(&station, Type::TEXT), (&to_server(at), Type::INT8)],
            )
            .await?;
        Ok(rows.first().and_then(|row| row.get(0)))
    }

    /// The last row that both have: a chain that is one up to a row is one before it, so the middle tells which half.
    ///
    /// # Errors
    /// What the server says, or a journal that does not read.
    pub async fn last_common(
        &self,
        head: &Head,
        reader: &Reader,
    ) -> Result<(u64, i64), CourierError> {
        let (mut low, mut sum) = (0, 0);
        let mut high = head.upto.min(reader.last()?.0);
        while low < high {
            let middle = low + (high - low).div_ceil(2);
            let own = reader.sum_of(middle)?;
            match own {
                Some(own) if self.sum_at(&head.station, middle).await? == Some(own) => {
                    (low, sum) = (middle, own);
                }
                _ => high = middle - 1,
            }
        }
        Ok((low, sum))
    }

    /// Sends rows behind a head.
    ///
    /// # Errors
    /// What the server says. Whether they are there after an outage is known by the next head alone.
    pub async fn push(
        &self,
        life: i32,
        after: (u64, i64),
        rows: &[Stored],
    ) -> Result<Pushed, HubError> {
        fn of<T>(rows: &[Stored], column: impl Fn(&Stored) -> T) -> Vec<T> {
            rows.iter().map(column).collect()
        }
        let texts = |column: fn(&Stored) -> &str| rows.iter().map(column).collect::<Vec<&str>>();
        let version = of(rows, |row| i32::try_from(row.version).unwrap_or(i32::MAX));
        let with: [(&(dyn tokio_postgres::types::ToSql + Sync), Type); 11] = [
            (&life, Type::INT4),
            (&to_server(after.0), Type::INT8),
            (&after.1, Type::INT8),
            (&of(rows, |row| row.act), Type::INT8_ARRAY),
            (&of(rows, |row| row.at), Type::INT8_ARRAY),
            (&texts(|row| &row.boot), Type::TEXT_ARRAY),
            (&of(rows, |row| row.up), Type::INT8_ARRAY),
            (&version, Type::INT4_ARRAY),
            (&texts(|row| &row.kind), Type::TEXT_ARRAY),
            (&texts(|row| &row.body), Type::TEXT_ARRAY),
            (&of(rows, |row| row.sum), Type::INT8_ARRAY),
        ];
        let sql =
            "SELECT answer, contested FROM hub.push($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
        let answer = self.ask_confirmed(sql, &with).await?;
        let row = answer.first().ok_or_else(|| HubError::Answer("nothing".into()))?;
        match row.get(0) {
            "ok" => Ok(Pushed::Taken { contested: row.get(1) }),
            "life" | "head" => Ok(Pushed::Elsewhere),
            other => Err(HubError::Answer(other.to_owned())),
        }
    }

    /// Asks for garments of a line of a shared order: how many are granted by this asking, all or none, and how many are
    /// left then; None where the hub knows of no such line. Asked again it is the same grant.
    ///
    /// # Errors
    /// What the server says. After an outage it may be granted all the same.
    pub async fn take_part(&self, asked: &PartOf) -> Result<Option<(u32, u32)>, HubError> {
        let number = |count: i64| u32::try_from(count.max(0)).unwrap_or(u32::MAX);
        let to_int = |count| i32::try_from(count).unwrap_or(i32::MAX);
        let order = asked.of.to_string();
        let line = i32::try_from(asked.line).unwrap_or(i32::MAX);
        let with = [
            (&order as &(dyn tokio_postgres::types::ToSql + Sync), Type::TEXT),
            (&line, Type::INT4),
            (&to_int(asked.count), Type::INT4),
            (&asked.grant, Type::TEXT),
        ];
        let sql = "SELECT granted, remaining FROM hub.take_part($1, $2, $3, $4)";
        let rows = self.ask_confirmed(sql, &with).await?;
        let row = rows.first().ok_or_else(|| HubError::Answer("nothing".into()))?;
        let granted: i64 = column(row, 0)?;
        let left: Option<i64> = column(row, 1)?;
        Ok(left.map(|left| (number(granted), number(left))))
    }

    /// Gives back what was granted by an asking, and that nobody has recorded: others may take it. Given back twice it is
    /// given back.
    ///
    /// # Errors
    /// What the server says.
    pub async fn give_back(&self, grant: &str) -> Result<(), HubError> {
        self.ask_confirmed("SELECT hub.give_back($1)", &[(&grant, Type::TEXT)]).await.map(drop)
    }

    /// Begins a life behind a row that the hub has too; None where another was begun meanwhile.
    ///
    /// # Errors
    /// What the server says.
    pub async fn begin_life(
        &self,
        life: i32,
        after: (u64, i64),
        machine: &str,
    ) -> Result<Option<i32>, HubError> {
        let with = [
            (&life as _, Type::INT4),
            (&to_server(after.0) as _, Type::INT8),
            (&after.1 as _, Type::INT8),
            (&machine as _, Type::TEXT),
        ];
        let rows = self.ask_confirmed("SELECT hub.begin_life($1, $2, $3, $4)", &with).await?;
        Ok(rows.first().and_then(|row| row.get(0)))
    }

    /// The next rows of a station's history behind a number, each as it was written.
    ///
    /// # Errors
    /// What the server says.
    pub async fn rows_after(&self, station: &str, after: u64) -> Result<Vec<Stored>, HubError> {
        let most = i32::try_from(BATCH).unwrap_or(i32::MAX);
        let with = [
            (&station as _, Type::TEXT),
            (&to_server(after) as _, Type::INT8),
            (&most as _, Type::INT4),
        ];
        let sql = "SELECT station, seq, act, at, boot, up, version, kind, body, sum \
             FROM hub.news(ARRAY[$1], ARRAY[$2], $3)";
        let rows = self.hub.ask(sql, &with).await?;
        rows.iter().map(|row| stored(row, 0)).collect()
    }

    /// The highest number that a station has given an order, in whatever life.
    ///
    /// # Errors
    /// What the server says.
    pub async fn highest_order(&self, station: &str) -> Result<OrderNo, HubError> {
        let sql = "SELECT max(substring(body FROM '^\\{\"order\":([0-9]{1,9})[,}]')::bigint) \
             FROM hub.events WHERE station = $1 AND kind = 'order-taken'";
        let rows = self.hub.ask(sql, &[(&station, Type::TEXT)]).await?;
        let highest: Option<i64> = rows.first().and_then(|row| row.get(0));
        Ok(OrderNo(highest.and_then(|no| u32::try_from(no).ok()).unwrap_or(0)))
    }
}

/// Why a station and its hub did not come together.
#[derive(Debug, thiserror::Error)]
pub enum CourierError {
    #[error(transparent)]
    Hub(#[from] HubError),
    #[error(transparent)]
    Journal(#[from] JournalError),
}
