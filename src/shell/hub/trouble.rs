//! What goes wrong with the hub, and whether it passes by itself: an outage is tried again, a refusal needs a hand.
//!
//! They are told apart by the class of the SQLSTATE: <https://www.postgresql.org/docs/15/errcodes-appendix.html>.

use std::error::Error as _;
use std::path::PathBuf;

use crate::shell::private::NotSmall;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::words::clean;

/// Why the hub did not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum HubError {
    /// It passes: no way to the server, a server that starts or is full, a lock that somebody holds.
    #[error("the hub cannot be reached: {0}")]
    Outage(String),
    /// The server says no, and will say it again.
    #[error("the hub refused: {reason} (SQLSTATE {code})")]
    Refused { code: String, reason: String },
    #[error("{0}")]
    Address(String),
    #[error(
        "no certificate that is trusted: {0}. `ca` must name the authority of the server's certificate, and that must be \
         for the host in the address"
    )]
    Certificate(String),
    #[error("the CA file {} does not read: {reason}. Expected a certificate in PEM form", .path.display())]
    Ca { path: PathBuf, reason: String },
    #[error("the password file {} does not read: {reason}", .path.display())]
    NoPassword { path: PathBuf, reason: NotSmall },
    #[error("the password file {} is open to others (mode {mode:o}): chmod 600 {}", .path.display(), .path.display())]
    OpenPassword { path: PathBuf, mode: u32 },
    #[error("the password file {} is empty: expected a password on its first line", .0.display())]
    EmptyPassword(PathBuf),
    #[error(
        "the server asks {role} for a password, and none is known: write it into ~/.pgpass, or into the file that \
         PGPASSFILE names"
    )]
    PasswordWanted { role: String },
    #[error("PostgreSQL {found} is too old for a hub: expected 15 or newer")]
    OldServer { found: String },
    #[error("no hub was prepared there: the owner runs `dwell hub prepare --address ...`")]
    NotPrepared,
    #[error(
        "the hub was prepared by a newer dwell (schema {found}, this one knows {known}): install that version here"
    )]
    Newer { found: i32, known: i32 },
    #[error(
        "the hub is of an older dwell (schema {found}): its owner runs `dwell hub prepare` of this version"
    )]
    Older { found: i32 },
    #[error(
        "the role {role} is that of station \"{theirs}\", this is station \"{own}\": give station.ron the line `hub` that \
         dwell hub add-station printed for \"{own}\""
    )]
    OtherStation { role: String, theirs: String, own: StationId },
    #[error("the hub answered what it should not: {0}")]
    Answer(String),
}

impl HubError {
    /// Whether the same may work a little later, with nobody's help.
    pub fn is_outage(&self) -> bool {
        matches!(self, Self::Outage(_))
    }

    /// Whether the owner of the hub mends it at the server, with nothing done at the station: a database that is not
    /// there (3D000), a login (28) or a right (42501) that is missing, a hub that is not prepared, or is being prepared anew
    /// (42883, 42P01: what was called has gone meanwhile), a certificate that has expired.
    pub fn is_mended_elsewhere(&self) -> bool {
        match self {
            Self::Refused { code, .. } => {
                code.starts_with("28")
                    || matches!(code.as_str(), "3D000" | "42501" | "42883" | "42P01")
            }
            Self::NotPrepared | Self::Older { .. } | Self::Certificate(_) => true,
            _ => false,
        }
    }
}

/// Whether what a SQLSTATE says passes by itself: a connection that broke (08), a server without room (53), one that is
/// stopped or starts (57), a disk that fails (58), a transaction that has to be tried again (40), a standby in place of
/// the primary (25006), also where it is asked for what only a primary has (55000), a lock that was not to be had (55P03).
pub fn passes(code: &str) -> bool {
    matches!(code.get(..2), Some("08" | "53" | "57" | "58" | "40"))
        || matches!(code, "25006" | "55000" | "55P03")
}

impl From<tokio_postgres::Error> for HubError {
    fn from(wrong: tokio_postgres::Error) -> Self {
        if let Some(said) = wrong.as_db_error() {
            let reason = clean(said.message(), 200);
            let code = said.code().code().to_owned();
            return match passes(&code) {
                true => Self::Outage(reason),
                false => Self::Refused { code, reason },
            };
        }
        let mut causes = vec![];
        let mut cause = wrong.source();
        while let Some(found) = cause {
            causes.push(found);
            cause = found.source();
        }
        let inner = causes.iter().find_map(|cause| certificate(*cause));
        if let Some(reason) = inner {
            return Self::Certificate(clean(&reason, 200));
        }
        let innermost = causes.last().map_or_else(|| wrong.to_string(), ToString::to_string);
        if innermost == "password missing" {
            return Self::PasswordWanted { role: "this role".into() };
        }
        match causes.iter().any(|cause| cause.is::<std::io::Error>()) || wrong.is_closed() {
            true => Self::Outage(in_plain_words(&causes, &innermost)),
            false if is_timeout(&wrong) => Self::Outage("no answer in time".into()),
            false => Self::Answer(clean(&innermost, 200)),
        }
    }
}

/// What the system says of a connection, in words of our own where it is one of the usual things.
fn in_plain_words(causes: &[&(dyn std::error::Error + 'static)], innermost: &str) -> String {
    use std::io::ErrorKind;
    let kind = causes.iter().find_map(|cause| cause.downcast_ref::<std::io::Error>());
    match kind.map(std::io::Error::kind) {
        Some(ErrorKind::NotFound | ErrorKind::ConnectionRefused) => {
            "no server listens there".into()
        }
        Some(ErrorKind::TimedOut) => "no answer in time".into(),
        Some(ErrorKind::ConnectionReset | ErrorKind::UnexpectedEof | ErrorKind::BrokenPipe) => {
            "the connection broke".into()
        }
        Some(ErrorKind::HostUnreachable | ErrorKind::NetworkUnreachable) => {
            "there is no way to it from here".into()
        }
        _ => clean(innermost, 200),
    }
}

/// What is wrong with a certificate, where that is the cause.
fn certificate(cause: &(dyn std::error::Error + 'static)) -> Option<String> {
    let inner = match cause.downcast_ref::<std::io::Error>() {
        Some(io) => io.get_ref()?.downcast_ref::<rustls::Error>()?,
        None => cause.downcast_ref::<rustls::Error>()?,
    };
    matches!(inner, rustls::Error::InvalidCertificate(_) | rustls::Error::NoCertificatesPresented)
        .then(|| inner.to_string())
}

/// Those of the library's errors that have neither a code nor a cause and are of time or connection.
fn is_timeout(wrong: &tokio_postgres::Error) -> bool {
    let told = wrong.to_string();
    ["timeout", "connect", "closed"].iter().any(|word| told.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outage_is_told_from_a_refusal_by_its_code() {
        // Connection lost, too many connections, disk full, shut down, cancelled, deadlock, read-only, lock, I/O.
        for code in [
            "08006", "53300", "53100", "57P01", "57014", "40P01", "25006", "55000", "55P03",
            "58030",
        ] {
            assert!(passes(code), "{code}");
        }
        // Password, right, constraint, bytes, no database, no function, raised, inside a failed transaction.
        for code in
            ["28P01", "42501", "23514", "22021", "3D000", "42883", "P0001", "25P02", "", "5"]
        {
            assert!(!passes(code), "{code}");
        }
    }
}
