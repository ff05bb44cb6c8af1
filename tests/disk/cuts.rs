//! The power is cut at random moments while keys come in: what the screen had called saved is there afterwards.

use std::time::Duration;

use crate::faulty::Fault;
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
        pty.wait_until("the order", |contents| contents.contains("Harbour choir"));
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

#[test]
fn an_order_that_was_laid_down_outlives_a_power_cut() {
    let mut random = Random(5);
    for _cut in 0..6 {
        let Some(mut stage) = Stage::set(2, 60) else { return };
        stage.take(3);
        stage.disk.cut(&mut random);
        stage.disk.plug_in();
        let mut pty = Pty::board(&stage);
        pty.wait_for("blanks 3");
        pty.wait_saved();
        stage.disk.cut(&mut random);
        pty.kill();
        stage.disk.plug_in();
        assert_eq!(stage.past_of("order-taken").len(), 1);
        stage.assert_sound();
        let pty = Pty::board(&stage);
        pty.wait_for("blanks 3");
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
