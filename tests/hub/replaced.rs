//! A station goes on from another machine, or from an older journal: each life at the hub is what its station wrote, nothing
//! is written over, and no tag is given out twice.

use std::process::Command;

use dwell::shell::journal::Reader;
use dwell::shell::journal::row::Stored;
use support::bench::Bench;
use support::proxy::Proxy;
use support::pty::Pty;

use crate::courier::{bar, sign_in, wait_bar};
use crate::shop::{Shop, behind, bench, rows_of};
use crate::stations::push;

fn lives(shop: &Shop) -> String {
    shop.server.sql("SELECT string_agg(life || '>' || after_seq, ' ' ORDER BY life) FROM hub.lives")
}

/// An act at the bench of station "b" is saved and at the hub, and the board is left.
fn at_work(shop: &Shop, bench: &Bench) {
    let mut pty = Pty::board(bench);
    sign_in(&mut pty, "AK");
    shop.wait_equal(bench, "b");
    pty.leave();
}

/// The machine is replaced: a new one with nothing but the profile has the history back before the first act.
#[test]
fn a_new_machine_has_its_history_back_and_the_old_one_sends_no_more() {
    let Some(shop) = Shop::open() else { return };
    let line = shop.add("b");
    let old = bench("b", &line);
    old.take(3);
    let mut pty = Pty::board(&old);
    pty.wait_for("3 blanks");
    sign_in(&mut pty, "AK");
    shop.wait_equal(&old, "b");
    pty.leave();
    let before = rows_of(&old);

    let new = bench("b", &line);
    let mut pty = Pty::board(&new);
    let screen = pty.wait_for("came back from the hub");
    assert!(
        screen.contains("3 blanks") || screen.contains("A1-0") || screen.contains("B1-0"),
        "{screen}"
    );
    assert_eq!(rows_of(&new)[..before.len()], before);
    sign_in(&mut pty, "BL");
    shop.wait_equal(&new, "b");
    assert_eq!(lives(&shop), format!("1>0 2>{}", before.len()));

    // The old machine is switched on again: what it records stays there, and is said.
    let mut back = Pty::board(&old);
    sign_in(&mut back, "CM");
    let screen = back.wait_for("another machine goes on as station \"b\"");
    assert!(bar(&screen).ends_with("saved  hub refused"), "{screen}");
    sign_in(&mut pty, "DN");
    shop.wait_equal(&new, "b");
    assert!(!shop.rows("b").iter().any(|row| row.contains("CM")));
    back.leave();
    pty.leave();
    new.assert_sound();
    old.assert_sound();
}

/// A backup was put in the journal's place: what is missing of it comes back before anything is recorded.
#[test]
fn a_restored_journal_is_filled_up_before_the_first_act() {
    let Some(shop) = Shop::open() else { return };
    let bench = shop.bench("b");
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    let copy = bench.root.path().join("copy.sqlite");
    assert_eq!(bench.run(&["backup", copy.to_str().unwrap()]).code, 0);
    sign_in(&mut pty, "BL");
    sign_in(&mut pty, "CM");
    shop.wait_equal(&bench, "b");
    pty.leave();
    let before = rows_of(&bench);
    assert_eq!(bench.run(&["restore", copy.to_str().unwrap()]).code, 0);
    assert!(rows_of(&bench).len() < before.len());
    let mut pty = Pty::board(&bench);
    pty.wait_for("came back from the hub");
    assert_eq!(rows_of(&bench), before);
    sign_in(&mut pty, "DN");
    shop.wait_equal(&bench, "b");
    pty.leave();
    bench.assert_sound();
}

