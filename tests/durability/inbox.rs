//! What lies in the inbox may be anything: what does not read is said by name and set aside, and stops nothing else.

use std::process::Command;

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn whatever_lies_there_stops_nothing() {
    let bench = Bench::new(2, 60);
    bench.take(3);
    let inbox = bench.data().join("inbox");
    let put = |name: &str| inbox.join(format!("{name}.json"));
    // A pipe that nobody writes to, a device without an end, a directory, a text, a file far larger than any order.
    assert!(Command::new("mkfifo").arg(put("0-pipe")).status().unwrap().success());
    std::os::unix::fs::symlink("/dev/zero", put("0-zero")).unwrap();
    std::fs::create_dir(put("0-folder")).unwrap();
    std::fs::write(put("0-text"), "no order").unwrap();
    std::fs::File::create(put("0-large")).unwrap().set_len(1 << 33).unwrap();
    let mut pty = Pty::board(&bench);
    pty.wait_for("3 blanks");
    pty.wait_saved();
    for name in ["0-pipe", "0-zero", "0-folder", "0-text", "0-large"] {
        pty.wait_until(name, |_| inbox.join(format!("{name}.refused")).symlink_metadata().is_ok());
    }
    let log = std::fs::read_to_string(bench.data().join("log")).unwrap();
    for (name, reason) in
        [("0-pipe", "no regular file"), ("0-text", "expected"), ("0-large", "at most 1000000")]
    {
        let line = log.lines().find(|line| line.contains(name)).unwrap_or_else(|| panic!("{log}"));
        assert!(line.contains(reason), "{line}");
    }
    assert!(pty.resident() < 16_000, "{} pages", pty.resident());
    // Mended under its own name it is looked at again, and the next order comes as ever.
    std::fs::write(put("0-text"), "still none").unwrap();
    pty.wait_for("inbox: 0-text.json does not read");
    bench.take(2);
    pty.wait_for("taken in: 2 garments");
    assert_eq!(pty.leave(), 0);
}

/// Lays an order by hand, under a name of one's own.
fn lay(bench: &Bench, name: &str, garments: u32) {
    let form = serde_json::json!({ "name": "Harbour choir", "lines": [
        { "count": garments, "recipe": "quick", "garment": "#16181d", "underbase": true } ] });
    let inbox = bench.data().join("inbox");
    std::fs::create_dir_all(&inbox).unwrap();
    let beside = bench.root.path().join("laid");
    std::fs::write(&beside, form.to_string()).unwrap();
    std::fs::rename(&beside, inbox.join(format!("{name}.json"))).unwrap();
}

