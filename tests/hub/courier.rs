//! What a board saves comes to its hub, each row once, whatever happens on the way; and no key waits for that.

use rustix::process::Signal;
use support::bench::Bench;
use support::proxy::Proxy;
use support::pty::Pty;
use support::waiting::wait;

use crate::shop::{Shop, behind, bench, rows_at, rows_of, wait_equal};

/// The bar's end: what is saved, and the hub beside it.
pub fn bar(contents: &str) -> String {
    contents.lines().next().unwrap_or_default().trim_end().to_owned()
}

pub fn wait_bar(pty: &Pty, end: &str) -> String {
    pty.wait_until(end, |contents| bar(contents).ends_with(end))
}

/// Signs somebody in or out: an act of a hand that is saved.
pub fn sign_in(pty: &mut Pty, who: &str) {
    pty.key(b"b");
    pty.wait_for("Who is at the bench?");
    pty.keys(who);
    pty.key(b"\r");
    pty.wait_until("signed in, and saved", |contents| {
        // The frame without the form is the first that knows of the act.
        let is_done = !contents.contains("Who is at the bench?") && contents.contains(who);
        is_done && bar(contents).contains(" saved")
    });
}

#[test]
fn what_a_board_saves_comes_to_the_hub_row_by_row() {
    let Some(shop) = Shop::open() else { return };
    let bench = shop.bench("b");
    bench.take(40);
    let mut pty = Pty::board(&bench);
    pty.wait_for("40 blanks");
    for key in [&b"1"[..], b"2", b"1", b"2", b"\r", b"0"] {
        pty.key(key);
    }
    wait_bar(&pty, "saved  hub");
    shop.wait_equal(&bench, "b");
    assert!(rows_of(&bench).len() > 6);
    assert_eq!(pty.leave(), 0);
    // Another start sends what comes then, behind it.
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    shop.wait_equal(&bench, "b");
    let log = std::fs::read_to_string(bench.data().join("dwell.log")).unwrap_or_default();
    assert!(
        !log.contains(&shop.password("b")) && !shop.server.logged().contains(&shop.password("b"))
    );
    pty.leave();
    bench.assert_sound();
}

#[test]
fn a_station_without_a_hub_says_nothing_of_one() {
    let bench = Bench::new(2, 60);
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    assert!(bar(&pty.contents()).ends_with(" saved"));
    let tasks = std::fs::read_dir(format!("/proc/{}/task", pty.id())).unwrap();
    let names =
        tasks.map(|task| std::fs::read_to_string(task.unwrap().path().join("comm")).unwrap());
    assert!(!names.into_iter().any(|name| name.trim() == "courier"));
    assert_eq!(bench.run(&["hub", "status"]).code, 2);
    pty.leave();
}

/// The way is cut after the commit and before the answer: none is there twice, none is missing.
#[test]
fn an_answer_that_is_lost_loses_and_doubles_nothing() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let bench = shop.bench_behind("b", &proxy);
    let mut pty = Pty::board(&bench);
    wait_bar(&pty, "saved  hub");
    for who in ["AK", "BL", "CM"] {
        proxy.swallow_answers();
        sign_in(&mut pty, who);
        let there = || shop.rows("b") == rows_of(&bench);
        wait(|| "committed".to_owned(), || there().then_some(()));
        proxy.cut();
        // The board goes on, and says what is so.
        let screen =
            pty.wait_until("no hub", |contents| bar(contents).contains("saved  no hub since "));
        assert!(!screen.contains("NOT SENT"), "a mere outage is no banner:\n{screen}");
        sign_in(&mut pty, &format!("{who}X"));
        proxy.pass();
        wait_bar(&pty, "saved  hub");
        shop.wait_equal(&bench, "b");
    }
    pty.leave();
}

/// The hub is deaf, or somebody holds the station's row: keys and `saved` go on as ever.
#[test]
fn no_key_waits_for_a_hub_that_does_not_answer() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let bench = shop.bench_behind("b", &proxy);
    let mut pty = Pty::board(&bench);
    wait_bar(&pty, "saved  hub");
    proxy.stall();
    sign_in(&mut pty, "AK");
    pty.wait_until("no hub", |contents| bar(contents).contains("saved  no hub since "));
    sign_in(&mut pty, "BL");
    let status = bench.run(&["hub", "status", "--json"]);
    assert_eq!(status.code, 0, "{}", status.err);
    let status: serde_json::Value = serde_json::from_str(&status.out).unwrap();
    assert_eq!(status["state"], "no hub");
    assert!(status["behind"].as_u64().unwrap() >= 2 && status["reason"].is_string(), "{status}");
    proxy.pass();
    wait_bar(&pty, "saved  hub");
    shop.wait_equal(&bench, "b");
    // A client that began, locked and went to sleep.
    std::thread::scope(|threads| {
        let held = "BEGIN; SELECT * FROM hub.stations FOR UPDATE; SELECT pg_sleep(8); COMMIT";
        let holder = threads.spawn(|| shop.server.sql(held));
        sign_in(&mut pty, "CM");
        pty.wait_until("no hub", |contents| bar(contents).contains("saved  no hub since "));
        sign_in(&mut pty, "DN");
        holder.join().unwrap();
    });
    shop.wait_equal(&bench, "b");
    wait_bar(&pty, "saved  hub");
    // The server's processes stand still, and go on.
    shop.server.signal(Signal::STOP);
    sign_in(&mut pty, "EO");
    shop.server.signal(Signal::CONT);
    shop.wait_equal(&bench, "b");
    pty.leave();
}

