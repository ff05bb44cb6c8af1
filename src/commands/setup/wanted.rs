//! What is laid for a machine that is the board's own.

use std::path::{Path, PathBuf};

use super::super::Failure;
use super::change::Change;
use super::device::{self, Device};
use crate::shell::nightly::is_elsewhere;

const SYSTEM: &str = "/etc/systemd/system";
const UNIT: &str = "/usr/lib/systemd/system/dwell.service";

/// Letters of 16 x 32 dots: 120 columns on a screen of 1920 dots, read from three metres.
const LARGE: &str = "/usr/share/consolefonts/Uni2-TerminusBold32x16.psf.gz";

/// What somebody wants beyond the usual.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Where the journal is copied to each night.
    pub backup: Option<PathBuf>,
    /// Whether the console gets large letters.
    pub large: bool,
    /// The serial lines that the station's profile names, each with its field.
    pub lines: Vec<(String, String)>,
    /// Whether the profile names a program that tells somebody elsewhere, or a hub.
    pub reaches_out: bool,
    /// The folder of orders that the profile names.
    pub orders: Option<PathBuf>,
}

impl Wanted {
    /// All that is laid, in the order in which it is.
    ///
    /// # Errors
    /// A directory or a device that no unit can name.
    pub fn changes(&self) -> Result<Vec<Change>, Failure> {
        let mut changes = usual(self.large);
        if let Some(backup) = &self.backup {
            changes.extend(nightly(in_a_unit("--backup", backup)?));
        }
        if !self.lines.is_empty() {
            let lines = self.lines.iter().map(|(field, line)| Device::named(field, line));
            changes.extend(serial(&lines.collect::<Result<Vec<_>, _>>()?));
        }
        if self.reaches_out {
            changes.push(network());
        }
        if let Some(folder) = &self.orders {
            changes.push(orders(reachable(in_a_unit("tables.folder in station.ron", folder)?)?));
        }
        Ok(changes)
    }
}

impl Wanted {
    /// What somebody has to do besides, on a machine that runs from this root.
    pub fn is_missing(&self, root: &Path) -> Vec<String> {
        let mut missing = Vec::new();
        if root != Path::new("/") {
            return missing;
        }
        let data = Path::new("/var/lib/dwell");
        if let Some(wrong) = self.backup.as_ref().and_then(|to| is_elsewhere(to, data).err()) {
            missing.push(format!("As it is now there would be no nightly copy: {wrong}"));
        }
        if let Some(folder) = self.orders.as_ref().filter(|folder| !folder.is_dir()) {
            let folder = folder.display();
            missing.push(format!(
                "The folder of orders is not there: `install -d -m 2770 -g dwell {folder}` makes one for the members of the \
                 group dwell, before the board starts"
            ));
        }
        missing
    }
}

/// All that any setup lays.
pub fn everything() -> Vec<Change> {
    let mut changes = usual(true);
    changes.extend(nightly("/"));
    changes.extend(serial(&[]));
    changes.push(network());
    changes.push(orders("/"));
    changes
}

/// A directory as a unit can name it, without quotes.
fn in_a_unit<'a>(asked: &str, path: &'a Path) -> Result<&'a str, Failure> {
    let plain = |text: &&str| {
        let usual = |c: char| c.is_ascii_alphanumeric() || "/._-".contains(c);
        text.starts_with('/') && text.chars().all(usual)
    };
    path.to_str().filter(plain).ok_or_else(|| {
        let found = crate::shop::facts::words::clean(&path.display().to_string(), 60);
        Failure::Input(format!(
            "{asked}: found \"{found}\", expected a directory from the root, of letters, digits, '.', '_' and '-', such as \
             /media/stick"
        ))
    })
}

/// Whether the board's unit can see a directory at all: the homes and the folders of passing files are hidden from it.
fn reachable(folder: &str) -> Result<&str, Failure> {
    const HIDDEN: [&str; 5] = ["home", "root", "run/user", "tmp", "var/tmp"];
    let is_below = |hidden: &&str| {
        Path::new(folder).strip_prefix("/").is_ok_and(|below| below.starts_with(hidden))
    };
    match HIDDEN.into_iter().find(is_below) {
        None => Ok(folder),
        Some(hidden) => Err(Failure::Input(format!(
            "tables.folder in station.ron: {folder} is in /{hidden}, which the board's unit does not see: name a folder such \
             as /srv/orders"
        ))),
    }
}

