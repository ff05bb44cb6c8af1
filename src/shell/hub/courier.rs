//! The courier: a thread of the board that sends what is saved to the hub, and knows what the hub has.
//!
//! It reads rows as they are on the disk, by a reader of its own, and sends each batch as one statement with a deadline.
//! After every doubt it asks for the head and compares: an answer that was lost is no loss, since sending again what
//! is there changes nothing. An outage is tried again with pauses; a refusal waits for a hand. No key waits for it.

use std::path::{Path, PathBuf};
use std::thread::JoinHandle;
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::sync::watch;
use tokio::time::Instant;

use super::agreement::{Relation, Verdict};
use super::head::Head;
use super::memory::{Known, Memory};
use super::parts::PartAnswer;
use super::station::{BATCH, CourierError, Pushed, StationLine};
use super::{Destination, HubError};
use crate::screen::ui::HubStanding;
use crate::shell::clock::Clock;
use crate::shell::journal::{JournalError, Progress, Reader};
use crate::shell::mishap::catch_panic;
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::{OrderNo, StationId};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::station::HubProfile;
use crate::shop::facts::words::counted;

/// What happens within this time goes in one statement.
const GATHER: Duration = Duration::from_millis(50);
/// However little happens, the head is asked so often: the hub hears of a station that is alive, and is found out when
/// it has gone back to an older state.
const HEARTBEAT: Duration = Duration::from_secs(10);
/// The first pause after an outage and the longest; each is twice the one before.
const FIRST_PAUSE: Duration = Duration::from_secs(1);
const LONGEST_PAUSE: Duration = Duration::from_secs(30);
/// While a hand is waited for, whether it has done something is looked at so often.
const LOOK: Duration = Duration::from_secs(2);
/// What the owner of the hub mends there is tried so often, with the banner standing.
const TRIED_EVERY: Duration = Duration::from_secs(60);
/// What was confirmed is written down so often at most: it costs a sync, and may lag behind.
const WRITTEN_EVERY: Duration = Duration::from_secs(10);
/// What waits for longer than this is told.
const TOLD_AFTER: Duration = Duration::from_secs(2);

/// What the board hears.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CourierNews {
    /// How far the hub is, and what a hand has to do.
    Standing { standing: HubStanding, banner: Option<String> },
    /// Another station had the move of these garments before.
    Contested(Vec<String>),
    /// In lives that are over too, orders were numbered up to this one.
    Numbers(OrderNo),
    /// Garments of a shared order were asked for.
    Part { asked: PartOf, answer: PartAnswer },
    /// The hub has taken a grant back.
    GivenBack(PartOf),
}

/// Whoever sends; dropped, it stops.
pub struct Courier {
    profile: HubProfile,
    station: StationId,
    tell: UnboundedSender<CourierNews>,
    words: UnboundedSender<Again>,
    told: Option<UnboundedReceiver<CourierNews>>,
    _thread: JoinHandle<()>,
}

/// A hand may have done something: what waits for one is tried again.
struct Again;

impl Courier {
    /// Starts a thread that sends what `progress` calls saved in a data directory.
    ///
    /// # Errors
    /// No thread is left.
    pub fn start(
        data: &Path,
        (profile, station): (&HubProfile, StationId),
        progress: watch::Receiver<Progress>,
    ) -> std::io::Result<Self> {
        let (words, asked) = unbounded_channel();
        let (tell, told) = unbounded_channel();
        let now = Clock::machine().now().at;
        let at_work = AtWork {
            data: data.to_owned(),
            profile: profile.clone(),
            station,
            progress,
            memory: Memory::of(data),
            written: None,
            since: now,
            equal: Instant::now(),
            told: None,
            tell: tell.clone(),
        };
        let (profile, teller) = (profile.clone(), tell.clone());
        let work = move || {
            crate::shell::lower_priority();
            if catch_panic(|| run(at_work, asked)).is_none() {
                let banner = "HUB: nothing is sent any more: the courier ended by a panic, the log says more. Leave and start again";
                let news = CourierNews::Standing {
                    standing: HubStanding::Refused,
                    banner: Some(banner.into()),
                };
                // The board may have ended already.
                drop(tell.send(news));
            }
        };
        let thread = std::thread::Builder::new().name("courier".into()).spawn(work)?;
        Ok(Self { profile, station, tell: teller, words, told: Some(told), _thread: thread })
    }

    /// What is told, once.
    pub fn take_told(&mut self) -> Option<UnboundedReceiver<CourierNews>> {
        self.told.take()
    }

