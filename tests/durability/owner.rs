//! The data directory and every file in it are for their owner alone, whatever the umask.

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

use crate::bench::Bench;
use crate::pty::Pty;
use support::program::{dwell, in_own_environment};

/// Everything under a directory, and itself.
fn under(path: &Path, all: &mut Vec<PathBuf>) {
    all.push(path.to_owned());
    if path.is_dir() {
        for entry in std::fs::read_dir(path).unwrap() {
            under(&entry.unwrap().path(), all);
        }
    }
}

fn assert_for_the_owner_alone(path: &Path) -> usize {
    let mut all = Vec::new();
    under(path, &mut all);
    for path in &all {
        let mode = std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let wanted = if path.is_dir() { 0o700 } else { 0o600 };
        assert_eq!(mode, wanted, "{} is {mode:o}", path.display());
    }
    all.len()
}

/// Runs the program under a umask that takes nothing away.
fn run(bench: &Bench, words: &[&str]) {
    let ran = in_own_environment("sh")
        .args(["-c", "umask 0; exec \"$@\"", "sh", dwell()])
        .args(words)
        .env("HOME", bench.home())
        .env("DWELL_DATA", bench.data())
        .env("DWELL_PROFILES", bench.profiles())
        .output()
        .unwrap();
    assert!(ran.status.success(), "{words:?}: {}", String::from_utf8_lossy(&ran.stderr));
}

#[test]
fn every_file_is_for_its_owner_alone_whatever_the_umask() {
    let bench = Bench::new(2, 60);
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, crate::bench::order(300)).unwrap();
    run(&bench, &["take", order.to_str().unwrap()]);
    assert_for_the_owner_alone(&bench.data());
    let mut pty = Pty::under_umask(&bench, 0);
    pty.wait_for("300 blanks");
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.wait_saved();
    // The journal, its log and its index, the lock, the log of the program, the inbox.
    let count = assert_for_the_owner_alone(&bench.data());
    assert!(count >= 6, "{count} files");
    assert_eq!(pty.leave(), 0);
    // Only the board writes in a data directory: a backup has a place of its own.
    let kept = bench.root.path().join("kept");
    std::fs::create_dir(&kept).unwrap();
    let backup = kept.join("copy.sqlite");
    run(&bench, &["backup", backup.to_str().unwrap()]);
    assert_for_the_owner_alone(&backup);
    run(&bench, &["restore", backup.to_str().unwrap()]);
    assert_for_the_owner_alone(&bench.data());

    let made_up = bench.root.path().join("rehearsal");
    let words = ["rehearse", "--headless", "--weeks", "2", "--garments", "20", "--data"];
    run(&bench, &[&words[..], &[made_up.to_str().unwrap()]].concat());
    assert!(made_up.join("snapshot").is_file());
    assert_for_the_owner_alone(&made_up);
}

#[test]
fn a_file_that_lay_open_is_closed_to_others_when_it_is_written() {
    let bench = Bench::new(2, 60);
    bench.take(4);
    let mut pty = Pty::board(&bench);
    pty.wait_for("4 blanks");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let journal = crate::files::journal(&bench);
    std::fs::set_permissions(&journal, PermissionsExt::from_mode(0o644)).unwrap();
    let mut again = Pty::board(&bench);
    again.wait_for("4 blanks");
    assert_eq!(again.leave(), 0);
    assert_for_the_owner_alone(&bench.data());
}

#[test]
fn a_data_directory_in_which_others_may_write_is_said() {
    let bench = Bench::new(2, 60);
    std::fs::create_dir(bench.data()).unwrap();
    for (mode, said) in [(0o777, true), (0o755, false)] {
        std::fs::set_permissions(bench.data(), std::fs::Permissions::from_mode(mode)).unwrap();
        let mut pty = Pty::board(&bench);
        let contents = pty.wait_for("[Bench]");
        assert_eq!(contents.contains("OTHERS MAY WRITE IN"), said, "{mode:o}: {contents}");
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
        let found = std::fs::metadata(bench.data()).unwrap().permissions().mode() & 0o777;
        assert_eq!(found, mode, "a directory that was there before is left as it is");
    }
}
