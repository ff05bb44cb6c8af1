//! Setting a machine up, in a root of the test's own: what is laid, what is refused, and the way back.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::bench::{Bench, Ran};
use crate::pty::Pty;
use crate::skipped::skipped;

fn setup(bench: &Bench, more: &[&str]) -> Ran {
    let root = root(bench);
    bench.run(&[&["setup", "--root", root.to_str().unwrap()], more].concat())
}

fn root(bench: &Bench) -> PathBuf {
    let root = bench.root.path().join("machine");
    fs::create_dir_all(root.join("etc")).unwrap();
    root
}

/// Every file and link below a directory, with its text or where it leads.
fn laid(root: &Path) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let mut folders = vec![root.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(root).unwrap().display().to_string();
            if path.is_symlink() {
                found.insert(name, fs::read_link(&path).unwrap().display().to_string());
            } else if path.is_dir() {
                folders.push(path);
            } else {
                found.insert(name, fs::read_to_string(&path).unwrap());
            }
        }
    }
    found
}

const BOARD: &str = "etc/systemd/system/multi-user.target.wants/dwell.service";
const NIGHTLY: &str = "etc/systemd/system/dwell-nightly.service";

#[test]
fn all_is_said_laid_laid_again_and_taken_away() {
    let bench = Bench::new(2, 20);
    let first = setup(&bench, &["--yes", "--backup", "/media/stick"]);
    assert_eq!((first.code, first.err.as_str()), (0, ""));
    let there = laid(&root(&bench));
    assert_eq!(there[BOARD], "/usr/lib/systemd/system/dwell.service");
    assert!(there[NIGHTLY].contains("dwell nightly /media/stick\n"), "{there:?}");
    for name in there.keys() {
        assert!(first.out.contains(name), "{name} was said:\n{}", first.out);
    }
    let again = setup(&bench, &["--yes", "--backup", "/media/stick"]);
    assert_eq!((again.code, laid(&root(&bench))), (0, there.clone()));
    // What is not wanted any more goes.
    let without = setup(&bench, &["--yes", "--small"]);
    assert_eq!(without.code, 0);
    let fewer = laid(&root(&bench));
    assert!(!fewer.contains_key(NIGHTLY) && fewer.contains_key(BOARD), "{fewer:?}");
    assert!(!fewer["etc/systemd/system/dwell.service.d/console.conf"].contains("setfont"));
    let undone = setup(&bench, &["--undo", "--yes"]);
    assert_eq!((undone.code, laid(&root(&bench)).len()), (0, 0), "{}", undone.out);
    assert!(setup(&bench, &["--undo", "--yes"]).out.contains("Nothing of a setup"));
}

