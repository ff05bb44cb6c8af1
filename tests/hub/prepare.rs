//! Preparing a hub, and adding stations: what an owner types, and what the roles may do then.

use std::fs;
use std::os::unix::fs::PermissionsExt;

use dwell::shell::hub::{Connection, block_on};
use dwell::shell::journal::row::Stored;

use crate::shop::{Shop, role};

/// A row as a station would write it, behind one with the sum `before`.
pub fn row(station: &str, seq: i64, before: i64, kind: &str, body: &str) -> Stored {
    let mut row = Stored {
        station: station.into(),
        seq,
        act: seq,
        at: 1_780_000_000_000_000 + seq,
        boot: "0123456789abcdef0123456789abcdef".into(),
        up: 12 * seq,
        version: 5,
        kind: kind.into(),
        body: body.into(),
        sum: 0,
    };
    row.sum = row.chained(before);
    row
}

/// SQL that pushes rows behind a head.
pub fn push(life: i32, after: i64, after_sum: i64, rows: &[Stored]) -> String {
    let numbers = |of: fn(&Stored) -> i64| {
        let all: Vec<String> = rows.iter().map(|row| of(row).to_string()).collect();
        format!("'{{{}}}'", all.join(","))
    };
    let texts = |of: fn(&Stored) -> &str| {
        let quoted = |row| format!("'{}'", of(row).replace('\'', "''"));
        let all: Vec<String> = rows.iter().map(quoted).collect();
        format!("ARRAY[{}]::text[]", all.join(","))
    };
    format!(
        "SELECT answer, upto, sum, contested FROM hub.push({life}, {after}, {after_sum}, {}, {}, {}, {}, {}, {}, {}, {})",
        numbers(|row| row.act),
        numbers(|row| row.at),
        texts(|row| &row.boot),
        numbers(|row| row.up),
        numbers(|row| i64::from(row.version)),
        texts(|row| &row.kind),
        texts(|row| &row.body),
        numbers(|row| row.sum)
    )
}

/// Run again it changes nothing that is there, and gives back rights that were lost.
#[test]
fn preparing_twice_keeps_what_is_there_and_sets_rights_right() {
    let Some(shop) = Shop::bare(&[]) else { return };
    assert!(shop.prepare().out.contains("the hub is prepared"));
    shop.add("b");
    let first = row("b", 1, 0, "signed-in", "{\"who\":\"AB\"}");
    shop.sql_as("b", &push(1, 0, 0, std::slice::from_ref(&first))).unwrap();
    let hub = shop.server.sql("SELECT hub FROM hub.about");

    shop.server
        .sql("REVOKE dwell_stations FROM dwell_b; GRANT INSERT ON hub.events TO dwell_stations");
    assert!(shop.sql_as("b", "SELECT * FROM hub.head()").is_err());
    let again = shop.prepare();
    assert_eq!((again.code, again.err.as_str()), (0, ""));
    assert!(again.out.contains("the hub was there"), "{}", again.out);
    assert_eq!(shop.server.sql("SELECT hub FROM hub.about"), hub);
    let head = shop.sql_as("b", "SELECT upto, sum FROM hub.head()").unwrap();
    assert_eq!(head, format!("1|{}", first.sum));
    let refused = shop.sql_as("b", "INSERT INTO hub.events (station) VALUES ('b')").unwrap_err();
    assert!(refused.contains("permission denied"), "{refused}");
}

/// A hub of a newer program is left as it is.
#[test]
fn a_hub_of_a_newer_program_is_said() {
    let Some(shop) = Shop::open() else { return };
    shop.server.sql("UPDATE hub.about SET schema_version = 2, oldest_writer = 2");
    for ran in [shop.prepare(), shop.hub(&["add-station", "b", "--password-file", "/tmp/none"])] {
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("a newer dwell (schema 2, this one knows 1)"), "{}", ran.err);
    }
}

