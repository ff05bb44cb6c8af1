//! Boards that start at the same moment on the same data: one of them writes.

use std::sync::Barrier;

use crate::bench::Bench;
use crate::pty::Pty;

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
    let is_view = |pty: &Pty| pty.wait_for("blanks 4").contains("VIEW ONLY");
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
            pty.wait_for("blanks 4");
            pty.wait_saved();
        }
        let (mut writer, mut view) = told_apart(pair(&bench));
        writer.key(b"1");
        writer.wait_for("shut press 1 on A1-01");
        view.key(b"2");
        view.wait_for("A1-01 pre-press");
        writer.wait_saved();
        assert_eq!(bench.past_of("order-taken").len(), 1, "round {round}");
        assert_eq!(bench.past_of("press-shut").len(), 1, "round {round}");

        writer.kill();
        // The view goes on, and does not take over by itself: a board at the bench is somebody's decision.
        view.key(b"2");
        view.wait_for("this is a view of another board: nothing can be changed here");
        assert!(view.runs());

        let mut next = Pty::board(&bench);
        next.wait_for("A1-01 pre-press");
        next.key(b"2");
        next.wait_for("shut press 2 on A1-02");
        next.wait_saved();
        view.wait_for("A1-02 pre-press");
        assert_eq!(view.leave(), 0);
        assert_eq!(next.leave(), 0);
        assert_eq!(bench.past_of("press-shut").len(), 2, "round {round}");
        bench.assert_sound();
    }
}
