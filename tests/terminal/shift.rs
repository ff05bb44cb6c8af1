//! From the first blank to the last cured garment, with the keys of a numeric keypad alone.

use serde_json::Value;

use crate::bench::Bench;
use crate::pty::Pty;

/// Strikes the keys of all six presses, once something on the screen says that it is their turn.
fn all_presses(pty: &mut Pty, wanted: &str, does: impl Fn(u8) -> String) {
    pty.wait_for(wanted);
    for press in 1..=6 {
        pty.act(press.to_string().as_bytes(), &does(press));
    }
}

fn all_shut(pty: &mut Pty, wanted: &str, step: &str) {
    all_presses(pty, wanted, |press| format!("shut press {press} on A1-0{press}: {step}"));
}

fn all_opened(pty: &mut Pty, step: &str) {
    all_presses(pty, "OPEN ", |press| format!("opened press {press}: A1-0{press} {step}"));
}

/// Strikes the key of a handwork until all six garments wait for what comes next.
fn sixfold(pty: &mut Pty, key: &[u8], wanted: &str, next: &str) {
    pty.wait_for(wanted);
    for done in 1..=6 {
        pty.act(key, &format!("{done} {next}"));
    }
}

#[test]
fn an_order_of_six_is_brought_to_its_end_with_keypad_keys_alone() {
    let bench = Bench::new(6, 1);
    let mut pty = Pty::board(&bench);

    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("6+");
    pty.wait_for("lighter than the garment?");
    pty.keys("1+");
    pty.wait_for("taken in: 6 garments");

    all_shut(&mut pty, "6 blanks", "pre-press");
    all_opened(&mut pty, "pre-press");
    sixfold(&mut pty, b"\r", "6 spray", "dry");
    all_shut(&mut pty, "6 dry", "dry");
    all_opened(&mut pty, "dry");
    sixfold(&mut pty, b"0", "6 print", "cure");
    all_shut(&mut pty, "6 cure", "cure");
    all_opened(&mut pty, "cure");
    pty.wait_for("6 done");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);

    let ran = bench.run(&["pace", "--json"]);
    let pace: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(pace["finished"], 6, "{pace}");
    assert_eq!((&pace["out"], &pace["in_progress"]), (&0.into(), &0.into()), "{pace}");
    for n in 1..=6 {
        assert_eq!(steps(&bench, &format!("A1-0{n}")), ["pre-press", "dry", "cure"]);
    }
    bench.assert_sound();
}

/// The steps at a press that the journal tells of one garment, each shut and opened.
fn steps(bench: &Bench, tag: &str) -> Vec<String> {
    let steps = |kind| {
        let events = bench.past_of(kind).into_iter().filter(|event| event["garment"] == tag);
        events.map(|event| event["step"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(steps("press-shut"), steps("press-opened"), "{tag}");
    steps("press-opened")
}

#[test]
fn undone_acts_are_named_one_by_one_the_newest_first() {
    let bench = Bench::new(2, 60);
    bench.take(6);
    let mut pty = Pty::board(&bench);
    pty.wait_for("6 blanks");
    pty.keys("12");
    pty.wait_for("shut press 2 on A1-02: pre-press");
    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01 pre-press");
    for undone in [
        "undid: opened press 1: A1-01 pre-press",
        "undid: shut press 2 on A1-02: pre-press",
        "undid: shut press 1 on A1-01: pre-press",
        "nothing is left to undo",
    ] {
        pty.key(b"-");
        pty.wait_for(undone);
    }
    pty.wait_for("6 blanks");
    assert_eq!(bench.past_of("undone").len(), 3);
}

#[test]
fn two_orders_in_the_inbox_are_taken_in_once_each() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    bench.take(3);
    for _start in 0..2 {
        let mut pty = Pty::board(&bench);
        pty.wait_for("5 blanks");
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
    }
    let taken = bench.past_of("order-taken");
    let counts: Vec<&Value> =
        taken.iter().map(|order| &order["form"]["lines"][0]["count"]).collect();
    assert_eq!(counts, [2, 3]);
    assert_eq!(std::fs::read_dir(bench.data().join("inbox")).unwrap().count(), 0);
}
