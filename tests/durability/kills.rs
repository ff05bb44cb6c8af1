//! The board is killed at random moments while keys come in, and started again.

use std::time::Duration;

use crate::bench::Bench;
use crate::pty::Pty;
use crate::random::Random;
use crate::replay::{assert_each_in_one_place, same, shop};
use crate::shown::{assert_all_told, is_act};

/// How many kills: a few dozen with the other tests, as many as DWELL_KILLS says where somebody asks for more.
fn kills() -> usize {
    let asked = std::env::var("DWELL_KILLS").ok();
    asked.map_or(24, |kills| kills.parse().expect("DWELL_KILLS is a number"))
}

#[test]
fn what_was_shown_as_saved_outlives_every_kill() {
    let kills = kills();
    // Enough that something is left to do at the last kill.
    let garments = kills.max(40);
    let bench = Bench::new(4, 1);
    bench.take(u32::try_from(garments).unwrap());
    let mut random = Random(7);
    let mut shown: Vec<String> = Vec::new();
    let mut rows = 0;
    for kill in 0..kills {
        if random.below(3) == 0 {
            // At any moment of a start.
            let mut early = Pty::board(&bench);
            std::thread::sleep(Duration::from_micros(random.below(80_000)));
            early.kill();
        }
        let mut pty = Pty::board(&bench);
        let contents = pty.wait_for("Test bench");
        assert!(!contents.contains("EVENTS ARE GONE"), "kill {kill}: {contents}");
        for _key in 0..3 + random.below(6) {
            // Presses mostly; handwork, undo and the steam now and then.
            let keys = b"123412341234\r00-*s";
            let key = keys[usize::try_from(random.below(keys.len() as u64)).unwrap()];
            pty.key(&[key]);
        }
        if random.below(3) == 0 {
            // At any moment of leaving.
            pty.keys("qy");
        }
        // Up to a sync after the last key, or well after it.
        std::thread::sleep(Duration::from_micros(random.below(120_000)));
        pty.kill();
        shown.extend(pty.saved().into_iter().filter(|message| is_act(message)));

        bench.assert_sound();
        let past = bench.past();
        for (event, seq) in past.iter().zip(1..) {
            assert_eq!(event["seq"], seq, "kill {kill}: a gap or a double");
        }
        assert!(past.len() >= rows, "kill {kill}: rows went away");
        rows = past.len();
        assert_each_in_one_place(&shop(&bench, u64::MAX), garments);
        assert_all_told(&shown, &bench.run(&["past"]).out);
    }
    println!("{kills} kills, {rows} events, {} acts shown as saved", shown.len());
    assert!(shown.len() > kills, "too little happened: {shown:?}");
    assert_eq!(bench.past_of("order-taken").len(), 1);
}

#[test]
fn what_was_undone_never_happened_after_a_restart_as_well() {
    let bench = Bench::new(2, 60);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    let before = u64::try_from(bench.past().len()).unwrap();
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02");
    pty.key(b"1");
    pty.wait_for("opened press 1: A1-01");
    pty.key(b"\r");
    pty.wait_for("sprayed A1-01");
    pty.wait_saved();
    let changed = shop(&bench, u64::MAX);
    assert!(!same(&changed, &shop(&bench, before)), "the acts changed something");
    pty.kill();

    // Acts of the process that was killed are taken back by the next one.
    let mut again = Pty::board(&bench);
    for undone in ["sprayed A1-01", "opened press 1: A1-01", "shut press 2 on A1-02"] {
        again.key(b"-");
        again.wait_for(&format!("undid: {undone}"));
    }
    again.wait_saved();
    again.kill();
    assert!(same(&shop(&bench, u64::MAX), &shop(&bench, before)), "something was left behind");
    bench.assert_sound();

    // And the one after it shows the shop as if they had never been.
    let last = Pty::board(&bench);
    let contents = last.wait_for("3 blanks");
    assert!(contents.contains("A1-01 PRE"), "press 1 is shut since the start: {contents}");
    assert!(contents.contains("A1-02 pre-press"), "press 2 is offered the next: {contents}");
}
