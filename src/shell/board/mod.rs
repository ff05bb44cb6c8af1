//! The board: one shop, one screen, one journal, and a plain function for each thing that can come in.
//!
//! Nothing here waits: the loop in `run` builds an input, this handles it, the loop draws.

mod banners;
mod hub;
mod instruments;
mod keys;
pub mod labels;
mod night;
mod notices;
mod order_folder;
mod parts;
pub mod planning;
mod sound;
mod sources;
mod telling;

use std::collections::{BTreeMap, VecDeque};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::forecast::operator::Turn;
use crate::screen::act::{Effect, LookRequest};
use crate::screen::input::Gate;
use crate::screen::keymap::{Deed, Keymap};
use crate::screen::meaning::Meaning;
use crate::screen::theme::Theme;
use crate::screen::ui::{Saved, Standing, StoryAsked, Tone, Ui};
use crate::screen::{self, View};
use crate::shell::clerk::Clerk;
use crate::shell::clock::Clock;
use crate::shell::follower::{Follower, ViewFault};
use crate::shell::journal::{Progress, Writer};
use crate::shell::messenger::{Messenger, News};
use crate::shell::nightly::Night;
use crate::shell::order_folder::OrderFolder;
use crate::shell::profiles::{FileError, Profiles, zone};
use crate::shell::rehearsed::Teller;
use crate::shell::serial::Serial;
use crate::shell::sounder::{HeardAlarms, Sounder};
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::ids::{StationId, Tag};
use crate::shop::facts::moment::{Moment, Up};
use crate::shop::facts::station::{LabelPrinter, Shows};
use crate::shop::rules::command::{Command, Refusal};
use crate::shop::rules::offer::Choice;

/// A made-up operator: looks at the shop and the moment, and takes its turn.
pub type Operator = Box<dyn FnMut(&Shop, Moment) -> Turn>;

/// Where the facts come from and go to.
pub enum Source {
    /// This process writes the journal in this data directory.
    Writes { writer: Writer, clerk: Clerk, data: PathBuf },
    /// Another does; this one follows.
    Watches { follower: Follower, data: PathBuf },
    /// A made-up operator does.
    Rehearses {
        writer: Option<Writer>,
        operator: Operator,
        until: Option<Moment>,
        /// Who tells its views how its clock runs.
        teller: Option<Teller>,
    },
}

/// What the loop is to do after an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    Draw,
    Stay,
    /// Stop for a while, as with Ctrl-Z.
    Stop,
    /// Leave, by a key.
    Leave,
    /// Leave, by a signal.
    End,
}

/// The board.
pub struct Board {
    pub shop: Shop,
    pub ui: Ui,
    pub clock: Clock,
    pub source: Source,
    pub theme: Theme,
    pub gate: Gate,
    station: StationId,
    ear: HeardAlarms,
    sounder: Sounder,
    messenger: Messenger,
    /// What somebody is told of once this event is saved.
    to_tell: Vec<(u64, News)>,
    /// The scale and the probe that have a cable, and what is wrong with them.
    pub(super) serial: Serial,
    cable_troubles: BTreeMap<Shows, String>,
    /// Frames handed over and not yet on the screen, with what their press keys meant.
    handed: VecDeque<(u64, Meaning)>,
    /// What the press keys meant on the last frames that were seen, with the moment of the boot clock.
    seen: VecDeque<(Up, Meaning)>,
    frames: u64,
    /// What the journal has not reported as saved yet.
    unsaved: VecDeque<Event>,
    inbox: BTreeMap<PathBuf, u64>,
    pub(super) order_folder: OrderFolder,
    /// Rescue files that were read, and their last event: they go once that is synced.
    rescued: (Vec<PathBuf>, u64),
    profile_banner: Option<String>,
    /// The last nightly copy, where a job is set up that makes them.
    night: Option<Option<Night>>,
    /// What was found at the start and stands until the next one.
    start_banners: Vec<String>,
    /// Why what a view shows may not be so.
    view_fault: Option<ViewFault>,
    /// The clock of the rehearsal that a view follows.
    rehearsed: Option<Clock>,
    /// Artworks that the loop is to have looked at.
    looks: Vec<LookRequest>,
    planning: planning::Planning,
    /// The profile's own, never a journal's.
    label_printer: Option<LabelPrinter>,
    labels: Vec<labels::LabelsToPrint>,
    /// What was worth a word, and has been said.
    notices: notices::Said,
    /// Stories that the loop is to have read.
    traces: Vec<StoryAsked>,
    at_hub: hub::AtHub,
    wants_bell: bool,
    wants_repaint: bool,
}

/// How many seen frames are remembered: a key can be at most some tenths of a second older than the newest.
const SEEN: usize = 16;

