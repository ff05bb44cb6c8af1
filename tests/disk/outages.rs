//! The disk fails for a while: the timers go on, the acts wait in their order, and are written once it works.

use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::faulty::Fault;
use crate::pty::Pty;
use crate::stage::{Stage, assert_in_order};
use fuser::Errno;

/// Acts while the disk fails: a press that was shut calls, others are shut, an act is undone.
fn act_while_not_saved(pty: &mut Pty) {
    let rung = pty.raw().iter().filter(|byte| **byte == 7).count();
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_for("NOT SAVED");
    pty.wait_until("the call", |contents| {
        contents.contains("OPEN NOW") && contents.contains("NOT SAVED")
    });
    pty.wait_until("the bell", |_| pty.raw().iter().filter(|byte| **byte == 7).count() > rung);
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02");
    pty.key(b"1");
    pty.wait_for("opened press 1");
    pty.key(b"-");
    pty.wait_for("undid: opened press 1");
    pty.key(b"1");
    pty.wait_for("opened press 1");
}

/// What `act_while_not_saved` did, in its order.
fn assert_all_there(stage: &Stage) {
    let kinds: Vec<String> = stage
        .past()
        .iter()
        .map(|event| event["kind"].as_str().unwrap().to_owned())
        .filter(|kind| kind.starts_with("press-") || kind == "undone")
        .collect();
    assert_eq!(kinds, ["press-shut", "press-shut", "press-opened", "undone", "press-opened"]);
    assert_in_order(stage);
    stage.assert_sound();
}

/// What a start takes in is there, and the start after it finds nothing to take in again.
fn assert_taken_in_once(stage: &Stage) {
    for _start in 0..2 {
        let mut again = Pty::board(stage);
        again.wait_saved();
        again.wait_for_step("A1-02 pre");
        assert_eq!(again.leave(), 0);
        assert_all_there(stage);
    }
}

#[test]
fn whatever_fails_the_timers_go_on_and_writing_is_taken_up_again() {
    for (fault, reason) in [
        (Fault::Syncs, "the disk fails"),
        (Fault::Writes(Errno::EIO), "the disk fails"),
        (Fault::Writes(Errno::ENOSPC), "the disk is full"),
        (Fault::ReadOnly, "nothing can be written there"),
    ] {
        let Some(stage) = Stage::set(2, 2) else { return };
        let mut pty = stage.board(4);
        let before = stage.disk.failures();
        stage.fail(fault);
        act_while_not_saved(&mut pty);
        pty.wait_until(&format!("{fault:?}: count and reason"), |contents| {
            let flat = contents.replace('\n', "");
            flat.contains("NOT SAVED: 5 events;") && flat.contains(reason)
        });
        assert!(stage.disk.failures() > before, "{fault:?} was never met");
        stage.mend();
        pty.wait_saved();
        pty.wait_until("the banner to go", |contents| !contents.contains("NOT SAVED"));
        assert_all_there(&stage);
        assert_eq!(pty.leave(), 0, "{fault:?}");
        assert_all_there(&stage);
    }
}

#[test]
fn a_disk_that_was_pulled_out_is_written_again_once_it_is_back() {
    let Some(mut stage) = Stage::set(2, 2) else { return };
    let mut pty = stage.board(4);
    stage.disk.pull_out();
    act_while_not_saved(&mut pty);
    let contents = pty.wait_for("NOT SAVED: 5 events;");
    assert!(contents.contains("gone"), "{contents}");
    stage.disk.plug_in();
    pty.wait_saved();
    assert_all_there(&stage);
    assert_eq!(pty.leave(), 0);
    assert_all_there(&stage);
}

#[test]
fn what_cannot_be_saved_at_the_end_is_taken_in_at_the_next_start() {
    for fault in [Fault::Syncs, Fault::Writes(Errno::ENOSPC), Fault::ReadOnly] {
        let Some(stage) = Stage::set(2, 2) else { return };
        let mut pty = stage.board(4);
        stage.fail(fault);
        act_while_not_saved(&mut pty);
        pty.key(b"q");
        let contents = pty.wait_for("Not saved: 5 events");
        assert!(contents.contains("opened press 1"), "says what would be lost:\n{contents}");
        pty.key(b"y");
        assert_eq!(pty.end_within(Duration::from_secs(3)), 0);
        pty.read_to_end();
        let said = String::from_utf8_lossy(&pty.raw()).into_owned();
        assert!(said.contains("not saved in the journal: 5 events, written to"), "{said}");
        stage.mend();
        assert_taken_in_once(&stage);
    }
}

