//! A garment of another station is taken over at the keys, where nobody can be asked about it.

use super::bench::Bench;
use super::pty::Pty;

/// Its tag is scanned: that commands nothing. What it waits for and its recipe are said by figures, and it waits here
/// like any other, after a restart too.
#[test]
fn a_tag_of_another_station_is_asked_about_and_taken_over_by_what_a_hand_says() {
    let bench = Bench::new(1, 1);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.burst(b"B3-02\r");
    pty.wait_for("Take B3-02 over?");
    pty.wait_for("No hub here");
    pty.key(b"+");
    pty.wait_for("what does it wait for? 1 to 5");
    pty.keys("3");
    pty.key(b"\r");
    pty.wait_for("1\u{a0}quick");
    pty.keys("1");
    assert!(bench.past_of("received").is_empty(), "nothing is said yet");
    pty.key(b"+");
    pty.wait_for("B3-02 taken over, not confirmed");
    pty.wait_saved();
    let body = &bench.past_of("received")[0];
    assert_eq!((&body["garment"], &body["unconfirmed"]), (&"B3-02".into(), &true.into()));
    assert_eq!(
        (&body["comes"]["waits"], &body["comes"]["recipe"]),
        (&"dry".into(), &"quick".into())
    );
    assert_eq!(pty.leave(), 0);
    // It is here like any other after a restart.
    let mut pty = Pty::board(&bench);
    pty.wait_for("B3-02 dry");
    assert_eq!(pty.leave(), 0);
    let told = bench.run(&["trace", "B3-02"]);
    assert!(told.out.contains("B3-02 taken over"), "{} {}", told.out, told.err);
    let other = bench.run(&["trace", "B3-01"]);
    assert!(
        other.err.contains("B3 is station B's order, and B3-01 has not been here"),
        "{}",
        other.err
    );
    bench.assert_sound();
}
