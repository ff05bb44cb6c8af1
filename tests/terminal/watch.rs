//! The lead's screen beside a running board: it follows, changes nothing, and outlives the board.

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn the_lead_sees_what_happens_and_can_change_nothing() {
    let bench = Bench::new(2, 20);
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
    lead.wait_for("in a press 1");

    // Every key of an act is refused, and nothing is written.
    let events = bench.past().len();
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
    lead.wait_for("in a press 2");
    assert_eq!(lead.leave(), 0);
    assert_eq!(again.leave(), 0);
}
