//! A connection to the hub: every question has a deadline, and warnings are heard.
//!
//! Nothing outlasts a statement: no prepared statement, no setting, no transaction between two questions, so that a
//! pooler may stand in between.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::task::JoinHandle;
use tokio_postgres::config::{SslMode, TargetSessionAttrs};
use tokio_postgres::types::{ToSql, Type};
use tokio_postgres::{AsyncMessage, Client, Config, NoTls, Row};
use tokio_postgres_rustls::MakeRustlsConnect;

use super::{Destination, HubError};
use crate::shop::facts::station::Host;

/// How long an answer is waited for. Past it the connection is dropped: whether what was sent came to be is asked on
/// the next one.
pub const PATIENCE: Duration = Duration::from_secs(5);

/// A parameter of a statement, with its type.
pub type Parameter<'a> = (&'a (dyn ToSql + Sync), Type);

/// A connection that is driven by a task of its own, and ends with it.
pub struct Connection {
    client: Client,
    warnings: Arc<Mutex<Vec<String>>>,
    driver: JoinHandle<()>,
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.driver.abort();
    }
}

impl Connection {
    /// Connects, within `PATIENCE` for each host: to the first that answers, which may be a standby.
    ///
    /// # Errors
    /// No server there, one that is not trusted, a password that is not known or not right.
    pub async fn to(to: &Destination) -> Result<Self, HubError> {
        Self::by(config(to)?, to).await
    }

    /// The same for whoever writes: of several hosts, to the first that takes what is written.
    ///
    /// # Errors
    /// As for `to`, and none of several hosts that is written to.
    pub async fn to_writer(to: &Destination) -> Result<Self, HubError> {
        let mut config = config(to)?;
        // A single host is spoken to as it is: what it refuses then says more than that it is a standby.
        if to.address.hosts.len() > 1 {
            config.target_session_attrs(TargetSessionAttrs::ReadWrite);
        }
        Self::by(config, to).await
    }

    async fn by(config: Config, to: &Destination) -> Result<Self, HubError> {
        let hosts = u32::try_from(to.address.hosts.len()).unwrap_or(u32::MAX);
        let all = PATIENCE.saturating_mul(hosts).saturating_add(PATIENCE);
        let opened = async {
            match &to.ca {
                Some(ca) => {
                    let tls = MakeRustlsConnect::new(trusting(ca)?);
                    Ok(Self::over(config.connect(tls).await.map_err(HubError::from)?))
                }
                None => Ok(Self::over(config.connect(NoTls).await.map_err(HubError::from)?)),
            }
        };
        let opened = tokio::time::timeout(all, opened).await;
        let opened = opened.unwrap_or_else(|_| Err(HubError::Outage("no answer in time".into())));
        opened.map_err(|wrong| match wrong {
            HubError::PasswordWanted { .. } => HubError::PasswordWanted { role: to.role.clone() },
            wrong => wrong,
        })
    }

    fn over<S, T>((client, connection): (Client, tokio_postgres::Connection<S, T>)) -> Self
    where
        S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
        T: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        let warnings = Arc::new(Mutex::new(Vec::new()));
        let driver = tokio::spawn(drive(connection, Arc::clone(&warnings)));
        Self { client, warnings, driver }
    }

    /// Asks one statement, as a transaction of its own.
    ///
    /// # Errors
    /// What the server says, or no answer within `PATIENCE`: this connection is not to be used any more then.
    pub async fn ask(&self, sql: &str, with: &[Parameter<'_>]) -> Result<Vec<Row>, HubError> {
        self.ask_within(PATIENCE, sql, with).await
    }

    /// The same with another patience, for an answer of many rows.
    ///
    /// # Errors
    /// As for `ask`.
    pub async fn ask_within(
        &self,
        patience: Duration,
        sql: &str,
        with: &[Parameter<'_>],
    ) -> Result<Vec<Row>, HubError> {
        let answer = tokio::time::timeout(patience, self.client.query_typed(sql, with)).await;
        Ok(answer.map_err(|_| late(patience))??)
    }

    /// Runs statements without parameters, with BEGIN and COMMIT where they are to be one transaction.
    ///
    /// # Errors
    /// As for `ask`.
    pub async fn run(&self, patience: Duration, sql: &str) -> Result<(), HubError> {
        let ran = tokio::time::timeout(patience, self.client.batch_execute(sql)).await;
        Ok(ran.map_err(|_| late(patience))??)
    }

    /// What the server has warned of since it was asked last. An answer beside a warning may not be on its disks.
    pub fn take_warnings(&self) -> Vec<String> {
        std::mem::take(&mut *self.warnings.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Whether the other side has gone.
    pub fn is_closed(&self) -> bool {
        self.client.is_closed()
    }
}

fn late(patience: Duration) -> HubError {
    HubError::Outage(format!("no answer within {} s", patience.as_secs()))
}

/// Moves what is said between us and the server, and keeps its warnings; a warning is kept before the answer that
/// comes behind it is handed on.
async fn drive<S, T>(
    mut connection: tokio_postgres::Connection<S, T>,
    warnings: Arc<Mutex<Vec<String>>>,
) where
    S: AsyncRead + AsyncWrite + Unpin,
    T: AsyncRead + AsyncWrite + Unpin,
{
    loop {
        match std::future::poll_fn(|context| connection.poll_message(context)).await {
            Some(Ok(AsyncMessage::Notice(notice))) if is_warning(notice.severity()) => {
                let said = format!("{} ({})", notice.message(), notice.code().code());
                warnings.lock().unwrap_or_else(PoisonError::into_inner).push(said);
            }
            Some(Ok(_)) => {}
            // Whoever asked is told by the client.
            Some(Err(_)) | None => return,
        }
    }
}

fn is_warning(severity: &str) -> bool {
    !matches!(severity, "NOTICE" | "INFO" | "DEBUG" | "LOG")
}

fn config(to: &Destination) -> Result<Config, HubError> {
    let mut config = Config::new();
    config
        .user(&to.role)
        .dbname(&to.address.database)
        .application_name("dwell")
        .connect_timeout(PATIENCE)
        .tcp_user_timeout(PATIENCE * 2)
        .ssl_mode(if to.ca.is_some() { SslMode::Require } else { SslMode::Disable });
    for host in &to.address.hosts {
        match host {
            Host::Net(name, port) => config.host(name).port(*port),
            Host::Socket(directory, port) => config.host_path(directory).port(*port),
        };
    }
    if let Some(password) = to.password()? {
        config.password(password.reveal());
    }
    Ok(config)
}

/// Trusts what a CA of the shop's own has signed, for the name in the address, and nothing else.
fn trusting(ca: &std::path::Path) -> Result<ClientConfig, HubError> {
    let wrong = |reason: String| HubError::Ca { path: ca.to_owned(), reason };
    let pem = crate::shell::private::read_small(ca, 1 << 20).map_err(|e| wrong(e.to_string()))?;
    let mut roots = RootCertStore::empty();
    for certificate in CertificateDer::pem_slice_iter(pem.as_bytes()) {
        let certificate = certificate.map_err(|reason| wrong(reason.to_string()))?;
        roots.add(certificate).map_err(|reason| wrong(reason.to_string()))?;
    }
    if roots.is_empty() {
        return Err(wrong("there is no certificate in it".into()));
    }
    // Named here, so that no other crate's choice is taken for ours.
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|reason| wrong(reason.to_string()))?;
    Ok(config.with_root_certificates(roots).with_no_client_auth())
}
