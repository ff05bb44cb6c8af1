//! A PostgreSQL server of a test's own, from the machine's packages: data, socket and port in a directory of its own.
//!
//! It is not run as root, since it refuses that: where the tests are, the server runs as another user of the machine.

use std::fs::{File, Permissions};
use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;
use std::os::unix::fs::{PermissionsExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex, PoisonError, Weak};

use rustix::process::{Pid, Signal, geteuid, kill_process};
use tempfile::TempDir;

use crate::skipped::skipped;
use crate::waiting::wait;

/// The owner of the databases, and the password of that role.
pub const OWNER: &str = "owner";
pub const PASSWORD: &str = "press-room";
/// The database that every server has for the hub.
pub const DATABASE: &str = "dwell";

/// A data directory as `initdb` makes it, for all servers that run at one time: the last one takes it away.
static FRESH: Mutex<Weak<TempDir>> = Mutex::new(Weak::new());

fn fresh() -> Option<Arc<TempDir>> {
    let mut kept = FRESH.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(fresh) = kept.upgrade() {
        return Some(fresh);
    }
    let made = Arc::new(initialised()?);
    *kept = Arc::downgrade(&made);
    Some(made)
}

fn initialised() -> Option<TempDir> {
    let initdb = programs()?.join("initdb");
    let made = own_directory();
    let secret = made.path().join("secret");
    std::fs::write(&secret, PASSWORD).unwrap();
    chown(&secret, user().map(|(uid, _)| uid), None).unwrap();
    let data = made.path().join("data");
    let ran = as_server(&initdb)
        .args(["--username", OWNER, "--auth", "scram-sha-256", "--encoding", "UTF8"])
        .args(["--locale", "C", "--no-sync", "--pwfile"])
        .arg(&secret)
        .arg(&data)
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    Some(made)
}

/// Where Debian puts the server's programs: those of the newest version.
fn programs() -> Option<PathBuf> {
    let mut found: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .ok()?
        .filter_map(|entry| Some(entry.ok()?.path().join("bin")))
        .filter(|bin| bin.join("initdb").exists() && bin.join("postgres").exists())
        .collect();
    found.sort_by_key(|bin| version(bin));
    found.pop()
}

