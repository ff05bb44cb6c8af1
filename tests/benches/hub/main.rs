//! What the hub costs, as ratios within one run: `cargo bench --bench hub`, on a PostgreSQL server of its own.
//!
//! Sending is the courier's own; the yardstick is the same connection adding the same rows to a table that checks nothing.

use std::fs::Permissions;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::time::{Duration, Instant};

use dwell::shell::hub::lead::{HubFollower, HubNews};
use dwell::shell::hub::prepare::{self, NewStation};
use dwell::shell::hub::station::{BATCH, Pushed, StationLine};
use dwell::shell::hub::{Connection, Destination, replaced};
use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::row::Stored;
use dwell::shop::facts::ids::StationId;
use dwell::shop::facts::station::HubProfile;
use support::postgres::{DATABASE, OWNER, PASSWORD, Server};
use tempfile::TempDir;
use tokio_postgres::types::Type;

/// Acts that are sent one by one, and stations that send at once for so long, so many a second each.
const SINGLE: usize = 1_000;
const SEEN: usize = 60;
const STATIONS: usize = 50;
const A_SECOND: u32 = 20;
const TOGETHER: Duration = Duration::from_secs(15);
/// A week without the hub; and what a machine that is new has back, of a million.
const WEEK: usize = 60_000;
const HISTORY: usize = 200_000;

fn row(what: &str, figure: &str, beside: &str, kept: bool) {
    let over = if kept { "" } else { "   OVER" };
    println!("  {what:<58} {figure:>10}   {beside}{over}");
}

/// A server with a hub on it, and where its passwords lie.
struct Hub {
    server: Server,
    place: TempDir,
}

impl Hub {
    fn address(&self, role: &str) -> String {
        let (socket, port) = (self.server.socket(), self.server.port());
        format!("postgres://{role}@/{DATABASE}?host={socket}&port={port}")
    }

    fn profile(&self, role: &str, file: &Path) -> HubProfile {
        HubProfile {
            address: self.address(role).replace(&format!("{role}@"), ""),
            role: role.to_owned(),
            password_file: file.display().to_string(),
            ca: None,
        }
    }

    /// The owner, by the password file that the environment of this bench names.
    fn owner(&self) -> Destination {
        let file = self.place.path().join("owner");
        std::fs::write(&file, PASSWORD).unwrap();
        std::fs::set_permissions(&file, Permissions::from_mode(0o600)).unwrap();
        Destination::of_profile(&self.profile(OWNER, &file)).unwrap()
    }

    async fn station(&self, id: &str) -> HubProfile {
        let file = self.place.path().join(id);
        let id: StationId = id.parse().unwrap();
        let new = NewStation { id, name: "", password_file: &file, renew: false };
        let role = prepare::add_station(&self.owner(), &new).await.unwrap();
        self.profile(&role, &file)
    }
}

/// Rows of a station's history as a journal has them, behind one with this number and sum.
fn rows(station: &str, after: (u64, i64), count: usize) -> Vec<Stored> {
    let mut before = after.1;
    (after.0 + 1..)
        .take(count)
        .map(|seq| {
            let seq = i64::try_from(seq).unwrap();
            let mut row = Stored {
                station: station.to_owned(),
                seq,
                act: seq,
                at: 1_780_000_000_000_000 + seq * 1_000_000,
                boot: "00000000-0000-0000-0000-000000000001".into(),
                up: seq * 1_000_000,
                version: 1,
                kind: "signed-in".into(),
                body: format!(
                    "{{\"who\":\"{}\"}}",
                    ["AK", "BL", "CM"][usize::try_from(seq).unwrap() % 3]
                ),
                sum: 0,
            };
            row.sum = row.chained(before);
            before = row.sum;
            row
        })
        .collect()
}

fn ends(after: &mut (u64, i64), sent: &[Stored]) {
    if let Some(last) = sent.last() {
        *after = (u64::try_from(last.seq).unwrap(), last.sum);
    }
}

async fn push(line: &StationLine, after: &mut (u64, i64), sent: &[Stored]) {
    let answer = line.push(1, *after, sent).await.unwrap();
    assert_eq!(answer, Pushed::Taken { contested: Vec::new() });
    ends(after, sent);
}

