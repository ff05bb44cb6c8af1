//! A serial line that the board reads: what udev and the board's unit are told of it.

use super::super::Failure;

/// A device below /dev.
#[derive(Debug, Clone, Copy)]
pub struct Device<'a> {
    /// Its name there.
    name: &'a str,
}

/// Kinds of serial lines: how their names begin, the kernel's module, and its name for all of them.
const KINDS: [(&str, &str, &str); 2] =
    [("ttyUSB", "usbserial", "char-ttyUSB"), ("ttyACM", "cdc_acm", "char-ttyACM")];

impl<'a> Device<'a> {
    /// The one that a field of the profile names.
    ///
    /// # Errors
    /// A name that is none of udev's.
    pub fn named(field: &str, line: &'a str) -> Result<Self, Failure> {
        let usual = |c: char| c.is_ascii_alphanumeric() || "/._:+-".contains(c);
        let name = line.strip_prefix("/dev/").filter(|name| name.chars().all(usual));
        name.map(|name| Self { name }).ok_or_else(|| {
            let found = crate::shop::facts::words::clean(line, 60);
            Failure::Input(format!(
                "{field}.line in station.ron: found \"{found}\", expected a device such as /dev/ttyUSB0 or one below \
                 /dev/serial/by-id. Nothing was changed"
            ))
        })
    }

    /// The kinds of lines that it may be: behind a name of udev's own, any that goes into a USB socket.
    fn kinds(self) -> impl Iterator<Item = &'static (&'static str, &'static str, &'static str)> {
        KINDS
            .iter()
            .filter(move |(begins, ..)| self.name.starts_with(begins) || self.name.contains('/'))
    }
}

/// Rules that give the board's group the lines, and keep the system's modem manager off them.
pub fn rules(devices: &[Device<'_>]) -> String {
    let rule = |device: &Device<'_>| {
        let key = if device.name.contains('/') { "SYMLINK" } else { "KERNEL" };
        format!(
            "SUBSYSTEM==\"tty\", {key}==\"{}\", GROUP=\"dwell\", MODE=\"0660\", ENV{{ID_MM_DEVICE_IGNORE}}=\"1\"\n",
            device.name
        )
    };
    devices.iter().map(rule).collect()
}

/// What the board's unit may reach beside its own. A kind has a name only once its module is there.
pub fn unit(devices: &[Device<'_>]) -> String {
    let mut kinds: Vec<_> = devices.iter().flat_map(|device| device.kinds()).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let mut text = String::from("[Unit]\n");
    for (_, module, _) in &kinds {
        text += &format!("Wants=modprobe@{module}.service\nAfter=modprobe@{module}.service\n");
    }
    text += "[Service]\n";
    for (_, _, all) in &kinds {
        text += &format!("DeviceAllow={all} rw\n");
    }
    for device in devices.iter().filter(|device| device.kinds().next().is_none()) {
        text += &format!("DeviceAllow=/dev/{} rw\n", device.name);
    }
    text
}
