//! A serial line, opened and set as an instrument wants it.

use std::os::fd::OwnedFd;
use std::time::Duration;

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;
use rustix::termios::{
    ControlModes, OptionalActions, QueueSelector, ioctl_tiocexcl, isatty, tcflush, tcgetattr,
    tcsetattr,
};

use crate::shop::facts::station::{Frame, Instrument};

/// Why a line cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closed {
    NotThere,
    Forbidden,
    Busy,
    NoLine,
    Other(Errno),
}

impl From<Errno> for Closed {
    fn from(reason: Errno) -> Self {
        match reason {
            // What is no longer there, and what hangs in the air behind a device's file that is.
            Errno::NOENT | Errno::NODEV | Errno::NXIO | Errno::IO => Closed::NotThere,
            Errno::ACCESS | Errno::PERM => Closed::Forbidden,
            Errno::BUSY => Closed::Busy,
            Errno::NOTTY | Errno::ISDIR | Errno::INVAL => Closed::NoLine,
            other => Closed::Other(other),
        }
    }
}

/// An open line. Others cannot open it as long as it is, but for root.
#[derive(Debug)]
pub struct Port(OwnedFd);

impl Port {
    /// Opens it, sets it, and throws away what had come before. It is never made, and never our terminal.
    pub fn open(instrument: &Instrument) -> Result<Self, Closed> {
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let fd = rustix::fs::open(instrument.line.as_str(), flags, Mode::empty())?;
        if !isatty(&fd) {
            return Err(Closed::NoLine);
        }
        // Two readers would each have half of a weight.
        ioctl_tiocexcl(&fd)?;
        let mut set = tcgetattr(&fd)?;
        set.make_raw();
        frame(&mut set.control_modes, instrument.frame);
        set.set_speed(instrument.speed)?;
        tcsetattr(&fd, OptionalActions::Now, &set)?;
        tcflush(&fd, QueueSelector::IFlush)?;
        Ok(Self(fd))
    }

    /// Waits at most `patience` for bytes; none where none came.
    pub fn read<'a>(&self, room: &'a mut [u8], patience: Duration) -> Result<&'a [u8], Closed> {
        let mut fds = [PollFd::new(&self.0, PollFlags::IN)];
        let patience = Timespec { tv_sec: 0, tv_nsec: patience.subsec_nanos().into() };
        match poll(&mut fds, Some(&patience)) {
            Ok(0) | Err(Errno::INTR) => return Ok(&[]),
            Ok(_) => {}
            Err(reason) => return Err(reason.into()),
        }
        match rustix::io::read(&self.0, &mut *room) {
            // A line that was pulled out has an end.
            Ok(0) => Err(Closed::NotThere),
            Ok(read) => Ok(&room[..read]),
            Err(Errno::INTR | Errno::AGAIN) => Ok(&[]),
            Err(reason) => Err(reason.into()),
        }
    }
}

/// Sets how a character stands on the line; the line belongs to us, whatever its modem wires say.
fn frame(modes: &mut ControlModes, frame: Frame) {
    *modes |= ControlModes::CLOCAL | ControlModes::CREAD;
    *modes &= !ControlModes::CSIZE;
    *modes |= if frame.seven_bits { ControlModes::CS7 } else { ControlModes::CS8 };
    modes.set(ControlModes::PARENB, frame.odd.is_some());
    modes.set(ControlModes::PARODD, frame.odd == Some(true));
    modes.set(ControlModes::CSTOPB, frame.two_stops);
    *modes &= !ControlModes::CRTSCTS;
}
