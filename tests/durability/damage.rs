//! Files that were damaged in any place: dwell check finds it, and what it does not find has changed nothing.

use rusqlite::Connection;

use crate::bench::Bench;
use crate::files::{journal, made_up, rehearsed};
use crate::pty::Pty;
use crate::random::Random;

const FLIPS: u64 = 120;

/// The journal as one file, without a write-ahead log beside it.
fn in_one_file(bench: &Bench) -> Vec<u8> {
    let connection = Connection::open(journal(bench)).unwrap();
    connection.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(())).unwrap();
    drop(connection);
    std::fs::read(journal(bench)).unwrap()
}

#[test]
fn a_flipped_byte_anywhere_is_found_or_has_changed_nothing() {
    let bench = made_up(&["--garments", "60"]);
    let whole = in_one_file(&bench);
    let told = bench.run(&["past", "--json"]).out;
    let mut random = Random(11);
    let mut found = 0;
    for flip in 0..FLIPS {
        let place = usize::try_from(random.below(whole.len() as u64)).unwrap();
        let mut bytes = whole.clone();
        bytes[place] ^= 1 << random.below(8);
        std::fs::write(journal(&bench), &bytes).unwrap();
        let ran = bench.run(&["check"]);
        if ran.code == 0 {
            // Room that no row, no index and no name lies in.
            assert_eq!(bench.run(&["past", "--json"]).out, told, "flip {flip} at byte {place}");
        } else {
            assert!(!ran.err.is_empty() && ran.out.is_empty(), "flip {flip} at byte {place}");
            found += 1;
        }
    }
    assert!(found > FLIPS / 2, "only {found} of {FLIPS} were found");
}

#[test]
fn a_truncated_file_is_found_wherever_it_ends() {
    let bench = rehearsed();
    let whole = in_one_file(&bench);
    let mut random = Random(5);
    let mut ends: Vec<u64> = (0..30).map(|_| random.below(whole.len() as u64)).collect();
    // Nothing at all, half a head, whole pages, all but the last byte.
    ends.extend([0, 50, 100, 4096, 8192, whole.len() as u64 - 4096, whole.len() as u64 - 1]);
    for end in ends {
        std::fs::write(journal(&bench), &whole[..usize::try_from(end).unwrap()]).unwrap();
        let ran = bench.run(&["check"]);
        assert!(ran.code != 0, "cut at {end} of {}: {}", whole.len(), ran.out);
        assert!(!ran.err.is_empty() && ran.out.is_empty(), "cut at {end}: {}", ran.err);
    }
}

