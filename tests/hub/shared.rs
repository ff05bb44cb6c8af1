//! Orders that all stations share: real boards in ptys over a real server, and what the server alone grants.

use support::bench::Bench;
use support::proxy::Proxy;
use support::pty::Pty;
use support::waiting::wait;

use crate::passing::{board, named};
use crate::shop::{Shop, role};

/// Lays an order for all stations in a bench's inbox.
pub fn lay(bench: &Bench, name: &str, garments: u32) {
    let order = format!(
        "Order(name: \"{name}\", shared: true, lines: [(count: {garments}, recipe: \"quick\", \
         garment: \"#16181d\", underbase: true)])"
    );
    let path = bench.root.path().join("shared.ron");
    std::fs::write(&path, order).unwrap();
    let ran = bench.run(&["take", path.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
}

/// Opens the list of shared orders by the keypad alone.
fn open_list(pty: &mut Pty) {
    for key in [&b"+"[..], b".", b"+", b"\r"] {
        pty.key(key);
    }
}

/// Has a board take so many of the only shared line that is left.
pub fn take(pty: &mut Pty, of: &str, count: &str) {
    open_list(pty);
    pty.wait_for(&format!("How many of {of}?"));
    pty.keys(count);
    pty.key(b"+");
}

/// The same, and it is granted: it says so on its last lines, or why not.
fn is_granted(pty: &mut Pty, of: &str, count: &str, as_order: u32) {
    take(pty, of, count);
    let granted = format!(
        "{count} garments of {of} \"Lantern walk\" taken to make here, as order {as_order}"
    );
    let said = pty.wait_until("granted, or why not", |screen| {
        screen.contains(&granted)
            || screen.contains("nothing is taken")
            || screen.contains("no answer")
    });
    assert!(said.contains(&granted), "{said}");
}

/// What the hub has of parts: "b B1 6" a row.
const PARTS: &str = "SELECT coalesce(string_agg(station || ' ' || coalesce(upper(station) || own_no, '-') || ' ' || count, \
    ', ' ORDER BY station, own_no), '') FROM hub.parts";

pub fn wait_parts(shop: &Shop, wanted: &str) {
    wait(
        || format!("parts {wanted}, there are {}", shop.server.sql(PARTS)),
        || (shop.server.sql(PARTS) == wanted).then_some(()),
    );
}

/// It is laid at one bench, offered at both, and each makes what the hub has granted it, under tags of its own.
#[test]
fn two_boards_divide_an_order_and_the_lead_sees_who_makes_what() {
    let Some(shop) = Shop::open() else { return };
    let (north, south) = (shop.bench("a"), shop.bench("b"));
    named(&north, "North bench");
    named(&south, "South bench");
    let (mut at_north, mut at_south) = (board(&north), board(&south));
    lay(&north, "Lantern walk", 12);
    for pty in [&at_north, &at_south] {
        pty.wait_for("\"Lantern walk\" black: 12 of 12 left");
    }
    let laid = &north.past_of("order-taken")[0];
    assert_eq!((&laid["shared"], &laid["order"]), (&true.into(), &1.into()), "{laid}");
    let untaken = &shop.lead()["orders"][0];
    assert_eq!((&untaken["order"], &untaken["untaken"]), (&"A1".into(), &12.into()), "{untaken}");

    is_granted(&mut at_south, "A1", "6", 1);
    assert!(!at_south.contents().contains("granted earlier"), "{}", at_south.contents());
    at_south.wait_for("6 blanks");
    at_north.wait_for("6 of 12 left");
    take(&mut at_north, "A1", "7");
    at_north.wait_for("A1 \"Lantern walk\" black: 6 of 12 left (6 at South bench)");
    at_north.wait_for("expected 1 to 6");
    at_north.keys("\u{7f}6");
    at_north.key(b"+");
    at_north.wait_for("6 garments of A1 \"Lantern walk\" taken to make here, as order 2");
    wait_parts(&shop, "a A2 6, b B1 6");
    for pty in [&at_north, &at_south] {
        pty.wait_until("nothing is offered", |screen| !screen.contains("of 12 left"));
    }
    let orders = shop.lead()["orders"].clone();
    let of = |id: &str| orders.as_array().unwrap().iter().find(|one| one["order"] == id).unwrap();
    assert_eq!((&of("A1")["untaken"], &of("B1")["part_of"]), (&0.into(), &"A1".into()));
    let parts = serde_json::json!([
        {"station": "a", "order": "A2", "count": 6}, {"station": "b", "order": "B1", "count": 6}
    ]);
    assert_eq!(of("A1")["lines"][0]["parts"], parts);
    for (mut pty, bench) in [(at_north, north), (at_south, south)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}

/// Without the hub nothing of a shared order is taken, and it says why; a station's own orders go on. What it was granted
/// when its answer was lost comes by itself, once.
#[test]
fn a_board_that_is_cut_off_takes_nothing_and_a_grant_that_was_lost_comes_by_itself() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let (north, south) = (shop.bench("a"), shop.bench_behind("b", &proxy));
    let mut at_north = board(&north);
    let mut at_south = board(&south);
    lay(&north, "Lantern walk", 12);
    at_south.wait_for("12 of 12 left");
    proxy.cut();
    at_south.wait_until("cut off", |screen| !screen.contains("of 12 left"));
    take(&mut at_south, "A1", "5");
    at_south.wait_for("nothing of A1 \"Lantern walk\" is taken: the hub cannot be asked");
    south.take(2);
    at_south.wait_for("2 blanks");
    assert_eq!(shop.server.sql(PARTS), "");

    // The board had asked, was granted, and died before it heard of that.
    let granted = "SELECT granted, remaining FROM hub.take_part('A1', 0, 5, 'b-9-abcdef')";
    assert_eq!(shop.sql_as("b", granted).unwrap(), "5|7");
    at_south.kill();
    proxy.pass();
    let mut at_south = Pty::board(&south);
    at_south.wait_for("5 garments of A1 \"Lantern walk\" taken to make here, as order 2");
    wait_parts(&shop, "b B2 5");
    assert_eq!(shop.sql_as("b", granted).unwrap(), "5|7", "asked again it is the same grant");
    let parts: Vec<_> = south.past_of("order-taken");
    assert_eq!(parts.len(), 2, "{parts:?}");
    for (pty, bench) in [(&mut at_north, north), (&mut at_south, south)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}

/// Many ask at once, each answer lost and asked for again: never more is granted than the line has, and no asking twice.
#[test]
fn the_hub_grants_no_more_than_a_line_has_however_many_ask() {
    let Some(shop) = Shop::open() else { return };
    let stations = ["a", "b", "c", "d"];
    let north = shop.bench(stations[0]);
    stations[1..].iter().for_each(|id| drop(shop.add(id)));
    let mut at_north = board(&north);
    lay(&north, "Lantern walk", 30);
    wait(
        || "the line is at the hub".to_owned(),
        || (shop.server.sql("SELECT count FROM hub.shared_lines") == "30").then_some(()),
    );
    std::thread::scope(|threads| {
        for id in stations {
            let shop = &shop;
            threads.spawn(move || {
                for n in 0..8 {
                    let ask =
                        format!("SELECT granted FROM hub.take_part('A1', 0, 2, 'asking-{n}')");
                    let first = shop.sql_as(id, &ask).unwrap();
                    assert_eq!(shop.sql_as(id, &ask).unwrap(), first, "asking {n} of {id}");
                }
            });
        }
    });
    assert_eq!(shop.server.sql("SELECT sum(count), count(*) FROM hub.parts"), "30|15");
    for (ask, why) in [
        ("'A1', 0, 0, 'asking-99'", "1 to 5000 garments"),
        ("'A1', 0, NULL, 'asking-99'", "1 to 5000 garments"),
        ("'A1', 0, 1, 'x'", "to ask by"),
        ("'nothing', 0, 1, 'asking-99'", "an order such as A17"),
    ] {
        let refused = shop.sql_as("b", &format!("SELECT * FROM hub.take_part({ask})")).unwrap_err();
        assert!(refused.contains(why), "{ask}: {refused}");
    }
    assert_eq!(
        shop.sql_as("b", "SELECT * FROM hub.take_part('A2', 0, 1, 'asking-99')").unwrap(),
        "0|"
    );
    for forged in ["INSERT INTO hub.parts VALUES ('b', 'x', 'a', 1, 0, 9)", "DELETE FROM hub.parts"]
    {
        assert!(shop.sql_as("b", forged).unwrap_err().contains("permission denied"), "{forged}");
    }
    at_north.leave();
}

/// A standby that lagged has lost a grant: what the journals say stands, that it is too many is said at both benches and to
/// the lead, and what is taken off one of the orders settles it.
#[test]
fn too_many_after_a_fail_over_are_said_until_a_bench_gives_some_back() {
    let Some(mut shop) = Shop::open() else { return };
    let (to_north, to_south) = (Proxy::to(shop.server.port()), Proxy::to(shop.server.port()));
    let to_yard = Proxy::to(shop.server.port());
    let (north, south) = (shop.bench_behind("a", &to_north), shop.bench_behind("b", &to_south));
    let yard = shop.bench_behind("c", &to_yard);
    for (bench, name) in [(&north, "North bench"), (&south, "South bench"), (&yard, "Yard bench")] {
        named(bench, name);
    }
    let mut standby = shop.server.standby();
    let (mut at_north, mut at_south) = (board(&north), board(&south));
    lay(&north, "Lantern walk", 12);
    at_south.wait_for("12 of 12 left");
    shop.wait_equal(&north, "a");
    wait(
        || "the standby has the order".to_owned(),
        || (standby.sql("SELECT count FROM hub.shared_lines") == "12").then_some(()),
    );
    standby.stop();
    is_granted(&mut at_south, "A1", "8", 1);
    wait_parts(&shop, "b B1 8");
    to_south.cut();
    shop.server.kill();
    standby.go_on();
    standby.promote();
    to_north.lead_to(standby.port());
    to_yard.lead_to(standby.port());
    let mut at_yard = board(&yard);
    at_yard.wait_for("12 of 12 left");
    is_granted(&mut at_yard, "A1", "7", 1);

    to_south.lead_to(standby.port());
    to_south.pass();
    let too_many = "TOO MANY OF A1 \"Lantern walk\", line 1: 12 wanted, 15 taken";
    for (pty, by) in [(&at_south, "(8 here,"), (&at_yard, "(8 at South bench,")] {
        pty.wait_until(by, |screen| screen.contains(too_many) && screen.contains(by));
    }
    let told = |what: &str| {
        let orders = shop.lead_by(&standby)["orders"].as_array().cloned().unwrap_or_default();
        let shared = orders.into_iter().find(|one| one["shared"] == true);
        shared.map_or(serde_json::Value::Null, |one| one["lines"][0][what].clone())
    };
    assert_eq!(told("too_many"), 3);

    // South takes three off its order, of which none was begun.
    at_south.key(b"e");
    at_south.wait_for("Which order is changed");
    at_south.key(b"1");
    at_south.wait_for("fewer garments");
    at_south.key(b"6");
    at_south.wait_for("How many fewer?");
    at_south.keys("3");
    at_south.key(b"+");
    at_south.wait_for("And what is under way?");
    at_south.key(b"1");
    for pty in [&at_south, &at_yard] {
        pty.wait_until("nothing is too many", |screen| !screen.contains("TOO MANY"));
    }
    wait(
        || format!("the lead is told of none, but of {}", told("too_many")),
        || (told("too_many") == 0 && told("untaken") == 0).then_some(()),
    );
    wait(
        || format!("the hub has it too: {}", standby.sql(PARTS)),
        || (standby.sql(PARTS) == "b B1 5, c C1 7").then_some(()),
    );
    // Taken back, it is too many again, at the hub as well.
    at_south.key(b"-");
    at_yard.wait_for("TOO MANY OF A1");
    wait(
        || format!("the hub has it too: {}", standby.sql(PARTS)),
        || (standby.sql(PARTS) == "b B1 8, c C1 7").then_some(()),
    );
    for (pty, bench) in [(&mut at_north, north), (&mut at_south, south), (&mut at_yard, yard)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}

/// Others may make garments of a shared order already: no key takes it back, nor takes garments off it, and who laid it
/// cancels it. On a station without a hub none is laid.
#[test]
fn an_order_is_not_taken_back_but_cancelled_and_without_a_hub_none_is_laid() {
    let Some(shop) = Shop::open() else { return };
    let north = shop.bench("a");
    shop.add("b");
    let mut at_north = board(&north);
    at_north.key(b"\x1b[17~");
    at_north.wait_for("A new order");
    at_north.keys("4");
    // Up from the count: the last field.
    at_north.key(b"\x1b[Z");
    at_north.wait_for("with all stations: 1 yes 2 no");
    at_north.keys("1");
    at_north.wait_until("shared", |screen| screen.contains("shared       yes"));
    at_north.key(b"+");
    at_north.wait_until("laid, or the underbase is asked", |screen| {
        screen.contains("laid for all stations") || screen.contains("1 yes 2 no 3 later, then +")
    });
    if !at_north.contents().contains("laid for all stations") {
        at_north.keys("1+");
    }
    at_north.wait_for("laid for all stations: 4 garments");
    let lines = "SELECT count FROM hub.shared_lines";
    wait(|| "laid".to_owned(), || (shop.server.sql(lines) == "4").then_some(()));
    let ask = |n: u32| {
        let sql = format!("SELECT granted, remaining FROM hub.take_part('A1', 0, 1, 'asking-{n}')");
        shop.sql_as("b", &sql).unwrap()
    };
    // Undo neither takes it back nor passes over it, to the act of a hand before it: the caution that was read.
    let before = north.past().len();
    at_north.key(b"-");
    at_north.wait_for("cancel A1 \"");
    at_north.wait_for("instead: it is laid for all stations");
    assert_eq!(north.past().len(), before, "nothing is recorded");
    assert!(!at_north.contents().contains("No safety device: keep"));
    assert_eq!(ask(91), "1|3");
    change(&mut at_north, &["1"], "7  cancel it");
    let offered = at_north.contents();
    assert!(!offered.contains("fewer garments") && !offered.contains("more garments"), "{offered}");
    at_north.keys("6");
    at_north.wait_for("take them off the part of a bench");
    at_north.keys("7");
    at_north.wait_for("Cancel it for all stations?");
    at_north.keys("1");
    at_north.wait_for("cancelled, for all stations");
    shop.wait_equal(&north, "a");
    assert_eq!(ask(92), "0|0");
    assert_eq!(north.past_of("order-changed").len(), 1);
    assert_eq!(shop.server.sql(lines), "4");
    assert_eq!(at_north.leave(), 0);
    north.assert_sound();
    assert_eq!(role("a"), "dwell_a");

    let alone = Bench::new(2, 60);
    let mut pty = Pty::board(&alone);
    pty.wait_for("No safety device");
    lay(&alone, "Lantern walk", 4);
    pty.wait_for("names no hub");
    pty.leave();
    assert_eq!(alone.past_of("order-taken").len(), 0);
}

/// Answers the list of orders to change: the keys, one after the other.
pub fn change(pty: &mut Pty, keys: &[&str], says: &str) {
    pty.key(b"e");
    pty.wait_for("Which order is changed");
    for key in keys {
        pty.keys(key);
    }
    pty.wait_for(says);
}

/// What a bench says of a shared order's rank, due time and end counts for all, of each the last one; one that is cut off goes
/// on by its own, and hears the rest when it is back. Of two that did not know of each other the same counts everywhere.
#[test]
fn the_last_word_on_a_shared_order_counts_at_every_bench() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let (north, south) = (shop.bench("a"), shop.bench_behind("b", &proxy));
    named(&north, "North bench");
    named(&south, "South bench");
    let (mut at_north, mut at_south) = (board(&north), board(&south));
    lay(&north, "Lantern walk", 12);
    at_south.wait_for("12 of 12 left");
    is_granted(&mut at_south, "A1", "5", 1);
    at_north.wait_for("7 of 12 left");
    is_granted(&mut at_north, "A1", "6", 2);

    change(&mut at_south, &["1", "1"], "order A1 \"Lantern walk\": rush, for all stations");
    at_north.wait_for("order A1 \"Lantern walk\": rush, says South bench");
    change(&mut at_north, &[], "of A1: 6 of 6 left, rush");
    at_north.key(b"/");
    proxy.cut();
    at_south.wait_until("cut off", |screen| screen.contains("no hub since"));
    change(&mut at_north, &["1", "4", "2030-01-04 16:00", "+"], "due 2030-01-04T16:00, for all");
    change(&mut at_north, &["1", "2"], "order 1 \"Lantern walk\": usual, for all stations");
    change(&mut at_south, &["1", "3"], "order A1 \"Lantern walk\": can wait, for all stations");
    proxy.pass();
    at_south.wait_for("A1 \"Lantern walk\": due 2030-01-04T16:00, says North bench");
    at_north.wait_for("A1 \"Lantern walk\": can wait, says South bench");
    wait(
        || format!("both go by the same: {}", shop.lead()["orders"]),
        || {
            let orders = shop.lead()["orders"].clone();
            let all = orders.as_array()?.iter();
            let alike = all.filter(|one| {
                one["rank"] == 3
                    && one["due"].as_str().is_some_and(|due| due.starts_with("2030-01-04T"))
            });
            (alike.count() == 3).then_some(())
        },
    );
    let heard = |bench: &Bench| {
        let all = bench.past_of("change-heard").into_iter();
        all.map(|one| one["by"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    // Each word is said once, and no bench hears its own.
    assert_eq!(heard(&south).len(), 1, "{:?}", heard(&south));
    assert_eq!(heard(&north).len(), 2, "{:?}", heard(&north));

    let by = shop.address(support::postgres::OWNER);
    let mut lead = Pty::start(&shop.owner, &["hub", "--address", &by], &[]);
    lead.wait_for("1 untaken of 12");
    change(&mut at_north, &["2", "7"], "Cancel it for all stations?");
    at_north.keys("1");
    lead.wait_for("cancelled, open: A2 North bench, B1 South bench");
    at_north.wait_for("A1 \"Lantern walk\" IS CANCELLED FOR ALL STATIONS: order 2 here is of it");
    at_south.wait_for("A1 \"Lantern walk\" IS CANCELLED FOR ALL STATIONS: order 1 here is of it");
    let ask = "SELECT granted, remaining FROM hub.take_part('A1', 0, 1, 'asking-99')";
    assert_eq!(shop.sql_as("b", ask).unwrap(), "0|0");
    // It is in the journal: a start without the hub knows of it.
    proxy.cut();
    assert_eq!(at_south.leave(), 0);
    let mut at_south = Pty::board(&south);
    at_south.wait_for("5 blanks");
    change(&mut at_south, &[], "of A1: 5 of 5 left, can wait, due 2030-01-04T16:00");
    for key in ["1", "7", "1"] {
        at_south.keys(key);
    }
    at_south.wait_for("0 blanks");
    proxy.pass();
    at_south.wait_until("sent", |screen| screen.contains("saved  hub"));
    at_south.wait_until("nothing of it is here", |screen| !screen.contains("CANCELLED FOR ALL"));
    lead.wait_until("South has none of it", |screen| {
        screen.contains("cancelled, open: A2 North bench") && !screen.contains("B1 South bench")
    });
    change(&mut at_north, &["1", "7"], "And what is under way?");
    at_north.keys("1");
    lead.wait_until("nothing of it is open", |screen| !screen.contains("cancelled, open"));
    lead.key(b"q");
    for (pty, bench) in [(&mut at_north, north), (&mut at_south, south)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}
