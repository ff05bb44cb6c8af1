//! The loop: it builds one input at a time, hands it to the board, and draws what came of it.

use std::collections::BTreeSet;
use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::task::Poll;
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::time::{Instant, sleep_until};

use super::board::labels::LabelsToPrint;
use super::board::planning::Task;
use super::board::{Board, Next, Source};
use super::input::Input;
use super::journal::{JournalError, Reader};
use super::keyboard::{Keyboard, Struck};
use super::listen::{self, on_own_thread};
use super::mishap::{catch_panic, panic_if_asked};
use super::painter::{Drawn, Frame, Painter};
use super::picture;
use super::profiles::Own;
use super::recall::{self, NoRecall};
use super::supervisor::Supervisor;
use super::terminal::{self, Taken, TerminalError};
use crate::screen::act::LookRequest;
use crate::screen::ui::{Practice, StoryAsked};

/// How the board ended.
#[derive(Debug, thiserror::Error)]
pub enum Ended {
    #[error(transparent)]
    Terminal(#[from] TerminalError),
    #[error("the {0} thread ended by a panic; what was saved is saved. The log says more")]
    Broken(&'static str),
    /// Nobody asked for it: whoever keeps the board running has to know.
    #[error(
        "the terminal is gone, and the keys with it; what was saved is saved. Start dwell again at another one"
    )]
    NoTerminal,
}

/// Timer frames are at least so far apart; a key's frame is drawn at once.
const FRAME: Duration = Duration::from_millis(100);
/// Everything is drawn anew now and then: what the kernel or `wall` wrote over the screen goes away.
const REPAINT: Duration = Duration::from_secs(60);

/// A board that was left.
#[derive(Debug, Default)]
pub struct Left {
    /// What is to be said at the end.
    pub words: Option<String>,
    /// It was left for the first day, and is to come back after it.
    pub for_first_day: bool,
    /// A signal ended it: nothing is to come after it.
    pub by_signal: bool,
}

/// Who left the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Leaver {
    Key,
    Signal,
}

/// Runs the board in the terminal until somebody leaves.
///
/// # Errors
/// No terminal, or a thread that panicked.
pub fn run(board: Board, profiles: Option<(PathBuf, Own)>) -> Result<Left, Ended> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime = runtime.map_err(TerminalError::from)?;
    runtime.block_on(serve(board, profiles))
}

async fn serve(mut board: Board, profiles: Option<(PathBuf, Own)>) -> Result<Left, Ended> {
    let (sender, mut inputs) = unbounded_channel();
    let taken = Taken::take()?;
    let hear = {
        let watch = Alive { sender: sender.clone(), name: "keyboard" };
        move |struck| watch.send(Input::Struck(struck))
    };
    let keyboard = Keyboard::start(hear).map_err(TerminalError::from)?;
    let told = {
        let watch = Alive { sender: sender.clone(), name: "drawing" };
        move |drawn| watch.send(Input::Drawn(drawn))
    };
    let painter = Painter::start(told).map_err(TerminalError::from)?;
    listen::to_signals(&sender).map_err(TerminalError::from)?;
    listen::to_journal(&board, &sender);
    listen::to_clerk(&mut board, &sender);
    listen::to_instruments(&mut board, &sender);
    listen::to_order_folder(&mut board, &sender);
    listen::to_follower(&mut board, &sender);
    let _watcher =
        profiles.clone().and_then(|(directory, own)| listen::to_profiles(directory, own, &sender));
    let looker = Looker { sender, profiles: profiles.map(|(directory, _)| directory) };
    let mut ended = unbroken(turn(&mut board, &mut inputs, &painter, &taken, &looker)).await;
    // A signal that came with the key that left would else be heard by nobody.
    if ended.is_ok() && std::iter::from_fn(|| inputs.try_recv().ok()).any(|one| one.is_end()) {
        ended = Ok(Leaver::Signal);
    }
    if !comes_back(&board, &ended) {
        Supervisor::stopping();
    }
    drop(keyboard);
    drop(painter);
    drop(taken);
    let for_first_day = board.ui.wants_first_day;
    let words = board.close();
    match ended {
        Ok(leaver) => Ok(Left { words, for_first_day, by_signal: leaver == Leaver::Signal }),
        Err(broken) => {
            // What could not be saved is said even where the end was none of ours; where nobody reads errors, in vain.
            if let Some(words) = words {
                let _ = writeln!(std::io::stderr().lock(), "dwell: {words}");
            }
            Err(broken)
        }
    }
}

