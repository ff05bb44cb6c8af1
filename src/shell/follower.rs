//! Following another process's journal, on a thread of its own: no key of a view waits for the disk.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use super::clock::Clock;
use super::journal::lock::Lock;
use super::journal::{JournalError, Reader};
use super::rehearsed;
use super::replay::{self, Replay};
use crate::shop::Shop;
use crate::shop::facts::fact::Event;

/// The journal is looked into about so often.
const LOOK: Duration = Duration::from_millis(500);
/// Whether anybody writes in it is asked at every so many of these looks.
const SELDOM: u32 = 8;

/// What a view hears.
#[derive(Debug)]
pub enum News {
    /// A journal from its beginning: the first, or another that came to lie in its place.
    Anew(Box<Whole>),
    Events(Vec<Event>),
    /// What is wrong from here on; None: nothing any more.
    ViewFault(Option<ViewFault>),
    /// How the clock of a rehearsal runs from here on; None: nobody rehearses there.
    Clock(Option<Clock>),
}

/// All that a view shows of a journal.
#[derive(Debug, Default)]
pub struct Whole {
    pub shop: Shop,
    pub past: VecDeque<Event>,
}

impl Whole {
    /// Reads it.
    ///
    /// # Errors
    /// A journal that cannot be read.
    pub fn read(data: &Path, reader: &Reader) -> Result<Self, JournalError> {
        let shop = Replay::of(data, reader)?.into_shop();
        let past = replay::lately(reader, &shop)?;
        Ok(Self { shop, past })
    }
}

/// Why what a view shows may not be so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ViewFault {
    /// It was there, and is not any more.
    Gone,
    Unread(String),
    /// No board writes in it.
    Unattended,
}

/// The thread, as long as this lives.
#[derive(Debug)]
pub struct Follower {
    news: Option<UnboundedReceiver<News>>,
    _stop: Sender<()>,
}

impl Follower {
    /// Follows the journal of a data directory from an event on; `reader` has read up to there, at this version.
    ///
    /// # Errors
    /// No thread is left.
    pub fn start(
        data: &Path,
        (reader, version): (Option<Reader>, i64),
        seq: u64,
    ) -> std::io::Result<Self> {
        let (stop, stopped) = channel();
        let (tell, news) = unbounded_channel();
        let data = data.to_owned();
        let mut desk = FollowerThread {
            data,
            reader,
            version,
            seq,
            looks: 0,
            trouble: None,
            clock: None,
            tell,
        };
        std::thread::Builder::new().name("follower".into()).spawn(move || desk.work(&stopped))?;
        Ok(Self { news: Some(news), _stop: stop })
    }

    /// What is told, once.
    pub fn take_news(&mut self) -> Option<UnboundedReceiver<News>> {
        self.news.take()
    }
}

/// The thread's own state.
struct FollowerThread {
    data: PathBuf,
    reader: Option<Reader>,
    version: i64,
    seq: u64,
    looks: u32,
    trouble: Option<ViewFault>,
    /// That of the rehearsal that is followed.
    clock: Option<Clock>,
    tell: UnboundedSender<News>,
}

impl FollowerThread {
    fn work(&mut self, stopped: &Receiver<()>) {
        while stopped.recv_timeout(LOOK) == Err(RecvTimeoutError::Timeout) {
            let found = self.look().unwrap_or_else(|wrong| {
                self.reader = None;
                Some(ViewFault::Unread(wrong.in_short()))
            });
            let trouble = found.or_else(|| self.unattended());
            if trouble != self.trouble {
                self.trouble.clone_from(&trouble);
                self.say(News::ViewFault(trouble));
            }
            // What a rehearsal left behind runs no more.
            let attended = self.trouble.is_none();
            let clock = attended.then(|| rehearsed::read(&self.data)).flatten();
            if clock != self.clock {
                self.clock.clone_from(&clock);
                self.say(News::Clock(clock));
            }
        }
    }

    /// The view may have ended.
    fn say(&self, news: News) {
        drop(self.tell.send(news));
    }

    fn look(&mut self) -> Result<Option<ViewFault>, JournalError> {
        if self.reader.as_ref().is_some_and(Reader::is_replaced) {
            (self.reader, self.seq) = (None, 0);
        }
        let reader = match &self.reader {
            Some(reader) if reader.is_gone() => return Ok(Some(ViewFault::Gone)),
            Some(reader) => reader,
            None => match Reader::open(&self.data)? {
                Some(reader) => {
                    self.version = -1;
                    self.reader.insert(reader)
                }
                None if self.seq > 0 => return Ok(Some(ViewFault::Gone)),
                None => return Ok(None),
            },
        };
        if self.seq == 0 {
            let version = reader.version()?;
            let whole = Whole::read(&self.data, reader)?;
            (self.version, self.seq) = (version, whole.shop.seq());
            if self.seq > 0 {
                self.say(News::Anew(Box::new(whole)));
            }
            return Ok(None);
        }
        let version = reader.version()?;
        if version != self.version {
            let mut news = Vec::new();
            reader.events_after(self.seq, |event| news.push(event))?;
            self.version = version;
            if let Some(last) = news.last() {
                self.seq = last.seq;
                self.say(News::Events(news));
            }
        }
        Ok(None)
    }

    /// Asked seldom: the answer takes the lock for a moment.
    fn unattended(&mut self) -> Option<ViewFault> {
        let asks = self.looks.is_multiple_of(SELDOM);
        self.looks = self.looks.wrapping_add(1);
        if !asks {
            return self.trouble.clone().filter(|trouble| *trouble == ViewFault::Unattended);
        }
        (self.seq > 0 && !Lock::is_held(&self.data)).then_some(ViewFault::Unattended)
    }
}
