//! A copy while the board writes, and the way back: both prove what they hold, and nothing that was there goes away.

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::bench::{Bench, Ran};
use crate::files::{journal, made_up, rehearsed};
use crate::pty::Pty;
use crate::replay::shop;

fn words(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn answer(ran: &Ran) -> Value {
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    serde_json::from_str(&ran.out).unwrap()
}

fn backup(bench: &Bench, to: &Path) -> Value {
    answer(&bench.run(&["backup", words(to), "--json"]))
}

fn events(bench: &Bench) -> u64 {
    u64::try_from(bench.past().len()).unwrap()
}

/// What else lies beside the journal, by name.
fn beside(bench: &Bench, begins: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(bench.data()).unwrap();
    let paths = entries.map(|entry| entry.unwrap().path());
    let mut named: Vec<PathBuf> = paths
        .filter(|path| path.file_name().unwrap().to_str().unwrap().starts_with(begins))
        .collect();
    named.sort();
    named
}

#[test]
fn a_backup_under_load_finishes_and_holds_what_was_there() {
    let bench = Bench::new(4, 1);
    bench.take(300);
    let mut pty = Pty::board(&bench);
    pty.wait_for("300 blanks");
    let mut last = 0;
    for n in 0..6 {
        // Keys come in while the copy is made.
        let to = bench.root.path().join(format!("copy {n}.sqlite"));
        let before = events(&bench);
        let copies = std::thread::scope(|threads| {
            let copying = threads.spawn(|| backup(&bench, &to));
            for key in [&b"1"[..], b"2", b"3", b"4", b"\r", b"0"] {
                pty.key(key);
            }
            copying.join().unwrap()
        });
        let held = copies["events"].as_u64().unwrap();
        assert!((before..=events(&bench)).contains(&held), "{held} of {before}");
        assert!(held >= last);
        last = held;
        let mode = std::fs::metadata(&to).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
        assert!(!to.with_extension("sqlite-wal").exists());
    }
    pty.wait_saved();
    assert!(events(&bench) > last - 3, "the board wrote all the while");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn a_backup_writes_over_nothing_unless_it_is_told_to() {
    let bench = rehearsed();
    let to = bench.root.path().join("copy.sqlite");
    std::fs::write(&to, "precious").unwrap();
    let ran = bench.run(&["backup", words(&to)]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("is there already"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&to).unwrap(), "precious");
    let ran = bench.run(&["backup", words(&to), "--force"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("the chain ends"), "{}", ran.out);
    assert!(std::fs::read(&to).unwrap().starts_with(b"SQLite format 3"));

    let itself = journal(&bench);
    let ran = bench.run(&["backup", words(&itself), "--force"]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("is the journal itself"), "{}", ran.err);
    let nowhere = bench.root.path().join("no such folder/copy.sqlite");
    assert_ne!(bench.run(&["backup", words(&nowhere)]).code, 0);
    bench.assert_sound();

    let empty = Bench::new(2, 20);
    let ran = empty.run(&["backup", words(&empty.root.path().join("copy.sqlite"))]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("nothing to back up"), "{}", ran.err);
}

#[test]
fn a_damaged_journal_is_not_backed_up_as_if_it_were_sound() {
    let bench = rehearsed();
    let connection = rusqlite::Connection::open(journal(&bench)).unwrap();
    connection.execute("UPDATE events SET at = at + 1 WHERE seq = 20", []).unwrap();
    let to = bench.root.path().join("copy.sqlite");
    let ran = bench.run(&["backup", words(&to)]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("row 20"), "{}", ran.err);
    let left = std::fs::read_dir(bench.root.path()).unwrap();
    let left = left.filter(|e| e.as_ref().unwrap().file_name().to_str().unwrap().contains("copy"));
    assert_eq!(left.count(), 0, "nothing is left that looks like a backup");
}

#[test]
fn a_restore_proves_what_it_restored_and_keeps_what_was_there() {
    let bench = made_up(&["--weeks", "1", "--garments", "20"]);
    let to = bench.root.path().join("copy.sqlite");
    let made = backup(&bench, &to);
    let then = shop(&bench, u64::MAX);
    // Later there is another journal in its place.
    let later = made_up(&["--weeks", "2", "--garments", "20"]);
    let longer = events(&later);
    let restored = answer(&later.run(&["restore", words(&to), "--json"]));
    for name in ["events", "last_seq", "last_at", "chain", "garments"] {
        assert_eq!(restored[name], made[name], "{name}");
    }
    assert_eq!(restored["another_journal"], true);
    assert_eq!(format!("{:?}", shop(&later, u64::MAX)), format!("{then:?}"));
    let counted: u64 = restored["garments"]
        .as_object()
        .unwrap()
        .values()
        .map(|count| count.as_u64().unwrap())
        .sum();
    assert_eq!(counted, u64::try_from(then.floor().all().count()).unwrap());
    later.assert_sound();

    // What was there is whole, under the name that was said.
    let kept = PathBuf::from(restored["kept"].as_str().unwrap());
    assert_eq!(beside(&later, "journal-before-restore"), std::slice::from_ref(&kept));
    let back = later.run(&["restore", words(&kept), "--json"]);
    assert_eq!(answer(&back)["events"], longer);
    assert_eq!(events(&later), longer);
    assert_eq!(beside(&later, "journal-before-restore").len(), 2);
}

#[test]
fn a_restore_heals_a_journal_that_nothing_else_can_read() {
    let bench = rehearsed();
    let to = bench.root.path().join("copy.sqlite");
    let made = backup(&bench, &to);
    std::fs::write(journal(&bench), "all gone").unwrap();
    assert_eq!(bench.run(&["past"]).code, 2);
    let restored = answer(&bench.run(&["restore", words(&to), "--json"]));
    assert_eq!(restored["events"], made["events"]);
    assert!(restored["not_in_backup"].is_null());
    let kept = restored["kept"].as_str().unwrap();
    assert_eq!(std::fs::read_to_string(kept).unwrap(), "all gone");
    bench.assert_sound();
}

#[test]
fn a_restore_refuses_what_is_no_sound_backup_and_changes_nothing() {
    let bench = rehearsed();
    let good = bench.root.path().join("good.sqlite");
    backup(&bench, &good);
    let bytes = std::fs::read(&good).unwrap();
    let bad = bench.root.path().join("bad.sqlite");
    let newer = || {
        std::fs::write(&bad, &bytes).unwrap();
        let connection = rusqlite::Connection::open(&bad).unwrap();
        connection.pragma_update(None, "user_version", 99).unwrap();
    };
    let flipped = || {
        std::fs::write(&bad, &bytes).unwrap();
        let connection = rusqlite::Connection::open(&bad).unwrap();
        connection.execute("UPDATE events SET up = up + 1 WHERE seq = 9", []).unwrap();
    };
    let cut = || std::fs::write(&bad, &bytes[..bytes.len() / 2]).unwrap();
    let text = || std::fs::write(&bad, "no journal").unwrap();
    let none = || std::fs::remove_file(&bad).unwrap();
    let before = bench.past();
    let makes: [(&str, &dyn Fn()); 5] = [
        ("version 99", &newer),
        ("row 9", &flipped),
        ("no backup", &cut),
        ("no backup", &text),
        ("no such file", &none),
    ];
    for (wanted, make) in makes {
        make();
        let ran = bench.run(&["restore", words(&bad)]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{wanted}: {}", ran.err);
        assert!(ran.err.contains(wanted), "{wanted}: {}", ran.err);
        assert_eq!(bench.past(), before);
        assert_eq!(beside(&bench, "journal-before").len(), 0);
        assert_eq!(beside(&bench, "journal.sqlite.part").len(), 0);
    }
}

#[test]
fn a_restore_under_a_running_board_is_refused() {
    let bench = Bench::new(2, 60);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.wait_saved();
    let to = bench.root.path().join("copy.sqlite");
    backup(&bench, &to);
    let ran = bench.run(&["restore", words(&to)]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("leave it first"), "{}", ran.err);
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let ran = bench.run(&["restore", words(&to)]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("(1 event longer than the backup)"), "{}", ran.out);
    // And the board goes on from there.
    let mut again = Pty::board(&bench);
    again.wait_for("4 blanks");
    assert_eq!(again.leave(), 0);
    bench.assert_sound();
}

#[test]
fn a_view_follows_the_journal_that_was_put_in_place() {
    let bench = made_up(&["--weeks", "1", "--garments", "20"]);
    let to = bench.root.path().join("copy.sqlite");
    backup(&bench, &to);
    let later = made_up(&["--weeks", "2", "--garments", "30"]);
    let mut pty = Pty::start(&later, &["watch"], &[]);
    pty.wait_for("[Pace]");
    for pane in ["[Shelf]", "[Coat]", "[Past]"] {
        pty.key(b"\t");
        pty.wait_for(pane);
    }
    let last = |bench: &Bench| format!("{}", events(bench));
    pty.wait_for(&last(&later));
    answer(&later.run(&["restore", words(&to), "--json"]));
    pty.wait_for(&last(&bench));
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_rehearsal_is_not_put_in_the_place_of_a_real_journal() {
    let bench = crate::files::real();
    let rehearsal = rehearsed();
    let from = journal(&rehearsal);
    let before = bench.past();
    let ran = bench.run(&["restore", words(&from)]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.contains("is of a rehearsal"), "{}", ran.err);
    assert_eq!(bench.past(), before);
}

#[test]
fn a_restore_says_where_what_was_there_is_another_journal() {
    let (one, other) = (made_up(&["--seed", "3"]), made_up(&["--seed", "4", "--garments", "9"]));
    let to = one.root.path().join("copy.sqlite");
    backup(&other, &to);
    let restored = answer(&one.run(&["restore", words(&to), "--json"]));
    assert_eq!(
        (&restored["another_journal"], restored["not_in_backup"].is_null()),
        (&true.into(), true)
    );
    let kept = restored["kept"].as_str().unwrap().to_owned();
    let back = one.run(&["restore", &kept]);
    assert!(back.out.contains("another journal"), "{}", back.out);
}

/// With the log or the lock of a running board written over, what it calls saved would be lost, and a second one write.
#[test]
fn a_backup_never_writes_among_the_files_of_a_data_directory() {
    let bench = Bench::new(2, 60);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.wait_saved();
    let link = bench.root.path().join("link.sqlite");
    std::os::unix::fs::symlink(bench.data().join("lock"), &link).unwrap();
    let hard = bench.root.path().join("hard.sqlite");
    std::fs::hard_link(bench.data().join("saved-upto"), &hard).unwrap();
    let names =
        ["journal.sqlite-wal", "journal.sqlite-shm", "lock", "saved-upto", "new", "inbox/x.json"];
    let targets = names.map(|name| bench.data().join(name));
    for to in targets.iter().chain([&link, &hard]) {
        let before = std::fs::read(to).ok();
        let ran = bench.run(&["backup", words(to), "--force"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}: {}", to.display(), ran.err);
        assert!(ran.err.contains("in a data directory"), "{}: {}", to.display(), ran.err);
        assert_eq!(std::fs::read(to).ok(), before, "{}", to.display());
    }
    // Nor into another one's, nor by another command.
    let other = rehearsed();
    let ran = bench.run(&["backup", words(&other.data().join("lock")), "--force"]);
    assert!(ran.code == 2 && ran.err.contains("in a data directory"), "{}", ran.err);
    let numbers = bench.root.path().join("n.csv");
    std::fs::write(&numbers, "1\n2\n3\n4\n5\n").unwrap();
    let plot = ["chart", words(&numbers), "--plot", words(&targets[2])];
    let ran = bench.run(&plot);
    assert!(ran.code == 2 && ran.err.contains("data directory"), "{}", ran.err);
    pty.key(b"1");
    pty.wait_for("shut press 1");
    pty.wait_saved();
    pty.kill();
    assert_eq!(bench.past_of("press-shut").len(), 1);
    bench.assert_sound();
}

#[test]
fn a_backup_of_another_station_is_refused_before_anything_moves() {
    let bench = crate::files::real();
    let to = bench.root.path().join("copy.sqlite");
    backup(&bench, &to);
    let profile = std::fs::read_to_string(bench.station()).unwrap();
    let other = profile.replace("Station(", "Station(\n    id: \"b\",");
    std::fs::write(bench.station(), other).unwrap();
    let before = std::fs::read(journal(&bench)).unwrap();
    let ran = bench.run(&["restore", words(&to)]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.contains("is of station \"a\", and this is station \"b\""), "{}", ran.err);
    assert!(std::fs::read(journal(&bench)).unwrap() == before);
    for name in ["journal-before", "journal.sqlite.part"] {
        assert_eq!(beside(&bench, name).len(), 0, "{name}");
    }
}

/// The check's questions are all about one moment: a board that writes meanwhile is no damage.
#[test]
fn a_check_beside_a_working_board_finds_a_sound_journal_sound() {
    use dwell::shell::journal::lock::Lock;
    use dwell::shell::journal::{Reader, Writer};
    let bench = crate::files::real();
    let mut last = None;
    Reader::of(&bench.data()).unwrap().events_after(0, |event| last = Some(event)).unwrap();
    let mut event = last.unwrap();
    let writer = Writer::open(&bench.data(), Lock::take(&bench.data()).unwrap()).unwrap();
    let ended = std::sync::atomic::AtomicBool::new(false);
    std::thread::scope(|threads| {
        threads.spawn(|| {
            while !ended.load(std::sync::atomic::Ordering::Relaxed) {
                event.seq += 1;
                writer.write(vec![event.clone()]);
                std::thread::sleep(std::time::Duration::from_millis(1));
            }
        });
        for round in 0..6 {
            let ran = bench.run(&["check"]);
            ended.store(round == 5 || ran.code != 0, std::sync::atomic::Ordering::Relaxed);
            assert_eq!((ran.code, ran.err.as_str()), (0, ""), "round {round}");
        }
    });
    writer.close(std::time::Duration::from_secs(60));
}
