//! Making a hub of a database, and roles for those who use it: what its owner does.

use std::path::Path;
use std::time::Duration;

use tokio_postgres::types::Type;

use super::secret::Secret;
use super::{Connection, Destination, HubError, SCHEMA_VERSION};
use crate::shell::new_file::{NewFile, Readers};
use crate::shop::facts::ids::StationId;

const SCHEMA: &str = include_str!("schema.sql");

/// The oldest server: unique indexes hold two missing values for one (NULLS NOT DISTINCT) from this one on.
const OLDEST_SERVER: i32 = 150_000;

/// How long all of the preparing may take.
const PATIENCE: Duration = Duration::from_secs(60);
/// How often it is tried while somebody holds a lock, and what is waited in between. Each time it gives way after
/// 200 ms, so that no station waits behind it for longer.
const TRIES: u32 = 20;
const PAUSE: Duration = Duration::from_millis(300);

pub(super) const GIVES_WAY: &str = "SET LOCAL lock_timeout = '200ms'";

/// The names that the hub has for its groups: those of the database, since roles are of the whole server.
pub(super) struct Groups {
    pub database: String,
    owner: String,
    stations: String,
    pub readers: String,
}

impl Groups {
    pub fn of(database: &str) -> Self {
        let named = |what: &str| {
            // A name that is too long is cut by the server, to the same for all three.
            let room = 63 - what.len() - 1;
            let cut =
                (0..=room.min(database.len())).rev().find(|end| database.is_char_boundary(*end));
            format!("{}_{what}", &database[..cut.unwrap_or(0)])
        };
        Self {
            database: database.to_owned(),
            owner: named("owner"),
            stations: named("stations"),
            readers: named("readers"),
        }
    }

    /// A text in which the names stand as in a script for psql.
    pub fn in_script(&self, script: &str) -> String {
        script
            .replace(":\"database\"", &name(&self.database))
            .replace(":\"owner\"", &name(&self.owner))
            .replace(":'owner'", &text(&self.owner))
            .replace(":'stations'", &text(&self.stations))
            .replace(":'readers'", &text(&self.readers))
            .replace(":\"stations\"", &name(&self.stations))
            .replace(":\"readers\"", &name(&self.readers))
    }
}

/// A name in SQL.
pub(super) fn name(plain: &str) -> String {
    format!("\"{}\"", plain.replace('"', "\"\""))
}

/// A text in SQL.
pub(super) fn text(plain: &str) -> String {
    let quoted = plain.replace('\'', "''");
    match quoted.contains('\\') {
        true => format!(" E'{}'", quoted.replace('\\', "\\\\")),
        false => format!("'{quoted}'"),
    }
}

/// What was found, and what is there now.
#[derive(Debug)]
pub struct Prepared {
    /// Whether there was no hub before.
    pub is_new: bool,
    /// Stations whose role is not on this server, as after a dump was restored.
    pub without_role: Vec<String>,
}

/// Makes a hub of a database, or sets the one that is there right.
///
/// # Errors
/// A server that is too old, a hub of a newer program, no right to do it, or no way to the server.
pub async fn prepare(to: &Destination) -> Result<Prepared, HubError> {
    let hub = Connection::to_writer(to).await?;
    is_new_enough(&hub).await?;
    let before = version(&hub).await?;
    // To prepare it again would put older functions in the place of newer ones, whoever may write.
    if let Some(found) = before.map(|found| found.schema).filter(|found| *found > SCHEMA_VERSION) {
        return Err(HubError::Newer { found, known: SCHEMA_VERSION });
    }
    let groups = Groups::of(&to.address.database);
    let script = [
        format!("BEGIN; {GIVES_WAY};"),
        ["owner", "stations", "readers"].map(made).concat(),
        "GRANT :\"owner\" TO CURRENT_USER;".to_owned(),
        SCHEMA.to_owned(),
        MEMBERS.to_owned(),
        "COMMIT".to_owned(),
    ];
    in_turn(&hub, &groups.in_script(&script.concat())).await?;
    let missing = "SELECT station FROM hub.stations WHERE role NOT IN (SELECT rolname FROM pg_roles) ORDER BY 1";
    let without_role = hub.ask(missing, &[]).await?;
    let without_role = without_role.iter().map(|row| row.get::<_, String>(0)).collect();
    Ok(Prepared { is_new: before.is_none(), without_role })
}

/// Each station that has a role is of the group, which a restored dump may not have had. No role has rights of its own
/// beside the group's; and whose cable was pulled holds no connection for hours: both board and lead ask more often than
/// once a minute.
const MEMBERS: &str = "
DO $$
DECLARE
  role name;
  is_station bool;