#[test]
fn garbage_rows_and_missing_rows_are_found() {
    for (change, wanted) in [
        (
            "INSERT INTO events SELECT station, seq + 1, act, at, boot, up, version, kind, '{\"seq\":', sum
             FROM events ORDER BY seq DESC LIMIT 1",
            "",
        ),
        (
            "INSERT INTO events SELECT 'zz', 1, 1, at, boot, up, version, 'garbage', '{', 7
             FROM events LIMIT 1",
            "of another station",
        ),
        (
            "INSERT INTO events SELECT 'Z', 1, 1, at, boot, up, version, 'garbage', '{', 7
             FROM events LIMIT 1",
            "row 1",
        ),
        ("DELETE FROM events WHERE seq = 1", "gap"),
        ("DELETE FROM events WHERE seq BETWEEN 10 AND 12", "gap"),
        ("UPDATE events SET version = 9 WHERE seq = 12", "newer"),
        ("DROP INDEX events_garment", "events_garment"),
    ] {
        let bench = rehearsed();
        bench.assert_sound();
        let connection = Connection::open(journal(&bench)).unwrap();
        connection.execute_batch(change).unwrap_or_else(|wrong| panic!("{change}: {wrong}"));
        drop(connection);
        let ran = bench.run(&["check"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{change}: {}", ran.err);
        assert!(ran.err.contains(wanted), "{change}: {}", ran.err);
    }
}

#[test]
fn rows_missing_at_the_end_are_known_by_the_snapshot() {
    let bench = crate::snapshots::a_long_one();
    bench.assert_sound();
    let connection = Connection::open(journal(&bench)).unwrap();
    connection.execute_batch("DELETE FROM events WHERE seq > 400").unwrap();
    drop(connection);
    let ran = bench.run(&["check"]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("ends with row 400"), "{}", ran.err);
}

/// Much of a day's work lies in the write-ahead log alone.
#[test]
fn a_flipped_bit_in_the_log_is_found_and_what_is_left_of_it_is_kept() {
    let bench = Bench::new(2, 60);
    bench.take(12);
    let mut pty = Pty::board(&bench);
    pty.wait_for("12 blanks");
    for _ in 0..3 {
        for (key, said) in [(b"1", "shut press 1"), (b"1", "opened press 1")] {
            pty.key(key);
            pty.wait_for(said);
            pty.wait_saved();
        }
    }
    pty.kill();
    let events = bench.past().len();
    let log = bench.data().join("journal.sqlite-wal");
    let mut bytes = std::fs::read(&log).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 4;
    std::fs::write(&log, &bytes).unwrap();
    drop(std::fs::remove_file(bench.data().join("journal.sqlite-shm")));
    let ran = bench.run(&["check"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.contains(&format!("row {events} was saved")), "{}", ran.err);

    let mut again = Pty::board(&bench);
    again.wait_for("EVENTS ARE GONE");
    again.wait_saved();
    assert_eq!(again.leave(), 0);
    let kept = |end: &str| {
        let all = std::fs::read_dir(bench.data()).unwrap().flatten().map(|entry| entry.path());
        let name = |path: &std::path::PathBuf| path.to_string_lossy().into_owned();
        all.map(|path| name(&path))
            .find(|name| name.contains("journal-short-") && name.ends_with(end))
            .unwrap()
    };
    assert_eq!(std::fs::read(kept(".sqlite-wal")).unwrap(), bytes, "whoever can may look at it");
    assert!(std::fs::metadata(kept(".sqlite")).unwrap().len() > 0);
    bench.assert_sound();
}

/// People may keep tables and views of their own in the file; a trigger changes what is written.
#[test]
fn what_is_not_of_this_program_in_the_journal_is_said() {
    for (sql, name, code) in [
        ("CREATE TRIGGER eats AFTER INSERT ON events BEGIN SELECT 1; END", "trigger \"eats\"", 2),
        ("CREATE TABLE mine (n)", "table \"mine\"", 0),
        ("CREATE VIEW list AS SELECT seq FROM events", "view \"list\"", 0),
        ("CREATE INDEX slow ON events (body)", "index \"slow\"", 0),
    ] {
        let bench = rehearsed();
        Connection::open(journal(&bench)).unwrap().execute_batch(sql).unwrap();
        let ran = bench.run(&["check"]);
        assert_eq!(ran.code, code, "{sql}: {} {}", ran.out, ran.err);
        assert!((ran.out + &ran.err).contains(name), "{sql}");
    }
}

/// A trigger had eaten rows that the screen called saved.
#[test]
fn rows_that_a_trigger_takes_away_are_noticed_as_they_are_written() {
    let bench = Bench::new(2, 60);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.wait_saved();
    let meddler = Connection::open(journal(&bench)).unwrap();
    for body in ["DELETE FROM events WHERE seq = new.seq", "DELETE FROM events WHERE seq = 3"] {
        let made = format!("CREATE TRIGGER eats AFTER INSERT ON events BEGIN {body}; END");
        meddler.execute_batch(&made).unwrap();
        pty.key(b"1");
        // First that the file was touched, then by what.
        pty.wait_until("why", |shown| shown.contains("NOT SAVED") && shown.contains("trigger"));
        meddler.execute_batch("DROP TRIGGER eats").unwrap();
        pty.wait_until("it is saved", |shown| !shown.contains("NOT SAVED"));
    }
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    assert_eq!(bench.past_of("press-shut").len() + bench.past_of("press-opened").len(), 2);
    bench.assert_sound();
}
