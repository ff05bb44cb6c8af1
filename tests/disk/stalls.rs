//! The disk takes its time: no key and no picture waits for it.

use std::time::Duration;

use crate::faulty::Hold;
use crate::pty::Pty;
use crate::stage::Stage;

/// Strikes a press key and waits for its words; how long they took to come.
fn time_to_shut(pty: &mut Pty, press: u8) -> Duration {
    let struck = pty.key(&[b'0' + press]);
    pty.wait_for(&format!("shut press {press} on"));
    struck.elapsed()
}

/// Waits until the running figures have changed: they are drawn by colour alone, so what comes out is looked at.
fn wait_for_figures(pty: &Pty) {
    let before = pty.raw().len();
    pty.wait_until("the figures to go on", |_| pty.raw().len() > before);
}

#[test]
fn keys_and_timers_go_on_while_a_sync_is_held() {
    let Some(stage) = Stage::set(4, 60) else { return };
    let mut pty = stage.board(8);
    let free = [time_to_shut(&mut pty, 1), time_to_shut(&mut pty, 2)];
    pty.wait_saved();
    let held = stage.disk.hold(Hold::Syncs);
    let soon = time_to_shut(&mut pty, 3);
    pty.wait_until("the sync to be asked for", |_| held.is_asked());
    let contents = pty.contents();
    assert!(!contents.lines().next().unwrap().trim_end().ends_with(" saved"), "{contents}");
    let later = time_to_shut(&mut pty, 4);
    wait_for_figures(&pty);
    pty.key(b"\t");
    pty.wait_until("another pane", |contents| !contents.contains("[Bench]"));
    let syncs = stage.disk.syncs();
    assert!(held.is_asked(), "all that was drawn while the sync was held");
    drop(held);
    pty.wait_saved();
    assert!(stage.disk.syncs() > syncs);
    println!(
        "key to words: {:?} and {:?} with a free disk, {soon:?} and {later:?} with a held sync, {:.2}x",
        free[0],
        free[1],
        (soon + later).as_secs_f64() / (free[0] + free[1]).as_secs_f64()
    );
    assert_eq!(pty.leave(), 0);
    assert_eq!(stage.presses_shut(), [1, 2, 3, 4]);
    stage.assert_sound();
}

#[test]
fn a_start_on_a_disk_that_answers_nothing_says_what_it_waits_for() {
    let Some(stage) = Stage::set(2, 60) else { return };
    let mut pty = stage.board(4);
    pty.key(b"1");
    pty.wait_for("shut press 1");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let held = stage.disk.hold(Hold::Everything);
    let mut again = Pty::start(&stage, &[], &[]);
    let contents = again.wait_for("still waiting for the disk");
    assert!(contents.replace('\n', "").contains("disk/data does not answer"), "{contents}");
    assert!(!contents.contains("[Bench]"));
    drop(held);
    // It goes on by itself, and nothing more is written over the board.
    again.wait_for("RUNNING");
    again.key(b"2");
    let contents = again.wait_for("shut press 2");
    assert!(!contents.contains("still waiting"), "{contents}");
    again.wait_saved();
    assert_eq!(again.leave(), 0);
    assert_eq!(stage.presses_shut(), [1, 2]);
}

#[test]
fn keys_and_timers_go_on_while_the_disk_answers_nothing() {
    let Some(stage) = Stage::set(4, 60) else { return };
    let mut pty = stage.board(8);
    let held = stage.disk.hold(Hold::Everything);
    time_to_shut(&mut pty, 1);
    pty.wait_until("something to be asked of the disk", |_| held.is_asked());
    time_to_shut(&mut pty, 2);
    // The inbox is looked into twice a second: long enough for that to have come up.
    for _second in 0..2 {
        wait_for_figures(&pty);
        std::thread::sleep(Duration::from_millis(700));
    }
    time_to_shut(&mut pty, 3);
    assert!(held.is_asked());
    drop(held);
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    assert_eq!(stage.presses_shut(), [1, 2, 3]);
    stage.assert_sound();
}

#[test]
fn leaving_does_not_wait_for_a_held_sync() {
    let Some(stage) = Stage::set(2, 60) else { return };
    let mut pty = stage.board(4);
    let held = stage.disk.hold(Hold::Syncs);
    time_to_shut(&mut pty, 1);
    pty.wait_until("the sync to be asked for", |_| held.is_asked());
    pty.key(b"q");
    pty.wait_for("Leave the board?");
    pty.key(b"y");
    let said = || String::from_utf8_lossy(&pty.raw()).into_owned();
    pty.wait_until("the last words", |_| said().contains("the next start takes that in"));
    assert!(held.is_asked(), "the last words came while the sync was held");
    // The kernel keeps a process whose request it has handed on.
    drop(held);
    assert_eq!(pty.end_within(Duration::from_secs(5)), 0);
    for _start in 0..2 {
        let mut again = Pty::board(&stage);
        again.wait_for_step("A1-01 pre");
        again.wait_saved();
        assert_eq!(again.leave(), 0);
        assert_eq!(
            stage.presses_shut(),
            [1],
            "taken in once, though the sync came through in the end"
        );
        stage.assert_sound();
    }
}