/// However little happens, it is looked about so often.
const LOOK: Duration = Duration::from_millis(500);

impl Board {
    /// A board over a shop that has been read from its journal.
    pub fn new(shop: Shop, clock: Clock, source: Source, keys: Arc<Keymap>, theme: Theme) -> Self {
        let standing = match &source {
            Source::Writes { .. } => Standing::Writes,
            Source::Watches { .. } => Standing::Watches,
            Source::Rehearses { .. } => Standing::Rehearses { speed: 1.0, paused: false },
        };
        let zone = shop.station().and_then(|station| zone(station));
        let prefix = shop.station().and_then(|station| station.scanner_prefix);
        let station = shop.station().map(|station| station.id).unwrap_or_default();
        let mut board = Self {
            ui: Ui::new(keys, zone.unwrap_or(jiff::tz::TimeZone::UTC), standing),
            gate: Gate::new(prefix),
            shop,
            clock,
            source,
            theme,
            station,
            ear: HeardAlarms::default(),
            sounder: Sounder::default(),
            messenger: Messenger::default(),
            to_tell: Vec::new(),
            serial: Serial::default(),
            cable_troubles: BTreeMap::new(),
            handed: VecDeque::new(),
            seen: VecDeque::new(),
            frames: 0,
            unsaved: VecDeque::new(),
            inbox: BTreeMap::new(),
            order_folder: OrderFolder::default(),
            rescued: (Vec::new(), 0),
            profile_banner: None,
            night: None,
            start_banners: Vec::new(),
            view_fault: None,
            rehearsed: None,
            looks: Vec::new(),
            planning: planning::Planning::default(),
            label_printer: None,
            labels: Vec::new(),
            notices: notices::Said::default(),
            traces: Vec::new(),
            at_hub: hub::AtHub::default(),
            wants_bell: false,
            wants_repaint: false,
        };
        board.hear_station();
        board
    }

    /// Puts profiles in force: facts of the system where they differ from what is in force already.
    pub fn put_in_force(&mut self, profiles: &Profiles) {
        let now = self.clock.now();
        self.station = profiles.station.id;
        if self.shop.station() != Some(&profiles.station) {
            self.state(Command::SetStation(Arc::clone(&profiles.station)), now);
        }
        for (name, recipe) in &profiles.recipes {
            if !self.shop.recipes().stands_for(name, recipe) {
                let (name, recipe) = (name.clone(), self.shop.recipes().as_signed(name, recipe));
                self.state(Command::KeepRecipe { name, recipe }, now);
            }
        }
        if let Ok(keys) = Keymap::with(&profiles.station.keys) {
            self.ui.keys = Arc::new(keys);
        }
        // From the profile alone, never from a journal: that may come from anywhere.
        self.sounder.set(profiles.station.sounder.as_deref());
        self.messenger.set(profiles.station.told.as_deref());
        self.go_by_instruments(&profiles.station);
        self.go_by_order_folder(profiles);
        self.go_by_hub(profiles.station.hub.as_ref(), profiles.station.id);
        self.hear_station();
    }

    /// The profiles were read again after a change.
    pub fn profiles_changed(&mut self, read: Result<Profiles, FileError>) -> Next {
        let now = self.clock.now();
        match read {
            Ok(profiles) if profiles.station.id != self.station => {
                self.profile_banner = Some(format!(
                    "the station's id changed to \"{}\": restart the board",
                    profiles.station.id
                ));
            }
            Ok(profiles) => {
                self.profile_banner = None;
                self.put_in_force(&profiles);
                self.ui.say(Tone::Done, "the profiles were read again", now);
                // What was granted may have waited for a recipe.
                self.take_granted(now);
            }
            Err(wrong) => {
                self.profile_banner = Some(format!(
                    "PROFILE NOT READ, the last good one stays: {}",
                    wrong.in_one_line()
                ));
            }
        }
        self.put_up_banners(now);
        Next::Draw
    }