#[test]
fn the_rest_is_written_where_somebody_says_and_taken_in_from_there() {
    let Some(stage) = Stage::set(2, 2) else { return };
    let mut pty = stage.board(4);
    // Where everything is saved there is nothing to write: any other key stays.
    pty.key(b"q");
    pty.wait_for("Leave the board?");
    pty.key(b"e");
    pty.wait_until("the question to go", |contents| !contents.contains("Leave the board?"));
    stage.fail(Fault::ReadOnly);
    act_while_not_saved(&mut pty);
    pty.key(b"q");
    pty.wait_for("e writes them to a directory of your choice");
    pty.key(b"e");
    pty.wait_for("Where else");
    pty.burst(stage.root.path().join("nowhere").to_str().unwrap().as_bytes());
    pty.key(b"\r");
    pty.wait_for("no such directory");
    let stick = stage.root.path().join("stick");
    std::fs::create_dir(&stick).unwrap();
    // The name that was typed may hold these letters, and the same key again at once counts once.
    std::thread::sleep(Duration::from_millis(800));
    pty.key(b"q");
    pty.wait_for("Leave the board?");
    pty.key(b"e");
    name_folder(&mut pty, &stick);
    pty.wait_for("it goes into the data");
    pty.wait_for("NOT SAVED 5");
    // The machine dies: what was written elsewhere is all there is.
    pty.kill();
    stage.mend();
    assert!(stage.presses_shut().is_empty());
    let file = std::fs::read_dir(&stick).unwrap().next().unwrap().unwrap();
    std::fs::copy(file.path(), stage.data().join(file.file_name())).unwrap();
    assert_taken_in_once(&stage);
}

#[test]
fn a_damaged_rescue_file_is_said_and_kept() {
    let Some(stage) = Stage::set(2, 60) else { return };
    leave_unsaved(&stage, Fault::Syncs);
    let rescue = |folder: &std::path::Path| {
        let files = std::fs::read_dir(folder).into_iter().flatten().flatten();
        files.map(|file| file.path()).find(|path| path.to_string_lossy().contains("rescue"))
    };
    let state = stage.home().join(".local/state/dwell");
    let path = rescue(&state).or_else(|| rescue(&stage.data())).unwrap();
    let whole = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    let mut again = Pty::board(&stage);
    let contents = again.wait_for("RESCUE FILE NOT TAKEN IN");
    assert!(contents.contains("line 1"), "{contents}");
    assert_eq!(again.leave(), 0);
    let kept = rescue(&state).or_else(|| rescue(&stage.data())).unwrap();
    assert_eq!(std::fs::read_to_string(kept).unwrap(), whole[..whole.len() / 2]);
    stage.assert_sound();
}

/// Says where else what is not saved is to be written, once that is asked.
fn name_folder(pty: &mut Pty, folder: &Path) {
    pty.wait_for("Where else");
    for letter in folder.to_str().unwrap().bytes() {
        pty.burst(&[letter]);
    }
    pty.key(b"\r");
}

/// Shuts press 1 while something fails, and leaves.
fn leave_unsaved(stage: &Stage, fault: Fault) {
    let mut pty = stage.board(4);
    stage.fail(fault);
    pty.key(b"1");
    pty.wait_for("NOT SAVED");
    pty.key(b"q");
    pty.key(b"y");
    assert_eq!(pty.end_within(Duration::from_secs(3)), 0);
    stage.mend();
}

/// Leaves a rescue file of the event that press 1 was shut; where it lies (not on the disk that failed), and where
/// another is looked for.
fn rescued(stage: &Stage) -> (PathBuf, PathBuf) {
    leave_unsaved(stage, Fault::ReadOnly);
    let state = stage.home().join(".local/state/dwell");
    let here = rescue_in(&state).unwrap();
    let other = stage.data().join(here.file_name().unwrap());
    (here, other)
}

pub fn rescue_in(folder: &Path) -> Option<PathBuf> {
    let files = std::fs::read_dir(folder).into_iter().flatten().flatten();
    files.map(|file| file.path()).find(|path| path.to_string_lossy().ends_with(".jsonl"))
}

