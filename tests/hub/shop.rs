//! A shop of these tests: a server with a hub on it, and benches whose stations are known there.

use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;

use dwell::shell::hub::Destination;
use dwell::shop::facts::station::HubAddress;
use support::bench::{Bench, Ran};
use support::postgres::{DATABASE, OWNER, PASSWORD, Server};

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
        let (socket, port) = (self.server.socket(), self.server.port());
        format!("postgres://{role}@/{DATABASE}?host={socket}&port={port}")
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

/// The role that a station is given.
pub fn role(id: &str) -> String {
    format!("{DATABASE}_{id}")
}
