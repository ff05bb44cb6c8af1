//! What the nightly check and copy came to is seen on the board, and that one was left out.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::bench::Bench;
use crate::program::{dwell, in_own_environment};
use crate::pty::Pty;
use crate::skipped::skipped;

/// Mounts a stick, which is the folder behind it: the files are there when the mount is gone again.
const MOUNT: &str = "mount -t overlay none -o lowerdir=\"$1/empty\",upperdir=\"$1/files\",workdir=\"$1/work\" \"$2\"";

/// Has another fstab from here on.
const FSTAB: &str = "mount --bind \"$1/fstab\" /etc/fstab";

/// Runs the nightly job into a directory where a stick is mounted, and fstab says this; None where that cannot be.
fn with_stick(
    bench: &Bench,
    stick: &Path,
    to: &Path,
    fstab: &str,
) -> Option<Result<String, String>> {
    let behind = bench.root.path().join("behind");
    for folder in ["empty", "files", "work"] {
        fs::create_dir_all(behind.join(folder)).unwrap();
    }
    fs::write(behind.join("fstab"), fstab).unwrap();
    let run = |script: &str| {
        let mut unshare = in_own_environment("unshare");
        unshare.args(["--user", "--map-root-user", "--mount", "sh", "-c", script, "sh"]);
        unshare.args([&behind, stick]).arg(dwell()).arg(to);
        unshare.env("DWELL_PROFILES", bench.profiles()).env("DWELL_DATA", bench.data());
        unshare.output().ok()
    };
    let mounted = format!("{MOUNT} && {FSTAB}");
    run(&mounted).filter(|mounted| mounted.status.success())?;
    let ran = run(&format!("{mounted} && exec \"$3\" nightly \"$4\"")).unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Some(match ran.status.success() {
        true => Ok(text(ran.stdout)),
        false => Err(text(ran.stderr)),
    })
}

fn board(bench: &Bench, environment: &[(&str, &str)]) -> Pty {
    let pty = Pty::start(bench, &[], environment);
    pty.wait_for("[Bench]");
    pty
}

#[test]
fn a_copy_that_is_made_fails_or_is_left_out_is_said() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = board(&bench, &[("DWELL_NIGHTLY", "yes")]);
    pty.wait_for("2 blanks");
    pty.wait_for("NO NIGHTLY COPY YET");
    let stick = bench.root.path().join("stick");
    let night = || bench.run(&["nightly", stick.to_str().unwrap()]);
    // Its mount point is not there: the command fails, and the board says why.
    assert_ne!(night().code, 0);
    pty.wait_for("NIGHTLY COPY FAILED");
    // It is, and nothing is mounted: a copy would lie on the disk that it is to outlive.
    fs::create_dir(&stick).unwrap();
    let failed = night();
    assert_eq!(failed.code, 2);
    assert!(failed.err.contains("nothing is mounted at"), "{}", failed.err);
    assert_eq!(fs::read_dir(&stick).unwrap().count(), 0, "nothing is copied there");
    pty.wait_for("nothing is mounted at");
    let Some(copied) = with_stick(&bench, &stick, &stick, "") else {
        return skipped("no overlayfs in a namespace of the test's own: no stick was mounted");
    };
    let said = copied.expect("a stick is in");
    pty.wait_until("nothing is wrong any more", |screen| !screen.contains("NIGHTLY"));
    pty.key(b"\x1b[15~");
    pty.wait_for("checked and copied");
    pty.key(b"\x1bOP");
    pty.wait_for("[Bench]");
    let there = fs::read_dir(bench.root.path().join("behind/files")).unwrap();
    let copies: Vec<_> = there.map(|entry| entry.unwrap().path()).collect();
    let [copy] = &copies[..] else { panic!("{copies:?}") };
    assert!(said.contains(copy.file_name().unwrap().to_str().unwrap()), "{said}");
    // The copy is a journal: it is restored elsewhere, and is whole.
    let other = Bench::new(2, 60);
    let restored = other.run(&["restore", copy.to_str().unwrap()]);
    assert_eq!((restored.code, restored.err.as_str()), (0, ""));
    other.assert_sound();
    // Three days later by the note's own figure.
    let note = bench.data().join("nightly.json");
    let text = fs::read_to_string(&note).unwrap();
    let mut told: serde_json::Value = serde_json::from_str(&text).unwrap();
    let at = told["at"].as_i64().unwrap();
    told["at"] = (at - 3 * 86_400_000_000).into();
    fs::write(&note, told.to_string()).unwrap();
    pty.wait_for("NO NIGHTLY COPY since");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

/// The homes may lie on a disk of their own: a mount point there is on another disk than the journal while no stick is in.
#[test]
fn an_empty_mount_point_on_a_third_disk_takes_no_copy() {
    let bench = Bench::new(2, 60);
    Pty::begin(&bench);
    let homes = bench.root.path().join("the homes");
    let stick = homes.join("stick");
    // It lies in the folder behind the homes' disk.
    fs::create_dir_all(bench.root.path().join("behind/files/stick/dwell")).unwrap();
    fs::create_dir(&homes).unwrap();
    let named = |point: &Path| {
        let point = point.to_str().unwrap().replace(' ', "\\040");
        format!("# a remark\n\nLABEL=stick\t{point}  ext4 noauto 0 2\n/dev/sdz9 none swap sw\n")
    };
    for to in [&stick, &stick.join("dwell")] {
        let Some(refused) = with_stick(&bench, &homes, to, &named(&stick)) else {
            return skipped("no overlayfs in a namespace of the test's own: no disk was mounted");
        };
        let wrong = refused.expect_err("no stick is in");
        assert!(wrong.contains("nothing is mounted at"), "{wrong}");
        assert_eq!(fs::read_dir(bench.root.path().join("behind/files/stick")).unwrap().count(), 1);
    }
    // A folder that fstab does not name is the disk's own; so is one on a disk that it names and that is mounted.
    for fstab in [String::new(), named(&homes), named(&bench.root.path().join("elsewhere"))] {
        let copied = with_stick(&bench, &homes, &stick, &fstab).unwrap();
        copied.unwrap_or_else(|wrong| panic!("{fstab}: {wrong}"));
    }
}

/// A copy in memory is gone with the power that it is to outlive.
#[test]
fn memory_takes_no_copy() {
    let bench = Bench::new(2, 60);
    Pty::begin(&bench);
    let kind = Command::new("stat").args(["-f", "-c", "%T", "/dev/shm"]).output();
    if !kind.is_ok_and(|kind| kind.stdout == b"tmpfs\n") {
        return skipped("/dev/shm is no tmpfs here");
    }
    let failed = bench.run(&["nightly", "/dev/shm"]);
    assert_eq!(failed.code, 2);
    assert!(failed.err.contains("lies in memory"), "{}", failed.err);
}

#[test]
fn where_no_job_is_set_up_nothing_is_said_of_one() {
    let bench = Bench::new(2, 60);
    bench.take(2);
    let mut pty = board(&bench, &[]);
    pty.wait_for("2 blanks");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    std::thread::sleep(std::time::Duration::from_millis(1200));
    assert!(!pty.contents().contains("NIGHTLY"), "{}", pty.contents());
    assert_eq!(pty.leave(), 0);
}
