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

/// A body that does not say how many stops no station: it asks for none.
#[test]
fn an_order_whose_counts_do_not_read_is_taken_and_asks_for_none() {
    let Some(shop) = Shop::open() else { return };
    shop.add("b");
    let mut rows: Vec<Stored> = Vec::new();
    let counts = ["null", "\"a\"", "[]", "1e300", "-3", "7"];
    for (seq, count) in (1..).zip(counts) {
        let before = rows.last().map_or(0, |row| row.sum);
        let body = format!(
            "{{\"order\":{seq},\"shared\":true,\"form\":{{\"lines\":[{{\"count\":{count}}},5]}}}}"
        );
        rows.push(row("b", seq, before, "order-taken", &body));
    }
    let said = shop.sql_as("b", &push(1, 0, 0, &rows)).unwrap();
    assert!(said.starts_with("ok|6|"), "{said}");
    let asked = "SELECT order_no, line, count FROM hub.shared_lines WHERE count <> 0";
    assert_eq!(shop.server.sql(asked), "6|0|7");
}

/// Words of a station on shared orders, in this order of the orders.
fn words(station: &str, after: &Stored, orders: &[u32], round: u32) -> Vec<Stored> {
    let mut rows = vec![after.clone()];
    for (n, order) in orders.iter().enumerate() {
        let last = &rows[n];
        let rank = (round + u32::try_from(n).unwrap()) % 3 + 1;
        let body = format!(
            "{{\"order\":\"A{order}\",\"shared\":true,\"cancelled\":true,\"rank\":{rank},\"word\":{round}}}"
        );
        rows.push(row(station, last.seq + 1, last.sum, "order-changed", &body));
    }
    rows.split_off(1)
}

/// Two stations speak of the same orders at once, one from the first to the last and the other the other way round: neither
/// is refused for the other's sake.
#[test]
fn stations_that_speak_of_the_same_orders_at_once_do_not_stop_each_other() {
    let Some(shop) = Shop::open() else { return };
    let stations = ["b", "c"];
    stations.iter().for_each(|id| drop(shop.add(id)));
    std::thread::scope(|threads| {
        for id in stations {
            let shop = &shop;
            threads.spawn(move || {
                let mut orders: Vec<u32> = (1..=300).collect();
                if id == "c" {
                    orders.reverse();
                }
                let mut last = Stored { seq: 0, sum: 0, ..row(id, 1, 0, "signed-in", "{}") };
                for round in 1..=8 {
                    let rows = words(id, &last, &orders, round);
                    let said = shop.sql_as(id, &push(1, last.seq, last.sum, &rows));
                    assert!(said.clone().is_ok_and(|said| said.starts_with("ok|")), "{said:?}");
                    last = rows[rows.len() - 1].clone();
                }
            });
        }
    });
    assert!(!shop.server.logged().contains("deadlock"), "{}", shop.server.logged());
    assert_eq!(shop.server.sql("SELECT count(*) FROM hub.cancelled_orders"), "600");
}

/// What of shared orders the hub's tables say, however they came to say it.
const SHARED: &str = "
    SELECT string_agg(says, ' ' ORDER BY says) FROM (
      SELECT concat_ws('/', 'line', station, order_no, line, count) FROM hub.shared_lines
      UNION ALL SELECT concat_ws('/', 'part', station, own_no, of_station, order_no, line, count) FROM hub.parts
      UNION ALL SELECT concat_ws('/', 'cancelled', of_station, order_no, station) FROM hub.cancelled_orders)
      AS all_of_it(says)";

/// Rows of a station one after the other, behind none.
fn history(station: &str, says: &[(&str, &str)]) -> Vec<Stored> {
    let mut rows: Vec<Stored> = Vec::new();
    for (seq, (kind, body)) in (1..).zip(says) {
        let before = rows.last().map_or(0, |row| row.sum);
        rows.push(row(station, seq, before, kind, body));
    }
    rows
}

const LAID: &str = "{\"order\":1,\"shared\":true,\"form\":{\"lines\":[{\"count\":12}]}}";
const TAKEN: &str = "{\"order\":1,\"part\":{\"of\":\"B1\",\"line\":0,\"count\":5,\"grant\":\"c-1-abcdef\"},\"form\":{}}";
const FEWER: &str = "{\"order\":1,\"line\":0,\"back\":[\"C1-04\",\"C1-05\"],\"leaves\":\"finish\"}";