fn quantile(all: &mut [f64], share: f64) -> f64 {
    all.sort_by(f64::total_cmp);
    all[((all.len() - 1) as f64 * share).round() as usize]
}

/// One act at a time, in turn with a bare insert over a connection of the same kind.
async fn single(hub: &Hub, bare: &Connection) {
    let line = line_of(&hub.station("a").await, "a").await;
    let (mut after, mut pushed, mut inserted) = ((0, 0), Vec::new(), Vec::new());
    for _ in 0..SINGLE {
        let one = rows("a", after, 1);
        let began = Instant::now();
        push(&line, &mut after, &one).await;
        pushed.push(began.elapsed().as_secs_f64() * 1e3);
        let one = &one[0];
        let with = [(&one.seq as _, Type::INT8), (&one.body as _, Type::TEXT)];
        let began = Instant::now();
        bare.ask("INSERT INTO bare VALUES ($1, $2)", &with).await.unwrap();
        inserted.push(began.elapsed().as_secs_f64() * 1e3);
    }
    let (push, insert) = (quantile(&mut pushed, 0.5), quantile(&mut inserted, 0.5));
    let ratio = push / insert;
    row(
        "an act is sent and committed",
        &format!("{push:.2} ms"),
        &format!("{ratio:.2}x of a bare insert and commit ({insert:.2} ms), at most 3x"),
        ratio <= 3.0,
    );
}

async fn line_of(profile: &HubProfile, id: &str) -> StationLine {
    StationLine::to(&Destination::of_profile(profile).unwrap(), id.parse().unwrap()).await.unwrap()
}

/// From an act's sending to the picture that the lead's screen is given of it; the hub is asked once a second.
async fn to_the_lead(hub: &Hub) {
    let line = line_of(&hub.station("l").await, "l").await;
    let mut follower = HubFollower::start(hub.owner()).unwrap();
    let mut news = follower.take_news().unwrap();
    let (mut after, mut lasted) = ((0, 0), Vec::new());
    for n in 0..SEEN {
        // At another part of the second each time.
        tokio::time::sleep(Duration::from_millis(n as u64 * 37 % 1_000)).await;
        let one = rows("l", after, 1);
        let began = Instant::now();
        push(&line, &mut after, &one).await;
        let is_seen = |told: HubNews| match told {
            HubNews::Read(all) => {
                let one = all.stations.iter().find(|one| one.id.to_string() == "l");
                assert!(
                    one.is_none_or(|one| one.fault.is_none()),
                    "{:?}",
                    one.map(|one| &one.fault)
                );
                one.is_some_and(|one| one.upto == after.0 && one.behind == 0)
            }
            other => panic!("{other:?}"),
        };
        while !is_seen(news.recv().await.expect("the follower lives")) {}
        lasted.push(began.elapsed().as_secs_f64());
    }
    let (half, most) = (quantile(&mut lasted, 0.5), quantile(&mut lasted, 0.99));
    row(
        &format!("an act is in the lead's picture, {SEEN} acts"),
        &format!("{half:.2} s"),
        &format!("p99 {most:.2} s, at most 2.5 s"),
        most <= 2.5,
    );
}

/// Many stations at once; how long each act takes, and how far behind its time the last one is.
async fn together(hub: &Hub) {
    let mut stations = Vec::new();
    for n in 0..STATIONS {
        let id: String =
            [b'c', b'a' + (n / 26) as u8, b'a' + (n % 26) as u8].map(char::from).iter().collect();
        stations.push((id.clone(), line_of(&hub.station(&id).await, &id).await));
    }
    let began = Instant::now();
    let sending: Vec<_> = stations
        .into_iter()
        .map(|(id, line)| {
            tokio::task::spawn_local(async move {
                let (mut after, mut lasted, mut behind) = ((0, 0), Vec::new(), 0.0f64);
                let all = A_SECOND * TOGETHER.as_secs() as u32;
                for n in 0..all {
                    let due = began + Duration::from_secs(1) / A_SECOND * n;
                    tokio::time::sleep_until(due.into()).await;
                    let one = rows(&id, after, 1);
                    push(&line, &mut after, &one).await;
                    let late = due.elapsed().as_secs_f64();
                    lasted.push(late * 1e3);
                    behind = behind.max(late);
                }
                (lasted, behind)
            })
        })
        .collect();
    let (mut lasted, mut behind) = (Vec::new(), 0.0f64);
    for one in sending {
        let (times, latest) = one.await.unwrap();
        lasted.extend(times);
        behind = behind.max(latest);
    }
    let (half, most) = (quantile(&mut lasted, 0.5), quantile(&mut lasted, 0.99));
    row(
        &format!("{STATIONS} stations of {A_SECOND} acts a second, from its time to its commit"),
        &format!("{half:.1} ms"),
        &format!("p99 {most:.0} ms; furthest behind {behind:.2} s, at most 5 s"),
        behind <= 5.0,
    );
}

