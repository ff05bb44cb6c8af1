//! Escape sequences from files, tags, profiles and journals never reach the terminal.

use std::time::Duration;

use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer};
use dwell::shop::facts::fact::{Event, Fact};
use serde_json::Value;

use crate::bench::Bench;
use crate::files::{journal, made_up};
use crate::pty::Pty;

/// Sequences of each sort: reset, CSI, OSC, DCS, a shift, the same as C1 bytes, a bell, a backspace, a delete.
const EVIL: &str =
    "\x1bc\x1b[5n\x1b]0;evil\x07\x1bPevil\x1b\\\x0e\u{9b}5n\u{9d}0;evil\u{9c}\u{90}\u{85}\x08\x7f";

/// What a person may have written, by the names of the fields in the journal.
const TEXTS: [&str; 15] = [
    "name",
    "title",
    "basis",
    "confirmed",
    "stack",
    "lot",
    "lots",
    "who",
    "what",
    "place",
    "places",
    "recipe",
    "reason",
    "mark",
    "left",
];

/// A recipe's fingerprint takes no other text: such a row does not read at all.
fn is_fingerprint(text: &str) -> bool {
    text.len() == 12 && text.bytes().all(|digit| digit.is_ascii_hexdigit())
}

fn poison(value: &mut Value, is_text: bool) {
    match value {
        Value::String(text) if is_text && !is_fingerprint(text) => {
            text.insert_str(text.len().min(3), EVIL)
        }
        Value::Array(list) => list.iter_mut().for_each(|one| poison(one, is_text)),
        Value::Object(fields) => {
            for (name, field) in fields.iter_mut() {
                poison(field, TEXTS.contains(&name.as_str()));
            }
        }
        _ => {}
    }
}

/// A journal whose every text has been tampered with, its sums made right again.
fn poisoned(real: bool) -> Bench {
    let bench = made_up(&["--weeks", "1", "--garments", "12"]);
    let mut events: Vec<Event> = Vec::new();
    let reader = Reader::open(&bench.data()).unwrap().unwrap();
    reader
        .events_after(0, |mut event| {
            let mut body: Value = serde_json::from_str(&event.fact.body().unwrap()).unwrap();
            poison(&mut body, false);
            event.fact = Fact::read(event.fact.kind(), &body.to_string()).unwrap();
            if real {
                event.moment.boot = dwell::shop::facts::moment::Boot(1);
            }
            events.push(event);
        })
        .unwrap();
    std::fs::remove_dir_all(bench.data()).unwrap();
    std::fs::create_dir(bench.data()).unwrap();
    let writer = Writer::open(&bench.data(), Lock::take(&bench.data()).unwrap()).unwrap();
    writer.write(events);
    writer.close(Duration::from_secs(60));
    bench
}

fn assert_harmless(what: &str, text: &str) {
    let harmful = |c: char| c.is_control() && !matches!(c, '\n' | '\r');
    if let Some(at) = text.find(harmful) {
        let around: String = text[at..].chars().take(30).collect();
        panic!("{what}: {around:?}");
    }
}

/// What the program itself sends: cursor, colours and modes, all of them CSI or a charset, none of EVIL's.
fn assert_only_its_own(what: &str, raw: &[u8]) {
    let text = String::from_utf8_lossy(raw);
    for (at, _) in text.match_indices('\x1b') {
        let after: String = text[at + 1..].chars().take(12).collect();
        let ends = after.find(|c: char| c.is_ascii_alphabetic());
        let last = ends.and_then(|end| after[end..].chars().next());
        let own = after.starts_with('[') && last.is_some_and(|end| "HABCDmhlKJqr".contains(end));
        assert!(own || after.starts_with("(B"), "{what}: ESC {after:?}");
    }
    let others =
        |c: char| c.is_control() && !matches!(c, '\x1b' | '\r' | '\n' | '\x07' | '\x08' | '\x0f');
    assert!(!text.contains(others), "{what}: {:?}", text.matches(others).collect::<Vec<_>>());
    assert!(!text.contains("evil\x07"), "{what}");
}

#[test]
fn the_plain_commands_print_none() {
    let bench = poisoned(false);
    bench.assert_sound();
    let tag = "A1-01";
    for arguments in [
        &["past"][..],
        &["past", "--json"],
        &["past", "--csv"],
        &["trace", tag],
        &["trace", tag, "--json"],
        &["trace", "--lot", "F-101"],
        &["trace", "--press", "1"],
        &["shelf"],
        &["shelf", "--json"],
        &["pace"],
        &["plan"],
        &["check"],
        &["profiles"],
    ] {
        let ran = bench.run(arguments);
        assert_harmless(&format!("{arguments:?}"), &ran.out);
        assert_harmless(&format!("{arguments:?} on stderr"), &ran.err);
    }
    let past = bench.run(&["past"]).out;
    assert!(past.contains("evil"), "the texts themselves are told: {past}");
    // In JSON they are whole, as escapes.
    let told = bench.run(&["past", "--json"]).out;
    let of = |line: &str| serde_json::from_str::<Value>(line).unwrap().to_string();
    assert!(told.lines().any(|line| of(line).contains("\u{9b}5n")));
}