    /// States a command; its facts are applied and on their way to the journal when this returns.
    fn state(&mut self, command: Command, at: Moment) -> bool {
        let events = match self.shop.act(self.station, &command, at) {
            Ok(events) => events,
            Err(refusal) => {
                self.refused(&refusal, at);
                return false;
            }
        };
        let lapsed = self.ui.let_go_of_choice(&events);
        let is_back = self.ui.gives_back(&events);
        // Before anything is said of it: whatever goes wrong from here on, it is on its way.
        match &self.source {
            Source::Writes { writer, .. } | Source::Rehearses { writer: Some(writer), .. } => {
                self.unsaved.extend(events.iter().cloned());
                writer.write(events.clone());
            }
            _ => {}
        }
        for event in &events {
            self.take_advice_in(event);
            self.tell_of(event);
            self.dates_are_said(event);
            self.ui.remember(event);
        }
        // What the system adds to a hand's act is not what was said.
        let by_hand = events.first().is_some_and(|event| event.fact.is_by_hand());
        let is_said = |fact: &Fact| !fact.says_more() && fact.is_by_hand() == by_hand;
        let said: Vec<&Event> = events.iter().filter(|event| is_said(&event.fact)).collect();
        if let Some(last) = said.last() {
            self.say_done(&last.fact, said.len(), lapsed, at);
        }
        if is_back && let Some(message) = &mut self.ui.message {
            let key = self.ui.keys.key(Deed::TakeOrder);
            message.text += &format!("; what was typed is kept: {key}");
        }
        true
    }

    fn say_done(&mut self, last: &Fact, count: usize, lapsed: Option<Tag>, at: Moment) {
        let words = self.shop.in_words(last);
        let is_of_several =
            matches!(last, Fact::HandworkDone(_) | Fact::Printed(_) | Fact::Stored(_));
        let text = match count {
            2.. if is_of_several => format!("{words} and {} more", count - 1),
            _ => words,
        };
        let late = if self.is_past_due(last, at) { "; its due time is in the past" } else { "" };
        let lapsed = lapsed.map_or_else(String::new, |tag| format!("; {tag} no longer picked"));
        self.ui.say(Tone::Done, text + late + &lapsed, at);
    }

    /// Whether an order was taken in whose due time has passed.
    fn is_past_due(&self, fact: &Fact, at: Moment) -> bool {
        let Fact::OrderTaken(taken) = fact else { return false };
        taken.form.due_at(&self.ui.zone).is_some_and(|due| due < at.at)
    }

    fn refused(&mut self, refusal: &Refusal, at: Moment) {
        // A choice that cannot be acted on must not stand in the way of the next act.
        self.ui.choice = Choice::default();
        self.ui.say(Tone::Refused, refusal.to_string(), at);
    }

    fn carry_out(&mut self, effects: Vec<Effect>, at: Moment) -> Next {
        for effect in effects {
            match effect {
                // A view and a rehearsal may look everything up, and change nothing.
                Effect::Do(_) | Effect::DoAt(..) if self.ui.standing != Standing::Writes => {
                    self.ui.say(Tone::Refused, "nothing can be changed from here", at);
                }
                Effect::Do(command) => {
                    self.state(command, at);
                }
                Effect::DoAt(command, moment) => {
                    self.state(command, moment);
                }
                Effect::Leave => return Next::Leave,
                Effect::FirstDay if self.goes_to_first_day(at) => return Next::Leave,
                Effect::FirstDay => {}
                Effect::WriteElsewhere(folder) => self.write_elsewhere(folder),
                Effect::Repaint => self.wants_repaint = true,
                Effect::Stop => return Next::Stop,
                Effect::TestSounder => {
                    self.sound();
                    self.ui.say(Tone::Note, "the sounder was tried", at);
                }
                Effect::Quiet => {
                    let alarms = self.shop.alarms(at);
                    self.ear.quiet(&alarms);
                    self.ui.say(Tone::Done, "quiet until something new is wrong", at);
                }
                Effect::Speed(factor) => {
                    self.change_speed(|speed, paused| (speed * factor, paused))
                }
                Effect::Look(request) => self.looks.push(request),
                Effect::Trace(asked) => self.traces.push(asked),
                Effect::TakePart(wanted) => self.ask_for_part(wanted, at),
                Effect::PrintLabels(labels) => self.print_labels(labels, at),
                Effect::Pause => self.change_speed(|speed, paused| (speed, !paused)),
            }
        }
        Next::Draw
    }

    /// The speed at which a made-up shift is shown.
    pub fn rehearse_at(&mut self, wanted: f64) {
        self.change_speed(|_, paused| (wanted, paused));
    }

    fn change_speed(&mut self, change: impl Fn(f64, bool) -> (f64, bool)) {
        if let Standing::Rehearses { speed, paused } = &mut self.ui.standing {
            (*speed, *paused) = change(*speed, *paused);
            *speed = speed.clamp(0.25, 500.0);
            self.clock.set(*speed, *paused);
        }
        if let Source::Rehearses { teller: Some(teller), .. } = &self.source {
            teller.tell(&self.clock);
        }
    }