/// A hub on which b has laid an order and c makes a part of it, was granted more, and both have cancelled it; the rows of c.
fn shared_between(shop: &Shop) -> Vec<Stored> {
    shop.add("b");
    shop.add("c");
    let cancelled = |order: &str| {
        format!("{{\"order\":{order},\"shared\":true,\"cancelled\":true,\"word\":1}}")
    };
    let at_b = history("b", &[("order-taken", LAID), ("order-changed", &cancelled("1"))]);
    let by_c = cancelled("\"B1\"");
    let at_c = history(
        "c",
        &[("order-taken", TAKEN), ("order-cancelled", FEWER), ("order-changed", &by_c)],
    );
    let at = |station: &str, after: &[Stored], rows: &[Stored]| {
        let (seq, sum) = after.last().map_or((0, 0), |last| (last.seq, last.sum));
        let said = shop.sql_as(station, &push(1, seq, sum, rows)).unwrap();
        assert!(said.starts_with("ok|"), "{said}");
    };
    at("b", &[], &at_b[..1]);
    at("c", &[], &at_c[..2]);
    let granted = "SELECT granted FROM hub.take_part('B1', 0, 2, 'c-9-granted')";
    assert_eq!(shop.sql_as("c", granted).unwrap(), "2");
    at("b", &at_b[..1], &at_b[1..]);
    at("c", &at_c[..2], &at_c[2..]);
    at_c
}

/// What their rows say, and what was granted.
const ALL: &str = "cancelled/b/1/b cancelled/b/1/c line/b/1/0/12 part/c/1/b/1/0/3 part/c/b/1/0/2";

/// What a life has left behind counts nowhere, and what it had hidden counts again: the garments that its part gave back, and
/// that another station has cancelled the order too.
#[test]
fn a_new_life_leaves_nothing_of_shared_orders_half_undone() {
    let Some(shop) = Shop::open() else { return };
    let at_c = shared_between(&shop);
    assert_eq!(shop.server.sql(SHARED), ALL);
    let begin = |life: i32, after: &Stored| {
        let (seq, sum) = (after.seq, after.sum);
        shop.sql_as("c", &format!("SELECT hub.begin_life({life}, {seq}, {sum}, 'x')")).unwrap()
    };
    assert_eq!(begin(1, &at_c[0]), "2");
    assert_eq!(
        shop.server.sql(SHARED),
        "cancelled/b/1/b line/b/1/0/12 part/c/1/b/1/0/5 part/c/b/1/0/2"
    );
    let pushed = push(2, 1, at_c[0].sum, &at_c[1..]);
    assert!(shop.sql_as("c", &pushed).unwrap().starts_with("ok|3|"));
    assert_eq!(shop.server.sql(SHARED), ALL, "sent again it is as it was");
}

/// A hub that an older program prepared has taken rows of shared orders as of any other: prepared again, it knows what they
/// say. So does one whose tables are of an older form.
#[test]
fn preparing_an_older_hub_learns_what_its_rows_say_of_shared_orders() {
    let Some(shop) = Shop::open() else { return };
    let at_c = shared_between(&shop);
    assert_eq!(shop.prepare().code, 0);
    assert_eq!(shop.server.sql(SHARED), ALL, "a grant that nobody has recorded stands");
    shop.server.sql(OLDER_TABLES);
    let ran = shop.prepare();
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(shop.server.sql(SHARED), ALL.replace(" part/c/b/1/0/2", ""));
    let last = &at_c[2];
    let laid = row("c", 4, last.sum, "order-taken", &LAID.replace("\"order\":1", "\"order\":2"));
    assert!(shop.sql_as("c", &push(1, 3, last.sum, &[laid])).unwrap().starts_with("ok|4|"));
    assert!(shop.server.sql(SHARED).contains("line/b/1/0/12 line/c/2/0/12 "));
}

/// The tables as an older program made them, with nothing in them, and what has come since taken away.
const OLDER_TABLES: &str = "
    DROP TABLE IF EXISTS hub.cancelled_orders, hub.shared_lines, hub.parts;
    CREATE TABLE hub.shared_lines (
      station text COLLATE \"C\" NOT NULL REFERENCES hub.stations,
      order_no bigint NOT NULL, line int NOT NULL, count bigint NOT NULL, seq bigint NOT NULL, act bigint NOT NULL,
      PRIMARY KEY (station, order_no, line));
    CREATE TABLE IF NOT EXISTS hub.order_words (
      of_station text COLLATE \"C\" NOT NULL, order_no bigint NOT NULL, kind text COLLATE \"C\" NOT NULL,
      station text COLLATE \"C\" NOT NULL REFERENCES hub.stations, life int NOT NULL, seq bigint NOT NULL,
      PRIMARY KEY (of_station, order_no, kind));
    CREATE OR REPLACE FUNCTION hub.note_shared(p_station text, p_seq bigint, p_act bigint, p_kind text, p_body text)
    RETURNS void LANGUAGE sql AS 'SELECT';
";
