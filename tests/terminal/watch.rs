//! The lead's screen beside a running board: it follows, changes nothing, and outlives the board.

use std::cell::RefCell;

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn the_lead_sees_what_happens_and_can_change_nothing() {
    let bench = Bench::new(2, 100);
    bench.take(4);
    let mut board = Pty::board(&bench);
    board.wait_for("Harbour choir");
    board.key(b"y");
    let mut lead = Pty::start(&bench, &["watch"], &[]);
    lead.wait_for("[Pace]");
    lead.wait_until("the last hour's strips", |seen| seen.contains("last hour"));

    board.key(b"1");
    board.wait_for("RUNNING");
    board.wait_saved();
    lead.wait_for("in presses 1");

    // What nobody can do in a view is not offered there, and its bar keeps its words apart.
    lead.key(b"\x1bOP");
    let bench_pane = lead.wait_for("[Bench]");
    for absent in ["\n ? ", "y read", "Enter", "h probe"] {
        assert!(!bench_pane.contains(absent), "{absent:?} in a view:\n{bench_pane}");
    }
    lead.key(b"\x1b[15~");
    let past = lead.wait_for("[Past]");
    assert!(past.contains(" VIEW ONLY"), "{past}");
    lead.key(b"q");
    let leaving = lead.wait_for("Leave this view? The board goes on.");
    assert!(!leaving.contains("nothing calls you"), "{leaving}");
    lead.key(b"n");
    lead.wait_until("the question to go", |seen| !seen.contains("Leave this view?"));

    // Every key of an act is refused, and nothing is written.
    let events = bench.past().len();
    lead.key(b"\x1bOQ");
    lead.wait_for("[Pace]");
    lead.key(b"2");
    lead.wait_for("nothing can be changed here");
    assert_eq!(bench.past().len(), events);

    // A plan is made while the board has the journal open.
    let plan = bench.run(&["plan", "--json"]);
    assert_eq!((plan.code, plan.err.as_str()), (0, ""));
    assert!(plan.out.contains("\"garments\":4"), "{}", plan.out);

    board.kill();
    let mut again = Pty::board(&bench);
    again.wait_for("RUNNING");
    again.key(b"2");
    again.wait_until("both presses shut", |seen| seen.matches("RUNNING").count() == 2);
    lead.wait_for("in presses 2");
    assert_eq!(lead.leave(), 0);
    assert_eq!(again.leave(), 0);
}

#[test]
fn a_view_says_that_nobody_writes_and_that_the_journal_is_gone() {
    let bench = Bench::new(2, 60);
    bench.take(4);
    let mut board = Pty::board(&bench);
    board.wait_for("Harbour choir");
    board.key(b"1");
    board.wait_for("RUNNING");
    board.wait_saved();
    let mut lead = Pty::start(&bench, &["watch"], &[]);
    lead.wait_for("[Pace]");
    lead.wait_for("in presses 1");
    assert!(!lead.contents().contains("NO BOARD WRITES"), "{}", lead.contents());
    board.kill();
    lead.wait_for("NO BOARD WRITES HERE: this is as of");
    let mut again = Pty::board(&bench);
    again.wait_for("RUNNING");
    lead.wait_until("the banner to go", |seen| !seen.contains("NO BOARD WRITES"));
    let away = bench.root.path().join("away");
    std::fs::rename(bench.data(), &away).unwrap();
    lead.wait_for("THE JOURNAL IS GONE: this is as of");
    std::fs::rename(&away, bench.data()).unwrap();
    lead.wait_until("the banner to go", |seen| !seen.contains("IS GONE"));
    again.key(b"2");
    again.wait_for("shut press 2");
    again.wait_saved();
    lead.wait_for("in presses 2");
    assert_eq!(lead.leave(), 0);
    assert_eq!(again.leave(), 0);
}

/// A journal may come from anywhere: the program that its station names is not run for a look at it.
#[test]
fn a_view_runs_no_program_that_a_journal_names() {
    let bench = Bench::new(2, 60);
    let proof = bench.root.path().join("ran");
    bench.station_says(&format!("sounder: [\"/usr/bin/touch\", {:?}],", proof.to_str().unwrap()));
    let mut board = Pty::board(&bench);
    board.wait_for("[Bench]");
    board.wait_saved();
    let mut lead = Pty::start(&bench, &["watch"], &[]);
    for pty in [&mut lead, &mut board] {
        pty.wait_until("a pane", |seen| seen.contains("[Pace]") || seen.contains("[Bench]"));
        assert!(!proof.exists());
        pty.key(b"?");
        pty.wait_for("7 tests the sounder");
        pty.key(b"t");
        pty.wait_for("the sounder was tried");
    }
    // The board's own did run.
    board.wait_until("the program to have run", |_| proof.exists());
    // Any other key closes the help.
    lead.key(b"x");
    assert_eq!(lead.leave(), 0);
}

/// Seconds pass in a view of a rehearsal as in the rehearsal: between two events too, which its bar counts.
#[test]
fn a_view_of_a_rehearsal_runs_by_the_rehearsals_clock() {
    let bench = Bench::new(2, 100);
    let data = bench.root.path().join("rehearsal");
    let data = data.to_str().unwrap();
    let mut rehearsal = Pty::start(&bench, &["rehearse", "--data", data, "--speed", "1"], &[]);
    rehearsal.wait_for("RUNNING");
    let mut lead = Pty::start(&bench, &["watch", "--data", data], &[]);
    lead.wait_for("[Pace]");
    lead.key(b"\x1bOP");
    lead.wait_for("[Bench]");
    let before: RefCell<(String, Vec<String>)> = RefCell::default();
    lead.wait_until("a second to pass between two events", |seen| {
        let mut lines = seen.lines();
        let events = lines.next().and_then(|bar| bar.rsplit("  at ").next()).unwrap_or_default();
        let presses: Vec<String> = lines.take(7).map(str::to_owned).collect();
        let now = (events.trim().to_owned(), presses);
        let before = before.replace(now.clone());
        before.0 == now.0 && before.1 != now.1
    });
    assert_eq!(lead.leave(), 0);
    assert_eq!(rehearsal.leave(), 0);
}
