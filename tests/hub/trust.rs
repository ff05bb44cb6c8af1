//! What a station believes of a server, and what counts as an answer: certificates, warnings, rows that are not taken, a
//! hub that came back from a dump.

use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
use std::path::{Path, PathBuf};
use std::process::Command;

use dwell::shell::hub::station::{Pushed, StationLine};
use dwell::shell::hub::{Connection, Destination, HubError, block_on};
use dwell::shell::journal::row::Stored;
use dwell::shell::journal::{JournalError, Reader};
use dwell::shop::facts::ids::StationId;
use dwell::shop::facts::station::HubAddress;
use support::postgres::{DATABASE, OWNER, PASSWORD, Server};
use support::pty::Pty;
use support::waiting::wait;

use crate::courier::sign_in;
use crate::prepare::row;
use crate::shop::{Shop, role, rows_of};

fn openssl(directory: &Path, arguments: &str) {
    let ran = Command::new("openssl")
        .args(arguments.split_whitespace())
        .current_dir(directory)
        .output()
        .expect("openssl");
    assert!(ran.status.success(), "{arguments}: {}", String::from_utf8_lossy(&ran.stderr));
}

const KEY: &str = "-newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes";

/// A certificate authority of the shop's own; where its certificate lies.
fn authority(directory: &Path, name: &str) -> PathBuf {
    openssl(
        directory,
        &format!(
            "req -x509 {KEY} -keyout {name}.key -out {name}.pem -days 2 -subj /CN={name} -addext keyUsage=critical,keyCertSign"
        ),
    );
    directory.join(format!("{name}.pem"))
}

/// Has a server show a certificate for a host, signed by an authority with a digest.
fn certify(server: &Server, directory: &Path, by: &str, host: &str, digest: &str) {
    openssl(directory, &format!("req {KEY} -keyout server.key -out server.csr -subj /CN=hub"));
    std::fs::write(directory.join("names"), format!("subjectAltName={host}\n")).unwrap();
    openssl(
        directory,
        &format!(
            "x509 -req -in server.csr -CA {by}.pem -CAkey {by}.key -CAcreateserial -days 2 -{digest} -extfile names -out server.crt"
        ),
    );
    let owner = std::fs::metadata(server.data()).unwrap();
    for file in ["server.crt", "server.key"] {
        let to = server.data().join(file);
        std::fs::copy(directory.join(file), &to).unwrap();
        chown(&to, Some(owner.uid()), Some(owner.gid())).unwrap();
        std::fs::set_permissions(&to, std::fs::Permissions::from_mode(0o600)).unwrap();
    }
    server.sql("ALTER SYSTEM SET ssl = on");
    server.sql("SELECT pg_reload_conf()");
}

fn secured(shop: &Shop, host: &str, ca: &Path) -> Destination {
    let address = format!("postgres://{host}:{}/{DATABASE}", shop.server.port());
    Destination {
        address: HubAddress::read(&address).unwrap(),
        ca: Some(ca.to_owned()),
        ..shop.destination("b")
    }
}

fn own() -> StationId {
    "b".parse().unwrap()
}

fn upto(to: &Destination) -> Result<u64, HubError> {
    block_on(async { Ok(StationLine::to(to, own()).await?.head().await?.upto) })
}

/// Only a server whose certificate the shop's own authority has signed, for the name in the address, is spoken to.
#[test]
fn a_wrong_authority_or_a_wrong_name_is_refused() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let place = tempfile::tempdir().unwrap();
    let (right, wrong) = (authority(place.path(), "right"), authority(place.path(), "wrong"));
    let here = secured(&shop, "127.0.0.1", &right);
    // A server that knows no TLS is not spoken to without.
    assert!(upto(&here).is_err());
    for digest in ["sha256", "sha384"] {
        certify(&shop.server, place.path(), "right", "IP:127.0.0.1", digest);
        wait(|| format!("a server with a certificate: {:?}", upto(&here)), || upto(&here).ok());
        let refused = upto(&secured(&shop, "127.0.0.1", &wrong)).unwrap_err();
        assert!(matches!(refused, HubError::Certificate(_)), "{refused:?}");
        assert!(!refused.is_outage());
    }
    let other_name = upto(&secured(&shop, "localhost", &right)).unwrap_err();
    assert!(matches!(other_name, HubError::Certificate(_)), "{other_name:?}");
    std::fs::write(place.path().join("none.pem"), "no certificate\n").unwrap();
    let none = upto(&secured(&shop, "127.0.0.1", &place.path().join("none.pem"))).unwrap_err();
    assert!(none.to_string().contains("there is no certificate in it"), "{none}");
}

