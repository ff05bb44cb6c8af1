//! Telling somebody who is not at the board: the station's own program, run without a shell and under guard, with what
//! happened in a word and in words; when a shift was closed, with the file of its report.
//!
//! The file lies in a folder of its own for as long as the program runs. All of it on a thread of its own: whatever the
//! program does, no key and no press waits for it. It ends with the board.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::time::Duration;

use super::guard::Guarded;
use super::new_file;

/// A program that runs longer than this hangs, and is ended.
const HANGS: Duration = Duration::from_secs(60);
/// So many that nobody has been told of yet are kept; a program that is so slow is told no more.
const MOST: usize = 32;

/// Something that somebody wants to know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum News {
    /// An order turned late, or a press was stopped.
    Late(String),
    Stopped(String),
    /// A shift was closed: what it is known by, where its journal lies, in words.
    Closed {
        shift: String,
        data: PathBuf,
        says: String,
    },
}

impl News {
    /// The word that the program is given first.
    fn kind(&self) -> &'static str {
        match self {
            News::Late(_) => "order-late",
            News::Stopped(_) => "press-stopped",
            News::Closed { .. } => "shift-closed",
        }
    }

    fn says(&self) -> &str {
        match self {
            News::Late(says) | News::Stopped(says) | News::Closed { says, .. } => says,
        }
    }
}

/// Who is told, and how.
#[derive(Debug, Default)]
pub struct Messenger {
    command: Option<Vec<String>>,
    hand: Option<Hand>,
}

/// The thread that tells, and what went wrong with it.
#[derive(Debug)]
struct Hand {
    ask: SyncSender<(Vec<String>, News)>,
    wrong: Receiver<String>,
}

impl Hand {
    fn start() -> std::io::Result<Self> {
        let (ask, asked) = sync_channel::<(Vec<String>, News)>(MOST);
        let (answer, wrong) = sync_channel(MOST);
        std::thread::Builder::new().name("messenger".into()).spawn(move || {
            for (command, news) in asked {
                if let Err(reason) = tell(&command, &news) {
                    // The board may have ended, or said enough of it.
                    drop(answer.try_send(reason));
                }
            }
        })?;
        Ok(Self { ask, wrong })
    }
}

impl Messenger {
    /// Takes the program from the station's profile.
    pub fn set(&mut self, command: Option<&[String]>) {
        self.command = command.map(<[String]>::to_vec);
    }

    /// Has somebody told, where the profile names a program.
    pub fn tell(&mut self, news: News) {
        let Some(command) = self.command.clone() else { return };
        if self.hand.is_none() {
            self.hand = Hand::start().ok();
        }
        if let Some(hand) = &self.hand {
            drop(hand.ask.try_send((command, news)));
        }
    }

    /// Why somebody was not told, once.
    pub fn wrong(&mut self) -> Option<String> {
        self.hand.as_ref()?.wrong.try_recv().ok()
    }
}

/// Runs the program to its end.
fn tell(command: &[String], news: &News) -> Result<(), String> {
    let Some((program, arguments)) = command.split_first() else { return Ok(()) };
    let mut arguments = arguments.to_vec();
    arguments.extend([news.kind().to_owned(), news.says().to_owned()]);
    // The folder goes once the program has ended: what is to stay it copies.
    let folder = new_file::passing_folder();
    if let News::Closed { shift, data, .. } = news {
        let folder = folder.as_ref().map_err(ToString::to_string)?;
        arguments.push(report(shift, data, folder.path())?.display().to_string());
    }
    let failed = |reason: String| format!("\"{program}\" told nobody of {}: {reason}", news.kind());
    match Guarded::run(program, &arguments, HANGS) {
        Ok(Some(status)) if status.success() => Ok(()),
        Ok(Some(status)) => Err(failed(status.to_string())),
        Ok(None) => Err(failed("it hung, and was ended".into())),
        Err(reason) => Err(failed(reason.to_string())),
    }
}

/// The report of a shift in a folder, by our own program, which reads what is saved.
fn report(shift: &str, data: &Path, folder: &Path) -> Result<PathBuf, String> {
    let wrong = |reason: String| format!("the report of {shift} could not be made: {reason}");
    let file = folder.join(format!("shift-{}.html", shift.replace('/', "-")));
    let made = Command::new("/proc/self/exe")
        .args(["report", "--shift", shift, "--format", "html", "--out"])
        .arg(&file)
        .arg("--data")
        .arg(data)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    match made {
        Ok(status) if status.success() => Ok(file),
        Ok(status) => Err(wrong(status.to_string())),
        Err(reason) => Err(wrong(reason.to_string())),
    }
}