/// What somebody else holds is waited for, in small steps, and no error.
#[test]
fn preparing_gives_way_to_whoever_holds_a_table() {
    let Some(shop) = Shop::open() else { return };
    // Away from its owner, so that preparing has to lock it.
    shop.server.sql("ALTER TABLE hub.moves OWNER TO owner");
    std::thread::scope(|threads| {
        let held = "BEGIN; SELECT count(*) FROM hub.moves; SELECT pg_sleep(1.5); COMMIT";
        threads.spawn(|| shop.server.sql(held));
        let ran = threads.spawn(|| shop.prepare()).join().unwrap();
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    });
    let owner = "SELECT tableowner FROM pg_tables WHERE tablename = 'moves'";
    assert_eq!(shop.server.sql(owner), "dwell_owner");
}

/// The server's log is told to keep all, and never has the password; nor do our own words.
#[test]
fn a_station_gets_a_password_that_only_its_file_holds() {
    let Some(shop) = Shop::with(&["log_statement=all", "log_min_error_statement=debug5"]) else {
        return;
    };
    let line = shop.add("b");
    let file = shop.password_file("b");
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o7777, 0o600);
    assert!(line.starts_with("hub: Some((address: \"postgres:///dwell?host="), "{line}");
    assert!(line.contains("role: \"dwell_b\"") && line.ends_with(")),"), "{line}");
    let first = shop.password("b");
    assert_eq!(shop.sql_as("b", "SELECT upto FROM hub.head()").unwrap(), "0");

    let name = file.to_str().unwrap().to_owned();
    let again = shop.hub(&["add-station", "b", "--password-file", &name]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("station \"b\" is there already"), "{}", again.err);
    assert_eq!(shop.password("b"), first);
    let renewed = shop.hub(&["add-station", "b", "--renew", "--password-file", &name]);
    assert_eq!(renewed.code, 0, "{}", renewed.err);
    let second = shop.password("b");
    assert_ne!(first, second);
    assert!(shop.server.sql_as(&role("b"), &first, "SELECT 1").is_err(), "the old one ends");
    assert_eq!(shop.sql_as("b", "SELECT 1").unwrap(), "1");

    let taken = shop.hub(&["add-station", "c", "--password-file", &name]);
    assert!(taken.code == 2 && taken.err.contains(&name), "{}", taken.err);
    assert_eq!(shop.server.sql("SELECT string_agg(station, ' ') FROM hub.stations"), "b");
    let said = [shop.server.logged(), line, again.err, renewed.out, taken.err].concat();
    assert!(said.contains("SCRAM-SHA-256$"), "the log keeps statements");
    assert!(!said.contains(&first) && !said.contains(&second));
}

/// A reader sees all stations, and has no right to anything else. Its file is one that PGPASSFILE may name.
#[test]
fn a_reader_reads_and_changes_nothing() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let first = row("b", 1, 0, "signed-in", "{\"who\":\"AB\"}");
    shop.sql_as("b", &push(1, 0, 0, std::slice::from_ref(&first))).unwrap();
    let file = shop.password_file("lead");
    let name = file.to_str().unwrap();
    let added = shop.hub(&["add-reader", "lead", "--password-file", name]);
    assert_eq!((added.code, added.err.as_str()), (0, ""));
    assert!(
        added.out.starts_with(&format!(
            "PGPASSFILE={name} dwell hub --address 'postgres://dwell_lead@/"
        )),
        "{}",
        added.out
    );
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o7777, 0o600);
    let line = shop.password("lead");
    let password = line.strip_prefix("*:*:dwell:dwell_lead:").unwrap();
    let as_lead = |sql: &str| shop.server.sql_as("dwell_lead", password, sql);
    assert_eq!(as_lead("SELECT seq FROM hub.news('{b}', '{0}', 10)").unwrap(), "1");
    assert_eq!(as_lead("SELECT upto FROM hub.stations").unwrap(), "1");
    for other in ["SELECT * FROM hub.head()", "BEGIN READ WRITE; DELETE FROM hub.events"] {
        assert!(as_lead(other).unwrap_err().contains("permission denied"), "{other}");
    }
    assert_eq!(shop.hub(&["add-reader", "lead", "--password-file", name]).code, 2);
    assert_eq!(shop.hub(&["add-reader", "lead", "--renew", "--password-file", name]).code, 0);
    assert!(as_lead("SELECT 1").is_err(), "the old password ends");
    assert_eq!(shop.hub(&["add-reader", "b", "--password-file", "/tmp/none"]).code, 2);
}