/// The number before the first point of a version's directory: 9.6 is older than 15.
fn version(bin: &Path) -> u32 {
    let name = bin.parent().and_then(Path::file_name).unwrap_or_default().to_string_lossy();
    name.split('.').next().and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// Whom the server runs as: None where that is whoever runs the tests.
fn user() -> Option<(u32, u32)> {
    if !geteuid().is_root() {
        return None;
    }
    let users = std::fs::read_to_string("/etc/passwd").unwrap();
    let ids_of = |name: &str| {
        let line = users.lines().find(|line| line.split(':').next() == Some(name))?;
        let mut fields = line.split(':').skip(2);
        Some((fields.next()?.parse().ok()?, fields.next()?.parse().ok()?))
    };
    ids_of("postgres").or_else(|| ids_of("nobody"))
}

fn as_server(program: &Path) -> Command {
    let mut command = Command::new(program);
    command.current_dir("/").env_clear().env("PATH", "/usr/bin:/bin").env("LC_ALL", "C");
    if let Some((uid, gid)) = user() {
        command.uid(uid).gid(gid);
    }
    command
}

/// A directory that the server's user owns.
fn own_directory() -> TempDir {
    let made = tempfile::Builder::new().prefix("pg").tempdir_in("/tmp").unwrap();
    let ids = user();
    chown(made.path(), ids.map(|(uid, _)| uid), ids.map(|(_, gid)| gid)).unwrap();
    std::fs::set_permissions(made.path(), Permissions::from_mode(0o700)).unwrap();
    made
}

/// A server that runs, or did until it was stopped.
pub struct Server {
    place: TempDir,
    port: u16,
    settings: Vec<String>,
    running: Option<Child>,
    made_from: Option<Arc<TempDir>>,
}

impl Server {
    /// A server with an empty database `DATABASE`; None, and said, where the machine has no server to start.
    pub fn start() -> Option<Server> {
        Self::start_with(&[])
    }

    /// The same with settings such as "ssl=on".
    pub fn start_with(settings: &[&str]) -> Option<Server> {
        let Some(fresh) = fresh() else {
            skipped("no PostgreSQL server; apt-get install postgresql");
            return None;
        };
        let mut server = Self::of(&fresh.path().join("data"), settings);
        server.made_from = Some(fresh);
        server.sql_of("postgres", &format!("CREATE DATABASE {DATABASE}"));
        Some(server)
    }

    /// A server on a copy of some data.
    fn of(data: &Path, settings: &[&str]) -> Server {
        let place = own_directory();
        let copied =
            as_server(Path::new("/bin/cp")).arg("-a").arg(data).arg(place.path()).status().unwrap();
        assert!(copied.success());
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let settings = settings.iter().map(|setting| (*setting).to_owned()).collect();
        let mut server = Server { place, port, settings, running: None, made_from: None };
        server.go_on();
        server
    }

    /// Starts it again after a stop or a kill.
    pub fn go_on(&mut self) {
        assert!(self.running.is_none(), "it runs");
        let log = File::options().append(true).create(true).open(self.log()).unwrap();
        let mut command = as_server(&programs().unwrap().join("postgres"));
        command.arg("-D").arg(self.data()).arg("-k").arg(self.place.path());
        command.args(["-p", &self.port.to_string(), "-c", "listen_addresses=127.0.0.1"]);
        for setting in
            ["wal_level=replica", "hot_standby=on", "shared_buffers=16MB", "wal_keep_size=64MB"]
                .into_iter()
                .chain(self.settings.iter().map(String::as_str))
        {
            command.args(["-c", setting]);
        }
        let child = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(log).spawn().unwrap();
        self.running = Some(child);
        wait(
            || format!("a server:\n{}", std::fs::read_to_string(self.log()).unwrap_or_default()),
            || self.try_sql("postgres", OWNER, PASSWORD, "SELECT 1").is_ok().then_some(()),
        );
    }

    /// Stops it in order: what was committed is on the disk.
    pub fn stop(&mut self) {
        self.end(Signal::INT);
    }

    /// Ends it at once, as a power cut would.
    pub fn kill(&mut self) {
        self.end(Signal::QUIT);
    }

    fn end(&mut self, signal: Signal) {
        if let Some(mut child) = self.running.take() {
            let pid = Pid::from_child(&child);
            kill_process(pid, signal).unwrap();
            child.wait().unwrap();
        }
    }

    /// A standby that follows this server by streaming.
    pub fn standby(&self) -> Server {
        let place = own_directory();
        let made = as_server(&programs().unwrap().join("pg_basebackup"))
            .env("PGPASSWORD", PASSWORD)
            .args(["-h", self.socket(), "-p", &self.port.to_string(), "-U", OWNER])
            .args(["-R", "-X", "stream", "-c", "fast", "--no-sync", "-D"])
            .arg(place.path().join("data"))
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let settings: Vec<&str> = self.settings.iter().map(String::as_str).collect();
        Self::of(&place.path().join("data"), &settings)
    }

    /// Makes a standby the primary, and waits until it writes.
    pub fn promote(&self) {
        self.sql("SELECT pg_promote(true, 60)");
        wait(
            || "the standby writes".to_owned(),
            || (self.sql("SELECT pg_is_in_recovery()") == "f").then_some(()),
        );
    }

    /// Sends the server's process a signal, such as a stop and a going on.
    pub fn signal(&self, signal: Signal) {
        let child = self.running.as_ref().expect("it runs");
        kill_process(Pid::from_child(child), signal).unwrap();
    }

    /// The directory of its socket: the host of a local address.
    pub fn socket(&self) -> &str {
        self.place.path().to_str().unwrap()
    }

    pub fn port(&self) -> u16 {
        self.port
    }

    /// Its data directory, owned by whom it runs as.
    pub fn data(&self) -> PathBuf {
        self.place.path().join("data")
    }

    fn log(&self) -> PathBuf {
        self.place.path().join("log")
    }

    /// What it wrote into its log.
    pub fn logged(&self) -> String {
        std::fs::read_to_string(self.log()).unwrap_or_default()
    }

    /// What the owner is answered in the hub's database by a client that is not ours: a row a line, fields apart by `|`.
    pub fn sql(&self, query: &str) -> String {
        self.sql_of(DATABASE, query)
    }

    fn sql_of(&self, database: &str, query: &str) -> String {
        self.try_sql(database, OWNER, PASSWORD, query)
            .unwrap_or_else(|said| panic!("{query}: {said}"))
    }

    /// The same as another role.
    ///
    /// # Errors
    /// What the server said.
    pub fn sql_as(&self, role: &str, password: &str, query: &str) -> Result<String, String> {
        self.try_sql(DATABASE, role, password, query)
    }

    fn try_sql(
        &self,
        database: &str,
        role: &str,
        password: &str,
        query: &str,
    ) -> Result<String, String> {
        let ran = Command::new(programs().unwrap().join("psql"))
            .env_clear()
            .env("PGPASSWORD", password)
            .args(["-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-h", self.socket()])
            .args(["-p", &self.port.to_string(), "-U", role, "-d", database, "-c", query])
            .output()
            .unwrap();
        if ran.status.success() {
            Ok(String::from_utf8_lossy(&ran.stdout).trim_end().to_owned())
        } else {
            Err(String::from_utf8_lossy(&ran.stderr).into_owned())
        }
    }
}

/// A client of the owner's in the middle of a transaction.
pub struct Held(Child);

impl Server {
    /// What a statement locks is held until this is dropped.
    pub fn hold(&self, statement: &str) -> Held {
        let mut client = Command::new(programs().unwrap().join("psql"))
            .env_clear()
            .env("PGPASSWORD", PASSWORD)
            .args(["-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-h", self.socket()])
            .args(["-p", &self.port.to_string(), "-U", OWNER, "-d", DATABASE])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let commands = format!("BEGIN; {statement};\n\\echo held\n");
        client.stdin.as_mut().unwrap().write_all(commands.as_bytes()).unwrap();
        let said = BufReader::new(client.stdout.as_mut().unwrap()).lines();
        assert!(said.map_while(Result::ok).any(|line| line == "held"), "{statement}");
        Held(client)
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        drop(self.0.stdin.take());
        drop(self.0.wait());
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.kill();
    }
}