    /// Asks the hub for garments of a shared order, on a thread of its own: what is answered is told.
    ///
    /// # Errors
    /// No thread is left.
    pub fn ask_for(&self, asked: PartOf) -> std::io::Result<()> {
        let (profile, station, tell) = (self.profile.clone(), self.station, self.tell.clone());
        let ask = move || {
            crate::shell::lower_priority();
            let answer = catch_panic(|| super::parts::ask(&profile, station, &asked));
            let answer = answer.unwrap_or_else(|| {
                PartAnswer::Unanswered("The asking ended by a panic: the log says more".into())
            });
            // The board may have ended: what was granted is heard of at its next start.
            drop(tell.send(CourierNews::Part { asked, answer }));
        };
        std::thread::Builder::new().name("part".into()).spawn(ask).map(drop)
    }

    /// Gives back what the hub has granted and is not made here, on a thread of its own; told once the hub has it back.
    ///
    /// # Errors
    /// No thread is left.
    pub fn give_back(&self, granted: PartOf) -> std::io::Result<()> {
        let (profile, station, tell) = (self.profile.clone(), self.station, self.tell.clone());
        let give = move || {
            crate::shell::lower_priority();
            match catch_panic(|| super::parts::give_back(&profile, station, &granted)) {
                // The board may have ended.
                Some(Ok(())) => drop(tell.send(CourierNews::GivenBack(granted))),
                Some(Err(wrong)) => tracing::warn!(%wrong, "a part was not given back"),
                None => tracing::warn!("giving a part back ended by a panic"),
            }
        };
        std::thread::Builder::new().name("part".into()).spawn(give).map(drop)
    }

    /// Whether it serves this profile; it tries again then.
    pub fn goes_on(&self, profile: &HubProfile) -> bool {
        self.profile == *profile && self.words.send(Again).is_ok()
    }
}

fn run(mut at_work: AtWork, mut asked: UnboundedReceiver<Again>) {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    match runtime {
        Ok(runtime) => runtime.block_on(at_work.serve(&mut asked)),
        Err(reason) => {
            at_work.tell(HubStanding::Refused, Some(format!("HUB: nothing is sent: {reason}")))
        }
    }
}

/// Why it stopped sending.
enum Stopped {
    /// It is tried again by itself; the banner, where it may need a hand all the same.
    Outage { reason: String, banner: Option<String> },
    /// A hand is needed: what it has to do, and why. What is mended elsewhere, with nothing done here, is tried again.
    Hand { banner: String, is_mended_elsewhere: bool },
}

impl Stopped {
    fn outage(reason: impl Into<String>) -> Self {
        Self::Outage { reason: reason.into(), banner: None }
    }

    fn hand(banner: String) -> Self {
        Self::Hand { banner, is_mended_elsewhere: false }
    }
}

impl From<CourierError> for Stopped {
    fn from(wrong: CourierError) -> Self {
        match wrong {
            CourierError::Hub(wrong) => wrong.into(),
            // The board says by itself what is wrong with its journal.
            CourierError::Journal(wrong) => wrong.into(),
        }
    }
}

impl From<HubError> for Stopped {
    fn from(wrong: HubError) -> Self {
        match wrong.is_outage() {
            true => Self::outage(wrong.to_string()),
            false => Self::Hand {
                is_mended_elsewhere: wrong.is_mended_elsewhere(),
                banner: format!("NOT SENT TO THE HUB: {wrong}"),
            },
        }
    }
}

impl From<JournalError> for Stopped {
    fn from(wrong: JournalError) -> Self {
        match wrong {
            JournalError::Sum { .. } | JournalError::Gap { .. } => {
                Self::hand(format!("NOT SENT TO THE HUB: {wrong}"))
            }
            wrong => Self::outage(wrong.to_string()),
        }
    }
}

/// The thread's own state.
struct AtWork {
    data: PathBuf,
    profile: HubProfile,
    station: StationId,
    progress: watch::Receiver<Progress>,
    memory: Memory,
    /// What was written of the memory last, and when.
    written: Option<(Memory, Instant)>,
    /// When the hub confirmed something last, by the wall clock; before that, when the work began.
    since: Wall,
    /// When the hub had all that was saved.
    equal: Instant,
    told: Option<CourierNews>,
    tell: UnboundedSender<CourierNews>,
}