fn left(bench: &Bench) -> Vec<String> {
    let files = std::fs::read_dir(bench.data().join("inbox")).unwrap();
    let mut names: Vec<String> =
        files.map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// How many garments each order asked for, and what its file is known by.
fn taken(bench: &Bench) -> Vec<(u64, String)> {
    let orders = bench.past_of("order-taken").into_iter();
    let of = |order: serde_json::Value| {
        let count = order["form"]["lines"][0]["count"].as_u64().unwrap();
        (count, order["file"].as_str().unwrap().to_owned())
    };
    orders.map(of).collect()
}

fn counts(bench: &Bench) -> Vec<u64> {
    taken(bench).into_iter().map(|(count, _)| count).collect()
}

/// The second had been deleted without a word.
#[test]
fn another_order_under_the_name_of_an_earlier_one_is_taken_in() {
    let bench = Bench::new(2, 60);
    lay(&bench, "choir", 2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.wait_until("the file is gone", |_| left(&bench).is_empty());
    lay(&bench, "choir", 3);
    pty.wait_for("5 blanks");
    // Two names that differ only after their first 80 characters.
    let long = "n".repeat(90);
    lay(&bench, &format!("{long}1"), 4);
    pty.wait_for("9 blanks");
    lay(&bench, &format!("{long}2"), 5);
    pty.wait_for("14 blanks");
    pty.wait_until("all are gone", |_| left(&bench).is_empty());
    assert_eq!(pty.leave(), 0);
    assert_eq!(counts(&bench), [2, 3, 4, 5]);
}

/// The same under the same name may be what a crash left behind: it is not taken twice, and kept with a word.
#[test]
fn a_true_repeat_is_said_and_kept() {
    let bench = Bench::new(2, 60);
    lay(&bench, "choir", 2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.wait_until("the file is gone", |_| left(&bench).is_empty());
    for kept in ["choir.taken-before", "choir.2.taken-before"] {
        lay(&bench, "choir", 2);
        let said = pty.wait_for("is taken already as Order 1; lay it under another name");
        assert!(said.contains("choir.json"), "{said}");
        pty.wait_until(kept, |_| left(&bench).contains(&kept.to_owned()));
    }
    lay(&bench, "choir-again", 2);
    pty.wait_for("4 blanks");
    assert_eq!(pty.leave(), 0);
    assert_eq!(counts(&bench), [2, 2]);
}

/// Whenever it is killed: before the order is saved, between that and the removal, or after it.
#[test]
fn a_file_is_taken_in_once_wherever_the_board_is_killed() {
    let bench = Bench::new(2, 60);
    for round in 1..=10u32 {
        lay(&bench, "nightly", round);
        let mut pty = Pty::board(&bench);
        pty.wait_for("[Bench]");
        std::thread::sleep(std::time::Duration::from_millis(u64::from(round) * 17 % 70));
        pty.kill();
        let mut again = Pty::board(&bench);
        again.wait_for(&format!("{} blanks", round * (round + 1) / 2));
        again.wait_until("no order waits", |_| {
            !left(&bench).iter().any(|name| name.contains("json"))
        });
        again.wait_saved();
        assert_eq!(again.leave(), 0);
    }
    assert_eq!(counts(&bench), (1..=10).collect::<Vec<u64>>());
    bench.assert_sound();
}

/// A journal of an earlier program knows files by their names alone.
#[test]
fn what_an_earlier_program_took_in_by_its_name_is_not_taken_twice() {
    use dwell::shell::journal::{Reader, Writer, lock::Lock};
    use dwell::shop::facts::fact::Fact;
    let bench = Bench::new(2, 60);
    lay(&bench, "choir", 2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let mut events = Vec::new();
    let reader = Reader::open(&bench.data()).unwrap().unwrap();
    reader.events_after(0, |event| events.push(event)).unwrap();
    drop(reader);
    for event in &mut events {
        if let Fact::OrderTaken(order) = &mut event.fact {
            order.file = Some("choir".into());
        }
    }
    std::fs::remove_dir_all(bench.data()).unwrap();
    std::fs::create_dir(bench.data()).unwrap();
    let writer = Writer::open(&bench.data(), Lock::take(&bench.data()).unwrap()).unwrap();
    writer.write(events);
    writer.close(std::time::Duration::from_secs(60));
    lay(&bench, "choir", 2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("is taken already as Order 1");
    lay(&bench, "choir-3", 3);
    pty.wait_for("5 blanks");
    assert_eq!(pty.leave(), 0);
    assert_eq!(counts(&bench), [2, 3]);
    assert_eq!(left(&bench), ["choir.taken-before"]);
}

/// More than the board keeps in mind of those that a crash may have left.
#[test]
fn a_heap_of_orders_is_taken_in_once_each_though_it_is_killed() {
    let bench = Bench::new(2, 60);
    let count = 250u64;
    for n in 0..count {
        lay(&bench, &format!("order {n}"), 1);
    }
    // What is set aside as taken before lies there for good.
    let waiting = || left(&bench).iter().filter(|name| name.contains(".json")).count();
    for _kill in 0..6 {
        let before = waiting();
        if before == 0 {
            break;
        }
        let mut pty = Pty::board(&bench);
        pty.wait_until("some are taken in", |_| waiting() < before);
        pty.kill();
    }
    let mut pty = Pty::board(&bench);
    pty.wait_for(&format!("{count} blanks"));
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let mut names: Vec<String> = taken(&bench).into_iter().map(|(_, file)| file).collect();
    names.sort();
    names.dedup();
    assert_eq!((names.len(), counts(&bench).len()), (250, 250));
}

/// What another user laid comes into no journal.
#[test]
fn a_file_of_another_user_is_set_aside_with_words() {
    let bench = Bench::new(2, 60);
    lay(&bench, "theirs", 2);
    let path = bench.data().join("inbox/theirs.json");
    if let Err(reason) = std::os::unix::fs::chown(&path, Some(12_345), None) {
        crate::skipped::skipped(&format!(
            "no file can be given to another user: {reason}; as root it can"
        ));
        return;
    }
    let mut pty = Pty::board(&bench);
    pty.wait_until("it is said", |shown| {
        ["belongs to another user", "(12345)"].iter().all(|word| shown.contains(word))
    });
    pty.wait_until("it is set aside", |_| left(&bench) == ["theirs.refused"]);
    assert_eq!(pty.leave(), 0);
    assert_eq!(counts(&bench), [0u64; 0]);
}
