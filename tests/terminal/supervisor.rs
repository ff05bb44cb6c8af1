//! What the board tells systemd, over a socket of the test's own as sd_notify(3) describes it.

use std::os::unix::net::UnixDatagram;
use std::time::Duration;

use rustix::process::Signal;

use crate::bench::Bench;
use crate::practice;
use crate::pty::Pty;

/// A board that is to be heard of every so many microseconds, and the socket on which it is.
fn supervised(microseconds: &str) -> (Bench, UnixDatagram, Pty) {
    let bench = Bench::new(2, 60);
    bench.take(3);
    started(bench, microseconds)
}

/// One to which nothing has happened yet, and of which nobody asks how it does.
fn supervised_new() -> (Bench, UnixDatagram, Pty) {
    started(Bench::new(2, 1), "0")
}

fn started(bench: Bench, microseconds: &str) -> (Bench, UnixDatagram, Pty) {
    let path = bench.root.path().join("notify");
    let socket = UnixDatagram::bind(&path).unwrap();
    let environment = [("NOTIFY_SOCKET", path.to_str().unwrap()), ("WATCHDOG_USEC", microseconds)];
    let pty = Pty::start(&bench, &[], &environment);
    (bench, socket, pty)
}

/// The next message, if one comes within so many milliseconds.
fn heard(socket: &UnixDatagram, milliseconds: u64) -> Option<String> {
    socket.set_read_timeout(Some(Duration::from_millis(milliseconds))).unwrap();
    let mut bytes = [0; 4096];
    let length = socket.recv(&mut bytes).ok()?;
    Some(String::from_utf8_lossy(&bytes[..length]).trim().to_owned())
}

/// However long it takes on this machine.
const SOME_TIME: u64 = 60_000;

#[test]
fn it_tells_that_it_stands_that_it_lives_and_that_it_is_left() {
    let (_bench, socket, pty) = supervised("400000");
    assert_eq!(heard(&socket, SOME_TIME).as_deref(), Some("READY=1"));
    pty.wait_for("[Bench]");
    for _ in 0..5 {
        assert_eq!(heard(&socket, SOME_TIME).as_deref(), Some("WATCHDOG=1"));
    }
    pty.signal(Signal::TERM);
    let last = std::iter::from_fn(|| heard(&socket, SOME_TIME)).find(|said| said != "WATCHDOG=1");
    assert_eq!(last.as_deref(), Some("STOPPING=1"));
}

/// A board that hangs is silent, so that it is started anew, and its presses go on by the journal.
#[test]
fn one_that_hangs_falls_silent_and_the_next_goes_on() {
    let (bench, socket, mut pty) = supervised("400000");
    pty.wait_for("3 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1 on");
    pty.wait_saved();
    pty.signal(Signal::STOP);
    // What was sent before lies there still.
    while heard(&socket, 500).is_some() {}
    assert_eq!(heard(&socket, 2000), None);
    pty.kill();
    let mut again = Pty::board(&bench);
    again.wait_for("RUNNING");
    assert_eq!(again.leave(), 0);
}

#[test]
fn where_nobody_asks_it_does_not_tell_that_it_lives() {
    let (_bench, socket, mut pty) = supervised("0");
    assert_eq!(heard(&socket, SOME_TIME).as_deref(), Some("READY=1"));
    pty.wait_for("[Bench]");
    assert_eq!(heard(&socket, 2000), None);
    assert_eq!(pty.leave(), 0);
    assert_eq!(heard(&socket, SOME_TIME).as_deref(), Some("STOPPING=1"));
}

/// Whoever is told that the board stops kills its process a little later: on the way through a first day nobody is.
#[test]
fn it_does_not_say_that_it_stops_for_a_first_day() {
    let (bench, socket, mut pty) = supervised_new();
    pty.wait_for("new here? + . 0, then 1");
    pty.wait_saved();
    practice::begin(&mut pty);
    practice::go_back(&mut pty);
    pty.wait_saved();
    let said: Vec<String> = std::iter::from_fn(|| heard(&socket, 500)).collect();
    assert!(said.iter().all(|said| said != "STOPPING=1"), "{said:?}");
    assert_eq!(pty.leave(), 0);
    assert_eq!(heard(&socket, SOME_TIME).as_deref(), Some("STOPPING=1"));
    drop(bench);
}
