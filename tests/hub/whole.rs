//! One order, three stations, two servers: the primary dies while one station is cut off, and another loses its machine.

use std::collections::BTreeMap;

use dwell::shop::facts::ids::Tag;
use dwell::shop::floor::garment::Place;
use serde_json::{Value, json};
use support::bench::Bench;
use support::proxy::Proxy;
use support::pty::Pty;
use support::replay;
use support::waiting::wait;

use crate::courier::wait_bar;
use crate::passing::{board, leave_form, named, scan_until};
use crate::shop::{Shop, rows_of, wait_equal};

/// Takes a garment over, by its tag and one key more; the board says so with these words.
fn take_over(pty: &mut Pty, tag: &str, known: &str, said: &str) {
    scan_until(pty, tag, known);
    pty.key(b"+");
    pty.wait_for(&format!("{tag} taken over from {said}"));
}

/// Where each garment is, by the journals of the benches alone: the one bench that keeps it.
fn keepers(benches: [(&'static str, &Bench); 3]) -> BTreeMap<String, Vec<&'static str>> {
    let mut all: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for (station, bench) in benches {
        let shop = replay::shop(bench, u64::MAX);
        let here = shop.floor().all().filter(|one| !matches!(one.place, Place::Away(_)));
        here.for_each(|one| all.entry(one.tag.to_string()).or_default().push(station));
    }
    all
}

/// The same as the lead is told it: whoever took the order in, but for what another keeps.
fn by_the_lead(told: &Value, garments: u32) -> BTreeMap<String, Vec<String>> {
    let tags = (1..=garments).map(|n| format!("A1-{n:02}"));
    let place = |tag: String| {
        assert!(tag.parse::<Tag>().is_ok(), "{tag}");
        let away = told["between"].as_array().unwrap().iter().filter(|one| one["garment"] == *tag);
        let mut at: Vec<String> = away.map(|one| one["at"].as_str().unwrap().to_owned()).collect();
        if at.is_empty() {
            at.push("a".to_owned());
        }
        (tag, at)
    };
    tags.map(place).collect()
}

#[test]
fn one_order_is_worked_by_three_stations_through_all_that_breaks() {
    const GARMENTS: u32 = 6;
    let Some(mut shop) = Shop::open() else { return };
    let ways = [(); 3].map(|()| Proxy::to(shop.server.port()));
    let [to_north, to_south, to_yard] = &ways;
    let north = shop.bench_behind("a", to_north);
    let (south, yard) = (shop.bench_behind("b", to_south), shop.bench_behind("c", to_yard));
    for (bench, name) in [(&north, "North bench"), (&south, "South bench"), (&yard, "Yard bench")] {
        named(bench, name);
    }
    let mut standby = shop.server.standby();
    north.take(GARMENTS);
    let mut at_north = board(&north);
    at_north.wait_for("6 blanks");
    let yesterday = north.root.path().join("yesterday.sqlite");
    assert_eq!(north.run(&["backup", yesterday.to_str().unwrap()]).code, 0);
    let (mut at_south, mut at_yard) = (board(&south), board(&yard));

    // They work together.
    let waits = "at North bench, waits for pre-press";
    take_over(&mut at_south, "A1-01", waits, "North bench");
    take_over(&mut at_yard, "A1-02", waits, "North bench");
    at_north.wait_for("A1-02 taken over by Yard bench");
    at_south.key(b"1");
    at_south.wait_for("shut press 1 on A1-01");
    at_north.key(b"1");
    at_north.wait_for("shut press 1 on A1-03");

    // The yard is cut off, and takes a garment that the south bench takes too.
    scan_until(&mut at_yard, "A1-04", waits);
    leave_form(&mut at_yard);
    to_yard.cut();
    take_over(&mut at_yard, "A1-04", "The hub cannot be asked now", "North bench, not confirmed");
    take_over(&mut at_south, "A1-04", waits, "North bench");
    at_north.wait_for("A1-04 taken over by South bench");

    // The primary dies with rows that its standby never had.
    standby.stop();
    at_north.key(b"2");
    at_north.wait_for("shut press 2 on A1-05");
    shop.wait_equal(&north, "a");
    shop.server.kill();
    standby.go_on();
    standby.promote();
    for way in [to_north, to_south] {
        way.lead_to(standby.port());
    }
    wait_equal(&standby, &north, "a");
    wait_equal(&standby, &south, "b");

    // The north bench's machine dies; yesterday's backup is what there is.
    let before = rows_of(&north);
    at_north.kill();
    assert_eq!(north.run(&["restore", yesterday.to_str().unwrap()]).code, 0);
    assert!(rows_of(&north).len() < before.len());
    let mut at_north = Pty::board(&north);
    at_north.wait_for("came back from the hub");
    assert_eq!(rows_of(&north)[..before.len()], before);
    wait_bar(&at_north, "saved  hub");

    // The yard is back, and what nobody could know is said everywhere until somebody has looked.
    to_yard.lead_to(standby.port());
    let boards = [&at_north, &at_south, &at_yard];
    for pty in boards {
        pty.wait_for("look which");
    }
    assert_eq!(shop.lead_by(&standby)["conflicts"].as_array().unwrap().len(), 1);
    at_yard.key(b"y");
    for pty in [&at_north, &at_south, &at_yard] {
        pty.wait_until("nobody is asked any more", |screen| !screen.contains("look which"));
    }

    // Every garment has one place that all agree on, and every act is at the hub once.
    let benches = [("a", &north), ("b", &south), ("c", &yard)];
    let places = json!({
        "A1-01": ["b"], "A1-02": ["c"], "A1-03": ["a"], "A1-04": ["c"], "A1-05": ["a"], "A1-06": ["a"],
    });
    wait(
        || format!("one place each: {:?}", keepers(benches)),
        || (json!(keepers(benches)) == places).then_some(()),
    );
    for (station, bench) in benches {
        wait_equal(&standby, bench, station);
    }
    let twice = "SELECT count(*) - count(DISTINCT (station, seq)) FROM hub.events";
    assert_eq!(standby.sql(twice), "0");
    let told = shop.lead_by(&standby);
    assert_eq!(json!(by_the_lead(&told, GARMENTS)), places, "{told}");
    assert_eq!(told["conflicts"], json!([]));
    assert_eq!(told["orders"].as_array().unwrap().len(), 1, "{}", told["orders"]);
    scan_until(&mut at_north, "A1-04", "at Yard bench, waits for pre-press");
    leave_form(&mut at_north);
    scan_until(&mut at_south, "A1-02", "at Yard bench, waits for pre-press");
    leave_form(&mut at_south);
    for (pty, bench) in [(&mut at_north, &north), (&mut at_south, &south), (&mut at_yard, &yard)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}
