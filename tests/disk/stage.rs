//! A bench whose data lie on a disk that fails on command, and what was shown of them.

use std::ffi::CString;
use std::ops::{Deref, DerefMut};
use std::path::{Path, PathBuf};

use rustix::mount::{MountFlags, UnmountFlags, mount, unmount};

use crate::bench::Bench;
use crate::faulty::{Disk, Fault};
use crate::pty::Pty;
use crate::replay::shop;
use crate::skipped::skipped;
use dwell::shop::Shop;

/// The bench and its disk. The disk goes first.
pub struct Stage {
    pub disk: Disk,
    pub bench: Bench,
}

impl Deref for Stage {
    type Target = Bench;

    fn deref(&self) -> &Bench {
        &self.bench
    }
}

impl DerefMut for Stage {
    fn deref_mut(&mut self) -> &mut Bench {
        &mut self.bench
    }
}

impl Stage {
    /// A bench with so many presses, whose recipe runs `target` seconds. None, with words, where nothing can be
    /// mounted.
    pub fn set(presses: usize, target: u32) -> Option<Self> {
        let bench = Bench::with_data_in(presses, target, "disk/data");
        match Disk::mount(&bench.root.path().join("disk")) {
            Ok(disk) => Some(Self { disk, bench }),
            Err(reason) => {
                skipped(&format!("no file system of our own can be mounted here: {reason}"));
                None
            }
        }
    }

    /// A board at this bench, with `garments` taken in and saved.
    pub fn board(&self, garments: u32) -> Pty {
        self.take(garments);
        let pty = Pty::board(&self.bench);
        pty.wait_for(&format!("{garments} blanks"));
        pty.wait_saved();
        pty
    }

    /// Something goes wrong.
    pub fn fail(&self, fault: Fault) {
        self.disk.set_fault(fault);
    }

    /// Everything works again.
    pub fn mend(&self) {
        self.disk.set_fault(Fault::None);
    }

    /// The shop as the journal tells, read from a copy: SQLite maps its shared memory, and a process that maps what
    /// it serves itself waits for itself.
    pub fn shop(&self) -> Shop {
        let copy = Bench::new(1, 1);
        std::fs::create_dir(copy.data()).unwrap();
        for name in ["journal.sqlite", "journal.sqlite-wal"] {
            match std::fs::read(self.data().join(name)) {
                Ok(bytes) => std::fs::write(copy.data().join(name), bytes).unwrap(),
                Err(reason) => assert_eq!(reason.kind(), std::io::ErrorKind::NotFound),
            }
        }
        shop(&copy, u64::MAX)
    }

    /// The presses that were shut, as the journal tells.
    pub fn presses_shut(&self) -> Vec<u64> {
        let shut = self.past_of("press-shut");
        shut.iter().map(|event| event["press"].as_u64().unwrap()).collect()
    }
}

/// A small file system of the kernel's own.
pub struct SmallDisk(PathBuf);

impl SmallDisk {
    /// Mounts one of this size. None, with words, where that is not allowed.
    pub fn mount(place: &Path, size: &str) -> Option<Self> {
        std::fs::create_dir_all(place).unwrap();
        let size = CString::new(format!("size={size}")).unwrap();
        match mount("none", place, "tmpfs", MountFlags::empty(), size.as_c_str()) {
            Ok(()) => Some(Self(place.to_owned())),
            Err(reason) => {
                skipped(&format!("no tmpfs can be mounted here: {reason}"));
                None
            }
        }
    }
}

impl SmallDisk {
    /// As after an error.
    pub fn make_read_only(&self) {
        rustix::mount::mount_remount(&self.0, MountFlags::RDONLY, "").unwrap();
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = unmount(&self.0, UnmountFlags::DETACH);
    }
}

/// The rows of a journal are numbered without a gap, and none is there twice.
pub fn assert_in_order(bench: &Bench) {
    for (event, seq) in bench.past().iter().zip(1..) {
        assert_eq!(event["seq"], seq, "a gap or a double");
    }
}
