//! What lies in the inbox may be anything: what does not read is said by name and set aside, and stops nothing else.

use std::process::Command;

use crate::bench::Bench;
use crate::pty::Pty;

#[test]
fn whatever_lies_there_stops_nothing() {
    let bench = Bench::new(2, 60);
    bench.take(3);
    let inbox = bench.data().join("inbox");
    let put = |name: &str| inbox.join(format!("{name}.json"));
    // A pipe that nobody writes to, a device without an end, a directory, a text, a file far larger than any order.
    assert!(Command::new("mkfifo").arg(put("0-pipe")).status().unwrap().success());
    std::os::unix::fs::symlink("/dev/zero", put("0-zero")).unwrap();
    std::fs::create_dir(put("0-folder")).unwrap();
    std::fs::write(put("0-text"), "no order").unwrap();
    std::fs::File::create(put("0-large")).unwrap().set_len(1 << 33).unwrap();
    let mut pty = Pty::board(&bench);
    pty.wait_for("blanks 3");
    pty.wait_saved();
    for name in ["0-pipe", "0-zero", "0-folder", "0-text", "0-large"] {
        pty.wait_until(name, |_| inbox.join(format!("{name}.refused")).symlink_metadata().is_ok());
    }
    let log = std::fs::read_to_string(bench.data().join("log")).unwrap();
    for (name, reason) in
        [("0-pipe", "no regular file"), ("0-text", "expected"), ("0-large", "at most 1000000")]
    {
        let line = log.lines().find(|line| line.contains(name)).unwrap_or_else(|| panic!("{log}"));
        assert!(line.contains(reason), "{line}");
    }
    assert!(pty.resident() < 16_000, "{} pages", pty.resident());
    // Mended under its own name it is looked at again, and the next order comes as ever.
    std::fs::write(put("0-text"), "still none").unwrap();
    pty.wait_for("inbox: 0-text.json does not read");
    bench.take(2);
    pty.wait_for("taken in: 2 garments");
    assert_eq!(pty.leave(), 0);
}