/// A backup was put in its place and work went on without the hub: a hand says from where on. Tags go on above all others.
#[test]
fn what_was_recorded_after_a_restore_goes_on_by_a_new_life() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let bench = shop.bench_behind("b", &proxy);
    let mut pty = Pty::board(&bench);
    sign_in(&mut pty, "AK");
    shop.wait_equal(&bench, "b");
    let copy = bench.root.path().join("copy.sqlite");
    assert_eq!(bench.run(&["backup", copy.to_str().unwrap()]).code, 0);
    let common = rows_of(&bench).len();
    for _ in 0..3 {
        bench.take(1);
        pty.wait_until("taken in", |_| bench.data().join("inbox").read_dir().unwrap().count() == 0);
    }
    shop.wait_equal(&bench, "b");
    pty.leave();
    let before = shop.rows("b").len();
    assert_eq!(bench.run(&["restore", copy.to_str().unwrap()]).code, 0);

    proxy.cut();
    let mut pty = Pty::board(&bench);
    pty.wait_for("THE HUB WAS NOT ASKED");
    sign_in(&mut pty, "BL");
    proxy.pass();
    let screen = pty.wait_for("it tells another history of station \"b\"");
    assert!(screen.contains("dwell hub new-life"), "{screen}");
    assert_eq!(shop.rows("b").len(), before, "nothing was sent");
    let status = bench.run(&["hub", "status"]);
    assert!(status.out.starts_with("refused: "), "{status:?}");

    let ran = bench.run(&["hub", "new-life"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(ran.out.contains(&format!("behind its event {common} (life 2)")), "{}", ran.out);
    wait_bar(&pty, "saved  hub");
    shop.wait_equal(&bench, "b");
    assert_eq!(lives(&shop), format!("1>0 2>{common}"));
    assert_eq!(
        shop.server.sql("SELECT count(*) FROM hub.events WHERE life = 1"),
        before.to_string()
    );
    // Three orders are behind the row from which it goes on; the next one has the number after theirs.
    bench.take(1);
    pty.wait_until("the order", |_| !bench.past_of("order-taken").is_empty());
    assert_eq!(bench.past_of("order-taken")[0]["order"], 4);
    shop.wait_equal(&bench, "b");
    let again = bench.run(&["hub", "new-life"]);
    assert!(again.code == 0 && again.out.contains("no new life is needed"), "{again:?}");
    pty.leave();
    bench.assert_sound();
}

/// A data directory was copied, and both machines run: what one of them has sent is not written over by the other.
#[test]
fn of_two_machines_with_one_journal_one_sends() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let line = shop.add("b");
    let one = bench("b", &line);
    at_work(&shop, &one);
    let other: Bench = bench("b", &behind(&line, &proxy));
    let copied = Command::new("cp").arg("-a").arg(one.data()).arg(other.root.path()).status();
    assert!(copied.unwrap().success());

    let mut pty = Pty::board(&one);
    sign_in(&mut pty, "BL");
    shop.wait_equal(&one, "b");
    proxy.cut();
    let mut second = Pty::board(&other);
    sign_in(&mut second, "CM");
    proxy.pass();
    second.wait_for("it tells another history of station \"b\"");
    shop.wait_equal(&one, "b");
    assert!(!shop.rows("b").iter().any(|row| row.contains("CM")));
    // A hand says which of them it is: the other is told.
    assert_eq!(other.run(&["hub", "new-life"]).code, 0);
    shop.wait_equal(&other, "b");
    sign_in(&mut pty, "DN");
    pty.wait_for("another machine goes on as station \"b\"");
    shop.wait_equal(&other, "b");
    second.leave();
    pty.leave();
}

/// A new machine starts while the hub is away: it has nothing but its profiles, which stand in nobody's way later.
#[test]
fn a_new_machine_that_started_without_its_hub_has_its_history_at_the_next_start() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let line = shop.add("b");
    let old = bench("b", &line);
    at_work(&shop, &old);
    let before = rows_of(&old);

    let new = bench("b", &behind(&line, &proxy));
    proxy.cut();
    let mut pty = Pty::board(&new);
    pty.wait_for("THE HUB WAS NOT ASKED");
    pty.wait_until("saved", |contents| bar(contents).contains(" saved"));
    proxy.pass();
    let screen = pty.wait_for("START THE BOARD AGAIN");
    assert!(!screen.contains("new-life"), "{screen}");
    let refused = new.run(&["hub", "new-life"]);
    assert_eq!(refused.code, 2, "{refused:?}");
    pty.leave();
    let mut pty = Pty::board(&new);
    pty.wait_for("came back from the hub");
    assert_eq!(rows_of(&new)[..before.len()], before);
    sign_in(&mut pty, "BL");
    shop.wait_equal(&new, "b");
    pty.leave();
    new.assert_sound();
}