/// A wait for a standby that is cancelled answers "ok" beside a warning: that is no answer.
#[test]
fn an_answer_beside_a_warning_is_not_confirmed() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let to = shop.destination("b");
    let first = row("b", 1, 0, "signed-in", "{\"who\":\"AB\"}");
    shop.server.sql("ALTER SYSTEM SET synchronous_standby_names = 'nobody'");
    shop.server.sql("SELECT pg_reload_conf()");
    let pushed = std::thread::scope(|threads| {
        let pushing = threads.spawn(|| {
            block_on(async {
                StationLine::to(&to, own())
                    .await?
                    .push(1, (0, 0), std::slice::from_ref(&first))
                    .await
            })
        });
        let cancel = "SELECT count(pg_cancel_backend(pid)) FROM pg_stat_activity WHERE wait_event = 'SyncRep'";
        wait(|| "the wait is cancelled".into(), || (shop.server.sql(cancel) != "0").then_some(()));
        pushing.join().unwrap()
    });
    let doubted = pushed.unwrap_err();
    assert!(doubted.is_outage() && doubted.to_string().contains("not confirmed"), "{doubted}");
    shop.server.sql("ALTER SYSTEM RESET synchronous_standby_names");
    shop.server.sql("SELECT pg_reload_conf()");
    // The head tells what became of it.
    assert_eq!(wait(|| "the head".into(), || upto(&to).ok()), 1);
}

/// What the server warns of at the connection, as after an upgrade of the system under it, stands beside every answer
/// and makes none of them doubtful.
#[test]
fn a_warning_that_came_before_is_no_doubt_of_what_is_answered_then() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    shop.server
        .sql("UPDATE pg_database SET datcollversion = 'older' WHERE datname = current_database()");
    let to = shop.destination("b");
    let warned = block_on(async {
        let hub = Connection::to(&to).await?;
        hub.ask("SELECT 1", &[]).await?;
        Ok(hub.take_warnings())
    });
    assert!(!warned.unwrap().is_empty(), "the server warns");
    assert_eq!(upto(&to).unwrap(), 0);
}

/// A hub of a newer program that still takes what this one writes is written to.
#[test]
fn a_newer_hub_is_written_to_for_as_long_as_it_says_so() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let to = shop.destination("b");
    shop.server.sql("UPDATE hub.about SET schema_version = 2, oldest_writer = 1");
    assert_eq!(upto(&to).unwrap(), 0);
    shop.server.sql("UPDATE hub.about SET oldest_writer = 2");
    assert!(matches!(upto(&to), Err(HubError::Newer { found: 2, known: 1 })));
}

/// A move of a life that is over is no longer in the way of the same move made again.
#[test]
fn a_move_that_counts_no_more_is_granted_to_whoever_makes_it_now() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    shop.add("c");
    let push = |id: &str, life: i32| {
        let received = row(id, 1, 0, "received", "{\"garment\":\"A1-01\",\"after\":\"a/1/7\"}");
        let (to, id) = (shop.destination(id), id.parse().unwrap());
        let sent = async {
            StationLine::to(&to, id)
                .await?
                .push(life, (0, 0), std::slice::from_ref(&received))
                .await
        };
        block_on(sent).unwrap()
    };
    let contested = |tags: &[&str]| Pushed::Taken {
        contested: tags.iter().map(|tag| (*tag).to_owned()).collect(),
    };
    assert_eq!(push("b", 1), contested(&[]));
    let to = shop.destination("b");
    let begun = async { StationLine::to(&to, own()).await?.begin_life(1, (0, 0), "new").await };
    assert_eq!(block_on(begun).unwrap(), Some(2));
    assert_eq!(push("b", 2), contested(&[]));
    assert_eq!(push("c", 1), contested(&["A1-01"]));
}

/// Of several hosts the one that is written to is taken, whichever stands first.
#[test]
fn a_standby_that_is_named_first_is_passed_over() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let standby = shop.server.standby();
    let of = |ports: &[u16]| {
        let hosts: Vec<String> = ports.iter().map(|port| format!("127.0.0.1:{port}")).collect();
        let address = format!("postgres://{}/{DATABASE}", hosts.join(","));
        Destination { address: HubAddress::read(&address).unwrap(), ..shop.destination("b") }
    };
    assert_eq!(upto(&of(&[standby.port(), shop.server.port()])).unwrap(), 0);
    // Alone it refuses what passes by itself.
    assert!(upto(&of(&[standby.port()])).unwrap_err().is_outage());
    let looked =
        block_on(async { StationLine::to(&of(&[standby.port()]), own()).await?.look().await });
    assert!(looked.unwrap_err().is_outage());
}

