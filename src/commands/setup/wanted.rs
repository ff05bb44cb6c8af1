//! What is laid for a machine that is the board's own.

use std::path::{Path, PathBuf};

use super::super::Failure;
use super::change::Change;
use super::device::{self, Device};

const SYSTEM: &str = "/etc/systemd/system";
const UNIT: &str = "/usr/lib/systemd/system/dwell.service";

/// Letters of 16 x 32 dots: 120 columns on a screen of 1920 dots, read from three metres.
const LARGE: &str = "/usr/share/consolefonts/Uni2-TerminusBold32x16.psf.gz";

/// What somebody wants beyond the usual.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// Where the journal is copied to each night.
    pub backup: Option<PathBuf>,
    /// Whether the console gets large letters.
    pub large: bool,
    /// The serial lines that the station's profile names, each with its field.
    pub lines: Vec<(String, String)>,
    /// Whether the profile names a program that tells somebody elsewhere, or a hub.
    pub reaches_out: bool,
}

impl Wanted {
    /// All that is laid, in the order in which it is.
    ///
    /// # Errors
    /// A directory or a device that no unit can name.
    pub fn changes(&self) -> Result<Vec<Change>, Failure> {
        let mut changes = usual(self.large);
        if let Some(backup) = &self.backup {
            changes.extend(nightly(in_a_unit(backup)?));
        }
        if !self.lines.is_empty() {
            let lines = self.lines.iter().map(|(field, line)| Device::named(field, line));
            changes.extend(serial(&lines.collect::<Result<Vec<_>, _>>()?));
        }
        if self.reaches_out {
            changes.push(network());
        }
        Ok(changes)
    }
}

/// All that any setup lays.
pub fn everything() -> Vec<Change> {
    let mut changes = usual(true);
    changes.extend(nightly("/"));
    changes.extend(serial(&[]));
    changes.push(network());
    changes
}

/// A directory as a unit can name it, without quotes.
fn in_a_unit(path: &Path) -> Result<&str, Failure> {
    let plain = |text: &&str| {
        let usual = |c: char| c.is_ascii_alphanumeric() || "/._-".contains(c);
        text.starts_with('/') && text.chars().all(usual)
    };
    path.to_str().filter(plain).ok_or_else(|| {
        let found = crate::shop::facts::words::clean(&path.display().to_string(), 60);
        Failure::Input(format!(
            "--backup: found \"{found}\", expected a directory from the root, of letters, digits, '.', '_' and '-', such \
             as /media/stick"
        ))
    })
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

/// A check and a copy each night; seven copies, one for each day of the week.
fn nightly(backup: &str) -> Vec<Change> {
    let service = format!(
        "[Unit]\nDescription=Check and copy of the board's journal\nRequiresMountsFor={backup} /var/lib/dwell\n\
         After=dwell.service\n\n\
         [Service]\nType=oneshot\nUser=dwell\nGroup=dwell\nEnvironment=DWELL_DATA=/var/lib/dwell\nUMask=0077\n\
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