/// A week's rows at once; then a machine that is new has a history back.
async fn in_bulk(hub: &Hub, bare: &Connection) -> HubProfile {
    let profile = hub.station("w").await;
    let line = line_of(&profile, "w").await;
    let mut after = (0, 0);
    let week = rows("w", after, WEEK);
    let began = Instant::now();
    for sent in week.chunks(BATCH) {
        push(&line, &mut after, sent).await;
    }
    let seconds = began.elapsed().as_secs_f64();
    let began = Instant::now();
    for sent in week.chunks(BATCH) {
        let numbers: Vec<i64> = sent.iter().map(|row| row.seq).collect();
        let bodies: Vec<&str> = sent.iter().map(|row| row.body.as_str()).collect();
        let with = [(&numbers as _, Type::INT8_ARRAY), (&bodies as _, Type::TEXT_ARRAY)];
        bare.ask("INSERT INTO bare SELECT * FROM unnest($1, $2)", &with).await.unwrap();
    }
    let ratio = seconds / began.elapsed().as_secs_f64();
    row(
        &format!("{WEEK} rows are caught up"),
        &format!("{seconds:.1} s"),
        &format!("{ratio:.1}x of bare inserts in the same batches; at most 20 s"),
        seconds <= 20.0,
    );
    while after.0 < HISTORY as u64 {
        let more = rows("w", after, BATCH);
        push(&line, &mut after, &more).await;
    }
    profile
}

fn come_back(profile: &HubProfile) {
    let new = tempfile::tempdir().unwrap();
    let data = new.path().join("data");
    std::fs::create_dir(&data).unwrap();
    let lock = Lock::take(&data).unwrap();
    let began = Instant::now();
    let found = replaced::fetch(&data, &lock, profile, "w".parse().unwrap()).unwrap();
    let seconds = began.elapsed().as_secs_f64();
    assert_eq!(found, replaced::Found::Fetched(HISTORY as u64));
    let million = seconds * 1e6 / HISTORY as f64;
    row(
        &format!("a new machine has {HISTORY} rows back, checked and written"),
        &format!("{seconds:.1} s"),
        &format!("{million:.0} s a million rows, at most 90 s"),
        million <= 90.0,
    );
}

fn main() {
    // `cargo test --all-targets` runs this too: measuring belongs to `cargo bench` alone.
    if !std::env::args().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench hub");
        return;
    }
    let Some(server) = Server::start_with(&["max_connections=80"]) else { return };
    println!("\nThe hub in figures");
    let hub = Hub { server, place: tempfile::tempdir().unwrap() };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let profile = tokio::task::LocalSet::new().block_on(&runtime, async {
        prepare::prepare(&hub.owner()).await.unwrap();
        let bare = Connection::to(&hub.owner()).await.unwrap();
        bare.ask("CREATE TABLE public.bare (seq bigint, body text)", &[]).await.unwrap();
        single(&hub, &bare).await;
        to_the_lead(&hub).await;
        together(&hub).await;
        in_bulk(&hub, &bare).await
    });
    come_back(&profile);
    let bytes =
        hub.server.sql("SELECT pg_total_relation_size('hub.events') / count(*) FROM hub.events");
    row("bytes a row on the disk, with its indexes", &bytes, "", true);
}
