//! Labels from the board, and cards that act when they are scanned.

use std::fs;

use crate::bench::Bench;
use crate::pty::Pty;

/// A bench with an order of three, whose labels go to this program; and where the program may write.
fn with_printer(program: &str) -> (Bench, std::path::PathBuf) {
    let bench = Bench::new(2, 60);
    let got = bench.root.path().join("got.pdf");
    let program = program.replace("GOT", got.to_str().unwrap());
    bench.station_says(&format!("labels: Some((program: {program})),"));
    bench.take(3);
    (bench, got)
}

const COPIES: &str = r#"["/bin/sh", "-c", "cp \"$0\" GOT"]"#;

#[test]
fn an_orders_labels_are_printed_by_the_keypad_alone_and_by_the_scan_of_its_ticket() {
    let (bench, got) = with_printer(COPIES);
    let mut pty = Pty::board(&bench);
    pty.wait_for("3 blanks");
    let wanted = bench.root.path().join("wanted.pdf");
    let drawn = bench.run(&["labels", "1", "--out", wanted.to_str().unwrap()]);
    assert_eq!(drawn.code, 0, "{}", drawn.err);
    let wanted = fs::read(wanted).unwrap();
    pty.keys("+.+0");
    pty.wait_for("3 labels, given to /bin/sh");
    pty.key(b"\r");
    pty.wait_for("3 labels given to /bin/sh");
    assert!(fs::read(&got).unwrap() == wanted, "other labels than those of the command");
    fs::remove_file(&got).unwrap();
    // The ticket is no command: it asks, and a key prints.
    pty.burst(b"A1-00\r");
    pty.wait_for("Print labels");
    assert!(!got.exists());
    pty.key(b"\r");
    pty.wait_until("they are printed", |_| fs::read(&got).is_ok_and(|bytes| bytes == wanted));
    // One garment's, by its scan in the form; and what is not there.
    pty.key(b"\x1b[21~");
    pty.wait_for("Print labels");
    pty.burst(b"A1-02\r");
    pty.wait_for("1 label given to /bin/sh");
    pty.key(b"\x1b[21~");
    pty.wait_for("Print labels");
    pty.keys("7");
    pty.key(b"\r");
    pty.wait_for("no such order or garment here");
    pty.key(b"\x1b");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_printer_that_fails_or_is_not_there_is_said_and_the_board_goes_on() {
    for (program, says) in
        [(r#"["/bin/false"]"#, "nothing may be printed"), (r#"["/nowhere"]"#, "does not run")]
    {
        let (bench, _) = with_printer(program);
        let mut pty = Pty::board(&bench);
        pty.wait_for("3 blanks");
        pty.key(b"\x1b[21~");
        pty.wait_for("Print labels");
        pty.key(b"\r");
        pty.wait_for(says);
        pty.key(b"1");
        pty.wait_for("RUNNING");
        assert_eq!(pty.leave(), 0);
    }
    let bench = Bench::new(2, 60);
    bench.take(3);
    let mut pty = Pty::board(&bench);
    pty.wait_for("3 blanks");
    pty.key(b"\x1b[21~");
    pty.wait_for("name its program under labels in station.ron");
    pty.key(b"\x1b");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_card_does_what_it_names_where_the_profile_says_so() {
    let bench = Bench::new(2, 60);
    bench.station_says("cards: true,");
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("No safety device");
    pty.burst(b"DO-YES\r");
    pty.wait_until("the caution is read", |screen| !screen.contains("No safety device"));
    pty.burst(b"DO-SHUT-OR-OPEN-1\r");
    pty.wait_for("RUNNING");
    pty.burst(b"DO-SHUT-OR-OPEN-2\r");
    pty.wait_for("shut press 2");
    pty.burst(b"DO-DANCE\r");
    pty.wait_for("scanned a card for \"DANCE\": nothing is called that");
    // A form stays as it is while a card acts beside it.
    pty.key(b"j");
    pty.wait_for("lot");
    pty.keys("78");
    pty.wait_for(" 78 ");
    pty.burst(b"DO-UNDO\r");
    pty.wait_for("undid: shut press 2");
    pty.wait_for(" 78 ");
    pty.burst(b"DO-FILL\r");
    pty.wait_for("leave this one first");
    pty.key(b"\x1b");
    pty.wait_saved();
    assert_eq!(bench.past_of("press-shut").len(), 2);
    assert_eq!(bench.past_of("undone").len(), 1);
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn without_the_profiles_word_a_card_does_nothing() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.burst(b"DO-SHUT-OR-OPEN-1\r");
    pty.wait_for("cards do nothing without cards: true");
    pty.wait_saved();
    assert!(bench.past_of("press-shut").is_empty());
    assert_eq!(pty.leave(), 0);
}
