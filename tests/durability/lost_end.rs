//! A journal that comes back without its end, as an old copy put in its place by hand, or cut to nothing: no row that is
//! left tells of it.

use crate::bench::Bench;
use crate::files::journal;
use crate::pty::Pty;

/// What each of two sessions left of the journal; its events, and theirs at the end of the first.
struct Sessions {
    bench: Bench,
    old: Vec<u8>,
    old_events: usize,
    events: usize,
}

fn two_sessions() -> Sessions {
    let bench = Bench::new(3, 60);
    bench.take(4);
    let shut = |press: &[u8], said: &str| {
        let mut pty = Pty::board(&bench);
        pty.wait_for("[Bench]");
        pty.wait_for("Harbour choir");
        pty.key(press);
        pty.wait_for(said);
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
    };
    shut(b"1", "shut press 1 on A1-01");
    // Leaving has brought everything from the log into the file.
    let (old, old_events) = (std::fs::read(journal(&bench)).unwrap(), bench.past().len());
    shut(b"2", "shut press 2 on A1-02");
    bench.assert_sound();
    let events = bench.past().len();
    assert!(events > old_events);
    Sessions { bench, old, old_events, events }
}

/// Puts another file in the place of the journal; nothing is to be read into it from the log of the one before.
fn put(bench: &Bench, bytes: &[u8]) {
    for end in ["-wal", "-shm"] {
        let path = format!("{}{end}", journal(bench).display());
        // A reader leaves them behind, or not.
        drop(std::fs::remove_file(path));
    }
    std::fs::write(journal(bench), bytes).unwrap();
}

#[test]
fn rows_that_are_missing_at_the_end_are_said_recorded_and_said_once() {
    let Sessions { bench, old, old_events, events } = two_sessions();
    put(&bench, &old);
    let ran = bench.run(&["check"]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    let said = format!("ends with row {old_events}, but row {events} was saved in it");
    assert!(ran.err.contains(&said), "{}", ran.err);

    let mut pty = Pty::board(&bench);
    let contents = pty.wait_for("EVENTS ARE GONE").replace('\n', "");
    let said = format!("{events} were saved, the journal ends with number {old_events}");
    assert!(contents.contains(&said), "{contents}");
    // The board is there to be worked at all the same.
    pty.key(b"3");
    pty.wait_for("shut press 3 on A1-03");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let lost = bench.past_of("events-lost");
    assert_eq!(lost.len(), 1);
    assert_eq!((&lost[0]["after"], &lost[0]["upto"]), (&old_events.into(), &events.into()));
    assert_eq!(lost[0]["seq"], old_events + 1);
    bench.assert_sound();
    let mut again = Pty::board(&bench);
    again.wait_for_step("A1-03 pre");
    assert!(!again.contents().contains("EVENTS ARE GONE"), "{}", again.contents());
    assert_eq!(again.leave(), 0);
}

#[test]
fn a_journal_that_was_emptied_is_said() {
    let Sessions { bench, events, .. } = two_sessions();
    for emptied in [true, false] {
        if emptied {
            put(&bench, b"");
        } else {
            std::fs::remove_file(journal(&bench)).unwrap();
        }
        assert_eq!(bench.run(&["check"]).code, 2);
        let mut pty = Pty::board(&bench);
        let contents = pty.wait_for("EVENTS ARE GONE").replace('\n', "");
        assert!(contents.contains("the journal ends with number 0"), "{contents}");
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
        assert_eq!(bench.past_of("events-lost").len(), 1, "emptied: {emptied}, {events} before");
        bench.assert_sound();
    }
}

#[test]
fn a_restored_backup_is_no_loss_that_nobody_knows_of() {
    let Sessions { bench, old, .. } = two_sessions();
    let backup = bench.root.path().join("backup.sqlite");
    std::fs::write(&backup, old).unwrap();
    let ran = bench.run(&["restore", backup.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    bench.assert_sound();
    let mut pty = Pty::board(&bench);
    let contents = pty.wait_for_step("A1-01 pre");
    assert!(!contents.contains("EVENTS ARE GONE"), "{contents}");
    assert_eq!(pty.leave(), 0);
    assert_eq!(bench.past_of("events-lost").len(), 0);
}
