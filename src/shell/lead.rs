//! The lead's screen of all stations: its own small loop. It changes nothing anywhere, so its keys are few.

use std::collections::BTreeMap;
use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::time::{Instant, sleep_until};

use super::clock::{self, Clock};
use super::hub::Destination;
use super::hub::lead::{HubFollower, HubNews, foresee};
use super::input::Input;
use super::keyboard::{Keyboard, Struck};
use super::listen::{self, on_own_thread};
use super::painter::{Drawn, Frame, Painter};
use super::run::{Alive, Ended, stop_oneself};
use super::terminal::{self, Taken, TerminalError};
use crate::screen::input::{Key, KeyCode};
use crate::screen::stations::seen::AllSeen;
use crate::screen::stations::{self, HubState, LeadUi};
use crate::screen::theme::Theme;
use crate::shop::books::outlook::{NoOutlook, Outlook};
use crate::shop::facts::ids::StationId;
use crate::shop::facts::moment::{Boot, Up};

/// What runs is counted in seconds: so often something changes by itself.
const SECOND: Duration = Duration::from_secs(1);
/// Everything is drawn anew now and then: what somebody wrote over the screen goes away.
const REPAINT: Duration = Duration::from_secs(60);
/// A station is foreseen at most so often, and at least so often while its clock goes on.
const OFTEN: Duration = Duration::from_secs(5);
const SELDOM: Duration = Duration::from_secs(60);

type Foreseen = Result<Option<Outlook>, NoOutlook>;

/// Everything that can come in.
enum LeadInput {
    Shell(Input),
    Hub(HubNews),
    Foreseen(StationId, Foreseen),
}

impl From<Input> for LeadInput {
    fn from(input: Input) -> Self {
        LeadInput::Shell(input)
    }
}

/// What is to be done after an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum After {
    Draw,
    Stay,
    Leave,
}

/// Shows all stations of a hub until somebody leaves.
///
/// # Errors
/// No terminal, or a thread that panicked.
pub fn run(to: Destination, theme: Theme) -> Result<(), Ended> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    runtime.map_err(TerminalError::from)?.block_on(serve(to, theme))
}

async fn serve(to: Destination, theme: Theme) -> Result<(), Ended> {
    let (sender, mut inputs) = unbounded_channel::<LeadInput>();
    let taken = Taken::take()?;
    let watch = Alive { sender: sender.clone(), name: "keyboard" };
    let keyboard = Keyboard::start(move |struck| watch.send(Input::Struck(struck)));
    let _keyboard = keyboard.map_err(TerminalError::from)?;
    let watch = Alive { sender: sender.clone(), name: "drawing" };
    let painter = Painter::start(move |drawn| watch.send(Input::Drawn(drawn)));
    let painter = painter.map_err(TerminalError::from)?;
    listen::to_signals(&sender).map_err(TerminalError::from)?;
    let mut follower = HubFollower::start(to).map_err(TerminalError::from)?;
    listen::forward(follower.take_news(), "hub", LeadInput::Hub, &sender);
    Lead::new(theme, sender).turn(&mut inputs, &painter, &taken).await
}

/// What the screen knows.
struct Lead {
    all: AllSeen,
    /// When that was read, on this machine's boot clock.
    read: Up,
    ui: LeadUi,
    theme: Theme,
    clock: Clock,
    foreseen: BTreeMap<StationId, Foreseen>,
    /// When each was foreseen last, and at which of its events; None in a whole day of the boot clock: never.
    asked: BTreeMap<StationId, (Up, u64)>,
    foreseeing: bool,
    sender: UnboundedSender<LeadInput>,
    frames: u64,
}

impl Lead {
    fn new(theme: Theme, sender: UnboundedSender<LeadInput>) -> Self {
        let clock = Clock::machine();
        let ui = LeadUi {
            chosen: 0,
            opened: false,
            hub: HubState::Reading,
            banner: None,
            now: clock.now().at,
            zone: jiff::tz::TimeZone::system(),
        };
        Self {
            all: AllSeen::default(),
            read: clock::up(),
            ui,
            theme,
            clock,
            foreseen: BTreeMap::new(),
            asked: BTreeMap::new(),
            foreseeing: false,
            sender,
            frames: 0,
        }
    }

    async fn turn(
        &mut self,
        inputs: &mut UnboundedReceiver<LeadInput>,
        painter: &Painter,
        taken: &Taken,
    ) -> Result<(), Ended> {
        let mut size = terminal::extent();
        let mut last_repaint = Instant::now();
        self.draw(painter, size);
        loop {
            let wake = Instant::now() + SECOND;
            let after = tokio::select! {
                biased;
                Some(input) = inputs.recv() => self.handle(input, painter, taken, &mut size)?,
                () = sleep_until(wake) => After::Draw,
            };
            if after == After::Leave {
                return Ok(());
            }
            if last_repaint.elapsed() >= REPAINT {
                painter.repaint();
                last_repaint = Instant::now();
            }
            if after == After::Draw {
                self.draw(painter, size);
            }
            self.foresee_next();
        }
    }

