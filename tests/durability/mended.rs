//! A journal whose rows are not all what was written: the board opens on the sound part with words, keeps what it found,
//! and can be worked.

use std::path::PathBuf;

use rusqlite::Connection;

use crate::bench::Bench;
use crate::files::journal;
use crate::pty::Pty;

/// A bench whose board was left with so many events.
fn left() -> (Bench, usize) {
    let bench = Bench::new(3, 60);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.wait_saved();
    for press in [b"1", b"2"] {
        pty.key(press);
        pty.wait_for(&format!("shut press {}", char::from(press[0])));
        pty.wait_saved();
    }
    assert_eq!(pty.leave(), 0);
    let events = bench.past().len();
    (bench, events)
}

fn kept(bench: &Bench) -> PathBuf {
    let all = std::fs::read_dir(bench.data()).unwrap().flatten().map(|entry| entry.path());
    all.into_iter().find(|path| path.to_string_lossy().contains("journal-damaged-")).unwrap()
}

#[test]
fn a_damaged_journal_opens_with_words_and_can_be_worked() {
    for (change, sound) in [
        ("DELETE FROM events WHERE seq = 4", 3),
        ("UPDATE events SET at = at + 1 WHERE seq = 4", 3),
        ("UPDATE events SET body = '{' WHERE seq = (SELECT max(seq) FROM events)", 4),
        ("UPDATE events SET seq = 9 WHERE seq = 5", 4),
    ] {
        let (bench, events) = left();
        assert_eq!(events, 5, "an order, the station, a recipe and two presses");
        let connection = Connection::open(journal(&bench)).unwrap();
        assert_eq!(connection.execute(change, []).unwrap(), 1, "{change}");
        drop(connection);
        let found = std::fs::read(journal(&bench)).unwrap();
        // Every command that meets it names the way back.
        let ran = bench.run(&["past"]);
        assert_eq!(ran.code, 2, "{change}: {}", ran.err);
        let ran = bench.run(&["check"]);
        assert!(ran.code == 2 && !ran.err.is_empty(), "{change}: {}", ran.err);

        let mut pty = Pty::board(&bench);
        let contents = pty.wait_for("EVENTS ARE GONE").replace('\n', "");
        let said = format!("the journal ends with number {sound}");
        assert!(contents.contains(&said), "{change}: {contents}");
        pty.key(b"3");
        pty.wait_for("shut press 3");
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
        let lost = bench.past_of("events-lost");
        assert_eq!(lost.len(), 1, "{change}");
        assert_eq!(lost[0]["after"], sound, "{change}");
        assert!(lost[0]["upto"].as_u64() >= Some(5), "{change}: {:?}", lost[0]);
        assert!(std::fs::read(kept(&bench)).unwrap() == found, "{change}: it is kept as it was");

        // Said once.
        let mut again = Pty::board(&bench);
        again.wait_saved();
        assert!(!again.contents().contains("EVENTS ARE GONE"), "{}", again.contents());
        assert_eq!(again.leave(), 0);
    }
}

#[test]
fn the_banner_names_the_way_back() {
    let (bench, _) = left();
    let connection = Connection::open(journal(&bench)).unwrap();
    connection.execute("DELETE FROM events WHERE seq = 4", []).unwrap();
    drop(connection);
    let mut pty = Pty::start(&bench, &[], &[]);
    pty.resize(120, 36);
    let contents = pty.wait_for("EVENTS ARE GONE").replace('\n', "");
    assert!(contents.contains("journal-damaged-"), "{contents}");
    assert!(contents.contains("dwell restore"), "{contents}");
    assert_eq!(pty.leave(), 0);
}

/// A journal of another station is refused before anything is moved, damaged or not.
#[test]
fn a_damaged_journal_of_another_station_stays_as_it_is() {
    let (bench, _) = left();
    let connection = Connection::open(journal(&bench)).unwrap();
    connection.execute("DELETE FROM events WHERE seq = 4", []).unwrap();
    drop(connection);
    let profile = std::fs::read_to_string(bench.station()).unwrap();
    let other = profile.replace("Station(", "Station(\n    id: \"b\",");
    std::fs::write(bench.station(), other).unwrap();
    let before = std::fs::read(journal(&bench)).unwrap();
    let mut pty = Pty::start(&bench, &[], &[]);
    assert_eq!(pty.end_within(std::time::Duration::from_secs(10)), 2);
    pty.read_to_end();
    let said = String::from_utf8_lossy(&pty.raw()).into_owned();
    assert!(said.contains("belongs to station \"a\""), "{said}");
    assert!(std::fs::read(journal(&bench)).unwrap() == before);
}
