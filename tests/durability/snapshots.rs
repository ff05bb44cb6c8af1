//! Snapshots through the program: a start from one is the start from all rows, and whatever does not fit is passed over.

use std::path::PathBuf;
use std::time::Duration;

use dwell::shell::journal::lock::Lock;
use dwell::shell::journal::{Reader, Writer, snapshot};
use dwell::shell::replay::Replay;
use dwell::shop::Shop;

use crate::bench::Bench;
use crate::files::{made_up, real};
use crate::pty::Pty;
use crate::random::Random;
use crate::replay::shop;
use support::waiting::wait;

/// A journal of some days that has a snapshot.
pub fn a_long_one() -> Bench {
    let bench = made_up(&["--weeks", "2", "--garments", "20"]);
    // On a busy machine the one of the leaving may not have been made.
    snapshot::renew(&bench.data()).unwrap();
    bench
}

fn snapshot_of(bench: &Bench) -> PathBuf {
    bench.data().join("snapshot")
}

/// The shop as a start reads it.
fn started(bench: &Bench) -> Shop {
    Replay::of(&bench.data(), &Reader::open(&bench.data()).unwrap().unwrap()).unwrap().into_shop()
}

fn whole(shop: &Shop) -> String {
    format!("{shop:?}")
}

#[test]
fn a_start_from_a_snapshot_is_the_start_from_all_rows() {
    let bench = a_long_one();
    let made = snapshot::renew(&bench.data()).unwrap();
    let head = snapshot::head(&bench.data()).unwrap();
    assert_eq!(made, head.seq);
    let all = shop(&bench, u64::MAX);
    assert!(head.seq > 200 && head.seq < all.seq(), "it stands on row {}", head.seq);
    assert_eq!(whole(&started(&bench)), whole(&all));
    let asked = || {
        let questions: [&[&str]; 4] =
            [&["pace", "--json"], &["shelf", "--json"], &["past"], &["pace", "--since", "200h"]];
        questions.map(|question| bench.run(question).out)
    };
    let with = asked();
    snapshot::remove(&bench.data()).unwrap();
    assert_eq!(asked(), with);
    // Made again it is the same, byte for byte.
    let again = snapshot::renew(&bench.data()).unwrap();
    assert_eq!(again, head.seq);
    assert_eq!(asked(), with);
}

#[test]
fn the_rows_before_a_snapshot_are_not_read_at_a_start() {
    let bench = a_long_one();
    let before = whole(&started(&bench));
    let connection = rusqlite::Connection::open(crate::files::journal(&bench)).unwrap();
    connection.execute("UPDATE events SET at = at + 1 WHERE seq = 20", []).unwrap();
    assert_eq!(whole(&started(&bench)), before, "the snapshot was not used");
    assert_eq!(bench.run(&["check"]).code, 2, "the check looks at all of them");
    // After it each row is looked at.
    let last = "UPDATE events SET at = at + 1 WHERE seq = (SELECT max(seq) FROM events)";
    connection.execute(last, []).unwrap();
    let ran = bench.run(&["shelf"]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("its sum is wrong"), "{}", ran.err);
}

#[test]
fn a_snapshot_that_does_not_fit_is_passed_over() {
    let bench = a_long_one();
    let good = std::fs::read(snapshot_of(&bench)).unwrap();
    let all = whole(&shop(&bench, u64::MAX));
    let mut random = Random(3);
    for n in 0..60 {
        let mut bytes = good.clone();
        let place = usize::try_from(random.below(good.len() as u64)).unwrap();
        match n % 3 {
            0 => bytes[place] ^= 1 << random.below(8),
            1 => bytes.truncate(place),
            _ => bytes.extend_from_slice(&good[..place]),
        }
        std::fs::write(snapshot_of(&bench), &bytes).unwrap();
        assert!(snapshot::head(&bench.data()).is_none(), "change {n} at {place}");
        assert_eq!(whole(&started(&bench)), all, "change {n} at {place}");
    }
    // A whole one, of another journal.
    let other = made_up(&["--weeks", "2", "--garments", "21"]);
    std::fs::copy(snapshot_of(&other), snapshot_of(&bench)).unwrap();
    assert_eq!(whole(&started(&bench)), all);
    std::fs::write(snapshot_of(&bench), b"").unwrap();
    assert_eq!(bench.run(&["shelf"]).code, 0);
    bench.assert_sound();
}

#[test]
fn the_board_makes_one_while_it_runs_and_undo_reaches_back_across_it() {
    let bench = real();
    snapshot::remove(&bench.data()).unwrap();
    bench.take(4);
    let mut pty = Pty::board(&bench);
    wait(|| "a snapshot".into(), || snapshot_of(&bench).is_file().then_some(()));
    pty.wait_saved();
    pty.kill();
    let head = snapshot::head(&bench.data()).unwrap();
    let before = shop(&bench, u64::MAX);
    let (act, what) = before.undoable().unwrap();
    assert!(head.seq < act.0, "what can be undone lies after it");

    let mut again = Pty::board(&bench);
    again.key(b"-");
    again.wait_for(&format!("undid: {}", &what[..30.min(what.len())]));
    again.wait_saved();
    again.kill();
    assert_eq!(whole(&started(&bench)), whole(&shop(&bench, u64::MAX)));
    bench.assert_sound();
}

#[test]
fn leaving_makes_one_where_it_is_worth_it() {
    let bench = real();
    let made = snapshot::head(&bench.data()).unwrap();
    snapshot::remove(&bench.data()).unwrap();
    // A board waits for it for a moment only, which is too short on a busy machine: here whoever leaves has patience.
    let writer = Writer::open(&bench.data(), Lock::take(&bench.data()).unwrap()).unwrap();
    writer.close(Duration::from_secs(300));
    assert!(snapshot::head(&bench.data()).unwrap().seq >= made.seq);
    let few = Bench::new(2, 60);
    few.take(4);
    assert_eq!(Pty::board(&few).leave(), 0);
    assert!(!snapshot_of(&few).exists(), "a few rows are read as fast");
}

/// The hook is only in a debug build.
#[cfg(debug_assertions)]
#[test]
fn a_panic_in_making_one_leaves_the_board_as_it_is() {
    let bench = real();
    snapshot::remove(&bench.data()).unwrap();
    let mut pty = Pty::start(&bench, &[], &[("DWELL_TEST_PANIC", "snapshot@1")]);
    pty.wait_for("[Bench]");
    let log = || std::fs::read_to_string(bench.data().join("log")).unwrap_or_default();
    pty.wait_until("the panic", |_| log().contains("panic in snapshot"));
    pty.key(b"\t");
    pty.wait_for("[Pace]");
    let raw = String::from_utf8_lossy(&pty.raw()).into_owned();
    assert!(!raw.contains("\x1b[?1049l") && !raw.contains("panic"), "the terminal stayed ours");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}