/// A rescue file's text with its last line, as JSON, changed.
fn with_last(text: &str, change: impl Fn(&mut serde_json::Value)) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let mut last = serde_json::from_str(&lines.pop().unwrap()).unwrap();
    change(&mut last);
    lines.push(last.to_string());
    lines.join("\n") + "\n"
}

#[test]
fn of_two_rescue_files_that_say_the_same_the_longer_is_taken_in() {
    let Some(stage) = Stage::set(2, 60) else { return };
    let (here, other) = rescued(&stage);
    let whole = std::fs::read_to_string(&here).unwrap();
    let shorter: Vec<&str> = whole.lines().collect();
    std::fs::write(other, shorter[..shorter.len() - 1].join("\n")).unwrap();
    let mut again = Pty::board(&stage);
    again.wait_saved();
    assert!(!again.contents().contains("NOT TAKEN IN"), "{}", again.contents());
    assert_eq!(again.leave(), 0);
    assert_eq!(stage.presses_shut(), [1]);
    assert_in_order(&stage);
}

#[test]
fn of_two_rescue_files_that_disagree_the_newer_is_taken_in_and_the_other_kept() {
    for other_is_newer in [true, false] {
        let Some(stage) = Stage::set(2, 60) else { return };
        let (here, other) = rescued(&stage);
        let whole = std::fs::read_to_string(&here).unwrap();
        let otherwise = with_last(&whole, |event| {
            let by = if other_is_newer { 1 } else { -1 };
            event["at"] = (event["at"].as_i64().unwrap() + by).into();
            let body = event["body"].as_str().unwrap();
            event["body"] = body.replace("\"press\":1", "\"press\":2").into();
        });
        assert_ne!(otherwise, whole);
        std::fs::write(&other, &otherwise).unwrap();
        let mut again = Pty::board(&stage);
        let contents = again.wait_for("RESCUE FILE NOT TAKEN IN");
        assert!(contents.contains("a newer one tells something else"), "{contents}");
        again.wait_saved();
        assert_eq!(again.leave(), 0);
        assert_eq!(stage.presses_shut(), [if other_is_newer { 2 } else { 1 }]);
        let (older, text) = if other_is_newer { (&here, whole) } else { (&other, otherwise) };
        let kept = std::fs::read_dir(older.parent().unwrap()).unwrap().flatten();
        let kept = kept.map(|file| file.path());
        let kept = kept.filter(|path| path.to_string_lossy().contains("not-taken"));
        let kept: Vec<String> = kept.map(|path| std::fs::read_to_string(path).unwrap()).collect();
        assert_eq!(kept, [text]);
        stage.assert_sound();
    }
}

#[test]
fn a_rescue_file_of_another_history_is_said_and_kept() {
    let Some(stage) = Stage::set(2, 60) else { return };
    let (here, _) = rescued(&stage);
    // Meanwhile the journal went on without it.
    let away = stage.root.path().join("away");
    std::fs::copy(&here, &away).unwrap();
    std::fs::remove_file(&here).unwrap();
    let mut between = Pty::board(&stage);
    between.wait_for("4 blanks");
    between.key(b"2");
    between.wait_for("shut press 2");
    between.wait_saved();
    assert_eq!(between.leave(), 0);
    std::fs::copy(&away, &here).unwrap();
    let mut again = Pty::board(&stage);
    let contents = again.wait_for("RESCUE FILE NOT TAKEN IN");
    assert!(contents.replace('\n', "").contains("is another than in the journal"), "{contents}");
    assert_eq!(again.leave(), 0);
    assert_eq!(stage.presses_shut(), [2]);
    stage.assert_sound();
}

#[test]
fn a_story_that_cannot_be_read_ends_nothing() {
    let Some(stage) = Stage::set(2, 60) else { return };
    let mut pty = stage.board(40);
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    // Leaving brings everything from the log into the journal's own file.
    assert_eq!(pty.leave(), 0);
    let mut again = Pty::board(&stage);
    again.wait_saved();
    let before = stage.disk.failures();
    stage.fail(Fault::Reads);
    again.key(b"l");
    again.wait_for("Look up a garment");
    for letter in "A1-01".bytes() {
        again.burst(&[letter]);
    }
    again.key(b"+");
    again.wait_until("the journal to be read", |_| stage.disk.failures() > before);
    again.wait_for("the disk fails");
    again.key(b"2");
    again.wait_for("shut press 2");
    assert!(again.runs());
}