/// The primary dies with rows that the standby never had; and comes back under the address after the standby took over.
#[test]
fn after_a_fail_over_all_is_there_and_nothing_goes_to_the_old_primary() {
    let Some(mut shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let bench = shop.bench_behind("b", &proxy);
    let mut standby = shop.server.standby();
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    shop.wait_equal(&bench, "b");
    standby.stop();
    sign_in(&mut pty, "BL");
    sign_in(&mut pty, "CM");
    shop.wait_equal(&bench, "b");
    shop.server.kill();
    pty.wait_until("no hub", |contents| bar(contents).contains("saved  no hub since "));
    standby.go_on();
    standby.promote();
    assert!(rows_at(&standby, "b").len() < rows_of(&bench).len(), "the standby lacks some");
    proxy.lead_to(standby.port());
    sign_in(&mut pty, "DN");
    wait_equal(&standby, &bench, "b");
    wait_bar(&pty, "saved  hub");

    shop.server.go_on();
    proxy.lead_to(shop.server.port());
    sign_in(&mut pty, "EO");
    pty.wait_for("a server answers that another has taken");
    let old = shop.rows("b");
    assert!(!old.iter().any(|row| row.contains("DN") || row.contains("EO")), "{old:?}");
    let status = bench.run(&["hub", "status"]);
    assert!(status.out.contains("another has taken the place of"), "{status:?}");
    proxy.lead_to(standby.port());
    wait_bar(&pty, "saved  hub");
    wait_equal(&standby, &bench, "b");
    assert!(!pty.contents().contains("NOT SENT"));
    pty.leave();
}

/// A refusal is said once, with what it was, and is not tried again until a hand has done something.
#[test]
fn a_refusal_stands_as_a_banner_until_a_hand_has_mended_it() {
    let Some(shop) = Shop::open() else { return };
    let bench = shop.bench("b");
    let right = shop.password("b");
    std::fs::write(shop.password_file("b"), "wrong-one\n").unwrap();
    let mut pty = Pty::board(&bench);
    let screen = pty.wait_for("NOT SENT TO THE HUB");
    assert!(screen.contains("28P01") && !screen.contains("wrong-one"), "{screen}");
    assert!(bar(&screen).ends_with("saved  hub refused"), "{screen}");
    sign_in(&mut pty, "AK");
    let tries = || shop.server.logged().matches("password authentication failed").count();
    let before = tries();
    std::thread::sleep(std::time::Duration::from_secs(4));
    assert_eq!(tries(), before, "it is not tried again");
    let status = bench.run(&["hub", "status", "--json"]);
    assert!(status.out.contains("\"state\":\"refused\""), "{status:?}");
    assert!(![&status.out, &status.err].iter().any(|said| said.contains("wrong-one")));
    std::fs::write(shop.password_file("b"), format!("{right}\n")).unwrap();
    // The profile is saved as it was.
    std::fs::write(bench.station(), std::fs::read_to_string(bench.station()).unwrap()).unwrap();
    wait_bar(&pty, "saved  hub");
    shop.wait_equal(&bench, "b");
    assert!(!pty.contents().contains("NOT SENT"));

    // Rights that a restored dump did not have are missed at the connection, before anything is sent.
    shop.server.sql("REVOKE dwell_stations FROM dwell_b");
    sign_in(&mut pty, "BL");
    pty.wait_for("NOT SENT TO THE HUB");
    assert!(pty.contents().contains("42501"));
    assert_eq!(shop.prepare().code, 0);
    std::fs::write(bench.station(), std::fs::read_to_string(bench.station()).unwrap()).unwrap();
    shop.wait_equal(&bench, "b");
    pty.leave();
}

/// A profile that names a hub while the board runs, and one that takes leave of it.
#[test]
fn a_board_joins_and_leaves_a_hub_by_its_profile() {
    let Some(shop) = Shop::open() else { return };
    let line = shop.add("b");
    let bench = Bench::new(2, 60);
    bench.station_says("id: \"b\",");
    let alone = std::fs::read_to_string(bench.station()).unwrap();
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    bench.station_says(&line);
    wait_bar(&pty, "saved  hub");
    shop.wait_equal(&bench, "b");
    let sent = shop.rows("b").len();
    std::fs::write(bench.station(), alone).unwrap();
    wait_bar(&pty, " saved");
    sign_in(&mut pty, "BL");
    assert_eq!(shop.rows("b").len(), sent);
    pty.leave();
}

/// Another hub under the address is no place for this station's rows.
#[test]
fn another_hub_under_the_address_is_said() {
    let (Some(shop), Some(other)) = (Shop::open(), Shop::open()) else { return };
    let proxy = Proxy::to(shop.server.port());
    let line = behind(&shop.add("b"), &proxy);
    let bench = bench("b", &line);
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    shop.wait_equal(&bench, "b");
    other.add("b");
    std::fs::copy(other.password_file("b"), shop.password_file("b")).unwrap();
    proxy.lead_to(other.server.port());
    pty.wait_for("another hub answers at its address");
    assert_eq!(other.rows("b"), Vec::<String>::new());
    pty.leave();
}