/// Whether the process goes on with another board: with the first day, or with the station's own board after it. Whoever
/// is told that it stops would kill it a little later.
fn comes_back(board: &Board, ended: &Result<Leaver, Ended>) -> bool {
    let is_first_day = board.ui.practice == Some(Practice::FirstDay);
    match ended {
        Ok(Leaver::Key) => board.ui.wants_first_day || is_first_day,
        Err(Ended::Broken(_)) => is_first_day,
        Ok(Leaver::Signal) | Err(Ended::Terminal(_) | Ended::NoTerminal) => false,
    }
}

/// Runs the loop to its end. A panic in it is an end too: what was done is still handed to the journal.
async fn unbroken(turning: impl Future<Output = Result<Leaver, Ended>>) -> Result<Leaver, Ended> {
    let mut turning = std::pin::pin!(turning);
    std::future::poll_fn(|context| {
        let polled = catch_unwind(AssertUnwindSafe(|| turning.as_mut().poll(context)));
        polled.unwrap_or(Poll::Ready(Err(Ended::Broken("board's own"))))
    })
    .await
}

/// Said of work apart from the board that has ended by a panic.
const PANICKED: &str = "it ended by a panic, the log says more";

/// Has artworks looked at, each on a thread of its own: a large one takes longer than a key may.
struct Looker {
    sender: UnboundedSender<Input>,
    profiles: Option<PathBuf>,
}

impl Looker {
    fn look(&self, request: LookRequest, seq: u64) {
        let (sender, profiles) = (self.sender.clone(), self.profiles.clone());
        let look = move || {
            super::lower_priority();
            let path = art_path(&request.art, profiles.as_deref());
            let found = catch_panic(|| {
                panic_if_asked("artwork", seq);
                picture::look_at(&path, request.garment, request.limits)
            });
            let found = match found {
                Some(found) => found
                    .map(|look| look.says(request.backdrop))
                    .map_err(|wrong| wrong.in_one_line()),
                None => Err(format!("{}: {PANICKED}", path.display())),
            };
            // The loop may have ended already: nobody is left to hear it.
            drop(sender.send(Input::Looked(Box::new((request, found)))));
        };
        if let Err(reason) = std::thread::Builder::new().name("artwork".into()).spawn(look) {
            tracing::warn!(%reason, "no thread to look at an artwork");
        }
    }
}

impl Looker {
    /// Plans on a thread of its own: no key waits for it.
    fn plan(&self, task: Task, seq: u64) {
        let (sender, given_up) = (self.sender.clone(), task.given_up());
        let plan = move || {
            super::lower_priority();
            panic_if_asked("plan", seq);
            task.carry_out()
        };
        tokio::spawn(async move {
            let planned = on_own_thread("plan", plan).await.unwrap_or(given_up);
            // The loop may have ended already.
            drop(sender.send(Input::Planned(planned)));
        });
    }

    /// Has labels drawn and printed on a thread of its own.
    fn print(&self, labels: LabelsToPrint) {
        let sender = self.sender.clone();
        tokio::spawn(async move {
            let sent = on_own_thread("labels", move || labels.carry_out()).await;
            let sent = sent.unwrap_or_else(|| Err(format!("no labels: {PANICKED}")));
            // The loop may have ended already.
            drop(sender.send(Input::Labels(sent)));
        });
    }