fn usual(large: bool) -> Vec<Change> {
    let in_system = |name: &str| format!("{SYSTEM}/{name}");
    let mut console = String::from("[Service]\n");
    if large {
        console += &format!("ExecStartPre=-+/usr/bin/setfont -C /dev/tty1 {LARGE}\n");
    }
    console += "ExecStartPre=-+/bin/sh -c 'setterm --term linux --blank 0 --powersave off --powerdown 0 > /dev/tty1'\n";
    console += "ExecStartPre=-+/bin/sh -c 'setleds -D +num < /dev/tty1'\n";
    vec![
        Change::link(
            &in_system("multi-user.target.wants/dwell.service"),
            UNIT,
            "the board comes up with the machine, after each power cut too",
        ),
        Change::file(
            &in_system("dwell.service.d/console.conf"),
            &console,
            "letters that are read from afar, a screen that never goes dark, NumLock on",
        ),
        Change::link(
            &in_system("getty@tty1.service"),
            "/dev/null",
            "nobody is asked for a password over the board",
        ),
        Change::link(&in_system("ctrl-alt-del.target"), "/dev/null", "Ctrl-Alt-Del does nothing"),
        Change::file(
            "/etc/systemd/journald.conf.d/dwell.conf",
            "[Journal]\nSystemMaxUse=200M\n",
            "the system's log never fills the disk",
        ),
    ]
}

/// A check and a copy each night; seven copies, one for each day of the week. A stick that fstab names is mounted where it
/// is in, also where the copies go into a folder on it; required, its absence would keep the job from running, and from telling
/// the board.
fn nightly(backup: &str) -> Vec<Change> {
    let mut above: Vec<&Path> = Path::new(backup).components().as_path().ancestors().collect();
    above.retain(|point| point.parent().is_some());
    // The outermost first: a stick may be mounted in another.
    let mounted =
        above.iter().rev().map(|point| format!("ExecStartPre=-+/bin/mount {}\n", point.display()));
    let mounted: String = mounted.collect();
    let service = format!(
        "[Unit]\nDescription=Check and copy of the board's journal\nRequiresMountsFor=/var/lib/dwell\n\
         After=dwell.service\n\n\
         [Service]\nType=oneshot\nUser=dwell\nGroup=dwell\nEnvironment=DWELL_DATA=/var/lib/dwell\nUMask=0077\n\
         {mounted}\
         ExecStart=/usr/bin/dwell nightly {backup}\n\
         ProtectSystem=strict\nProtectHome=yes\nReadWritePaths=-{backup} /var/lib/dwell\nPrivateNetwork=yes\n\
         NoNewPrivileges=yes\nCapabilityBoundingSet=\n"
    );
    let timer = "[Unit]\nDescription=Each night: check and copy of the board's journal\n\n\
                 [Timer]\nOnCalendar=*-*-* 03:30:00\nPersistent=yes\n";
    let in_system = |name: &str| format!("{SYSTEM}/{name}");
    vec![
        Change::file(
            &in_system("dwell-nightly.service"),
            &service,
            "the journal is checked and copied: seven copies, one for each day of the week",
        ),
        Change::file(&in_system("dwell-nightly.timer"), timer, "each night at half past three"),
        Change::file(
            &in_system("dwell.service.d/nightly.conf"),
            "[Service]\nEnvironment=DWELL_NIGHTLY=yes\n",
            "the board says what each night came to, and that one was left out",
        ),
        Change::link(
            &in_system("timers.target.wants/dwell-nightly.timer"),
            "/etc/systemd/system/dwell-nightly.timer",
            "from the machine's start on",
        ),
    ]
}

/// The hub is reached from the board's unit, and a program that tells somebody elsewhere runs in it: it has no network else.
fn network() -> Change {
    Change::file(
        &format!("{SYSTEM}/dwell.service.d/told.conf"),
        "[Service]\nPrivateNetwork=no\nIPAddressDeny=\nRestrictAddressFamilies=AF_INET AF_INET6\n",
        "the hub that station.ron names, and the program that it names under told, are reached over the network",
    )
}

/// The folder of orders, out of which the board moves what it has taken.
fn orders(folder: &str) -> Change {
    Change::file(
        &format!("{SYSTEM}/dwell.service.d/orders.conf"),
        &format!("[Service]\nReadWritePaths=-{folder}\n"),
        "the folder of orders that station.ron names, whose files the board takes",
    )
}

/// A scale and a probe with a cable are the board's to read.
fn serial(devices: &[Device<'_>]) -> Vec<Change> {
    vec![
        Change::file(
            "/etc/udev/rules.d/70-dwell.rules",
            &device::rules(devices),
            "the board may read the scale and the probe that station.ron names",
        ),
        Change::file(
            &format!("{SYSTEM}/dwell.service.d/serial.conf"),
            &device::unit(devices),
            "the board's unit lets it reach their lines",
        ),
    ]
}
