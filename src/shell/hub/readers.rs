//! Roles that only read: a lead's machine, an owner's. Their password is written as PostgreSQL's own programs read it.

use std::io::Write;
use std::path::Path;

use tokio_postgres::types::Type;

use super::prepare::{self, GIVES_WAY, Groups, NotAdded};
use super::secret::Secret;
use super::{Connection, Destination};
use crate::shell::new_file::{NewFile, Readers};

/// Somebody who reads all stations and changes nothing.
#[derive(Debug)]
pub struct NewReader<'a> {
    /// Letters, digits and underscores: the role is named after the database and this.
    pub name: &'a str,
    /// Where its password is written, for PGPASSFILE.
    pub password_file: &'a Path,
    /// Whether it is there already, and gets a new password.
    pub renew: bool,
}

/// Adds a role that only reads; returns it.
///
/// # Errors
/// It is there already, the file cannot be made, or what the server says.
pub async fn add_reader(to: &Destination, new: &NewReader<'_>) -> Result<String, NotAdded> {
    let hub = Connection::to_writer(to).await?;
    prepare::is_known(&hub).await?;
    let groups = Groups::of(&to.address.database);
    let role = format!("{}_{}", groups.database, new.name);
    let known = "SELECT pg_has_role(r.oid, g.oid, 'MEMBER') AND NOT r.rolsuper FROM pg_roles AS r, pg_roles AS g \
                 WHERE r.rolname = $1 AND g.rolname = $2";
    let rows = hub.ask(known, &[(&role, Type::TEXT), (&groups.readers, Type::TEXT)]).await?;
    match (rows.first().map(|row| row.get::<_, bool>(0)), new.renew) {
        (Some(true), true) | (None, false) => {}
        (Some(true), false) => return Err(NotAdded::ReaderExists(role)),
        (None, true) => return Err(NotAdded::UnknownReader(role)),
        (Some(false), _) => return Err(NotAdded::RoleTaken(role)),
    }
    let secret = Secret::new()?;
    let wrong = |reason| NotAdded::File { path: new.password_file.to_owned(), reason };
    let file = written(new, &groups.database, &role, &secret).map_err(wrong)?;
    let (verb, name) = (if new.renew { "ALTER" } else { "CREATE" }, prepare::name(&role));
    let script = format!(
        "BEGIN; {GIVES_WAY};\n\
         {verb} ROLE {name} LOGIN CONNECTION LIMIT 8 PASSWORD {};\n\
         GRANT :\"readers\" TO {name};\n\
         ALTER ROLE {name} SET default_transaction_read_only = on;\n\
         ALTER ROLE {name} SET idle_in_transaction_session_timeout = '5s';\n\
         {}\
         COMMIT",
        prepare::text(&secret.proof()),
        prepare::no_idle_connection(&name)
    );
    prepare::in_turn(&hub, &groups.in_script(&script)).await?;
    let named = match new.renew {
        true => file.replace(new.password_file),
        false => file.name(new.password_file),
    };
    named.map_err(wrong)?;
    Ok(role)
}

/// One line of the kind that PGPASSFILE names, for any host.
fn written(
    new: &NewReader<'_>,
    database: &str,
    role: &str,
    secret: &Secret,
) -> std::io::Result<NewFile> {
    if !new.renew && new.password_file.symlink_metadata().is_ok() {
        return Err(std::io::ErrorKind::AlreadyExists.into());
    }
    let plain = |text: &str| text.replace('\\', "\\\\").replace(':', "\\:");
    let mut file = NewFile::beside(new.password_file, Readers::Owner)?;
    writeln!(file, "*:*:{}:{}:{}", plain(database), plain(role), secret.reveal())?;
    Ok(file)
}