    /// Reads a story from the journal, on a thread of its own.
    fn trace(&self, board: &Board, asked: StoryAsked) {
        let sender = self.sender.clone();
        let (Source::Writes { data, .. } | Source::Watches { data, .. }) = &board.source else {
            let none = "a rehearsal's stories are read with dwell trace, from its --data";
            drop(sender.send(Input::Traced(Err(none.into()))));
            return;
        };
        let (data, zone, seq) = (data.clone(), board.ui.zone.clone(), board.shop.seq());
        let what = match &asked {
            StoryAsked::Garment(tag) => format!("the story of {tag}"),
            StoryAsked::Return(_) => "what came back".to_owned(),
        };
        let read = move || {
            let found = catch_panic(|| {
                panic_if_asked("story", seq);
                story(&data, &asked, &zone)
            });
            let found = found.unwrap_or_else(|| Err(format!("{what}: {PANICKED}")));
            drop(sender.send(Input::Traced(found)));
        };
        if let Err(reason) = std::thread::Builder::new().name("story".into()).spawn(read) {
            tracing::warn!(%reason, "no thread to read a story");
        }
    }
}

fn story(
    data: &Path,
    asked: &StoryAsked,
    zone: &jiff::tz::TimeZone,
) -> Result<Vec<String>, String> {
    let wrong = |wrong: JournalError| wrong.in_short();
    let reader = Reader::open(data).map_err(wrong)?.ok_or("nothing is known here yet")?;
    let tag = match asked {
        StoryAsked::Garment(tag) => *tag,
        StoryAsked::Return(asked) => {
            return recall::of(&reader, asked).map(|found| found.lines(zone)).map_err(|wrong| {
                match wrong {
                    NoRecall::Journal(wrong) => wrong.in_short(),
                    wrong => wrong.to_string(),
                }
            });
        }
    };
    let part = reader.part_of(&BTreeSet::from([tag])).map_err(wrong)?;
    if !super::story::is_known(tag, &part) {
        return Err(super::story::unknown(tag, &part));
    }
    super::story::lines(&reader, tag, &part, zone).map_err(wrong)
}

/// Where an artwork lies: as named, else in the profiles' directory of orders.
fn art_path(art: &str, profiles: Option<&Path>) -> PathBuf {
    let named = PathBuf::from(art);
    match profiles.map(|directory| directory.join("orders").join(art)) {
        Some(beside) if !named.exists() && beside.exists() => beside,
        _ => named,
    }
}

/// Sends inputs, and tells the loop if its thread goes down in a panic.
pub(super) struct Alive<T: From<Input>> {
    pub sender: UnboundedSender<T>,
    pub name: &'static str,
}

impl<T: From<Input>> Alive<T> {
    pub fn send(&self, input: Input) {
        // The loop may have ended already: nobody is left to hear it.
        drop(self.sender.send(input.into()));
    }
}

impl<T: From<Input>> Drop for Alive<T> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.send(Input::Broken(self.name));
        }
    }
}

async fn turn(
    board: &mut Board,
    inputs: &mut UnboundedReceiver<Input>,
    painter: &Painter,
    taken: &Taken,
    looker: &Looker,
) -> Result<Leaver, Ended> {
    let mut size = terminal::extent();
    let mut last_frame = Instant::now() - FRAME;
    let mut last_repaint = Instant::now();
    let mut drawn_late = false;
    if board.tick() == Next::Leave {
        return Ok(Leaver::Key);
    }
    draw(board, painter, size);
    listen::to_hub(board, &looker.sender);
    let mut supervisor = Supervisor::of_environment();
    Supervisor::ready();
    loop {
        supervisor.alive();
        let mut wake = Instant::now() + board.next_deadline();
        wake = supervisor.next().map_or(wake, |next| wake.min(next));
        if drawn_late {
            wake = wake.min(last_frame + FRAME);
        }
        let mut next = tokio::select! {
            biased;
            Some(input) = inputs.recv() => handle(board, input, taken, painter, &mut size)?,
            () = sleep_until(wake) => {
                // A key that was held back for a moment may have come through.
                let heard = board.tick();
                drawn_late = true;
                heard
            }
        };
        // What waits is drained first, then drawn once; what pours in without an end is drawn in between.
        let drawn_by = Instant::now() + FRAME;
        while !matches!(next, Next::Leave | Next::End | Next::Stop)
            && Instant::now() < drawn_by
            && let Ok(input) = inputs.try_recv()
        {
            let more = handle(board, input, taken, painter, &mut size)?;
            next = if more == Next::Stay { next } else { more };
        }
        listen::to_hub(board, &looker.sender);
        hand_out(board, looker);
        if next == Next::Stop {
            stop(board, taken);
            next = Next::Stay;
        }
        match next {
            Next::Leave => return Ok(Leaver::Key),
            Next::End => return Ok(Leaver::Signal),
            Next::Draw | Next::Stay | Next::Stop => {}
        }
        if last_repaint.elapsed() >= REPAINT || board.take_repaint() {
            painter.repaint();
            last_repaint = Instant::now();
            next = Next::Draw;
        }
        if board.take_bell() {
            painter.ring();
        }
        if next == Next::Draw || (drawn_late && last_frame.elapsed() >= FRAME) {
            draw(board, painter, size);
            last_frame = Instant::now();
            drawn_late = false;
        }
        // What is to be planned is gathered after the frame: a key's is drawn at once.
        if let Some(task) = board.take_task() {
            looker.plan(task, board.shop.seq());
        }
    }
}

