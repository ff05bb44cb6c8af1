//! Garments that pass between boards: real programs in ptys, over a real server.

use support::bench::Bench;
use support::proxy::Proxy;
use support::pty::Pty;
use support::waiting::wait;

use crate::courier::{bar, wait_bar};
use crate::shop::Shop;

/// Scans a tag at a board until that knows of whoever keeps the garment: the hub is heard of once a second.
pub fn scan_until(pty: &mut Pty, tag: &str, known: &str) {
    const BETWEEN_SCANS: u32 = 200;
    let form = format!("Take {tag} over?");
    let mut looks = 0;
    wait(
        || format!("{known} of {tag}"),
        || {
            let screen = pty.contents();
            if screen.contains(&form) && screen.contains(known) {
                return Some(());
            }
            if looks % BETWEEN_SCANS == 0 {
                if screen.contains(&form) {
                    leave_form(pty);
                }
                pty.burst(format!("{tag}\r").as_bytes());
            }
            looks += 1;
            None
        },
    );
}

/// A board whose caution somebody has read: what it asks then is of the work.
pub fn board(bench: &Bench) -> Pty {
    let mut pty = Pty::board(bench);
    pty.wait_for("No safety device");
    pty.key(b"y");
    pty.wait_until("it is read", |screen| !screen.contains("No safety device: keep"));
    wait_bar(&pty, "saved  hub");
    pty
}

pub fn leave_form(pty: &mut Pty) {
    pty.key(b"/");
    pty.wait_until("the form is left", |screen| !screen.contains("over?"));
}

pub fn named(bench: &Bench, name: &str) {
    let text = std::fs::read_to_string(bench.station()).unwrap();
    std::fs::write(bench.station(), text.replace("Test bench", name)).unwrap();
}

/// It is taken by its tag with all that is known of it; whoever kept it hears of it, and it comes back in the same way.
#[test]
fn a_garment_goes_to_another_board_and_comes_back() {
    let Some(shop) = Shop::open() else { return };
    let (north, south) = (shop.bench("a"), shop.bench("b"));
    named(&north, "North bench");
    named(&south, "South bench");
    north.take(2);
    let mut at_north = board(&north);
    at_north.wait_for("2 blanks");
    let mut at_south = board(&south);

    scan_until(&mut at_south, "A1-01", "at North bench, waits for pre-press");
    assert!(south.past_of("received").is_empty(), "a scan alone commands nothing");
    at_south.key(b"+");
    at_south.wait_for("A1-01 taken over from North bench");
    at_north.wait_for("A1-01 taken over by South bench");
    at_south.wait_for("A1-01 pre-press");
    let body = &south.past_of("received")[0];
    assert!(body.get("unconfirmed").is_none(), "{body}");
    assert_eq!(shop.server.sql("SELECT garment, station, granted FROM hub.moves"), "A1-01|b|t");
    // Both boards know its order now, and it is one.
    let orders = &shop.lead()["orders"];
    assert_eq!(orders.as_array().unwrap().len(), 1, "{orders}");

    scan_until(&mut at_north, "A1-01", "at South bench, waits for pre-press");
    at_north.key(b"+");
    at_north.wait_for("A1-01 taken over from South bench");
    at_south.wait_for("A1-01 taken over by North bench");
    let moves = "SELECT string_agg(station || CASE WHEN granted THEN '' ELSE ' forked' END, ' ' ORDER BY after) FROM hub.moves";
    wait(
        || "both moves are at the hub".to_owned(),
        || (shop.server.sql(moves).split(' ').count() == 2).then_some(()),
    );
    assert_eq!(shop.lead()["conflicts"], serde_json::json!([]));
    assert_eq!(shop.lead()["between"], serde_json::json!([]));
    for (mut pty, bench) in [(at_north, north), (at_south, south)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}

/// Two boards are cut off and each takes the same garment: both are said, nobody is refused, and somebody looks.
#[test]
fn two_that_take_one_garment_while_cut_off_are_told_and_one_answers() {
    let Some(shop) = Shop::open() else { return };
    let (to_south, to_yard) = (Proxy::to(shop.server.port()), Proxy::to(shop.server.port()));
    let north = shop.bench("a");
    let (south, yard) = (shop.bench_behind("b", &to_south), shop.bench_behind("c", &to_yard));
    for (bench, name) in [(&north, "North bench"), (&south, "South bench"), (&yard, "Yard bench")] {
        named(bench, name);
    }
    north.take(2);
    let at_north = board(&north);
    at_north.wait_for("2 blanks");
    let (mut at_south, mut at_yard) = (board(&south), board(&yard));
    for (pty, proxy, bench) in [(&mut at_south, &to_south, &south), (&mut at_yard, &to_yard, &yard)]
    {
        scan_until(pty, "A1-01", "at North bench, waits for pre-press");
        leave_form(pty);
        proxy.cut();
        scan_until(pty, "A1-01", "The hub cannot be asked now");
        pty.key(b"+");
        pty.wait_for("A1-01 taken over from North bench, not confirmed");
        pty.wait_until("it is saved", |screen| bar(screen).contains(" saved"));
        assert_eq!(bench.past_of("received")[0]["unconfirmed"], true);
    }
    to_south.pass();
    at_north.wait_for("A1-01 taken over by South bench");
    to_yard.pass();
    at_south.wait_for("A1-01 is at this bench and at Yard bench: look which");
    at_yard.wait_for("A1-01 is at this bench and at South bench: look which");
    at_north.wait_for("A1-01 is at South bench and at Yard bench: look which");
    assert_eq!(shop.lead()["conflicts"].as_array().unwrap().len(), 1);
    let forks = "SELECT count(*) FILTER (WHERE granted) || ' ' || count(*) FROM hub.moves";
    assert_eq!(shop.server.sql(forks), "1 2");

    at_yard.key(b"y");
    for pty in [&at_yard, &at_south, &at_north] {
        pty.wait_until("nobody is asked any more", |screen| !screen.contains("look which"));
    }
    wait(
        || "the lead knows of no conflict any more".to_owned(),
        || (shop.lead()["conflicts"] == serde_json::json!([])).then_some(()),
    );
    let between = &shop.lead()["between"];
    assert_eq!((&between[0]["garment"], between.as_array().unwrap().len()), (&"A1-01".into(), 1));
    for (mut pty, bench) in [(at_north, north), (at_south, south), (at_yard, yard)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}
