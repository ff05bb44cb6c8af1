//! Somebody else's hands on the files of a board that runs: what is called saved is what a fresh start would find.

use std::io::Read;
use std::path::PathBuf;
use std::process::Stdio;
use std::time::Duration;

use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer};
use dwell::shop::facts::fact::Event;

use crate::bench::Bench;
use crate::files::{journal, made_up};
use crate::pty::Pty;
use support::program::program;
use support::waiting::wait;

fn beside(bench: &Bench, end: &str) -> PathBuf {
    PathBuf::from(format!("{}{end}", journal(bench).display()))
}

/// A board that has shut press 1, all saved: the order in the journal's file, the press in the log alone.
fn working(presses: usize) -> (Bench, Pty) {
    let bench = Bench::new(presses, 60);
    bench.take(12);
    let mut first = Pty::board(&bench);
    first.wait_for("12 blanks");
    first.wait_saved();
    assert_eq!(first.leave(), 0);
    let mut pty = Pty::board(&bench);
    pty.wait_for("12 blanks");
    pty.wait_saved();
    shut(&mut pty, 1);
    pty.wait_saved();
    (bench, pty)
}

fn shut(pty: &mut Pty, press: u8) {
    pty.key(press.to_string().as_bytes());
    pty.wait_for(&format!("shut press {press} on"));
}

fn presses_shut(bench: &Bench) -> Vec<u64> {
    let shut = bench.past_of("press-shut");
    shut.iter().map(|event| event["press"].as_u64().unwrap()).collect()
}

/// The board is killed, and a start finds all that it called saved, without a word of trouble.
fn assert_found_afresh(bench: &Bench, mut pty: Pty, presses: &[u64]) {
    pty.kill();
    bench.assert_sound();
    assert_eq!(presses_shut(bench), presses);
    let mut again = Pty::board(bench);
    again.wait_saved();
    let contents = again.wait_until("each press that was shut to run", |contents| {
        contents.matches("RUNNING").count() == presses.len()
    });
    assert!(!contents.contains("EVENTS ARE GONE"), "{contents}");
    assert_eq!(again.leave(), 0);
    bench.assert_sound();
}