#[test]
fn what_was_typed_is_repeated_without_them() {
    let bench = Bench::new(2, 20);
    for arguments in [
        &["take", EVIL][..],
        &["take", "a", EVIL, "b"],
        &["pace", "--shift", EVIL],
        &["art", EVIL],
        &["trace", EVIL],
        &[EVIL],
        &["check", "--data", EVIL],
    ] {
        let ran = bench.run(arguments);
        assert_harmless(&format!("{arguments:?}"), &ran.out);
        assert_harmless(&format!("{arguments:?} on stderr"), &ran.err);
    }
    let ran = bench.run(&["pace", "--shift", EVIL]);
    assert!(ran.code == 2 && ran.err.contains("evil"), "{}", ran.err);
}

#[test]
fn the_screens_draw_none() {
    for (real, arguments, first) in [(false, &["watch"][..], "[Pace]"), (true, &[], "[Bench]")] {
        let bench = poisoned(real);
        let mut pty = Pty::start(&bench, arguments, &[]);
        pty.wait_for(first);
        let panes = ["[Bench]", "[Pace]", "[Shelf]", "[Coat]", "[Past]"];
        let later = panes.iter().cycle().skip_while(|pane| **pane != first).skip(1);
        for pane in later.take(panes.len()) {
            pty.key(b"\t");
            pty.wait_for(pane);
        }
        pty.key(b"?");
        pty.wait_for("7 tests the sounder");
        // Read together with the next key it would be another: Alt.
        pty.key(b"\x1b");
        pty.wait_until("closed", |text| !text.contains("7 tests the sounder"));
        assert_eq!(pty.leave(), 0);
        assert_only_its_own(&format!("{arguments:?}"), &pty.raw());
        assert!(
            String::from_utf8_lossy(&pty.raw()).contains("evil"),
            "{arguments:?}: no such text"
        );
    }
}

#[test]
fn rows_orders_and_profiles_that_do_not_read_are_told_harmlessly() {
    let bench = made_up(&["--garments", "6"]);
    for (column, text) in [
        ("kind", format!("k{EVIL}")),
        ("body", format!("{{\"garment\": \"A1-01{}\"}}", EVIL.escape_default())),
        ("body", format!("{{ {EVIL}")),
        ("boot", format!("b{EVIL}")),
        ("station", format!("s{EVIL}")),
    ] {
        let good = std::fs::read(journal(&bench)).unwrap();
        let connection = rusqlite::Connection::open(journal(&bench)).unwrap();
        let change = format!("UPDATE events SET {column} = ?1 WHERE seq = 30");
        connection.execute(&change, [&text]).unwrap();
        connection.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(())).unwrap();
        drop(connection);
        for arguments in [
            &["past"][..],
            &["past", "--json"],
            &["past", "--csv"],
            &["check"],
            &["trace", "A1-01"],
        ] {
            let ran = bench.run(arguments);
            assert_harmless(&format!("{column}: {arguments:?}"), &ran.out);
            assert_harmless(&format!("{column}: {arguments:?} on stderr"), &ran.err);
        }
        assert_eq!(bench.run(&["check"]).code, 2, "{column}");
        std::fs::write(journal(&bench), good).unwrap();
    }
    let order = bench.root.path().join("order.ron");
    let evil: String = EVIL.chars().map(|c| format!("\\u{{{:x}}}", u32::from(c))).collect();
    let text = crate::bench::order(2);
    for (from, to) in
        [("Harbour choir", "Harbour"), ("quick", "qu"), ("count", "cou"), ("#16", "#")]
    {
        std::fs::write(&order, text.replace(from, &format!("{to}{evil}"))).unwrap();
        let ran = bench.run(&["take", order.to_str().unwrap()]);
        assert_harmless(from, &(ran.out + &ran.err));
        std::fs::write(&order, text.replace(from, &format!("{to}{EVIL}"))).unwrap();
        let ran = bench.run(&["take", order.to_str().unwrap()]);
        assert_harmless(from, &(ran.out + &ran.err));
    }
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    for (from, to) in [("Quick", "Qu"), ("340 F", "340"), ("prepress", "pre")] {
        for evil in [evil.as_str(), EVIL] {
            std::fs::write(bench.recipe(), recipe.replace(from, &format!("{to}{evil}"))).unwrap();
            let ran = bench.run(&["profiles"]);
            assert_harmless(from, &(ran.out + &ran.err));
        }
    }
}
