//! A shop of these tests: a server with a hub on it, and benches whose stations are known there.

use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;

use dwell::shell::hub::Destination;
use dwell::shell::journal::Reader;
use dwell::shell::journal::row::Stored;
use dwell::shop::facts::station::HubAddress;
use serde_json::Value;
use support::bench::{Bench, Ran};
use support::postgres::{DATABASE, OWNER, PASSWORD, Server};
use support::proxy::Proxy;
use support::waiting::wait;

/// A server with a hub, and the bench at which its owner sits.
pub struct Shop {
    pub server: Server,
    pub owner: Bench,
}

impl Shop {
    /// A prepared hub; None where the machine has no server to start.
    pub fn open() -> Option<Self> {
        Self::with(&[])
    }

    /// The same on a server with settings of its own.
    pub fn with(settings: &[&str]) -> Option<Self> {
        let shop = Self::bare(settings)?;
        let ran = shop.prepare();
        assert_eq!(ran.code, 0, "{}", ran.err);
        Some(shop)
    }

    /// A server without a hub.
    pub fn bare(settings: &[&str]) -> Option<Self> {
        let server = Server::start_with(settings)?;
        let owner = Bench::new(1, 2);
        let passwords = owner.home().join(".pgpass");
        fs::write(&passwords, format!("*:*:*:{OWNER}:{PASSWORD}\n")).unwrap();
        fs::set_permissions(&passwords, Permissions::from_mode(0o600)).unwrap();
        Some(Self { server, owner })
    }

    /// Runs `dwell hub ...` with the owner's address behind it.
    pub fn hub(&self, arguments: &[&str]) -> Ran {
        let address = self.address(OWNER);
        self.owner.run(&[&["hub"], arguments, &["--address", &address]].concat())
    }

    pub fn prepare(&self) -> Ran {
        self.hub(&["prepare"])
    }

    /// The address by the server's socket.
    pub fn address(&self, role: &str) -> String {
        address_of(&self.server, role)
    }

    /// All that the lead is told.
    pub fn lead(&self) -> Value {
        self.lead_by(&self.server)
    }

    /// The same by another server.
    pub fn lead_by(&self, server: &Server) -> Value {
        let address = address_of(server, OWNER);
        let ran = self.owner.run(&["hub", "--json", "--address", &address]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
        serde_json::from_str(&ran.out).unwrap()
    }

    /// Adds a station to the hub; returns the line for its profile.
    pub fn add(&self, id: &str) -> String {
        let file = self.password_file(id);
        let ran = self.hub(&["add-station", id, "--password-file", file.to_str().unwrap()]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran.out.trim_end().to_owned()
    }

    pub fn password_file(&self, id: &str) -> PathBuf {
        self.owner.root.path().join(format!("password-{id}"))
    }

    pub fn password(&self, id: &str) -> String {
        fs::read_to_string(self.password_file(id)).unwrap().trim_end().to_owned()
    }

    /// What a station of the hub connects by.
    pub fn destination(&self, id: &str) -> Destination {
        let role = role(id);
        Destination {
            address: HubAddress::read(&self.address(&role)).unwrap(),
            role,
            password_file: Some(self.password_file(id)),
            ca: None,
        }
    }

    /// What a station's role is answered by a client that is not ours.
    pub fn sql_as(&self, id: &str, query: &str) -> Result<String, String> {
        self.server.sql_as(&role(id), &self.password(id), query)
    }
}

/// The address by a server's socket.
pub fn address_of(server: &Server, role: &str) -> String {
    let (socket, port) = (server.socket(), server.port());
    format!("postgres://{role}@/{DATABASE}?host={socket}&port={port}")
}

/// The role that a station is given.
pub fn role(id: &str) -> String {
    format!("{DATABASE}_{id}")
}

impl Shop {
    /// A bench of a new station, which reaches the hub by the server's socket.
    pub fn bench(&self, id: &str) -> Bench {
        let line = self.add(id);
        bench(id, &line)
    }

    /// The same by a way that can be broken.
    pub fn bench_behind(&self, id: &str, proxy: &Proxy) -> Bench {
        bench(id, &behind(&self.add(id), proxy))
    }

    /// The rows of a station's history at the hub, each on a line with all that it says.
    pub fn rows(&self, id: &str) -> Vec<String> {
        rows_at(&self.server, id)
    }

    /// Waits until the hub has all that a bench has saved, each row once and as it was written.
    pub fn wait_equal(&self, bench: &Bench, id: &str) {
        wait_equal(&self.server, bench, id);
    }
}

/// A station's field with a broken way in place of its address.
pub fn behind(line: &str, proxy: &Proxy) -> String {
    let (_, rest) = line.split_once("role: ").unwrap();
    format!(
        "hub: Some((address: \"postgres://127.0.0.1:{}/{DATABASE}\", role: {rest}",
        proxy.port()
    )
}

/// A bench of a station with a line for its hub.
pub fn bench(id: &str, line: &str) -> Bench {
    let bench = Bench::new(2, 60);
    bench.station_says(&format!("id: \"{id}\", {line}"));
    bench
}

pub fn rows_at(server: &Server, id: &str) -> Vec<String> {
    let sql = format!(
        "SELECT concat_ws('|', station, seq, act, at, boot, up, version, kind, body, sum) \
         FROM hub.news('{{{id}}}', '{{0}}', 1000000)"
    );
    server.sql(&sql).lines().map(str::to_owned).collect()
}

/// The rows of a journal, in the same way.
pub fn rows_of(bench: &Bench) -> Vec<String> {
    let mut rows = Vec::new();
    let Some(reader) = Reader::open(&bench.data()).unwrap() else { return rows };
    let told = |row: Stored| {
        let Stored { station, seq, act, at, boot, up, version, kind, body, sum } = row;
        rows.push(format!("{station}|{seq}|{act}|{at}|{boot}|{up}|{version}|{kind}|{body}|{sum}"));
        Ok(())
    };
    reader.rows_after(0, told).unwrap();
    rows
}

pub fn wait_equal(server: &Server, bench: &Bench, id: &str) {
    let told = || {
        let (own, hub) = (rows_of(bench), rows_at(server, id));
        let ends = |rows: &[String]| rows[rows.len().saturating_sub(3)..].join("\n");
        format!("{} rows:\n{}\nat the hub {}:\n{}", own.len(), ends(&own), hub.len(), ends(&hub))
    };
    wait(told, || {
        (!rows_of(bench).is_empty() && rows_of(bench) == rows_at(server, id)).then_some(())
    });
}