/// A disk that is really full: a tmpfs of little more than the journal.
#[test]
fn a_full_disk_is_said_and_written_again_once_there_is_room() {
    let bench = crate::bench::Bench::new(2, 2);
    let Some(_small) = crate::stage::SmallDisk::mount(&bench.data(), "512k") else { return };
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.wait_saved();
    let ballast = bench.data().join("ballast");
    let mut file = std::fs::File::create(&ballast).unwrap();
    while std::io::Write::write(&mut file, &[1; 4096]).is_ok_and(|written| written > 0) {}
    act_until_full(&mut pty);
    let contents = pty.contents();
    assert!(contents.contains("the disk is full"), "{contents}");
    drop(file);
    std::fs::remove_file(ballast).unwrap();
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    assert_in_order(&bench);
    bench.assert_sound();
    let shop = crate::replay::shop(&bench, u64::MAX);
    crate::replay::assert_each_in_one_place(&shop, 4);
    assert_eq!(bench.past_of("press-shut").len(), bench.past_of("press-opened").len());
}

/// Shuts and opens a press until the log has no room any more; leaves it open.
fn act_until_full(pty: &mut Pty) {
    for _round in 0..10 {
        pty.key(b"1");
        pty.wait_for("shut press 1");
        pty.key(b"1");
        pty.wait_for("opened press 1");
        pty.key(b"-");
        pty.wait_for("undid: opened press 1");
        pty.key(b"-");
        pty.wait_for("undid: shut press 1");
        if pty.contents().contains("NOT SAVED") {
            break;
        }
    }
    pty.wait_for("NOT SAVED");
    pty.key(b"1");
    pty.wait_for("shut press 1");
    pty.wait_for("OPEN NOW");
    pty.key(b"1");
    pty.wait_for("opened press 1");
}

/// After an error a disk comes back read-only: just when the journal is wanted.
#[test]
fn a_journal_that_was_left_in_order_can_be_read_and_backed_up_from_a_read_only_disk() {
    let bench = crate::bench::Bench::new(2, 60);
    let Some(small) = crate::stage::SmallDisk::mount(&bench.data(), "4m") else { return };
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    for end in ["-wal", "-shm"] {
        // A reader may leave them behind, empty.
        drop(std::fs::remove_file(bench.data().join(format!("journal.sqlite{end}"))));
    }
    small.make_read_only();
    bench.assert_sound();
    assert_eq!(bench.past_of("press-shut").len(), 1);
    let copy = bench.root.path().join("copy.sqlite");
    let ran = bench.run(&["backup", copy.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let mut view = Pty::start(&bench, &["watch"], &[]);
    view.wait_for("in presses 1");
    assert_eq!(view.leave(), 0);
}

#[test]
fn what_is_written_elsewhere_twice_is_there_twice() {
    let Some(stage) = Stage::set(2, 60) else { return };
    let stick = stage.root.path().join("stick");
    std::fs::create_dir(&stick).unwrap();
    let mut pty = stage.board(4);
    stage.fail(Fault::ReadOnly);
    for (press, files) in [(b"1", 1), (b"2", 2)] {
        pty.key(press);
        pty.wait_for("shut press");
        pty.wait_for("NOT SAVED");
        pty.key(b"q");
        pty.wait_for("e writes them");
        pty.key(b"e");
        name_folder(&mut pty, &stick);
        pty.wait_until("the file", |_| std::fs::read_dir(&stick).unwrap().count() == files);
        std::thread::sleep(Duration::from_millis(800));
    }
    pty.kill();
    stage.mend();
    for file in std::fs::read_dir(&stick).unwrap().flatten() {
        std::fs::copy(file.path(), stage.data().join(file.file_name())).unwrap();
    }
    let mut again = Pty::board(&stage);
    again.wait_saved();
    assert!(!again.contents().contains("NOT TAKEN IN"), "{}", again.contents());
    assert_eq!(again.leave(), 0);
    assert_eq!(stage.presses_shut(), [1, 2], "the longer goes on from the shorter");
    assert_in_order(&stage);
}