/// Gives what others do for the board to their threads.
fn hand_out(board: &mut Board, looker: &Looker) {
    for asked in board.take_traces() {
        looker.trace(board, asked);
    }
    for labels in board.take_labels() {
        looker.print(labels);
    }
    for request in board.take_looks() {
        looker.look(request, board.shop.seq());
    }
}

/// Gives the terminal back and stops; the signal to go on brings both back.
fn stop(board: &Board, taken: &Taken) {
    if matches!(board.source, Source::Writes { .. }) {
        // Nobody stops the board at the station: its timers are looked at.
        return;
    }
    stop_oneself(taken);
}

/// Gives the terminal back and stops.
pub(super) fn stop_oneself(taken: &Taken) {
    taken.pause();
    // Stopping oneself cannot fail for a process that runs.
    let _ = rustix::process::kill_process(rustix::process::getpid(), rustix::process::Signal::STOP);
}

fn draw(board: &mut Board, painter: &Painter, size: (u16, u16)) {
    panic_if_asked("draw", board.shop.seq());
    let (number, cells) = board.frame(size);
    painter.draw(Frame { number, cells });
}

fn handle(
    board: &mut Board,
    input: Input,
    taken: &Taken,
    painter: &Painter,
    size: &mut (u16, u16),
) -> Result<Next, Ended> {
    Ok(match input {
        Input::Struck(Struck::Key { key, up }) => board.key(key, up),
        Input::Struck(Struck::Noise(noise)) => board.noise(noise),
        Input::Struck(Struck::Stale(keys)) => board.stale(&keys),
        Input::Drawn(Drawn::Gone(reason)) => {
            tracing::warn!(%reason, "the terminal takes no more");
            return Err(Ended::NoTerminal);
        }
        Input::Struck(Struck::Gone) => return Err(Ended::NoTerminal),
        Input::End => Next::End,
        Input::Drawn(Drawn::Shown { number, up }) => {
            board.shown(number, up);
            Next::Stay
        }
        Input::Saved(progress) => board.saved(&progress),
        Input::Clerk(told) => board.brought(told),
        Input::Orders(news) => board.order_folder_tells(news),
        Input::Cable(told) => board.instrument_tells(told),
        Input::Courier(news) => board.courier_tells(news),
        Input::Neighbours(news) => board.heard_of_neighbours(news),
        Input::News(news) => board.heard_of(news),
        Input::Profiles(read) => board.profiles_changed(*read),
        Input::Planned(planned) => {
            board.planned(planned);
            Next::Draw
        }
        Input::Labels(sent) => board.labels_sent(sent),
        Input::Traced(found) => {
            let now = board.clock.now();
            board.ui.traced(found, now);
            Next::Draw
        }
        Input::Looked(looked) => {
            board.ui.looked(&looked.0, &looked.1);
            Next::Draw
        }
        Input::Resized => {
            *size = terminal::extent();
            painter.repaint();
            Next::Draw
        }
        Input::Stop => Next::Stop,
        Input::Continued => {
            taken.resume().map_err(TerminalError::from)?;
            *size = terminal::extent();
            painter.enter();
            Next::Draw
        }
        Input::Broken(name) => return Err(Ended::Broken(name)),
    })
}