#[test]
fn what_is_somebody_elses_stays_and_nothing_is_begun() {
    let bench = Bench::new(2, 20);
    let theirs = root(&bench).join("etc/systemd/journald.conf.d/dwell.conf");
    fs::create_dir_all(theirs.parent().unwrap()).unwrap();
    fs::write(&theirs, "[Journal]\nSystemMaxUse=1G\n").unwrap();
    let before = laid(&root(&bench));
    let refused = setup(&bench, &["--yes"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("not made by a setup"), "{}", refused.err);
    assert_eq!(laid(&root(&bench)), before);
    assert_eq!(setup(&bench, &["--undo", "--yes"]).code, 0);
    assert_eq!(laid(&root(&bench)), before);
    let odd = setup(&bench, &["--yes", "--backup", "/media/my stick; reboot"]);
    assert_eq!(odd.code, 2);
    assert!(odd.err.contains("expected a directory from the root"), "{}", odd.err);
    // Nobody is there who could say yes.
    let unasked = setup(&bench, &[]);
    assert_eq!(unasked.code, 2);
    assert!(unasked.err.contains("give --yes"), "{}", unasked.err);
    assert_eq!(laid(&root(&bench)), before);
}

/// A copy may go into a folder on the stick: fstab names the stick, and `mount` mounts nothing by a folder in it.
#[test]
fn a_stick_is_mounted_for_a_folder_on_it() {
    let bench = Bench::new(2, 20);
    assert_eq!(setup(&bench, &["--yes", "--backup", "/media/stick/dwell/"]).code, 0);
    let there = laid(&root(&bench));
    let mounted: Vec<&str> =
        there[NIGHTLY].lines().filter_map(|line| line.strip_prefix("ExecStartPre=")).collect();
    assert_eq!(
        mounted,
        ["-+/bin/mount /media", "-+/bin/mount /media/stick", "-+/bin/mount /media/stick/dwell"]
    );
}

/// Each thing is asked once; a no changes nothing; the scanner is tried.
#[test]
fn somebody_at_a_terminal_is_asked() {
    let bench = Bench::new(2, 20);
    let machine = root(&bench);
    let ask = || Pty::start(&bench, &["setup", "--root", machine.to_str().unwrap()], &[]);
    let mut pty = ask();
    pty.wait_for("each night to which directory");
    pty.burst(b"\r");
    pty.wait_for("Do it? [y/n]");
    pty.burst(b"n\r");
    pty.wait_for("Nothing was changed");
    assert_eq!(laid(&machine).len(), 0);
    let mut pty = ask();
    pty.wait_for("each night to which directory");
    pty.burst(b"/media/stick\r");
    pty.wait_for("Do it? [y/n]");
    pty.burst(b"y\r");
    pty.wait_for("Scan a garment's label");
    pty.burst(b"A1/02\r");
    pty.wait_for("which is no tag");
    pty.wait_for("with the machine's next start");
    assert!(laid(&machine).contains_key(NIGHTLY));
}

const PROFILE: &str = "etc/dwell/station.ron";

/// Two stations of a shop must not give out one tag: the id is asked, while no journal goes by it.
#[test]
fn the_stations_id_is_asked_once_and_stays_with_a_journal() {
    let bench = Bench::new(2, 20);
    let machine = root(&bench);
    let folder = machine.join("etc/dwell");
    bench.run(&["profiles", "--write", folder.to_str().unwrap()]);
    let before = fs::read_to_string(machine.join(PROFILE)).unwrap();
    // Nobody who is not asked changes it.
    assert_eq!(setup(&bench, &["--yes"]).code, 0);
    assert_eq!(fs::read_to_string(machine.join(PROFILE)).unwrap(), before);

    let mut pty = Pty::start(&bench, &["setup", "--root", machine.to_str().unwrap()], &[]);
    pty.wait_for("The station's id");
    pty.burst(b"b2\r");
    pty.wait_for("expected the short name of a station");
    pty.burst(b"sb\r");
    pty.wait_for("What people call it");
    pty.burst(b"South \"wet\" bench\r");
    pty.wait_for("each night to which directory");
    pty.burst(b"\r");
    pty.wait_for("tags begin with SB");
    pty.wait_for("Do it? [y/n]");
    pty.burst(b"y\r");
    pty.wait_for("Scan a garment's label");
    pty.burst(b"\r");
    pty.wait_for("with the machine's next start");
    let after = fs::read_to_string(machine.join(PROFILE)).unwrap();
    let wanted = before
        .replace("id: \"a\"", "id: \"sb\"")
        .replace("name: \"North bench\"", "name: \"South \\\"wet\\\" bench\"");
    assert_eq!(after, wanted, "all else stays");

    let data = machine.join("var/lib/dwell");
    fs::create_dir_all(&data).unwrap();
    fs::write(data.join("journal.sqlite"), b"").unwrap();
    let refused = setup(&bench, &["--yes", "--id", "c"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("its id stays"), "{}", refused.err);
    let named = setup(&bench, &["--yes", "--id", "sb", "--name", "Yard bench"]);
    assert_eq!((named.code, named.err.as_str()), (0, ""));
    let last = fs::read_to_string(machine.join(PROFILE)).unwrap();
    assert!(last.contains("id: \"sb\"") && last.contains("name: \"Yard bench\""), "{last}");
}

/// Where the station's name stands on its id's line, the first `name` on a line of its own is a press's.
#[test]
fn another_id_renames_no_press() {
    let bench = Bench::new(2, 20);
    let machine = root(&bench);
    fs::create_dir_all(machine.join("etc/dwell")).unwrap();
    let before = "Station(\n    id: \"a\",  name: \"Pier bench\",\n    presses: [(\n        name: \"Left\",\n        \
                  dial: \"340 F\",\n    )],\n    sheet: (wipe_at: 10, wipe_by: 12),\n)\n";
    fs::write(machine.join(PROFILE), before).unwrap();
    let named = setup(&bench, &["--yes", "--id", "sb"]);
    assert_eq!((named.code, named.err.as_str()), (0, ""));
    let after = fs::read_to_string(machine.join(PROFILE)).unwrap();
    assert_eq!(after, before.replace("\"a\"", "\"sb\""));
    // A name that stands nowhere on a line of its own is not written over the press's.
    let refused = setup(&bench, &["--yes", "--name", "Yard bench"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("by hand"), "{}", refused.err);
    assert_eq!(fs::read_to_string(machine.join(PROFILE)).unwrap(), after);
}

const RULES: &str = "etc/udev/rules.d/70-dwell.rules";
const TOLD: &str = "etc/systemd/system/dwell.service.d/told.conf";
const SERIAL: &str = "etc/systemd/system/dwell.service.d/serial.conf";

/// The machine's own profile, with these fields.
fn machine_says(bench: &Bench, fields: &str) {
    bench.station_says(fields);
    let etc = root(bench).join("etc/dwell");
    fs::create_dir_all(&etc).unwrap();
    fs::copy(bench.station(), etc.join("station.ron")).unwrap();
}

#[test]
fn the_lines_of_scale_and_probe_become_the_boards() {
    let bench = Bench::new(2, 20);
    let line = "/dev/serial/by-id/usb-Bench_scale_12-if00-port0";
    machine_says(
        &bench,
        &format!("scale: Some((line: \"{line}\")), probe: Some((line: \"/dev/ttyS1\")),"),
    );
    assert_eq!(setup(&bench, &["--yes"]).code, 0);
    let there = laid(&root(&bench));
    let rules: Vec<&str> = there[RULES].lines().skip(1).collect();
    assert_eq!(
        rules,
        [
            "SUBSYSTEM==\"tty\", SYMLINK==\"serial/by-id/usb-Bench_scale_12-if00-port0\", GROUP=\"dwell\", MODE=\"0660\", \
             ENV{ID_MM_DEVICE_IGNORE}=\"1\"",
            "SUBSYSTEM==\"tty\", KERNEL==\"ttyS1\", GROUP=\"dwell\", MODE=\"0660\", ENV{ID_MM_DEVICE_IGNORE}=\"1\"",
        ]
    );
    for words in ["DeviceAllow=char-ttyUSB rw", "DeviceAllow=/dev/ttyS1 rw", "modprobe@cdc_acm"] {
        assert!(there[SERIAL].contains(words), "{words}: {}", there[SERIAL]);
    }
    // Without them nothing of it is left. A program that tells somebody elsewhere gets the network that the unit has not.
    assert!(!there.contains_key(TOLD), "{there:?}");
    // So does a hub.
    machine_says(
        &bench,
        "hub: Some((address: \"postgres://127.0.0.1/dwell\", role: \"b\", password_file: \"/etc/dwell/hub\")),",
    );
    let station = root(&bench).join("etc/dwell/station.ron");
    let text = fs::read_to_string(&station).unwrap();
    fs::write(
        &station,
        text.lines().filter(|l| !l.contains("scale:")).collect::<Vec<_>>().join("\n"),
    )
    .unwrap();
    assert_eq!(setup(&bench, &["--yes"]).code, 0);
    let fewer = laid(&root(&bench));
    assert!(!fewer.contains_key(RULES) && !fewer.contains_key(SERIAL), "{fewer:?}");
    assert!(fewer[TOLD].contains("PrivateNetwork=no"), "{fewer:?}");
    let text = fs::read_to_string(&station).unwrap();
    fs::write(
        &station,
        text.lines().filter(|l| !l.contains("hub:")).collect::<Vec<_>>().join("\n"),
    )
    .unwrap();
    assert_eq!(setup(&bench, &["--yes"]).code, 0);
    assert!(!laid(&root(&bench)).contains_key(TOLD));
    machine_says(&bench, "told: Some([\"/usr/local/bin/tell\"]),");
    assert_eq!(setup(&bench, &["--yes"]).code, 0);
    assert!(laid(&root(&bench))[TOLD].contains("PrivateNetwork=no"));
    machine_says(&bench, "scale: Some((line: \"/dev/tty*\")),");
    let text = fs::read_to_string(&station).unwrap();
    fs::write(&station, text.replacen("scale: Some((line: \"/dev/serial", "tables: None, //", 1))
        .unwrap();
    let odd = setup(&bench, &["--yes"]);
    assert_eq!(odd.code, 2);
    assert!(odd.err.contains("expected a device such as /dev/ttyUSB0"), "{}", odd.err);
}

const ORDERS: &str = "etc/systemd/system/dwell.service.d/orders.conf";

/// The board moves what it has taken out of the folder of orders: its unit lets it, and sees no home.
#[test]
fn the_folder_of_orders_is_opened_to_the_board() {
    let bench = Bench::new(2, 20);
    machine_says(&bench, "tables: Some((folder: Some(\"/srv/orders\"))),");
    assert_eq!(setup(&bench, &["--yes"]).code, 0);
    let there = laid(&root(&bench));
    assert!(there[ORDERS].contains("\nReadWritePaths=-/srv/orders\n"), "{there:?}");
    assert_eq!(setup(&bench, &["--undo", "--yes"]).code, 0);
    assert!(!laid(&root(&bench)).contains_key(ORDERS));
    let station = root(&bench).join(PROFILE);
    let text = fs::read_to_string(&station).unwrap();
    for (folder, wanted) in [
        (
            "/home/shop/orders",
            "which the board's unit does not see: name a folder such as /srv/orders",
        ),
        (
            "/srv/my orders",
            "tables.folder in station.ron: found \"/srv/my orders\", expected a directory",
        ),
        ("orders", "tables.folder: found \"orders\", expected a directory from the root"),
    ] {
        fs::write(&station, text.replace("/srv/orders", folder)).unwrap();
        let refused = setup(&bench, &["--yes"]);
        assert_eq!(refused.code, 2);
        assert!(refused.err.contains(wanted), "{folder}: {}", refused.err);
    }
}

/// systemd itself reads the units, and says how much of a machine the board's could reach.
#[test]
fn systemd_reads_the_units_and_the_boards_is_hardened() {
    if Command::new("systemd-analyze").arg("--version").output().is_err() {
        return skipped("no systemd-analyze here: the units were read by nobody");
    }
    let bench = Bench::new(2, 20);
    machine_says(&bench, "scale: Some((line: \"/dev/serial/by-id/usb-scale\")),");
    assert_eq!(setup(&bench, &["--yes", "--backup", "/media/stick"]).code, 0);
    let units = bench.root.path().join("units");
    fs::create_dir(&units).unwrap();
    let own = concat!(env!("CARGO_MANIFEST_DIR"), "/src/commands/setup/dwell.service");
    let lay = |name: &str, text: String| {
        // The program is not installed where the test runs.
        let text = text.replace("/usr/bin/dwell", "/bin/true");
        fs::write(units.join(name), text).unwrap();
    };
    lay("dwell.service", fs::read_to_string(own).unwrap());
    let there = laid(&root(&bench));
    lay("dwell-nightly.service", there[NIGHTLY].clone());
    lay("dwell-nightly.timer", there["etc/systemd/system/dwell-nightly.timer"].clone());
    fs::create_dir(units.join("dwell.service.d")).unwrap();
    lay("dwell.service.d/serial.conf", there[SERIAL].clone());
    for name in ["dwell.service", "dwell-nightly.timer"] {
        let read = Command::new("systemd-analyze")
            .args(["verify", "--man=no", "--recursive-errors=no"])
            .arg(units.join(name))
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&read.stderr);
        assert!(read.status.success() && !said.contains(name), "{name}: {said}");
    }
    let judged = Command::new("systemd-analyze")
        .args(["security", "--offline=true", "--threshold=30"])
        .arg(units.join("dwell.service"))
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&judged.stdout);
    assert!(judged.status.success(), "exposed more than 3.0:\n{told}");
}
