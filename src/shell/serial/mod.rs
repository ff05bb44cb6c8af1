//! A scale and a probe with a cable: each line is read on a thread of its own, which opens it again when it comes back
//! after it was pulled out. What it tells is what stands still and what does not; what becomes of that, the forms decide.

mod lines;
mod port;
mod steady;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use self::lines::{Came, Lines};
use self::port::{Closed, Port};
use self::steady::Settling;
use super::clock;
use super::mishap::catch_panic;
use crate::screen::instrument::Reading;
use crate::shop::facts::moment::Up;
use crate::shop::facts::station::{Instrument, NotRead, Reads, Shows};
use crate::shop::facts::words::clean;

/// A line that is not there is looked for so often.
const AGAIN: Duration = Duration::from_millis(500);
/// The line is looked at so often at least.
const LOOK: Duration = Duration::from_millis(50);
/// What moves is told of so often: more is not seen.
const MOVES: Duration = Duration::from_millis(100);
/// So many lines in a row that say nothing are no accident.
const STRANGE: u32 = 3;

/// What the loop hears.
#[derive(Debug)]
pub enum InstrumentNews {
    /// It shows something else than before; None: nothing has come for a while.
    Shows(Shows, Option<Reading>),
    /// What is wrong with it, in words with what to do; None: nothing any more.
    Trouble(Shows, Option<String>),
}

/// The lines that are read.
#[derive(Debug)]
pub struct Serial {
    tell: UnboundedSender<InstrumentNews>,
    told: Option<UnboundedReceiver<InstrumentNews>>,
    read: BTreeMap<Shows, (Instrument, Stops)>,
}

impl Default for Serial {
    fn default() -> Self {
        let (tell, told) = unbounded_channel();
        Self { tell, told: Some(told), read: BTreeMap::new() }
    }
}

/// Has a thread stop when it goes.
#[derive(Debug)]
struct Stops(Arc<AtomicBool>);

impl Drop for Stops {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl Serial {
    /// What is told, once.
    pub fn take_told(&mut self) -> Option<UnboundedReceiver<InstrumentNews>> {
        self.told.take()
    }

    /// Reads the line of an instrument from now on, or none.
    pub fn set(&mut self, shows: Shows, instrument: Option<&Instrument>) {
        if self.read.get(&shows).map(|(read, _)| read) == instrument {
            return;
        }
        self.read.remove(&shows);
        // What the one before has told does not hold any more. The loop may have ended already.
        drop(self.tell.send(InstrumentNews::Shows(shows, None)));
        drop(self.tell.send(InstrumentNews::Trouble(shows, None)));
        let Some(instrument) = instrument else { return };
        // A profile whose pattern does not read is not put in force.
        let Ok(reads) = instrument.pattern(shows) else { return };
        let stopped = Arc::new(AtomicBool::new(false));
        let stops = Stops(Arc::clone(&stopped));
        let mut reader = Reader {
            instrument: instrument.clone(),
            shows,
            reads,
            stopped,
            tell: self.tell.clone(),
            trouble: None,
            shown: (None, Up::FIRST),
        };
        let work = move || {
            if catch_panic(|| reader.work()).is_none() {
                let text = "its thread ended by a panic, the log says more; start dwell again";
                reader.wrong(Some(text.to_owned()));
            }
        };
        match std::thread::Builder::new().name(shows.name().into()).spawn(work) {
            Ok(_) => drop(self.read.insert(shows, (instrument.clone(), stops))),
            Err(reason) => tracing::warn!(%reason, "no thread to read a serial line"),
        }
    }
}

/// The thread's own state.
struct Reader {
    instrument: Instrument,
    shows: Shows,
    reads: Reads,
    stopped: Arc<AtomicBool>,
    tell: UnboundedSender<InstrumentNews>,
    trouble: Option<String>,
    /// What was told of last, and when.
    shown: (Option<Reading>, Up),
}

impl Reader {
    fn work(&mut self) {
        while !self.stopped.load(Ordering::Relaxed) {
            let closed = match Port::open(&self.instrument) {
                Ok(port) => self.read(&port),
                Err(closed) => Some(closed),
            };
            let Some(closed) = closed else { return };
            self.show(None);
            self.wrong(Some(self.why(closed)));
            std::thread::sleep(AGAIN);
        }
    }

