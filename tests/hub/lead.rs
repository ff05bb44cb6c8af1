//! What the lead sees: all stations, from the hub alone.

use serde_json::Value;
use support::postgres::OWNER;
use support::pty::Pty;

use crate::shop::Shop;
use crate::stations::{Rehearsed, push};

fn of<'a>(list: &'a Value, station: &str) -> Vec<&'a Value> {
    list.as_array().unwrap().iter().filter(|one| one["station"] == station).collect()
}

/// The same figures as each station's own commands tell, of nothing but the hub's rows.
#[test]
fn the_lead_is_told_what_each_station_tells_itself() {
    let Some(shop) = Shop::open() else { return };
    let stations =
        [Rehearsed::at(&shop, "a", "North bench", 1), Rehearsed::at(&shop, "b", "South bench", 2)];
    let told = shop.lead();
    for station in &stations {
        let seen = of(&told["stations"], station.id)[0];
        let rows = station.rows();
        let last = rows.last().unwrap();
        assert_eq!(
            (&seen["upto"], &seen["life"], &seen["behind"]),
            (&last.seq.into(), &1.into(), &0.into())
        );
        assert!(seen["fault"].is_null() && seen["heard"].is_string(), "{seen}");
        let own = station.json(&["pace"]);
        for (figure, value) in seen["pace"].as_object().unwrap() {
            assert_eq!(*value, own[figure], "{figure} of station {}", station.id);
        }
        let shut = seen["presses"].as_array().unwrap().iter().filter(|one| one["tag"].is_string());
        assert_eq!(shut.count() as u64, own["in_presses"].as_u64().unwrap());
        let plan = station.json(&["plan"]);
        assert_eq!(seen["ready"]["garments"], plan["garments"], "station {}", station.id);
        // Each order with what its own plan says of it.
        let orders = of(&told["orders"], station.id);
        assert!(!orders.is_empty());
        let finished: u64 = orders.iter().map(|order| order["done"].as_u64().unwrap()).sum();
        assert_eq!(finished, own["finished"].as_u64().unwrap());
    }
    let due: Vec<&Value> =
        told["orders"].as_array().unwrap().iter().map(|order| &order["due"]).collect();
    assert!(due.iter().all(|due| due.is_null() || due.is_string()));
    assert_eq!(told["conflicts"], Value::Array(Vec::new()));
    assert_eq!(told["between"], Value::Array(Vec::new()));
}

/// A byte that was changed behind the hub's back is named with station and row; the other station is told as it is.
#[test]
fn a_flipped_byte_is_named_with_its_station_and_row() {
    let Some(shop) = Shop::open() else { return };
    let _north = Rehearsed::at(&shop, "a", "North bench", 1);
    let south = Rehearsed::at(&shop, "b", "South bench", 2);
    let seq = shop.server.sql(
        "UPDATE hub.events SET body = replace(body, '-0', '-1') WHERE station = 'b' AND seq =
           (SELECT min(seq) FROM hub.events WHERE station = 'b' AND kind = 'press-shut') RETURNING seq",
    );
    let told = shop.lead();
    let seen = of(&told["stations"], "b")[0];
    let fault = seen["fault"].as_str().unwrap();
    assert!(fault.contains(&format!("row {seq} of station b")), "{fault}");
    let rows = south.rows().len() as u64;
    assert_eq!(seen["behind"], rows + 1 - seq.parse::<u64>().unwrap());
    let other = of(&told["stations"], "a")[0];
    assert!(other["fault"].is_null() && other["behind"] == 0, "{other}");
}

/// A later life goes on from a row of the first; what that had behind it does not count, and is said.
#[test]
fn rows_that_a_later_life_left_behind_do_not_count() {
    let Some(shop) = Shop::open() else { return };
    let south = Rehearsed::at(&shop, "b", "South bench", 2);
    let rows = south.rows();
    let (kept, _) = rows.split_at(rows.len() - 7);
    let last = kept.last().unwrap();
    let begun = format!("SELECT hub.begin_life(1, {}, {}, 'elsewhere')", last.seq, last.sum);
    assert_eq!(shop.sql_as("b", &begun).unwrap(), "2");
    let mut next = rows[kept.len()].clone();
    next.at += 1;
    next.sum = next.chained(last.sum);
    push(&shop.destination("b"), 2, (last.seq, last.sum), &[next]);
    let told = shop.lead();
    let seen = of(&told["stations"], "b")[0];
    let upto = last.seq + 1;
    let found = [&seen["life"], &seen["upto"], &seen["left_out"], &seen["behind"]];
    assert_eq!(found, [&2.into(), &upto.into(), &7.into(), &Value::from(0)]);
    assert!(seen["fault"].is_null(), "{seen}");
}

/// The last picture stays, with since when there is no hub; and it goes on by itself.
#[test]
fn the_screen_keeps_the_last_picture_while_the_hub_is_away() {
    let Some(mut shop) = Shop::open() else { return };
    let _north = Rehearsed::at(&shop, "a", "North bench", 1);
    let south = Rehearsed::at(&shop, "b", "South bench", 2);
    let address = shop.address(OWNER);
    let mut screen = Pty::start(&shop.owner, &["hub", "--address", &address], &[]);
    screen.wait_until("both stations", |text| {
        text.contains("North bench") && text.contains("South bench") && text.contains("2 stations")
    });
    let before = screen.wait_for("ready ");
    shop.server.kill();
    let away = screen.wait_for("no hub since ");
    for line in before.lines().filter(|line| line.contains(" bench")) {
        let name = if line.contains("North") { "North bench" } else { "South bench" };
        assert!(away.contains(name), "{away}");
    }
    // A station fills the screen, and gives it back.
    screen.key(b"2");
    screen.wait_until("the second station alone", |text| {
        text.contains("[B South bench]") && !text.contains("North bench")
    });
    screen.key(b"0");
    screen.wait_for("North bench");
    shop.server.go_on();
    screen.wait_until("the hub again", |text| !text.contains("no hub since"));
    // What is written now comes by itself.
    let rows = south.rows();
    let last = rows.last().unwrap();
    let mut next = rows[rows.len() - 1].clone();
    next.seq += 1;
    next.act = next.seq;
    next.kind = "signed-in".into();
    next.body = "{\"who\":\"ZW\"}".into();
    next.sum = next.chained(last.sum);
    push(&shop.destination("b"), 1, (last.seq, last.sum), &[next]);
    screen.wait_for("ZW");
    screen.key(b"q");
    assert_eq!(screen.end_within(std::time::Duration::from_secs(60)), 0);
}

/// Who asks in vain is told what to do.
#[test]
fn a_hub_that_is_not_there_or_not_one_is_said() {
    let Some(shop) = Shop::bare(&[]) else { return };
    let ran = shop.hub(&["--json"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no hub was prepared there"), "{}", ran.err);
    let ran = shop.owner.run(&["hub", "--json"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no profile here names a hub: give --address"), "{}", ran.err);
    let mut shop = shop;
    shop.server.kill();
    let ran = shop.hub(&["--json"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("the hub cannot be reached"), "{}", ran.err);
}