/// What is done to a board's files, by name.
type Harm = (&'static str, fn(&Bench));

const HARMS: [Harm; 7] = [
    ("the log is deleted", |bench| std::fs::remove_file(beside(bench, "-wal")).unwrap()),
    ("log and index are deleted", |bench| {
        std::fs::remove_file(beside(bench, "-wal")).unwrap();
        std::fs::remove_file(beside(bench, "-shm")).unwrap();
    }),
    ("the index is deleted", |bench| std::fs::remove_file(beside(bench, "-shm")).unwrap()),
    ("the log is emptied", |bench| {
        std::fs::File::options()
            .write(true)
            .open(beside(bench, "-wal"))
            .unwrap()
            .set_len(0)
            .unwrap();
    }),
    ("the log loses its end", |bench| {
        let log = std::fs::File::options().write(true).open(beside(bench, "-wal")).unwrap();
        log.set_len(log.metadata().unwrap().len() / 2).unwrap();
    }),
    ("a copy of the log replaces it", |bench| {
        let copy = beside(bench, "-copy");
        std::fs::copy(beside(bench, "-wal"), &copy).unwrap();
        std::fs::rename(copy, beside(bench, "-wal")).unwrap();
    }),
    ("the log is written over", |bench| {
        let length = std::fs::metadata(beside(bench, "-wal")).unwrap().len();
        std::fs::write(beside(bench, "-wal"), vec![7; usize::try_from(length).unwrap()]).unwrap();
    }),
];

#[test]
fn a_board_at_rest_whose_files_are_touched_says_so_and_writes_again() {
    for (what, harm) in HARMS {
        let (bench, mut pty) = working(3);
        let before = pty.raw().len();
        harm(&bench);
        // It may be right again before anybody has looked: what was drawn meanwhile counts.
        let was_drawn = || String::from_utf8_lossy(&pty.raw()[before..]).contains("NOT SAVED");
        pty.wait_until(what, |contents| contents.contains("NOT SAVED") || was_drawn());
        pty.wait_saved();
        shut(&mut pty, 2);
        pty.wait_saved();
        println!("{what}");
        assert_found_afresh(&bench, pty, &[1, 2]);
    }
}

#[test]
fn an_act_after_the_files_were_touched_is_saved_only_where_a_start_finds_it() {
    for (what, harm) in HARMS {
        let (bench, mut pty) = working(3);
        harm(&bench);
        shut(&mut pty, 2);
        pty.wait_saved();
        println!("{what}");
        assert_found_afresh(&bench, pty, &[1, 2]);
    }
}

/// An old backup, copied over the journal by hand: the file stays the same, its content does not. What came since the
/// backup fills pages that are not in the log.
#[test]
fn a_backup_that_is_copied_over_the_journal_of_a_running_board_loses_nothing() {
    for in_place in [true, false] {
        let (bench, mut pty) = working(4);
        let copy = bench.root.path().join("copy.sqlite");
        assert_eq!(bench.run(&["backup", copy.to_str().unwrap()]).code, 0);
        for order in 2..=16 {
            bench.take(order);
        }
        let orders = |bench: &Bench| bench.past_of("order-taken").len();
        pty.wait_until("the orders", |_| orders(&bench) == 16);
        assert_eq!(pty.leave(), 0);
        let mut pty = Pty::board(&bench);
        pty.wait_saved();
        shut(&mut pty, 2);
        pty.wait_saved();
        if in_place {
            std::fs::write(journal(&bench), std::fs::read(&copy).unwrap()).unwrap();
        } else {
            std::fs::rename(&copy, journal(&bench)).unwrap();
        }
        shut(&mut pty, 3);
        pty.wait_saved();
        shut(&mut pty, 4);
        pty.wait_saved();
        assert_found_afresh(&bench, pty, &[1, 2, 3, 4]);
        assert_eq!(orders(&bench), 16);
    }
}

/// What the board does not have in mind cannot be written again: it is never called saved.
#[test]
fn another_journal_in_its_place_is_never_written_to() {
    let (bench, mut pty) = working(3);
    let other = crate::files::rehearsed();
    let there = std::fs::read(journal(&other)).unwrap();
    std::fs::write(bench.data().join("new"), &there).unwrap();
    std::fs::rename(bench.data().join("new"), journal(&bench)).unwrap();
    pty.wait_for("NOT SAVED");
    shut(&mut pty, 2);
    pty.wait_for("NOT SAVED: 1 event;");
    std::thread::sleep(Duration::from_secs(2));
    assert!(pty.contents().contains("NOT SAVED 1"), "{}", pty.contents());
    pty.key(b"q");
    pty.wait_for("written to a rescue file now");
    pty.key(b"y");
    assert_eq!(pty.end_within(Duration::from_secs(3)), 0);
    assert!(std::fs::read(journal(&bench)).unwrap() == there, "the other journal was written to");
}

/// The lock is another file from here on: whoever starts now holds that one.
#[test]
fn a_board_whose_lock_was_taken_says_so_and_is_free_again_once_the_other_is_gone() {
    for other_acts in [false, true] {
        let (bench, mut pty) = working(4);
        let lock = bench.data().join("lock");
        std::fs::remove_file(&lock).unwrap();
        let mut other = Pty::start(&bench, &[], &[]);
        other.wait_for_step("A1-01 pre");
        // Both are at rest: within seconds exactly one of them writes.
        let holds = |pty: &Pty| {
            let contents = pty.contents();
            !contents.contains("NOT SAVED") && !contents.contains("VIEW ONLY")
        };
        pty.wait_until("one of them to say so", |_| !holds(&pty) || !holds(&other));
        if !holds(&pty) {
            pty.wait_for("another board writes in");
            if other_acts {
                shut(&mut other, 2);
                other.wait_saved();
            }
        }
        assert_eq!(other.leave(), 0);
        pty.wait_saved();
        shut(&mut pty, 3);
        pty.wait_saved();
        let presses: &[u64] = if other_acts { &[1, 2, 3] } else { &[1, 3] };
        assert_found_afresh(&bench, pty, presses);
    }
}

/// A reader that stays keeps the log from going into the file, so that far more lies in it alone than otherwise: it
/// outlives the log all the same.
#[test]
fn whatever_a_reader_keeps_in_the_log_alone_is_written_again_without_the_log() {
    let made = made_up(&["--weeks", "2", "--garments", "20"]);
    let mut acts: Vec<Vec<Event>> = Vec::new();
    let all = Reader::open(&made.data()).unwrap().unwrap();
    all.events_after(0, |event| match acts.last_mut() {
        Some(act) if act[0].act == event.act => act.push(event),
        _ => acts.push(vec![event]),
    })
    .unwrap();
    let bench = Bench::new(2, 60);
    std::fs::create_dir(bench.data()).unwrap();
    let writer = Writer::open(&bench.data(), Lock::take(&bench.data()).unwrap()).unwrap();
    let progress = writer.progress();
    let now = || progress.borrow().clone();
    let mut acts = acts.into_iter();
    let mut write = |least: u64| {
        let from = now().upto;
        while now().upto < from + least {
            let act = acts.next().unwrap();
            let last = act[act.len() - 1].seq;
            writer.write(act);
            wait(|| format!("{:?}", now()), || (now().upto >= last).then_some(()));
        }
    };
    write(600);
    let before = now().upto;
    // Another process that reads, and whose answer nobody takes: it stays in the midst of it.
    let mut reader = program()
        .env("DWELL_DATA", bench.data())
        .args(["past", "--json"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut answer = reader.stdout.take().unwrap();
    let mut first = [0];
    answer.read_exact(&mut first).unwrap();
    write(900);
    let saved = now().upto;
    std::fs::remove_file(beside(&bench, "-wal")).unwrap();
    wait(|| "NOT SAVED".into(), || now().trouble);
    wait(
        || format!("{:?}", now()),
        || (now().trouble.is_none() && now().upto >= saved).then_some(()),
    );
    let mut told = String::new();
    answer.read_to_string(&mut told).unwrap();
    assert!(reader.wait().unwrap().success());
    assert_eq!(told.lines().count() as u64, before, "the reader stayed at its moment");
    writer.close(Duration::from_secs(30));
    let proof = Reader::open(&bench.data()).unwrap().unwrap().verify().unwrap();
    assert_eq!(proof.last_seq, saved);
    bench.assert_sound();
}

/// Both have acted: of two histories the journal holds one. What the other board did is kept for somebody to read, and
/// said at the next start.
#[test]
fn of_two_boards_that_both_acted_one_is_saved_and_the_other_is_said_and_kept() {
    let (bench, mut pty) = working(4);
    // It cannot notice before the other has acted.
    pty.signal(rustix::process::Signal::STOP);
    std::fs::remove_file(bench.data().join("lock")).unwrap();
    let mut other = Pty::start(&bench, &[], &[]);
    other.wait_for_step("A1-01 pre");
    shut(&mut other, 2);
    other.wait_saved();
    pty.signal(rustix::process::Signal::CONT);
    pty.wait_for("NOT SAVED");
    pty.key(b"3");
    pty.wait_for("NOT SAVED 1");
    assert_eq!(other.leave(), 0);
    pty.key(b"q");
    pty.wait_for("Not saved: 1 event");
    pty.key(b"y");
    assert_eq!(pty.end_within(Duration::from_secs(5)), 0);
    let mut again = Pty::board(&bench);
    again.wait_for("RESCUE FILE NOT TAKEN IN");
    assert_eq!(again.leave(), 0);
    assert_eq!(presses_shut(&bench), [1, 2]);
    let kept = std::fs::read_dir(bench.data()).unwrap().map(|one| one.unwrap().path());
    let kept = kept.filter(|path| path.to_string_lossy().contains("not-taken"));
    let kept: Vec<String> = kept.map(|path| std::fs::read_to_string(path).unwrap()).collect();
    assert!(kept.len() == 1 && kept[0].contains("press-shut"), "{kept:?}");
    bench.assert_sound();
}
