//! Where a password comes from: a file of its user's alone. Never an argument, never an address, never a log.
//!
//! The file of PostgreSQL's own programs is described in <https://www.postgresql.org/docs/15/libpq-pgpass.html>.

use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use super::HubError;
use crate::shell::private::{self, NotSmall};
use crate::shop::facts::station::{Host, HubAddress};

/// A file of passwords is not larger.
const MOST: u64 = 64 * 1024;

/// A password. It is shown nowhere.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl std::fmt::Debug for Secret {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str("Secret")
    }
}

impl Secret {
    /// The first line of a file that nobody else may read.
    ///
    /// # Errors
    /// A file that does not read, is open to others, or is empty.
    pub fn of_file(path: &Path) -> Result<Self, HubError> {
        let text = read_closed(path)?;
        match text.lines().next() {
            Some(line) if !line.is_empty() => Ok(Self(line.to_owned())),
            _ => Err(HubError::EmptyPassword(path.to_owned())),
        }
    }

    /// What the user's file of passwords has for a role; None where it has none, or there is no file.
    ///
    /// # Errors
    /// A file that does not read, or is open to others.
    pub fn of_user(address: &HubAddress, role: &str) -> Result<Option<Self>, HubError> {
        let named = std::env::var_os("PGPASSFILE").filter(|path| !path.is_empty());
        let usual = || Some(etcetera::home_dir().ok()?.join(".pgpass"));
        let Some(path) = named.map(PathBuf::from).or_else(usual).filter(|path| path.exists())
        else {
            return Ok(None);
        };
        let text = read_closed(&path)?;
        Ok(text.lines().find_map(|line| password_of(line, address, role)).map(Self))
    }

    /// A new one: 144 random bits as letters and digits.
    ///
    /// # Errors
    /// The machine has no random numbers.
    pub fn new() -> Result<Self, HubError> {
        let mut bytes = [0; 18];
        let provider = rustls::crypto::ring::default_provider();
        let filled = provider.secure_random.fill(&mut bytes);
        filled.map_err(|_| HubError::Answer("no random numbers for a password".into()))?;
        Ok(Self(bytes.iter().map(|byte| format!("{byte:02x}")).collect()))
    }

    /// What the server is given: it proves the password and does not tell it, so that no log of the server can keep it.
    pub(super) fn proof(&self) -> String {
        postgres_protocol::password::scram_sha_256(self.0.as_bytes())
    }

    /// The password itself, for the connection and for the file that keeps it.
    pub(super) fn reveal(&self) -> &str {
        &self.0
    }
}

/// Reads a file that others have no right to.
fn read_closed(path: &Path) -> Result<String, HubError> {
    let wrong = |reason| HubError::NoPassword { path: path.to_owned(), reason };
    let mode = std::fs::metadata(path).map_err(|reason| wrong(NotSmall::File(reason)))?.mode();
    if mode & 0o077 != 0 {
        return Err(HubError::OpenPassword { path: path.to_owned(), mode: mode & 0o7777 });
    }
    private::read_small(path, MOST).map_err(wrong)
}

/// The password of a line `host:port:database:role:password`, where it is for this address and role.
fn password_of(line: &str, address: &HubAddress, role: &str) -> Option<String> {
    let fields = fields(line);
    let [host, port, database, user, password] = fields.as_slice() else { return None };
    let is = |field: &str, wanted: &str| field == "*" || field == wanted;
    let is_for = |there: &Host| match there {
        Host::Net(name, number) => is(host, name) && is(port, &number.to_string()),
        Host::Socket(directory, number) => {
            (is(host, directory) || host == "localhost") && is(port, &number.to_string())
        }
    };
    let fits =
        address.hosts.iter().any(is_for) && is(database, &address.database) && is(user, role);
    fits.then(|| password.clone())
}

/// The fields of a line; a colon or a backslash in one of them has a backslash before it.
fn fields(line: &str) -> Vec<String> {
    if line.starts_with('#') {
        return Vec::new();
    }
    let mut fields = vec![String::new()];
    let mut letters = line.chars();
    while let Some(letter) = letters.next() {
        let last = fields.len() - 1;
        match letter {
            ':' if last < 4 => fields.push(String::new()),
            '\\' => fields[last].extend(letters.next()),
            letter => fields[last].push(letter),
        }
    }
    fields
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_the_users_file_is_for_one_host_database_and_role() {
        let address = HubAddress::read("postgres://hub:5433/dwell").unwrap();
        let of = |line: &str| password_of(line, &address, "owner");
        assert_eq!(of("hub:5433:dwell:owner:a\\:b\\\\c").as_deref(), Some("a:b\\c"));
        assert_eq!(of("*:*:*:*:x").as_deref(), Some("x"));
        for line in ["#*:*:*:*:x", "hub:5432:*:*:x", "*:*:shop:*:x", "*:*:*:other:x", "x", ""] {
            assert_eq!(of(line), None, "{line}");
        }
        let local = HubAddress::read("postgres:///dwell?host=/run/x").unwrap();
        assert_eq!(password_of("localhost:5432:*:*:x", &local, "owner").as_deref(), Some("x"));
    }

    #[test]
    fn a_secret_is_not_shown() {
        let secret = Secret::new().unwrap();
        assert_eq!(secret.reveal().len(), 36);
        assert!(!format!("{secret:?}").contains(secret.reveal()));
        assert_ne!(secret, Secret::new().unwrap());
    }
}
