//! The power is cut at random moments while keys come in: what the screen had called saved is there afterwards.

use std::time::Duration;

use crate::faulty::Fault;
use crate::outages::rescue_in;
use crate::pty::Pty;
use crate::random::Random;
use crate::replay::assert_each_in_one_place;
use crate::shown::{assert_all_told, is_act};
use crate::stage::{Stage, assert_in_order};

const GARMENTS: u32 = 40;

/// How many cuts: two dozen, or as many as `DWELL_CUTS` says.
fn cuts() -> u64 {
    std::env::var("DWELL_CUTS").ok().map_or(24, |cuts| cuts.parse().unwrap())
}

/// Strikes a few keys at random: presses mostly; handwork, undo and the steam now and then.
fn type_at_random(pty: &mut Pty, random: &mut Random) {
    for _key in 0..3 + random.below(6) {
        let keys = b"123412341234\r00-*s";
        let key = keys[usize::try_from(random.below(keys.len() as u64)).unwrap()];
        pty.key(&[key]);
    }
}

#[test]
fn what_was_shown_as_saved_outlives_every_power_cut() {
    let Some(mut stage) = Stage::set(4, 1) else { return };
    stage.take(GARMENTS);
    let mut random = Random(11);
    let mut shown: Vec<String> = Vec::new();
    let mut rows = 0;
    for cut in 0..cuts() {
        let mut pty = Pty::board(&stage);
        let contents = pty.wait_until("the order", |contents| contents.contains(" left"));
        assert!(!contents.contains("EVENTS ARE GONE"), "cut {cut}: {contents}");
        // Now and then syncs fail for a while before the end.
        let fails = cut % 4 == 3;
        type_at_random(&mut pty, &mut random);
        if fails {
            stage.fail(Fault::Syncs);
            type_at_random(&mut pty, &mut random);
            stage.mend();
            type_at_random(&mut pty, &mut random);
        }
        // Up to a sync after the last key, or well after it.
        std::thread::sleep(Duration::from_micros(random.below(120_000)));
        stage.disk.cut(&mut random);
        pty.kill();
        shown.extend(pty.saved().into_iter().filter(|message| is_act(message)));
        stage.disk.plug_in();

        stage.assert_sound();
        assert_in_order(&stage);
        let there = stage.past().len();
        assert!(there >= rows, "cut {cut}: rows went away");
        rows = there;
        assert_each_in_one_place(&stage.shop(), GARMENTS as usize);
        assert_all_told(&shown, &stage.run(&["past"]).out);
    }
    assert!(shown.len() as u64 > cuts(), "too little happened: {shown:?}");
    assert_eq!(stage.past_of("order-taken").len(), 1);
}

/// A disk behind a cable whose cache has lied, and which loses power while the board runs on.
#[test]
fn what_a_disk_forgot_that_had_called_it_synced_is_written_once_more() {
    for seed in 0..6 {
        let mut random = Random(seed);
        let Some(mut stage) = Stage::set(3, 60) else { return };
        let mut pty = stage.board(4);
        let before = stage.past().len();
        stage.fail(Fault::Lies);
        for (key, said) in [(b"1", "shut press 1 on A1-01"), (b"2", "shut press 2 on A1-02")] {
            pty.key(key);
            pty.wait_for(said);
            pty.wait_saved();
        }
        stage.disk.cut(&mut random);
        stage.mend();
        stage.disk.plug_in();
        assert_eq!(stage.past().len(), before, "the disk has forgotten nothing");
        pty.key(b"3");
        pty.wait_for("shut press 3 on A1-03");
        pty.wait_saved();
        assert_eq!(stage.presses_shut(), [1, 2, 3], "seed {seed}");
        assert_in_order(&stage);
        assert_eq!(pty.leave(), 0);
        stage.assert_sound();
        let again = Pty::board(&stage);
        again.wait_for("RUNNING");
        assert!(!again.contents().contains("EVENTS ARE GONE"), "{}", again.contents());
    }
}

/// The same, and the board is left before the disk is back: the rescue file fills the journal up.
#[test]
fn what_a_disk_forgot_is_taken_in_at_the_next_start() {
    let Some(mut stage) = Stage::set(3, 60) else { return };
    let mut pty = stage.board(4);
    stage.fail(Fault::Lies);
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    stage.disk.cut(&mut Random(1));
    stage.mend();
    stage.disk.pull_out();
    pty.key(b"2");
    pty.wait_for("NOT SAVED");
    pty.key(b"q");
    pty.wait_for("Not saved: 1 event,");
    pty.key(b"y");
    assert_eq!(pty.end_within(Duration::from_secs(3)), 0);
    stage.disk.plug_in();
    assert!(stage.presses_shut().is_empty(), "the disk has forgotten nothing");
    let mut again = Pty::board(&stage);
    again.wait_saved();
    assert_eq!(again.leave(), 0);
    assert_eq!(stage.presses_shut(), [1, 2]);
    assert_in_order(&stage);
    stage.assert_sound();
}