    fn handle(
        &mut self,
        input: LeadInput,
        painter: &Painter,
        taken: &Taken,
        size: &mut (u16, u16),
    ) -> Result<After, Ended> {
        let input = match input {
            LeadInput::Hub(news) => {
                self.hear(news);
                return Ok(After::Draw);
            }
            LeadInput::Foreseen(station, outlook) => {
                self.foreseeing = false;
                self.foreseen.insert(station, outlook);
                return Ok(After::Draw);
            }
            LeadInput::Shell(input) => input,
        };
        match input {
            Input::Struck(Struck::Key { key, .. }) => return Ok(self.key(key)),
            Input::Struck(Struck::Gone) | Input::Drawn(Drawn::Gone(_)) => {
                return Err(Ended::NoTerminal);
            }
            Input::Resized => {
                *size = terminal::extent();
                painter.repaint();
                return Ok(After::Draw);
            }
            Input::Stop => stop_oneself(taken),
            Input::Continued => {
                taken.resume().map_err(TerminalError::from)?;
                *size = terminal::extent();
                painter.enter();
                return Ok(After::Draw);
            }
            Input::End => return Ok(After::Leave),
            Input::Broken(name) => return Err(Ended::Broken(name)),
            _ => {}
        }
        Ok(After::Stay)
    }

    /// What a key does.
    fn key(&mut self, key: Key) -> After {
        let last = self.all.stations.len().saturating_sub(1);
        let ui = &mut self.ui;
        match key.code {
            KeyCode::Char('q' | 'Q') => return After::Leave,
            KeyCode::Char(digit @ '1'..='9') => {
                let place = usize::from(digit as u8 - b'1');
                if place <= last && !self.all.stations.is_empty() {
                    (ui.chosen, ui.opened) = (place, true);
                }
            }
            KeyCode::Up | KeyCode::Left => ui.chosen = ui.chosen.min(last).saturating_sub(1),
            KeyCode::Down | KeyCode::Right => ui.chosen = (ui.chosen + 1).min(last),
            KeyCode::Enter => ui.opened = !ui.opened && !self.all.stations.is_empty(),
            KeyCode::Esc | KeyCode::Char('0') => ui.opened = false,
            _ => return After::Stay,
        }
        After::Draw
    }

    fn hear(&mut self, news: HubNews) {
        let now = self.clock.now().at;
        let away = |state| match state {
            HubState::AwaySince(at) => HubState::AwaySince(at),
            _ => HubState::AwaySince(now),
        };
        match news {
            HubNews::Read(all) => {
                (self.all, self.read) = (*all, clock::up());
                (self.ui.hub, self.ui.banner) = (HubState::Read, None);
            }
            HubNews::Away(reason) => {
                // Before anything was read, why is all that there is to show.
                let nothing = self.all.stations.is_empty();
                self.ui.banner = nothing.then(|| format!("the hub does not answer: {reason}"));
                self.ui.hub = away(self.ui.hub);
            }
            HubNews::Refused(reason) => {
                self.ui.banner = Some(reason);
                self.ui.hub = away(self.ui.hub);
            }
        }
    }

    /// Has the station foreseen that has waited longest for it, one at a time.
    fn foresee_next(&mut self) {
        if self.foreseeing {
            return;
        }
        let up = clock::up();
        let waits = |station: &stations::seen::StationSeen| {
            let Some((at, seq)) = self.asked.get(&station.id) else { return true };
            let rest = if *seq == station.shop.seq() { SELDOM } else { OFTEN };
            up.since(*at) >= rest
        };
        let stations = self.all.stations.iter().filter(|station| waits(station));
        let Some(station) = stations.min_by_key(|station| self.asked.get(&station.id).copied())
        else {
            return;
        };
        let (id, shop, now) = (station.id, std::sync::Arc::clone(&station.shop), station.now);
        self.asked.insert(id, (up, shop.seq()));
        self.foreseeing = true;
        let sender = self.sender.clone();
        tokio::spawn(async move {
            let work = move || {
                super::lower_priority();
                foresee(&shop, now)
            };
            let wrong = || Err(NoOutlook("the planning went wrong: see the log".to_owned()));
            let outlook = on_own_thread("plan", work).await.unwrap_or_else(wrong);
            // The loop may have ended already.
            drop(sender.send(LeadInput::Foreseen(id, outlook)));
        });
    }

    fn draw(&mut self, painter: &Painter, (columns, rows): (u16, u16)) {
        self.ui.now = self.clock.now().at;
        let up = clock::up();
        if self.ui.hub == HubState::Read {
            // What runs goes on between two readings; once the hub is away the last picture stays as it was.
            let span = up.since(self.read);
            for station in &mut self.all.stations {
                station.hub_now = station.hub_now.plus(span);
                if station.now.boot != Boot::MADE_UP {
                    station.now = station.now.plus(span);
                }
            }
            self.read = up;
        }
        for station in &mut self.all.stations {
            if let Some(outlook) = self.foreseen.get(&station.id) {
                station.outlook.clone_from(outlook);
            }
        }
        self.ui.chosen = self.ui.chosen.min(self.all.stations.len().saturating_sub(1));
        let mut cells = Buffer::empty(Rect::new(0, 0, columns, rows));
        stations::draw(&self.all, &self.ui, self.theme, &mut cells);
        self.frames += 1;
        painter.draw(Frame { number: self.frames, cells });
    }
}