/// Rows that the hub does not take are refused, not an outage; what JSON may hold in escapes is taken as it is.
#[test]
fn a_row_that_is_not_taken_is_a_refusal() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let to = shop.destination("b");
    let push = |row: &Stored| {
        block_on(async {
            StationLine::to(&to, own()).await?.push(1, (0, 0), std::slice::from_ref(row)).await
        })
    };
    let nul = push(&row("b", 1, 0, "signed-in", "{\"who\":\"\u{0}\"}")).unwrap_err();
    assert!(!nul.is_outage() && nul.to_string().contains("22021"), "{nul}");
    let flipped = Stored { body: "{}".into(), ..row("b", 1, 0, "signed-in", "[]") };
    let flipped = push(&flipped).unwrap_err();
    assert!(!flipped.is_outage() && flipped.to_string().contains("23514"), "{flipped}");
    let escaped = row("b", 1, 0, "signed-in", "{\"who\":\"\\u0000\"}");
    assert_eq!(push(&escaped).unwrap(), Pushed::Taken { contested: Vec::new() });
    assert_eq!(push(&escaped).unwrap(), Pushed::Elsewhere);
    assert_eq!(shop.server.sql("SELECT body FROM hub.events"), escaped.body);
}

/// A byte that was flipped in the journal is not sent.
#[test]
fn a_row_whose_sum_is_wrong_is_not_read_for_sending() {
    let bench = support::bench::Bench::new(2, 60);
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    pty.leave();
    let last = u64::try_from(rows_of(&bench).len()).unwrap();
    let reader = Reader::of(&bench.data()).unwrap();
    assert_eq!(reader.sound_rows((0, 0), last).unwrap().len() as u64, last);
    let journal = rusqlite::Connection::open(bench.data().join("journal.sqlite")).unwrap();
    journal.execute("UPDATE events SET body = replace(body, 'AK', 'AL')", []).unwrap();
    let wrong = reader.sound_rows((0, 0), last).unwrap_err();
    assert!(matches!(wrong, JournalError::Sum { .. }), "{wrong}");
}

/// A dump knows of no roles: the station is told at once, and preparing again says what is to be done.
#[test]
fn a_hub_from_a_dump_is_set_right_by_preparing_and_renewing() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let first = row("b", 1, 0, "signed-in", "{\"who\":\"AB\"}");
    shop.sql_as("b", &crate::prepare::push(1, 0, 0, std::slice::from_ref(&first))).unwrap();
    let dump = shop.owner.root.path().join("hub.sql");
    let program = |name: &str, server: &Server| {
        let mut program = Command::new(name);
        program.env("PGPASSWORD", PASSWORD).args([
            "-h",
            server.socket(),
            "-U",
            OWNER,
            "-d",
            DATABASE,
        ]);
        program.args(["-p", &server.port().to_string(), "-f"]).arg(&dump);
        program
    };
    assert!(program("pg_dump", &shop.server).status().unwrap().success());
    let Some(mut restored) = Shop::bare(&[]) else { return };
    let ran = program("psql", &restored.server).args(["-q", "-X"]).output().unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));

    let said = restored.prepare();
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    assert!(said.out.contains("the hub was there"), "{}", said.out);
    assert!(said.out.contains("station \"b\" has no role on this server"), "{}", said.out);
    restored.owner = shop.owner;
    let file = restored.password_file("b");
    let renew = ["add-station", "b", "--renew", "--password-file", file.to_str().unwrap()];
    let renewed = restored.hub(&renew);
    assert_eq!(renewed.code, 0, "{}", renewed.err);
    let head =
        block_on(async { StationLine::to(&restored.destination("b"), own()).await?.head().await });
    let head = head.unwrap();
    assert_eq!((head.upto, head.sum), (1, first.sum));
    assert_eq!(head.hub, shop.server.sql("SELECT hub FROM hub.about"));
    // Without the rights of its group a station hears it before it sends anything.
    restored.server.sql(&format!("REVOKE {DATABASE}_stations FROM {}", role("b")));
    let refused =
        block_on(async { StationLine::to(&restored.destination("b"), own()).await.map(drop) });
    assert!(!refused.unwrap_err().is_outage());
}