/// The hub has a row that is sound and that this program does not know: a new machine starts, says so, and keeps its own.
#[test]
fn rows_that_cannot_be_taken_keep_no_machine_from_starting() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let line = shop.add("b");
    let old = bench("b", &line);
    at_work(&shop, &old);
    let mut rows = Vec::new();
    let keep = |row| {
        rows.push(row);
        Ok(())
    };
    Reader::of(&old.data()).unwrap().rows_after(0, keep).unwrap();
    let last = rows.pop().unwrap();
    let mut unknown = Stored { seq: last.seq + 1, kind: "not-known-yet".into(), ..last.clone() };
    unknown.sum = unknown.chained(last.sum);
    push(&shop.destination("b"), 1, (last.seq, last.sum), &[unknown]);

    // With nothing at all, and with a journal that a start without its hub has made.
    let bare = bench("b", &line);
    let made = bench("b", &behind(&line, &proxy));
    proxy.cut();
    let mut pty = Pty::board(&made);
    pty.wait_for("THE HUB WAS NOT ASKED");
    pty.wait_until("saved", |contents| bar(contents).contains(" saved"));
    pty.leave();
    proxy.pass();
    for new in [&bare, &made] {
        let before = rows_of(new);
        let mut pty = Pty::board(new);
        let screen = pty.wait_for("LATER EVENTS OF THIS STATION THAT WERE NOT TAKEN");
        assert!(!screen.contains("WAS NOT ASKED"), "{screen}");
        sign_in(&mut pty, "BL");
        pty.leave();
        let after = rows_of(new);
        assert!(after.len() > before.len() && after[..before.len()] == before[..], "{after:#?}");
        new.assert_sound();
        let is_aside = |name: &str| name.contains("before-hub");
        let mut names = std::fs::read_dir(new.data()).unwrap();
        assert!(!names.any(|file| is_aside(&file.unwrap().file_name().to_string_lossy())));
    }
}

/// A copied data directory that fetches what the other machine has sent since goes on alone: the other is told.
#[test]
fn a_copied_data_directory_that_fetches_fences_the_other_off() {
    let Some(shop) = Shop::open() else { return };
    let line = shop.add("b");
    let one = bench("b", &line);
    at_work(&shop, &one);
    let other: Bench = bench("b", &line);
    let copied = Command::new("cp").arg("-a").arg(one.data()).arg(other.root.path()).status();
    assert!(copied.unwrap().success());
    let mut pty = Pty::board(&one);
    sign_in(&mut pty, "BL");
    shop.wait_equal(&one, "b");
    pty.leave();

    let mut pty = Pty::board(&other);
    pty.wait_for("START THE BOARD AGAIN");
    pty.leave();
    let mut pty = Pty::board(&other);
    pty.wait_for("came back from the hub");
    sign_in(&mut pty, "CM");
    shop.wait_equal(&other, "b");
    let mut back = Pty::board(&one);
    sign_in(&mut back, "DN");
    back.wait_for("another machine goes on as station \"b\"");
    back.leave();
    pty.leave();
    other.assert_sound();
}

/// The line of another station stands in the profile: that station is left alone, and nothing tells to fence it off.
#[test]
fn the_role_of_another_station_is_refused_everywhere() {
    let Some(shop) = Shop::open() else { return };
    let line = shop.add("b");
    let there = bench("b", &line);
    at_work(&shop, &there);
    let before = shop.server.sql("SELECT upto || ' ' || life || ' ' || heard FROM hub.stations");
    let here = bench("a", &line);
    let mut pty = Pty::board(&here);
    let screen = pty.wait_for("NOT SENT TO THE HUB");
    let said = screen.split_whitespace().collect::<Vec<&str>>().join(" ");
    assert!(said.contains("is that of station \"b\", this is station \"a\""), "{screen}");
    assert!(!screen.contains("new-life") && !screen.contains("WAS NOT ASKED"), "{screen}");
    let refused = here.run(&["hub", "new-life"]);
    assert!(refused.code == 2 && refused.err.contains("is that of station \"b\""), "{refused:?}");
    let status = here.run(&["hub", "status"]);
    assert!(status.out.contains("is that of station \"b\""), "{status:?}");
    let after = shop.server.sql("SELECT upto || ' ' || life || ' ' || heard FROM hub.stations");
    assert_eq!(after, before);
    pty.leave();
}

/// A start that asks the hub says what is waited for.
#[test]
fn a_start_that_waits_for_the_hub_says_so() {
    let Some(shop) = Shop::open() else { return };
    let proxy = Proxy::to(shop.server.port());
    let bench = shop.bench_behind("b", &proxy);
    proxy.stall();
    let mut pty = Pty::start(&bench, &[], &[]);
    let screen = pty.wait_for("asking the hub what it has of this station");
    assert!(!screen.contains("for the disk"), "{screen}");
    pty.wait_for("THE HUB WAS NOT ASKED");
    proxy.pass();
    pty.leave();
}