    /// Reads an open line until it is pulled out; None where it is to stop.
    fn read(&mut self, port: &Port) -> Option<Closed> {
        let opened = clock::up();
        self.wrong(None);
        let (mut lines, mut settling) = (Lines::new(opened), Settling::new(self.shows, opened));
        let (mut room, mut strange) = ([0; 512], 0);
        while !self.stopped.load(Ordering::Relaxed) {
            let bytes = match port.read(&mut room, LOOK) {
                Ok(bytes) => bytes,
                Err(closed) => return Some(closed),
            };
            let up = clock::up();
            for came in lines.take(bytes, up) {
                match self.said(&came) {
                    Ok(found) => {
                        settling.take(&found, up);
                        strange = 0;
                        self.wrong(None);
                    }
                    Err(why) => {
                        settling.broke(up);
                        strange += 1;
                        if strange >= STRANGE {
                            self.wrong(Some(why));
                        }
                    }
                }
            }
            self.tell_of(settling.shown(up), up);
        }
        None
    }

    /// What something that came says, or why it says nothing.
    fn said(&self, came: &Came) -> Result<crate::shop::facts::station::Found, String> {
        let (what, units) = (self.shows.what(), self.shows.units());
        match came {
            Came::Noise => Err(format!(
                "it sends no lines of text: compare speed and frame with its manual, {}",
                self.by_hand()
            )),
            Came::Line(line) => self.reads.line(line).map_err(|wrong| match wrong {
                NotRead::Unlike => format!(
                    "no {what} in \"{}\": compare reads, speed and frame with its manual, {}",
                    clean(line, 24),
                    self.by_hand()
                ),
                NotRead::Unit(found) => {
                    format!("it sends \"{found}\": set it to {units}, {}", self.by_hand())
                }
            }),
        }
    }

    /// What is to be done as long as the line does not serve.
    fn by_hand(&self) -> String {
        format!("or type the {}", self.shows.what())
    }

    fn why(&self, closed: Closed) -> String {
        let (line, by_hand) = (clean(&self.instrument.line, 40), self.by_hand());
        match closed {
            Closed::NotThere => format!("{line} is not there: plug its cable in, {by_hand}"),
            Closed::Forbidden => {
                format!("{line} may not be opened: sudo dwell setup mends that, {by_hand}")
            }
            Closed::Busy => format!("another program has {line}: close that one, {by_hand}"),
            Closed::NoLine => {
                format!("{line} is no serial line: name one in station.ron, {by_hand}")
            }
            Closed::Other(reason) => {
                format!("{line}: {reason}; pull its cable and plug it in, {by_hand}")
            }
        }
    }

    /// Tells what is wrong, where that is news.
    fn wrong(&mut self, trouble: Option<String>) {
        if self.trouble != trouble {
            self.trouble.clone_from(&trouble);
            self.send(InstrumentNews::Trouble(self.shows, trouble));
        }
    }

    /// Tells what is shown, where that is news: what stands still at once, what moves now and then.
    fn tell_of(&mut self, reading: Option<Reading>, up: Up) {
        let moves = reading.as_ref().is_some_and(|reading| !reading.steady);
        let moved = self.shown.0.as_ref().is_some_and(|before| !before.steady);
        if moves && moved && up.since(self.shown.1) < MOVES {
            return;
        }
        if self.shown.0 != reading {
            self.shown.1 = up;
            self.show(reading);
        }
    }

    fn show(&mut self, reading: Option<Reading>) {
        if self.shown.0 != reading {
            self.shown.0.clone_from(&reading);
            self.send(InstrumentNews::Shows(self.shows, reading));
        }
    }

    fn send(&self, told: InstrumentNews) {
        // One that is to stop says no more. The loop may have ended already.
        if !self.stopped.load(Ordering::Relaxed) {
            drop(self.tell.send(told));
        }
    }
}
