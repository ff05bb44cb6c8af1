//! Boards that start at the same moment on the same data: one of them writes.

use std::sync::Barrier;

use crate::bench::Bench;
use crate::pty::Pty;
use support::program::dwell;

/// Two boards started at one moment, neither of them waited for.
fn pair(bench: &Bench) -> [Pty; 2] {
    let barrier = Barrier::new(2);
    let start = || {
        barrier.wait();
        Pty::start(bench, &[], &[])
    };
    std::thread::scope(|scope| {
        let other = scope.spawn(start);
        let one = start();
        [one, other.join().unwrap()]
    })
}

/// The one that writes, then the one that looks on, once each says which it is.
fn told_apart([one, other]: [Pty; 2]) -> (Pty, Pty) {
    let is_view = |pty: &Pty| pty.wait_for("4 blanks").contains("VIEW ONLY");
    match (is_view(&one), is_view(&other)) {
        (false, true) => (one, other),
        (true, false) => (other, one),
        both => panic!("views: {both:?}\n{}\n{}", one.contents(), other.contents()),
    }
}

#[test]
fn of_two_that_start_at_once_exactly_one_writes() {
    for round in 0..10 {
        let bench = Bench::new(2, 60);
        bench.take(4);
        if round % 2 == 1 {
            // Every other pair finds a journal that is there already.
            let pty = Pty::board(&bench);
            pty.wait_for("4 blanks");
            pty.wait_saved();
        }
        let (mut writer, mut view) = told_apart(pair(&bench));
        writer.key(b"1");
        writer.wait_for("shut press 1 on A1-01");
        view.key(b"2");
        view.wait_for_step("A1-01 pre");
        writer.wait_saved();
        assert_eq!(bench.past_of("order-taken").len(), 1, "round {round}");
        assert_eq!(bench.past_of("press-shut").len(), 1, "round {round}");

        writer.kill();
        // The view goes on, and does not take over by itself: a board at the bench is somebody's decision.
        view.key(b"2");
        view.wait_for("this is a view of another board: nothing can be changed here");
        assert!(view.runs());

        let mut next = Pty::board(&bench);
        next.wait_for_step("A1-01 pre");
        next.key(b"2");
        next.wait_for("shut press 2 on A1-02");
        next.wait_saved();
        view.wait_for_step("A1-02 pre");
        assert_eq!(view.leave(), 0);
        assert_eq!(next.leave(), 0);
        assert_eq!(bench.past_of("press-shut").len(), 2, "round {round}");
        bench.assert_sound();
    }
}

/// A board that ran out of file handles while it opened had vanished without a word.
#[test]
fn too_few_file_handles_are_said_before_anything_is_opened() {
    for (limit, arguments) in [(20, ""), (10, ""), (15, "watch"), (20, "rehearse")] {
        let bench = Bench::new(2, 60);
        let script = format!("ulimit -n {limit}; exec \"$0\" {arguments}");
        let mut pty = Pty::of(&bench, "/bin/sh", &["-c", &script, dwell()], &[]);
        assert_eq!(pty.end_within(std::time::Duration::from_secs(10)), 1, "{limit} {arguments}");
        pty.read_to_end();
        let said = String::from_utf8_lossy(&pty.raw()).into_owned();
        assert!(said.contains("too few file handles"), "{limit} {arguments}: {said}");
        assert!(!bench.data().exists(), "nothing was made");
    }
    // A limit that may be raised is no trouble.
    let bench = Bench::new(2, 60);
    let words = ["-c", "ulimit -S -n 20; exec \"$0\"", dwell()];
    let mut pty = Pty::of(&bench, "/bin/sh", &words, &[]);
    pty.wait_for("[Bench]");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
}