    /// Time has passed. Says `Draw` where a key came through, which is shown at once; what time alone has
    /// changed is shown with the next frame.
    pub fn tick(&mut self) -> Next {
        let up = crate::shell::clock::up();
        let lapsed = self.gate.lapse(up);
        let heard = self.heard(lapsed);
        if matches!(heard, Next::Leave | Next::Stop) {
            return heard;
        }
        self.take_turns();
        let now = self.clock.now();
        let effects = self.ui.expire(now);
        self.carry_out(effects, now);
        let alarms = self.shop.alarms(now);
        let alarmed =
            !matches!(self.source, Source::Watches { .. }) && self.ear.sounds(&alarms, up);
        let turned = self.ui.pacing.as_mut().is_some_and(|pacing| pacing.ticks(now));
        if alarmed || turned {
            self.sound();
        }
        self.hear_sounder();
        self.hear_messenger(now);
        self.ui.quieted = self.ear.is_quiet(&alarms);
        self.say_notices(now);
        self.put_up_banners(now);
        heard
    }

    /// The journal's writer has come further, or has failed.
    pub fn saved(&mut self, progress: &Progress) -> Next {
        while self.unsaved.front().is_some_and(|event| event.seq <= progress.upto) {
            self.unsaved.pop_front();
        }
        self.tell_what_is_saved(progress.upto);
        let waiting = self.shop.seq().saturating_sub(progress.upto);
        let before = std::mem::replace(
            &mut self.ui.saved,
            match &progress.trouble {
                None if waiting == 0 => Saved::All,
                None => Saved::Writing(waiting),
                Some(reason) => Saved::Not { events: waiting, reason: reason.clone() },
            },
        );
        if let Some(others) = &progress.others {
            self.take_in_others(others);
        }
        self.clear_inbox();
        if before == self.ui.saved { Next::Stay } else { Next::Draw }
    }

    /// A frame stands on the screen.
    pub fn shown(&mut self, number: u64, up: Up) {
        while self.handed.front().is_some_and(|(handed, _)| *handed <= number) {
            let Some((handed, mut meant)) = self.handed.pop_front() else { break };
            if handed == number {
                meant.words.seen(self.seen.back().map(|(_, before)| &before.words), up);
                self.seen.push_back((up, meant));
            }
        }
        while self.seen.len() > SEEN {
            self.seen.pop_front();
        }
    }

    /// Draws a frame and remembers what its press keys mean.
    pub fn frame(&mut self, (columns, rows): (u16, u16)) -> (u64, Buffer) {
        let now = self.clock.now();
        self.ui.extent = (columns, rows);
        if let Source::Writes { writer, .. } = &self.source {
            let progress = writer.progress().borrow().clone();
            self.saved(&progress);
        }
        let offers = self.shop.offers_by(&self.ui.choice, &self.ui.advice, now);
        let alarms = self.shop.alarms(now);
        let mut cells = Buffer::empty(Rect::new(0, 0, columns, rows));
        let view = View::new(&self.shop, &self.ui, (&offers, &alarms), now, self.theme);
        screen::draw(&view, &mut cells);
        let meant = Meaning::on(&view);
        self.frames += 1;
        self.handed.push_back((self.frames, meant));
        while self.handed.len() > SEEN {
            self.handed.pop_front();
        }
        (self.frames, cells)
    }

    /// Whether the bell is to ring, once.
    pub fn take_bell(&mut self) -> bool {
        std::mem::take(&mut self.wants_bell)
    }

    /// Whether the next frame is to be drawn whole, once.
    pub fn take_repaint(&mut self) -> bool {
        std::mem::take(&mut self.wants_repaint)
    }

    /// How long until something changes by itself, on the machine's own clock.
    pub fn next_deadline(&self) -> Duration {
        let up = crate::shell::clock::up();
        let until = |at: Up| at.since(up);
        let now = self.clock.now();
        let made_up: Vec<Duration> =
            [self.shop.next_deadline(now), self.ui.next_deadline(now), self.next_second(now)]
                .into_iter()
                .flatten()
                .chain(self.next_turn(now))
                .filter_map(|span| self.clock.wait(span))
                .collect();
        let alarms = self.shop.alarms(now);
        let real = self.gate.deadline().into_iter().chain(self.ear.next(&alarms)).map(until);
        made_up.into_iter().chain(real).fold(LOOK, Duration::min)
    }

    fn next_turn(&self, now: Moment) -> Option<Duration> {
        match &self.source {
            Source::Rehearses { until: Some(until), .. } => Some(until.since(now).span),
            _ => None,
        }
    }

    /// How long until a figure on a press changes.
    fn next_second(&self, now: Moment) -> Option<Duration> {
        const SECOND: Duration = Duration::from_secs(1);
        let part = |span: Duration| SECOND - Duration::from_nanos(u64::from(span.subsec_nanos()));
        self.shop.loads().map(|(_, load)| part(load.elapsed(now).span)).min()
    }
}