/// Our own connection takes the password from the file, and from one that nobody else may read.
#[test]
fn a_password_file_that_is_open_to_others_is_refused() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let to = shop.destination("b");
    let upto = || {
        block_on(async {
            let rows = Connection::to(&to).await?.ask("SELECT upto FROM hub.head()", &[]).await?;
            Ok(rows[0].get::<_, i64>(0))
        })
    };
    assert_eq!(upto().unwrap(), 0);
    let file = shop.password_file("b");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    let open = upto().unwrap_err();
    assert!(open.to_string().contains("is open to others (mode 640): chmod 600"), "{open}");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
    fs::write(&file, "not-the-password\n").unwrap();
    let wrong = upto().unwrap_err();
    assert!(!wrong.is_outage() && wrong.to_string().contains("28P01"), "{wrong}");
    assert!(!wrong.to_string().contains("not-the-password"));
    fs::write(&file, "\n").unwrap();
    assert!(upto().unwrap_err().to_string().contains("is empty"));
}

/// Gaps, forged rows, wrong sums, another's history: by hand, as the station's own role.
#[test]
fn what_a_station_did_not_write_in_order_is_refused() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    shop.add("c");
    let one = row("b", 1, 0, "signed-in", "{\"who\":\"AB\"}");
    let two = row(
        "b",
        2,
        one.sum,
        "printed",
        "{\"garment\":\"B1-01\",\"text\":\"\\u0000 'quoted' \u{fc}\"}",
    );
    let both = [one.clone(), two.clone()];
    let as_b = |sql: &str| shop.sql_as("b", sql);
    assert_eq!(as_b(&push(1, 0, 0, &both)).unwrap(), format!("ok|2|{}|{{}}", two.sum));
    // Sent again: nothing changes, and the head is said.
    assert_eq!(as_b(&push(1, 0, 0, &both)).unwrap(), format!("head|2|{}|{{}}", two.sum));
    assert_eq!(as_b(&push(2, 2, two.sum, &[])).unwrap(), format!("life|2|{}|{{}}", two.sum));
    assert_eq!(as_b(&push(1, 2, two.sum + 1, &[])).unwrap(), format!("head|2|{}|{{}}", two.sum));

    let three = row("b", 3, two.sum, "printed", "{}");
    let gap = row("b", 4, two.sum, "printed", "{}");
    let forged = Stored { body: "{\"forged\":1}".into(), ..three.clone() };
    let foreign = row("c", 3, two.sum, "printed", "{}");
    for wrong in [gap, forged, foreign] {
        let said = as_b(&push(1, 2, two.sum, &[wrong])).unwrap_err();
        assert!(said.contains("row 3 of station b is not what was written"), "{said}");
    }
    let missing = push(1, 2, two.sum, std::slice::from_ref(&three)).replace("'{3}'", "'{}'");
    assert!(as_b(&missing).is_err(), "a column without a value");
    let many = "array_fill(1::bigint, ARRAY[2001])";
    let many = format!(
        "SELECT * FROM hub.push(1, 2, {}, {many}, {many}, '{{}}', {many}, '{{}}', '{{}}', '{{}}', {many})",
        two.sum
    );
    assert!(as_b(&many).unwrap_err().contains("at most 2000"));
    for direct in [
        "INSERT INTO hub.events (station, life, seq) VALUES ('b', 1, 3)",
        "UPDATE hub.stations SET upto = 0",
        "DELETE FROM hub.events",
        "CREATE TABLE hub.mine (n int)",
        "CREATE TEMP TABLE mine (n int)",
        "SELECT hub.own_head()",
        "SELECT lo_create(0)",
        "SELECT pg_advisory_lock(1)",
    ] {
        let said = as_b(direct).unwrap_err();
        assert!(said.contains("permission denied"), "{direct}: {said}");
    }
    let rows = shop.server.sql("SELECT station, seq, body, garment FROM hub.events ORDER BY 1, 2");
    assert_eq!(rows, format!("b|1|{}|\nb|2|{}|B1-01", one.body, two.body));
    assert_eq!(shop.sql_as("c", "SELECT upto FROM hub.head()").unwrap(), "0");
}

