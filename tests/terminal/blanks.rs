//! A box of blanks is counted by keys alone: the board knows what is wanted, so only what came is typed.

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn what_is_short_is_said_when_the_box_is_counted_and_when_its_blanks_are_loaded() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    pty.keys("+0");
    pty.wait_for("how many, or S-M-L");
    pty.keys("2-4-3\r\r1+");
    pty.wait_for("9 blanks");
    // Nobody has counted anything yet, and nothing is said of it.
    pty.wait_for("A1-01 S: pre-press");
    pty.wait_until("no word of blanks", |text| !text.contains("short"));
    pty.key(b"\x1b[23~");
    pty.wait_for("Blanks, as counted");
    pty.wait_for("4 black M");
    // Two S are too few by one, four M are all there, the L have not come.
    pty.keys("1\r4");
    pty.wait_for("all there");
    pty.keys("+");
    pty.wait_for("order 1 \"Order 1\": 1 S blank counted, 1 short");
    pty.wait_for("blanks: 1 S short");
    pty.wait_saved();
    let counted = bench.past_of("blanks-counted");
    assert_eq!(counted.len(), 2, "{counted:?}");
    assert_eq!((&counted[0]["mark"], &counted[0]["count"]), (&"M".into(), &4.into()));
    // A second box has one S too many; the M are not asked for again.
    pty.key(b"\x1b[23~");
    let form = pty.wait_for("Blanks, as counted");
    assert!(!form.contains("black M"), "{form}");
    pty.keys("2");
    pty.wait_for("1 over");
    pty.keys("+");
    pty.wait_for("order 1 \"Order 1\": 2 S blanks counted, 1 over");
    pty.wait_for("blanks: 1 S over");
    // Taken back, it is short again.
    pty.keys("-");
    pty.wait_for("blanks: 1 S short");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}
