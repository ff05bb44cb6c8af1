//! What lies in a directory is taken at its word only where the directory is our own: no other user's file comes into
//! the journal.

use std::fs::Permissions;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use dwell::shell::journal::Reader;
use dwell::shell::rescue;
use dwell::shop::facts::fact::{CautionRead, Event};
use dwell::shop::facts::ids::ActNo;

use crate::bench::Bench;
use crate::pty::Pty;
use crate::skipped::skipped;
use support::program::dwell;

/// A bench with a journal.
fn begun() -> Bench {
    let bench = Bench::new(2, 60);
    Pty::begin(&bench);
    bench
}

/// An event that would follow in its journal.
fn next(bench: &Bench) -> Event {
    let mut last = None;
    let reader = Reader::open(&bench.data()).unwrap().unwrap();
    reader.events_after(0, |event| last = Some(event)).unwrap();
    let Event { seq, act, .. } = last.clone().unwrap();
    Event { seq: seq + 1, act: ActNo(act.0 + 1), fact: CautionRead {}.into(), ..last.unwrap() }
}

fn mode(path: &Path, mode: u32) {
    std::fs::set_permissions(path, Permissions::from_mode(mode)).unwrap();
}

fn cautions(bench: &Bench) -> usize {
    bench.past_of("caution-read").len()
}

#[test]
fn a_directory_that_is_open_to_others_is_said_and_not_believed() {
    let bench = begun();
    let state = bench.home().join(".local/state/dwell");
    std::fs::create_dir_all(&state).unwrap();
    for (folder, open, closed) in [(&state, 0o755, 0o700), (&bench.data(), 0o777, 0o755)] {
        let before = cautions(&bench);
        let file = rescue::write_to(folder, &bench.data(), &[next(&bench)]).unwrap();
        mode(folder, open);
        let mut pty = Pty::start(&bench, &[], &[]);
        let said = pty.wait_for("RESCUE FILE NOT TAKEN IN");
        pty.wait_for("[Bench]");
        assert!(said.contains(&format!("{open:o}")), "{said}");
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
        assert_eq!(cautions(&bench), before, "{folder:?}");
        assert!(file.exists(), "it waits until somebody has looked");
        mode(folder, closed);
        let mut pty = Pty::board(&bench);
        pty.wait_until("it to be taken in", |_| !file.exists());
        assert_eq!(pty.leave(), 0);
        assert_eq!(cautions(&bench), before + 1, "{folder:?}");
    }
    bench.assert_sound();
}

#[test]
fn a_file_of_another_user_in_our_own_directory_is_set_aside() {
    let bench = begun();
    let file = rescue::write_to(&bench.data(), &bench.data(), &[next(&bench)]).unwrap();
    if let Err(reason) = std::os::unix::fs::chown(&file, Some(12_345), None) {
        skipped(&format!("no file can be given to another user: {reason}; as root it can"));
        return;
    }
    let mut pty = Pty::board(&bench);
    pty.wait_until("it is said", |shown| shown.contains("belongs to another user"));
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    assert_eq!(cautions(&bench), 0);
    assert!(!file.exists(), "it lies under another name");
}

/// Who has neither HOME nor a line in the table of users has no directory of their own, and the one that all share is
/// none.
#[test]
fn without_a_home_nothing_is_read_from_the_directory_that_all_share() {
    const SETPRIV: &str = "/usr/bin/setpriv";
    const NOBODY: &str = "54321";
    let bench = begun();
    let shared = bench.root.path().join("shared");
    std::fs::create_dir(&shared).unwrap();
    let file = rescue::write_to(&shared, &bench.data(), &[next(&bench)]).unwrap();
    let program = bench.root.path().join("dwell-of-all");
    std::fs::copy(dwell(), &program).unwrap();
    let mut all = vec![bench.root.path().to_owned()];
    while let Some(path) = all.pop() {
        if std::os::unix::fs::chown(&path, Some(54_321), None).is_err() {
            skipped("no file can be given to another user; as root it can");
            return;
        }
        if path.is_dir() {
            all.extend(std::fs::read_dir(&path).unwrap().map(|entry| entry.unwrap().path()));
        }
    }
    mode(&file, 0o666);
    std::os::unix::fs::chown(&file, Some(12_345), None).unwrap();
    std::os::unix::fs::chown(&shared, Some(12_345), None).unwrap();
    mode(&shared, 0o777);
    let nobody = ["--reuid", NOBODY, "--clear-groups", "/usr/bin/env", "-u", "HOME"];
    let may = std::process::Command::new(SETPRIV).args(nobody).arg("/bin/true").status();
    if !may.is_ok_and(|status| status.success()) {
        skipped("no setpriv; util-linux has it");
        return;
    }
    let words = [&nobody[..], &[program.to_str().unwrap()]].concat();
    let shared = shared.to_str().unwrap();
    let mut pty = Pty::of(&bench, SETPRIV, &words, &[("TMPDIR", shared)]);
    pty.wait_for("[Bench]");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    assert!(file.exists(), "another user's file was taken in");
    assert_eq!(cautions(&bench), 0);
}