impl AtWork {
    async fn serve(&mut self, asked: &mut UnboundedReceiver<Again>) {
        let mut pause = FIRST_PAUSE;
        loop {
            let before = self.since;
            let stopped = tokio::select! {
                biased;
                stopped = self.attend() => stopped,
                word = asked.recv() => match word {
                    None => return,
                    Some(Again) => continue,
                },
            };
            if self.since != before {
                pause = FIRST_PAUSE;
            }
            let is_last = match stopped {
                Stopped::Outage { reason, banner } => {
                    tracing::info!(reason, "no hub");
                    self.tell(HubStanding::Cut { since: self.since }, banner);
                    // Whoever asks beside the board goes by it, for as long as there is no hub.
                    if self.written.as_ref().is_none_or(|(written, _)| *written != self.memory) {
                        self.keep();
                    }
                    let waited = tokio::time::timeout(pause, asked.recv()).await;
                    pause = (pause * 2).min(LONGEST_PAUSE);
                    matches!(waited, Ok(None))
                }
                Stopped::Hand { .. } if self.was_taken_over() => false,
                Stopped::Hand { banner, is_mended_elsewhere } => {
                    tracing::warn!(banner, "the hub waits for a hand");
                    self.tell(HubStanding::Refused, Some(banner));
                    // What is compared with it must be what is known.
                    self.keep();
                    self.hand_has_come(asked, is_mended_elsewhere).await
                }
            };
            if is_last {
                return;
            }
        }
    }

    /// Waits until a hand may have done something; whether there is nobody left to send for.
    async fn hand_has_come(
        &mut self,
        asked: &mut UnboundedReceiver<Again>,
        is_mended_elsewhere: bool,
    ) -> bool {
        let since = Instant::now();
        loop {
            match tokio::time::timeout(LOOK, asked.recv()).await {
                Ok(word) => return word.is_none(),
                Err(_) => {
                    if let Some(now) = Memory::read(&self.data).filter(|now| *now != self.memory) {
                        self.memory = now;
                        return false;
                    }
                    if is_mended_elsewhere && since.elapsed() >= TRIED_EVERY {
                        return false;
                    }
                }
            }
        }
    }

    /// Whether a hand has begun a new life here meanwhile: this machine has another name then, which goes on.
    fn was_taken_over(&mut self) -> bool {
        let written = Memory::read(&self.data).filter(|now| now.machine != self.memory.machine);
        let is_other = written.is_some();
        self.memory = written.unwrap_or_else(|| self.memory.clone());
        is_other
    }

    /// Sends what is saved for as long as the hub takes it.
    async fn attend(&mut self) -> Stopped {
        match self.try_to_attend().await {
            Ok(never) => match never {},
            Err(stopped) => stopped,
        }
    }

    async fn try_to_attend(&mut self) -> Result<std::convert::Infallible, Stopped> {
        let line = StationLine::to(&Destination::of_profile(&self.profile)?, self.station).await?;
        let mut reader = Reader::of(&self.data)?;
        // The life for which the numbers of older lives were asked for.
        let mut numbered = None;
        loop {
            if reader.is_replaced() {
                reader = Reader::of(&self.data)?;
            }
            let mut head = self.agreed(&line, &reader).await?;
            if head.life > 1 && numbered != Some(head.life) {
                let highest = line.highest_order(&head.station).await?;
                drop(self.tell.send(CourierNews::Numbers(highest)));
                numbered = Some(head.life);
            }
            let asked = Instant::now();
            while self.send(&line, &reader, &mut head).await? && asked.elapsed() < HEARTBEAT {
                let left = HEARTBEAT.saturating_sub(asked.elapsed());
                // The writer lives as long as the board: its end is that of this thread.
                if matches!(tokio::time::timeout(left, self.progress.changed()).await, Ok(Err(_))) {
                    std::future::pending::<()>().await;
                }
                tokio::time::sleep(GATHER).await;
            }
        }
    }

    /// Asks the head, and whether this station is the one that sends behind it.
    async fn agreed(&mut self, line: &StationLine, reader: &Reader) -> Result<Head, Stopped> {
        let mut head = line.head().await?;
        let (verdict, relation) = line.verdict(&self.memory, &head, Some(reader)).await?;
        match verdict {
            Verdict::Send => {}
            Verdict::BeginLife => {
                // Before it is begun: asked again after a lost answer it is known as one's own.
                self.keep();
                let after = (head.upto, head.sum);
                let begun = line.begin_life(head.life, after, &self.memory.machine).await?;
                head.life = begun.ok_or_else(|| Stopped::outage("another life was begun"))?;
            }
            Verdict::Fetch => {
                if let Some(known) = &mut self.memory.hub {
                    known.ask_at_start = true;
                }
                return Err(Stopped::hand(in_words(&verdict, &head, relation)));
            }
            Verdict::OldServer => {
                // It passes as soon as the address leads to the right one again.
                let banner = Some(in_words(&verdict, &head, relation));
                return Err(Stopped::Outage { reason: "an old server".into(), banner });
            }
            verdict => return Err(Stopped::hand(in_words(&verdict, &head, relation))),
        }
        self.confirmed(&head);
        Ok(head)
    }

