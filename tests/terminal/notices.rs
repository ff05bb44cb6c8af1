//! What is worth a word when it begins: said on the message line, with one sound. Common practice, no source.

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn an_order_one_short_is_said_once_with_one_sound() {
    let bench = Bench::new(1, 60);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    let before = pty.bells();
    pty.keys(".1");
    pty.wait_for("What becomes of it?");
    pty.key(b"4");
    pty.wait_for("A1-01: scorched: a reject");
    // Not over the answer to the key.
    pty.wait_for("Harbour choir is 1 blank short: answer its question");
    assert_eq!(pty.bells(), before + 1);
    pty.wait_until("the next message", |text| !text.contains("answer its question"));
    assert_eq!(pty.bells(), before + 1);
    assert_eq!(pty.leave(), 0);
}