BEGIN
  FOR role IN SELECT s.role FROM hub.stations AS s JOIN pg_roles AS r ON r.rolname = s.role LOOP
    EXECUTE format('GRANT %I TO %I', current_setting('hub.stations'), role);
  END LOOP;
  FOR role, is_station IN SELECT r.rolname, EXISTS (SELECT FROM hub.stations AS s WHERE s.role = r.rolname)
      FROM pg_auth_members AS m JOIN pg_roles AS r ON r.oid = m.member JOIN pg_roles AS g ON g.oid = m.roleid
      WHERE g.rolname IN (current_setting('hub.stations'), current_setting('hub.readers'))
        AND r.rolcanlogin AND NOT r.rolsuper AND r.rolname <> current_user LOOP
    EXECUTE format('REVOKE ALL ON ALL TABLES IN SCHEMA hub FROM %I', role);
    EXECUTE format('REVOKE ALL ON ALL FUNCTIONS IN SCHEMA hub FROM %I', role);
    EXECUTE format('REVOKE ALL ON SCHEMA hub FROM %I', role);
    EXECUTE format('ALTER ROLE %I SET idle_session_timeout = ''60s''', role);
    EXECUTE format('ALTER ROLE %I SET tcp_keepalives_idle = 30', role);
    IF is_station THEN
      EXECUTE format('ALTER ROLE %I CONNECTION LIMIT 6', role);
    END IF;
  END LOOP;
END $$;
";

/// SQL by which a role keeps no connection that nobody speaks on.
pub(super) fn no_idle_connection(role_name: &str) -> String {
    format!(
        "ALTER ROLE {role_name} SET idle_session_timeout = '60s';\n\
         ALTER ROLE {role_name} SET tcp_keepalives_idle = 30;\n"
    )
}

/// SQL that makes a group where it is missing.
fn made(group: &str) -> String {
    format!(
        "SELECT set_config('hub.{group}', :'{group}', true);\n\
         DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = current_setting('hub.{group}')) THEN \
         EXECUTE format('CREATE ROLE %I NOLOGIN', current_setting('hub.{group}')); END IF; END $$;\n"
    )
}

/// Runs a script, again where somebody holds a lock.
pub(super) async fn in_turn(hub: &Connection, script: &str) -> Result<(), HubError> {
    for _ in 1..TRIES {
        match hub.run(PATIENCE, script).await {
            Err(wrong) if wrong.is_outage() && !hub.is_closed() => {
                hub.run(PATIENCE, "ROLLBACK").await?;
                tokio::time::sleep(PAUSE).await;
            }
            done => return done,
        }
    }
    hub.run(PATIENCE, script).await
}

async fn is_new_enough(hub: &Connection) -> Result<(), HubError> {
    let sql =
        "SELECT current_setting('server_version_num')::int, current_setting('server_version')";
    let rows = hub.ask(sql, &[]).await?;
    let row = rows.first().ok_or_else(|| HubError::Answer("no version".into()))?;
    match row.get::<_, i32>(0) < OLDEST_SERVER {
        true => Err(HubError::OldServer { found: row.get(1) }),
        false => Ok(()),
    }
}

/// The version of a hub; None where none was prepared.
async fn version(hub: &Connection) -> Result<Option<Version>, HubError> {
    let there = hub.ask("SELECT to_regclass('hub.about') IS NOT NULL", &[]).await?;
    if !there.first().is_some_and(|row| row.get(0)) {
        return Ok(None);
    }
    let rows = hub.ask("SELECT schema_version, oldest_writer FROM hub.about", &[]).await?;
    Ok(rows.first().map(|row| Version { schema: row.get(0), oldest_writer: row.get(1) }))
}

/// What a hub says of itself.
#[derive(Debug, Clone, Copy)]
pub struct Version {
    /// That of its tables and functions.
    pub schema: i32,
    /// A program that knows only an older schema than this one must not go by it.
    pub oldest_writer: i32,
}

impl Version {
    /// Whether this program may go by such a hub.
    ///
    /// # Errors
    /// It is too new, or too old.
    pub fn is_known(self) -> Result<(), HubError> {
        match self {
            Self { oldest_writer, schema: found } if oldest_writer > SCHEMA_VERSION => {
                Err(HubError::Newer { found, known: SCHEMA_VERSION })
            }
            Self { schema: found, .. } if found < SCHEMA_VERSION => Err(HubError::Older { found }),
            _ => Ok(()),
        }
    }
}

/// Whether the hub is one that this program knows.
///
/// # Errors
/// It is none, or of another version.
pub async fn is_known(hub: &Connection) -> Result<(), HubError> {
    version(hub).await?.ok_or(HubError::NotPrepared)?.is_known()
}

