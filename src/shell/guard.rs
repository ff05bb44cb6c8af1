//! A program of somebody's, run so that it cannot touch our terminal and does not outlive us.
//!
//! We start ourselves once more, as the guard: in a session of its own, where nothing finds the terminal by its name
//! `/dev/tty`, and the guard starts the program, in a group of its own. Between us and the guard is a pipe that nothing
//! is written to: it ends when we do, however that comes about, and then the guard ends the whole group. So it does when
//! the program itself ends: what that has started ends with it. All of this without a line that is unsafe, which
//! anything between a fork and an exec would be.

use std::ffi::OsString;
use std::io::{BufRead, BufReader, Error, Read, Write};
use std::os::unix::process::{CommandExt, ExitStatusExt};
use std::process::{Child, Command, ExitCode, ExitStatus, Stdio};
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process_group, setsid};

/// The first argument of a guard, before the program and its arguments.
const WORD: &str = "--guard";

/// Between two looks at a program that is waited for.
const NAP: Duration = Duration::from_millis(20);

/// What a guard says where the program runs; else the number of the error.
const RUNS: &str = "runs";

/// A program that runs under guard. It is ended where this is dropped.
#[derive(Debug)]
pub struct Guarded {
    guard: Child,
}

impl Guarded {
    /// Starts a program with its arguments; its standard streams lead nowhere.
    ///
    /// # Errors
    /// It cannot be started.
    pub fn start(program: &str, arguments: &[String]) -> std::io::Result<Self> {
        // By this name it is the very file that we were started from, also where another has taken its place since.
        let mut guard = Command::new("/proc/self/exe")
            .arg0("dwell")
            .args([WORD, program])
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let mut said = String::new();
        if let Some(stdout) = guard.stdout.take() {
            BufReader::new(stdout).read_line(&mut said)?;
        }
        let mut guarded = Self { guard };
        match said.trim() {
            RUNS => Ok(guarded),
            number => {
                guarded.end();
                let number = number.parse().map(Error::from_raw_os_error);
                Err(number.unwrap_or_else(|_| Error::other("it could not be started")))
            }
        }
    }

    /// How it has ended, if it has.
    ///
    /// # Errors
    /// What the system says.
    pub fn ended(&mut self) -> std::io::Result<Option<ExitStatus>> {
        self.guard.try_wait()
    }

    /// Runs a program to its end; None where it hung for so long and was ended. For a thread of its own.
    ///
    /// # Errors
    /// It cannot be started, or what the system says.
    pub fn run(
        program: &str,
        arguments: &[String],
        hangs: Duration,
    ) -> std::io::Result<Option<ExitStatus>> {
        let mut running = Self::start(program, arguments)?;
        let mut waited = Duration::ZERO;
        while waited < hangs {
            if let Some(status) = running.ended()? {
                return Ok(Some(status));
            }
            std::thread::sleep(NAP);
            waited += NAP;
        }
        Ok(None)
    }

    fn end(&mut self) {
        drop(self.guard.stdin.take());
        // The guard ends everything and then itself; that there is nothing to wait for is as good.
        drop(self.guard.wait());
    }
}

impl Drop for Guarded {
    fn drop(&mut self) {
        self.end();
    }
}

/// Guards a program, where this process was started for that: it does nothing else then, and this is how it ended.
pub fn stand(mut arguments: impl Iterator<Item = OsString>) -> Option<ExitCode> {
    if arguments.next()? != WORD {
        return None;
    }
    let program = arguments.next()?;
    let started = setsid().map_err(Error::from).and_then(|_| {
        Command::new(program)
            .args(arguments)
            .process_group(0)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
    });
    let says = match &started {
        Ok(_) => RUNS.to_owned(),
        Err(reason) => reason.raw_os_error().unwrap_or(0).to_string(),
    };
    // Where nobody hears it any more, the pipe has ended as well.
    drop(writeln!(std::io::stdout(), "{says}"));
    Some(started.map_or(ExitCode::FAILURE, watch))
}

/// Waits for the end of the program or of whoever wanted it, and ends what is left of its group.
fn watch(mut program: Child) -> ExitCode {
    let group = i32::try_from(program.id()).ok().and_then(Pid::from_raw);
    let end_all = move || {
        if let Some(group) = group {
            // Nobody may be left in it.
            let _ = kill_process_group(group, Signal::KILL);
        }
    };
    let watching = std::thread::Builder::new().spawn(move || {
        drop(std::io::stdin().read_to_end(&mut Vec::new()));
        end_all();
    });
    if watching.is_err() {
        end_all();
    }
    let status = program.wait();
    end_all();
    let code =
        status.ok().and_then(|status| status.code().or_else(|| Some(128 + status.signal()?)));
    code.and_then(|code| u8::try_from(code).ok()).map_or(ExitCode::FAILURE, ExitCode::from)
}
