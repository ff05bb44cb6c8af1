//! Files that were damaged, that a newer program wrote, or that cannot be written.

use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer};
use dwell::shop::facts::moment::Boot;
use rusqlite::Connection;

use crate::bench::{Bench, Ran};
use support::program::program;

/// A bench with a rehearsal's journal in its data directory.
pub fn rehearsed() -> Bench {
    made_up(&["--seed", "3", "--garments", "6"])
}

/// The same with a rehearsal of another kind.
pub fn made_up(options: &[&str]) -> Bench {
    let bench = Bench::new(2, 20);
    let data = bench.data();
    // The scenario's orders go by the recipes that are built in.
    let ran = program()
        .env("HOME", bench.home())
        .args(["rehearse", "--headless", "--data"])
        .arg(&data)
        .args(options)
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    bench
}

/// A journal as of a real shift, made of a rehearsal's events: no board writes into a rehearsal's own.
pub fn real() -> Bench {
    let bench = made_up(&["--weeks", "2", "--garments", "60"]);
    let mut events = Vec::new();
    let reader = Reader::open(&bench.data()).unwrap().unwrap();
    reader.events_after(0, |event| events.push(event)).unwrap();
    drop(reader);
    for event in &mut events {
        event.moment.boot = Boot(1);
    }
    std::fs::remove_dir_all(bench.data()).unwrap();
    std::fs::create_dir(bench.data()).unwrap();
    let writer = Writer::open(&bench.data(), Lock::take(&bench.data()).unwrap()).unwrap();
    writer.write(events);
    writer.close(std::time::Duration::from_secs(60));
    bench.assert_sound();
    bench
}

pub fn journal(bench: &Bench) -> std::path::PathBuf {
    bench.data().join("journal.sqlite")
}

#[test]
fn a_flipped_byte_is_found_wherever_it_is() {
    // One of the first rows, one in the middle, the last one; the text, a time, a number.
    for change in [
        "UPDATE events SET body = replace(body, 'e', 'f') WHERE seq = 3",
        "UPDATE events SET at = at + 1 WHERE seq = 20",
        "UPDATE events SET act = act - 1 WHERE seq = (SELECT max(seq) FROM events)",
        "DELETE FROM events WHERE seq = 10",
    ] {
        let bench = rehearsed();
        bench.assert_sound();
        let connection = Connection::open(journal(&bench)).unwrap();
        assert_eq!(connection.execute(change, []).unwrap(), 1, "{change}");
        drop(connection);
        let ran = bench.run(&["check"]);
        assert_eq!(ran.code, 2, "{change}: {}", ran.out);
        assert!(ran.err.contains("row"), "{change}: {}", ran.err);
        assert_eq!(ran.out, "", "{change}");
    }
}

#[test]
fn a_journal_of_a_newer_program_is_refused_untouched() {
    let bench = rehearsed();
    let connection = Connection::open(journal(&bench)).unwrap();
    let known: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    connection.pragma_update(None, "journal_mode", "DELETE").unwrap();
    drop(connection);
    let before = std::fs::read(journal(&bench)).unwrap();
    for arguments in [&[][..], &["past"], &["pace"], &["check"], &["watch"]] {
        let Ran { code, err, .. } = bench.run(arguments);
        assert_eq!(code, 2, "{arguments:?}: {err}");
        assert!(err.contains("version 99"), "{arguments:?}: {err}");
        assert!(err.contains(&format!("up to version {known}")), "{arguments:?}: {err}");
    }
    assert!(std::fs::read(journal(&bench)).unwrap() == before, "the file was changed");
}

#[test]
fn another_programs_database_is_refused_untouched() {
    let bench = Bench::new(2, 20);
    std::fs::create_dir_all(bench.data()).unwrap();
    let connection = Connection::open(journal(&bench)).unwrap();
    connection.execute_batch("PRAGMA application_id = 77; CREATE TABLE mine (n);").unwrap();
    drop(connection);
    let before = std::fs::read(journal(&bench)).unwrap();
    for arguments in [&[][..], &["past"], &["check"]] {
        let ran = bench.run(arguments);
        assert_eq!(ran.code, 2, "{arguments:?}: {}", ran.err);
        assert!(ran.err.contains("not a journal"), "{arguments:?}: {}", ran.err);
    }
    std::fs::write(journal(&bench), "this was never a database, only a text").unwrap();
    assert_eq!(bench.run(&["past"]).code, 2);
    std::fs::write(journal(&bench), &before).unwrap();
}

#[test]
fn a_data_directory_that_cannot_be_is_said() {
    let bench = Bench::new(2, 20);
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, crate::bench::order(2)).unwrap();
    // A directory under a file can be made by nobody, whoever runs the tests.
    let file = bench.root.path().join("file");
    std::fs::write(&file, "").unwrap();
    let data = file.join("data");
    let data = data.to_str().unwrap();
    let order = order.to_str().unwrap();
    for arguments in [&[][..], &["take", order], &["past"], &["rehearse", "--headless"]] {
        let mut all = arguments.to_vec();
        all.extend(["--data", data]);
        let ran = bench.run(&all);
        assert_eq!(ran.code, 2, "{all:?}: {}", ran.err);
        assert!(ran.err.contains("cannot be used"), "{all:?}: {}", ran.err);
    }
}

/// Opening a pipe waits for whoever holds its other end: nobody does.
#[test]
fn a_pipe_in_the_place_of_a_file_holds_nothing_up() {
    let bench = Bench::new(2, 20);
    std::fs::create_dir(bench.data()).unwrap();
    let pipe = |name: &str| {
        let made = std::process::Command::new("mkfifo").arg(bench.data().join(name)).status();
        assert!(made.unwrap().success());
    };
    ["snapshot", "snapshot-of-yesterday", "log", "saved-upto"].into_iter().for_each(pipe);
    let mut pty = crate::pty::Pty::board(&bench);
    pty.wait_for("[Bench]");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
    std::fs::remove_file(bench.data().join("lock")).unwrap();
    pipe("lock");
    let mut pty = crate::pty::Pty::start(&bench, &[], &[]);
    assert_eq!(pty.end_within(std::time::Duration::from_secs(5)), 2);
    pty.read_to_end();
    let said = String::from_utf8_lossy(&pty.raw()).into_owned();
    assert!(said.contains("no regular file"), "{said}");
}