/// Why a station was not added.
#[derive(Debug, thiserror::Error)]
pub enum NotAdded {
    #[error(transparent)]
    Hub(#[from] HubError),
    #[error("{}: {reason}", .path.display())]
    File { path: std::path::PathBuf, reason: std::io::Error },
    #[error(
        "station \"{station}\" is there already, with the role {role}: --renew gives it a new password, the old one ends then"
    )]
    Exists { station: StationId, role: String },
    #[error(
        "the reader {0} is there already: --renew gives it a new password, the old one ends then"
    )]
    ReaderExists(String),
    #[error("there is no reader {0} to renew: leave --renew out")]
    UnknownReader(String),
    #[error("there is no station \"{0}\" to renew: leave --renew out")]
    Unknown(StationId),
    #[error("the role {0} is somebody else's on that server: drop or rename it first")]
    RoleTaken(String),
}

/// A station's entry on the hub.
#[derive(Debug)]
pub struct NewStation<'a> {
    pub id: StationId,
    pub name: &'a str,
    /// Where its password is written.
    pub password_file: &'a Path,
    /// Whether it is there already, and gets a new password.
    pub renew: bool,
}

/// Adds a station: a role of its own, with a password that is written into a file. Returns the role.
///
/// # Errors
/// It is there already, the file cannot be made, or what the server says.
pub async fn add_station(to: &Destination, new: &NewStation<'_>) -> Result<String, NotAdded> {
    let hub = Connection::to_writer(to).await?;
    is_known(&hub).await?;
    let groups = Groups::of(&to.address.database);
    let known = "SELECT s.role::text, s.role IN (SELECT rolname FROM pg_roles) FROM hub.stations AS s WHERE s.station = $1";
    let id = new.id.to_string();
    let rows = hub.ask(known, &[(&id, Type::TEXT)]).await?;
    let known = rows.first().map(|row| (row.get::<_, String>(0), row.get::<_, bool>(1)));
    let (role, has_role) = match (known, new.renew) {
        (Some((role, _)), false) => return Err(NotAdded::Exists { station: new.id, role }),
        (None, true) => return Err(NotAdded::Unknown(new.id)),
        (Some(known), true) => known,
        (None, false) => {
            let role = format!("{}_{id}", groups.database);
            let taken = "SELECT FROM pg_roles WHERE rolname = $1";
            if !hub.ask(taken, &[(&role, Type::TEXT)]).await?.is_empty() {
                return Err(NotAdded::RoleTaken(role));
            }
            (role, false)
        }
    };
    let secret = Secret::new()?;
    let file = written(new.password_file, &secret, new.renew)
        .map_err(|reason| NotAdded::File { path: new.password_file.to_owned(), reason })?;
    in_turn(&hub, &groups.in_script(&entry(new, &role, has_role, &secret))).await?;
    let named =
        if new.renew { file.replace(new.password_file) } else { file.name(new.password_file) };
    named.map_err(|reason| NotAdded::File { path: new.password_file.to_owned(), reason })?;
    Ok(role)
}

/// The password's file, before it has its name.
fn written(path: &Path, secret: &Secret, replace: bool) -> std::io::Result<NewFile> {
    use std::io::Write;
    if !replace && path.symlink_metadata().is_ok() {
        return Err(std::io::ErrorKind::AlreadyExists.into());
    }
    let mut file = NewFile::beside(path, Readers::Owner)?;
    writeln!(file, "{}", secret.reveal())?;
    Ok(file)
}

/// SQL that enters a station.
fn entry(new: &NewStation<'_>, role: &str, has_role: bool, secret: &Secret) -> String {
    let (verb, role_name, id) =
        (if has_role { "ALTER" } else { "CREATE" }, name(role), text(&new.id.to_string()));
    let mut script = format!(
        "BEGIN; {GIVES_WAY};\n\
         {verb} ROLE {role_name} LOGIN CONNECTION LIMIT 6 PASSWORD {};\n\
         GRANT :\"stations\" TO {role_name};\n\
         ALTER ROLE {role_name} SET statement_timeout = '10s';\n\
         ALTER ROLE {role_name} SET lock_timeout = '4s';\n\
         ALTER ROLE {role_name} SET idle_in_transaction_session_timeout = '5s';\n\
         {}",
        text(&secret.proof()),
        no_idle_connection(&role_name)
    );
    if !new.renew {
        script += &format!(
            "INSERT INTO hub.stations (station, name, role) VALUES ({id}, {}, {});\n\
             INSERT INTO hub.lives (station, life, after_seq, after_sum, begun_by) VALUES ({id}, 1, 0, 0, '');\n",
            text(new.name),
            text(role)
        );
    } else if !new.name.is_empty() {
        script +=
            &format!("UPDATE hub.stations SET name = {} WHERE station = {id};\n", text(new.name));
    }
    script + "COMMIT"
}