    /// Sends what is saved and not at the hub; whether it took all.
    async fn send(
        &mut self,
        line: &StationLine,
        reader: &Reader,
        head: &mut Head,
    ) -> Result<bool, Stopped> {
        loop {
            let saved = self.progress.borrow_and_update().upto;
            let behind = saved.saturating_sub(head.upto);
            if behind == 0 {
                self.equal = Instant::now();
                self.tell(HubStanding::Sent, None);
                return Ok(true);
            }
            if behind > BATCH as u64 || self.equal.elapsed() > TOLD_AFTER {
                self.tell(HubStanding::Behind(behind), None);
            }
            let upto = saved.min(head.upto + BATCH as u64);
            let rows = reader.sound_rows((head.upto, head.sum), upto)?;
            // The journal was replaced: the reader is opened again.
            let Some(last) = rows.last() else { return Ok(false) };
            match line.push(head.life, (head.upto, head.sum), &rows).await? {
                Pushed::Taken { contested } => {
                    (head.upto, head.sum) = (u64::try_from(last.seq).unwrap_or(0), last.sum);
                    self.confirmed(head);
                    if !contested.is_empty() {
                        drop(self.tell.send(CourierNews::Contested(contested)));
                    }
                }
                Pushed::Elsewhere => return Ok(false),
            }
        }
    }

    /// The hub has all up to a head.
    fn confirmed(&mut self, head: &Head) {
        self.since = Clock::machine().now().at;
        let known = Known::of(head);
        self.memory.hub = Some(known);
        let only_further = |written: &Memory| {
            let hub =
                |memory: &Memory| memory.hub.clone().map(|known| Known { seq: 0, sum: 0, ..known });
            hub(written) == hub(&self.memory)
        };
        let is_late = match &self.written {
            Some((written, at)) => {
                !only_further(written) || (*written != self.memory && at.elapsed() >= WRITTEN_EVERY)
            }
            None => true,
        };
        if is_late {
            self.keep();
        }
    }

    fn keep(&mut self) {
        self.written = Some((self.memory.clone(), Instant::now()));
        if let Err(reason) = self.memory.keep(&self.data) {
            tracing::warn!(%reason, "what is known of the hub is not written down");
        }
    }

    /// Tells the board what has changed.
    fn tell(&mut self, standing: HubStanding, banner: Option<String>) {
        let news = CourierNews::Standing { standing, banner };
        if self.told.as_ref() != Some(&news) {
            self.told = Some(news.clone());
            // The board may have ended already.
            drop(self.tell.send(news));
        }
    }
}

/// What a hand has to do, and why.
pub fn in_words(verdict: &Verdict, head: &Head, relation: Relation) -> String {
    let station = &head.station;
    match verdict {
        Verdict::Send | Verdict::BeginLife => "the hub takes what is saved here".to_owned(),
        Verdict::Fetch => {
            let later = match relation {
                Relation::Ahead(ahead) => counted(usize::try_from(ahead).unwrap_or(0), "later event"),
                _ => "later events".to_owned(),
            };
            format!(
                "START THE BOARD AGAIN before anything is recorded: the hub has {later} of this station, and a start \
                 fetches them"
            )
        }
        Verdict::Apart => format!(
            "NOT SENT TO THE HUB: it tells another history of station \"{station}\". Is this machine the station? Then run \
             dwell hub new-life here"
        ),
        Verdict::Replaced => format!(
            "NOT SENT TO THE HUB: another machine goes on as station \"{station}\". Stop this board, or run dwell hub \
             new-life here to stop the other"
        ),
        Verdict::OtherHub => "NOT SENT TO THE HUB: another hub answers at its address. Correct the address in station.ron, \
             or run dwell hub new-life to join it"
            .to_owned(),
        Verdict::OldServer => "NOT SENT TO THE HUB: a server answers that another has taken the place of. Stop it, and see \
             that the address leads to the new one"
            .to_owned(),
    }
}
