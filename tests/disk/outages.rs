//! The disk fails for a while: the timers go on, the acts wait in their order, and are written once it works.

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
            flat.contains("NOT SAVED: 5 events wait") && flat.contains(reason)
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
    let contents = pty.wait_for("NOT SAVED: 5 events wait");
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
        let contents = pty.wait_for("5 events are not saved");
        assert!(contents.contains("opened press 1"), "says what would be lost:\n{contents}");
        pty.key(b"y");
        assert_eq!(pty.end_within(Duration::from_secs(3)), 0);
        pty.read_to_end();
        let said = String::from_utf8_lossy(&pty.raw()).into_owned();
        assert!(said.contains("5 events were not saved in the journal; they are in"), "{said}");
        stage.mend();
        for _start in 0..2 {
            let mut again = Pty::board(&stage);
            again.wait_saved();
            again.wait_for("A1-02 pre-press");
            assert_eq!(again.leave(), 0);
            assert_all_there(&stage);
        }
    }
}