/// A life goes on from a row of the life before, hides what that had behind it, and refuses its writer.
#[test]
fn a_new_life_goes_on_from_a_row_that_the_hub_has() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let as_b = |sql: &str| shop.sql_as("b", sql).unwrap();
    let mut rows: Vec<Stored> = Vec::new();
    for seq in 1..=4 {
        let before = rows.last().map_or(0, |row| row.sum);
        rows.push(row("b", seq, before, "signed-in", &format!("{{\"who\":\"A{seq}\"}}")));
    }
    as_b(&push(1, 0, 0, &rows));
    let begin = |life: i32, after: &Stored, sum: i64, by: &str| {
        as_b(&format!("SELECT hub.begin_life({life}, {}, {sum}, '{by}')", after.seq))
    };
    assert_eq!(begin(1, &rows[1], rows[0].sum, "x"), "", "no such row");
    assert_eq!(begin(1, &rows[1], rows[1].sum, "x"), "2");
    assert_eq!(begin(1, &rows[1], rows[1].sum, "x"), "2", "asked twice");
    assert_eq!(begin(1, &rows[1], rows[1].sum, "y"), "", "another machine comes late");
    let other = row("b", 3, rows[1].sum, "signed-in", "{\"who\":\"ZZ\"}");
    assert!(as_b(&push(1, 4, rows[3].sum, &[])).starts_with("life|2|"));
    assert!(as_b(&push(2, 2, rows[1].sum, std::slice::from_ref(&other))).starts_with("ok|3|"));
    let news = "SELECT string_agg(life || '/' || seq, ' ') FROM hub.news('{b}', '{0}', 100)";
    assert_eq!(as_b(news), "1/1 1/2 2/3");
    assert_eq!(
        as_b("SELECT string_agg(life || '/' || seq, ' ') FROM hub.news('{b}', '{1}', 1)"),
        "1/2"
    );
    assert_eq!(as_b("SELECT hub.sum_at('b', 3)"), other.sum.to_string());
    assert_eq!(as_b("SELECT hub.sum_at('b', 4)"), "");
    // Back before the first life's end once more: the third goes on from a row of the first.
    assert_eq!(begin(2, &rows[0], rows[0].sum, "z"), "3");
    assert_eq!(as_b(news), "1/1");
    assert_eq!(as_b("SELECT count(*) FROM hub.events"), "5", "nothing was taken away");
}

/// One move after another is granted; a second after the same is kept, not granted, and said.
#[test]
fn of_two_moves_after_one_the_first_is_granted_and_both_are_kept() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    shop.add("c");
    let moved = |station: &str, after: &str| {
        row(
            station,
            1,
            0,
            "received",
            &format!("{{\"garment\":\"A1-07\",\"after\":\"{after}\",\"step\":\"cure\"}}"),
        )
    };
    let one = shop.sql_as("b", &push(1, 0, 0, &[moved("b", "a/1/3")])).unwrap();
    let other = shop.sql_as("c", &push(1, 0, 0, &[moved("c", "a/1/3")])).unwrap();
    assert!(one.starts_with("ok|1|") && one.ends_with("|{}"), "{one}");
    assert!(other.starts_with("ok|1|") && other.ends_with("|{A1-07}"), "{other}");
    let moves = "SELECT station, granted FROM hub.moves ORDER BY 1";
    assert_eq!(shop.server.sql(moves), "b|t\nc|f");
}