/// What a backup and a restore call done is so after a power cut: the file is whole, and it has its name.
#[test]
fn a_backup_and_a_restored_journal_outlive_a_power_cut() {
    for seed in 0..6 {
        let mut random = Random(seed);
        let Some(mut stage) = Stage::set(3, 60) else { return };
        let act = |stage: &Stage, key: &[u8], said: &str| {
            let mut pty = Pty::board(stage);
            pty.wait_for("Harbour choir");
            pty.key(key);
            pty.wait_for(said);
            pty.wait_saved();
            assert_eq!(pty.leave(), 0);
        };
        stage.take(4);
        act(&stage, b"1", "shut press 1 on A1-01");
        let copy = stage.root.path().join("disk/copy.sqlite");
        let done = |stage: &Stage, words: &[&str]| {
            let ran = stage.run(words);
            assert_eq!((ran.code, ran.err.as_str()), (0, ""), "seed {seed}: {}", ran.out);
        };
        done(&stage, &["backup", copy.to_str().unwrap()]);
        stage.disk.cut(&mut random);
        stage.disk.plug_in();
        act(&stage, b"2", "shut press 2 on A1-02");
        done(&stage, &["restore", copy.to_str().unwrap()]);
        stage.disk.cut(&mut random);
        stage.disk.plug_in();
        assert_eq!(stage.presses_shut(), [1], "seed {seed}");
        stage.assert_sound();
    }
}

#[test]
fn an_order_that_was_laid_down_outlives_a_power_cut() {
    let mut random = Random(5);
    for _cut in 0..6 {
        let Some(mut stage) = Stage::set(2, 60) else { return };
        stage.take(3);
        stage.disk.cut(&mut random);
        stage.disk.plug_in();
        let mut pty = Pty::board(&stage);
        pty.wait_for("3 blanks");
        pty.wait_saved();
        stage.disk.cut(&mut random);
        pty.kill();
        stage.disk.plug_in();
        assert_eq!(stage.past_of("order-taken").len(), 1);
        stage.assert_sound();
        let pty = Pty::board(&stage);
        pty.wait_for("3 blanks");
    }
}

#[test]
fn a_failed_sync_is_never_taken_for_a_success_later() {
    let mut random = Random(3);
    for cut in 0..6 {
        let Some(mut stage) = Stage::set(2, 60) else { return };
        let mut pty = stage.board(4);
        let before = stage.disk.failures();
        stage.fail(Fault::Syncs);
        pty.key(b"1");
        pty.wait_for("NOT SAVED");
        // What failed to sync is still read, and counts as clean.
        pty.wait_until("more attempts", |_| stage.disk.failures() > before + 3);
        assert!(pty.contents().contains("NOT SAVED"), "{}", pty.contents());
        stage.mend();
        pty.wait_saved();
        stage.disk.cut(&mut random);
        pty.kill();
        stage.disk.plug_in();
        assert_eq!(stage.presses_shut(), [1], "cut {cut}");
        stage.assert_sound();
    }
}

/// The journal cannot be written any more, though the disk works: what was rescued outlives the power as well.
#[test]
fn a_rescue_file_outlives_a_power_cut() {
    let mut random = Random(9);
    for cut in 0..4 {
        let Some(mut stage) = Stage::set(2, 60) else { return };
        let mut pty = stage.board(4);
        // Whatever else stands there is written anew before long; a directory stays in the way.
        let journal = stage.data().join("journal.sqlite");
        std::fs::remove_file(&journal).unwrap();
        std::fs::create_dir(&journal).unwrap();
        pty.key(b"1");
        pty.wait_for("NOT SAVED 1");
        pty.key(b"q");
        pty.wait_for("Not saved: 1 event,");
        pty.key(b"y");
        assert_eq!(pty.end_within(Duration::from_secs(3)), 0);
        stage.disk.cut(&mut random);
        stage.disk.plug_in();
        // A disk that takes its time is passed over for the user's own directory, which has no power cut here.
        let elsewhere = stage.home().join(".local/state/dwell");
        let rescued =
            [stage.data(), elsewhere].iter().filter_map(|folder| rescue_in(folder)).count();
        assert!(rescued > 0, "cut {cut}");
    }
}
