//! What the screen knows beside the shop: which pane is open, what is being typed, what was last said.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

use jiff::tz::TimeZone;

use super::act::Effect;
use super::act::LookRequest;
use super::elsewhere::{Elsewhere, Hub};
use super::forms::{Draft, Form};
use super::input::{Key, KeyCode, Mode};
use super::instrument::Readings;
use super::keymap::{Deed, Keymap};
use super::meaning::Sight;
use super::pacing::Pacing;
use super::star::Star;
use crate::shop::books::outlook::{NoOutlook, Outlook};
use crate::shop::facts::fact::{Event, Fact, ReturnAsked};
use crate::shop::facts::ids::{ActNo, Tag};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::order::Artwork;
use crate::shop::rules::offer::{Advice, Choice};

/// A story that is to be read from the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoryAsked {
    Garment(Tag),
    /// Which garments a return may be, and which others are at risk.
    Return(ReturnAsked),
}

/// The most events that the history pane keeps.
pub const MOST_PAST: usize = 300;
/// How long a line of text stays on the message line.
const MESSAGE_STAYS: std::time::Duration = std::time::Duration::from_secs(12);

/// So long after a form that owned the digits has closed by itself, digits do nothing.
const AFTER_CLOSING: std::time::Duration = std::time::Duration::from_millis(700);

/// The panes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Pane {
    #[default]
    Bench,
    Pace,
    Shelf,
    Coat,
    Past,
}

impl Pane {
    /// All panes in the order of the tab key.
    pub const ALL: [Pane; 5] = [Pane::Bench, Pane::Pace, Pane::Shelf, Pane::Coat, Pane::Past];

    /// The name in the bar.
    pub fn name(self) -> &'static str {
        match self {
            Pane::Bench => "Bench",
            Pane::Pace => "Pace",
            Pane::Shelf => "Shelf",
            Pane::Coat => "Coat",
            Pane::Past => "Past",
        }
    }

    /// The next one.
    pub fn next(self) -> Pane {
        let here = Self::ALL.iter().position(|pane| *pane == self).unwrap_or(0);
        Self::ALL[(here + 1) % Self::ALL.len()]
    }
}

/// What the message line says, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Message {
    pub text: String,
    pub tone: Tone,
    pub since: Moment,
}

/// How a message is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Something was done.
    Done,
    /// Something was not done, and why.
    Refused,
    /// Something that must not be done: harm would follow.
    Stop,
    /// Something to know.
    Note,
}

/// How much of what is on the screen is in the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Saved {
    /// Everything.
    All,
    /// So many events are on their way.
    Writing(u64),
    /// Writing fails: how many events wait, and why. Where none does, what was saved would not be found any more.
    Not { events: u64, reason: String },
}

/// How far the hub is, where the shop has one. Nothing of the board's waits for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HubStanding {
    /// It has all that is saved.
    Sent,
    /// It lacks so many events, and takes them.
    Behind(u64),
    /// It cannot be reached; when it confirmed something last.
    Cut { since: Wall },
    /// It takes nothing until a hand has done something: a banner says what.
    Refused,
}

impl Ui {
    /// Whether garments of shared orders can be taken now: the hub is heard of, and hears of this station.
    pub fn takes_parts(&self) -> bool {
        self.elsewhere.hub == Hub::There && self.takes_rows()
    }

    /// Whether what is said here comes to the hub. An old primary may grant, and so may the hub to a machine that was
    /// replaced: nobody would hear that it makes them.
    pub fn takes_rows(&self) -> bool {
        self.hub.is_some_and(HubStanding::takes_rows)
    }
}

impl HubStanding {
    /// Whether what is said here comes to the hub: it is the hub that this station knows, and takes this station's rows.
    pub fn takes_rows(self) -> bool {
        matches!(self, Self::Sent | Self::Behind(_))
    }
}

/// Who looks at the board, and what it can do.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// The board itself.
    Writes,
    /// A view of another process's journal.
    Watches,
    /// A made-up shift, at so many times the speed of life.
    Rehearses { speed: f64, paused: bool },
}

impl Standing {
    /// How many seconds of the shop's clock go by in one of the viewer's: what is meant for eyes lasts as long
    /// in a made-up shift as in a real one.
    fn speed(&self) -> f64 {
        match self {
            Standing::Rehearses { speed, .. } => *speed,
            Standing::Writes | Standing::Watches => 1.0,
        }
    }
}

/// What is practised on a board of its own, of which nothing counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Practice {
    /// One garment, led through step by step.
    FirstDay,
    /// A made-up shop in which whoever strikes the keys is the operator.
    Shift,
}

/// The state of the screen.
pub struct Ui {
    pub pane: Pane,
    pub form: Option<Form>,
    /// Forms that were left half filled in.
    pub drafts: BTreeMap<Draft, Form>,
    pub choice: Choice,
    pub message: Option<Message>,
    pub saved: Saved,
    /// None: this station is by itself.
    pub hub: Option<HubStanding>,
    pub standing: Standing,
    /// What is practised here; None on a real board.
    pub practice: Option<Practice>,
    /// All that was done in it.
    pub practised: Vec<Event>,
    /// Whether the first day was asked for: it is shown once this board has been left.
    pub wants_first_day: bool,
    /// Columns and rows of the screen, as it was last drawn.
    pub extent: (u16, u16),
    /// Standing trouble: a profile that does not read, a clock that is unset.
    pub banners: Vec<String>,
    /// A date of a table that could be two, with its file, until somebody has said what stands first.
    pub doubtful_date: Option<String>,
    /// What a scale and a probe with a cable show.
    pub readings: Readings,
    /// When the journal was last copied at night, where it is, in words.
    pub night: Option<String>,
    pub quieted: bool,
    /// A `*` that waits for the key after it.
    pub star: Option<Star>,
    /// The keypad sends cursor keys where its figures are wanted.
    pub numlock_off: bool,
    /// The order that was typed last, and the act by which it was taken in: it is there again when that is undone.
    submitted: Option<(Form, Option<ActNo>)>,
    /// When a form that owned the digits closed by itself.
    closed: Option<Moment>,
    /// The pace of the hand that is being shown.
    pub pacing: Option<Pacing>,
    pub past: VecDeque<Event>,
    /// What the last forecast said; None where there is none yet, or nothing to foresee.
    pub outlook: Result<Option<Outlook>, NoOutlook>,
    /// What a plan would have the presses shut on next.
    pub advice: Advice,
    /// What is known of the shop's other stations.
    pub elsewhere: Elsewhere,
    /// A garment's story that was asked for, in lines.
    pub story: Option<Vec<String>>,
    /// How far down the pane has been scrolled.
    pub scroll: usize,
    pub keys: Arc<Keymap>,
    pub zone: TimeZone,
}

impl Ui {
    /// A fresh screen.
    pub fn new(keys: Arc<Keymap>, zone: TimeZone, standing: Standing) -> Self {
        Self {
            pane: Pane::Bench,
            form: None,
            drafts: BTreeMap::new(),
            choice: Choice::default(),
            message: None,
            saved: Saved::All,
            hub: None,
            standing,
            practice: None,
            practised: Vec::new(),
            wants_first_day: false,
            extent: (0, 0),
            banners: Vec::new(),
            doubtful_date: None,
            readings: Readings::default(),
            night: None,
            quieted: false,
            star: None,
            numlock_off: false,
            submitted: None,
            closed: None,
            pacing: None,
            past: VecDeque::new(),
            outlook: Ok(None),
            advice: Advice::default(),
            elsewhere: Elsewhere::default(),
            story: None,
            scroll: 0,
            keys,
            zone,
        }
    }

    /// Another form takes the place of one that has closed.
    pub fn opens(&mut self, form: Form) -> Vec<Effect> {
        self.form = Some(form);
        Vec::new()
    }

    /// Leaves a form: a draft is kept, and what was named is noted.
    pub fn leaves(&mut self, form: Form, now: Moment) -> Vec<Effect> {
        let Some(draft) = form.draft_of() else { return form.abandoned() };
        let text = format!("kept for later: {} opens it again", self.keys.key(draft.deed()));
        self.say(Tone::Note, text, now);
        self.drafts.insert(draft, form);
        Vec::new()
    }

    /// Says something on the message line.
    pub fn say(&mut self, tone: Tone, text: impl Into<String>, now: Moment) {
        self.message = Some(Message { text: text.into(), tone, since: now });
    }

    /// How many seconds of the shop's clock go by in one of the viewer's.
    pub fn speed(&self) -> f64 {
        self.standing.speed()
    }

    /// Whether a form that owned the digits closed by itself only now.
    pub fn has_just_closed(&self, now: Moment) -> bool {
        let deaf = AFTER_CLOSING.mul_f64(self.speed());
        self.form.is_none() && self.closed.is_some_and(|closed| now.since(closed).span < deaf)
    }

    /// Whether a key is a digit that was meant for a form which has just closed by itself; that is said.
    pub fn ignores(&mut self, sight: &Sight<'_>, key: &Key) -> bool {
        let figure = key.with_figures();
        let is_digit = matches!(figure.code, KeyCode::Char('0'..='9'));
        let ignored = is_digit && self.has_just_closed(sight.now);
        if ignored {
            let text = format!("{key} ignored: what took the digits has just closed by itself");
            self.say(Tone::Note, text, sight.now);
        }
        ignored
    }

    /// Sees by a key whether the keypad sends its figures, where those are wanted.
    pub fn sees_numlock(&mut self, key: &Key) {
        let wanted = match &self.form {
            Some(form) => form.mode() != Mode::Pages,
            None => self.pane == Pane::Bench,
        };
        if !wanted {
            return;
        }
        if key.with_figures() != *key {
            self.numlock_off = true;
        } else if matches!(key.code, KeyCode::Char('0'..='9')) {
            self.numlock_off = false;
        }
    }

    /// Keeps an order that was typed, beyond its being taken in.
    pub fn keep_submitted(&mut self, form: Form, effects: &[super::act::Effect]) {
        if form.draft_of() == Some(Draft::Order) && !effects.is_empty() {
            self.submitted = Some((form, None));
        }
    }

    /// What was typed is there again where its order has been undone; whether it is.
    pub fn gives_back(&mut self, events: &[Event]) -> bool {
        for event in events {
            match (&event.fact, &mut self.submitted) {
                (Fact::OrderTaken(_), Some((_, act @ None))) => *act = Some(event.act),
                (Fact::Undone(undone), Some((_, Some(act)))) if *act == undone.undoes => {
                    let form = self.submitted.take().map(|(form, _)| form);
                    self.drafts.extend(form.map(|form| (Draft::Order, form)));
                    return true;
                }
                _ => {}
            }
        }
        false
    }

    /// Whether an act has been done often enough here that its key is known.
    pub fn is_known(&self, deed: Deed) -> bool {
        const OFTEN: usize = 3;
        let is_it = |event: &&Event| {
            matches!(
                (deed, &event.fact),
                (Deed::Press(_), Fact::PressShut(_) | Fact::PressOpened(_))
                    | (Deed::Sprayed, Fact::HandworkDone(_))
                    | (Deed::Printed, Fact::Printed(_))
                    | (Deed::Weigh, Fact::Weighed(_) | Fact::CoatWeighed(_))
                    | (Deed::CleanSheet, Fact::SheetWiped(_))
                    | (Deed::TakeOrder, Fact::OrderTaken(_))
                    | (Deed::Fill, Fact::SprayerFilled(_))
            )
        };
        self.past.iter().filter(is_it).take(OFTEN).count() == OFTEN
    }

    /// Keeps an event for the history pane.
    pub fn remember(&mut self, event: &Event) {
        if self.practice.is_some() {
            self.practised.push(event.clone());
        }
        keep(&mut self.past, event.clone());
    }

    /// Lets go of what has stood long enough. Returns what an abandoned form still states.
    pub fn expire(&mut self, now: Moment) -> Vec<super::act::Effect> {
        let speed = self.standing.speed();
        let stays = MESSAGE_STAYS.mul_f64(speed);
        if self.message.as_ref().is_some_and(|m| now.since(m.since).span > stays) {
            self.message = None;
        }
        self.pacing.take_if(|pacing| pacing.is_gone(now));
        self.expire_star(now);
        let idle = self.form.as_ref().is_some_and(|form| form.time_left(now, speed).is_zero());
        if !idle {
            return Vec::new();
        }
        let Some(form) = self.form.take() else { return Vec::new() };
        let text = format!("closed after {} s without a key", form.stays().as_secs());
        self.closed = form.owns_digits().then_some(now);
        match form.draft_of() {
            Some(draft) => {
                let key = self.keys.key(draft.deed());
                self.say(Tone::Note, format!("{text}, kept: {key} opens it again"), now);
                self.drafts.insert(draft, form);
                Vec::new()
            }
            None => {
                self.say(Tone::Note, text, now);
                form.abandoned()
            }
        }
    }

    /// A story has been read: it stands on the pane of the past until another key of a pane, or Esc.
    pub fn traced(&mut self, found: Result<Vec<String>, String>, now: Moment) {
        match found {
            Ok(lines) => {
                self.story = Some(lines);
                self.pane = Pane::Past;
                self.scroll = 0;
            }
            Err(reason) => self.say(Tone::Refused, reason, now),
        }
    }

    /// An artwork has been looked at: the order that names it is open, or was left half filled in.
    pub fn looked(&mut self, request: &LookRequest, found: &Result<Option<Artwork>, String>) {
        for form in self.form.iter_mut().chain(self.drafts.values_mut()) {
            form.looked(request, found.clone());
        }
    }

    /// How long until a message or a form lapses.
    pub fn next_deadline(&self, now: Moment) -> Option<std::time::Duration> {
        let speed = self.standing.speed();
        let stays = MESSAGE_STAYS.mul_f64(speed);
        let message = self.message.as_ref().map(|m| stays.saturating_sub(now.since(m.since).span));
        let form = self.form.as_ref().map(|form| form.time_left(now, speed));
        let pacing = self.pacing.as_ref().map(|pacing| pacing.next_deadline(now));
        let star = self.star.as_ref().map(|star| star.time_left(now, speed));
        let hair = std::time::Duration::from_millis(1);
        message.into_iter().chain(form).chain(pacing).chain(star).min().map(|left| left + hair)
    }

    /// A choice ends with the act on the chosen garment. An act on another ends it too, for the keys that speak of
    /// the last garment would go on speaking of the chosen one; that it did is returned, so that it is said.
    pub fn let_go_of_choice(&mut self, events: &[Event]) -> Option<Tag> {
        let chosen = self.chosen()?;
        let about = |tag| events.iter().any(|event| event.fact.garment() == Some(tag));
        let handles = |event: &Event| {
            matches!(
                event.fact,
                Fact::PressShut(_)
                    | Fact::PressOpened(_)
                    | Fact::HandworkDone(_)
                    | Fact::Printed(_)
                    | Fact::Stored(_)
                    | Fact::Weighed(_)
                    | Fact::CoatWeighed(_)
                    | Fact::TroubleNoted(_)
            )
        };
        let another = events.iter().any(handles) && !about(chosen);
        if another || about(chosen) {
            self.choice = Choice::default();
        }
        another.then_some(chosen)
    }

    /// The garment that an act without a press speaks of: the scanned one, else the one stepped to.
    pub fn chosen(&self) -> Option<Tag> {
        self.choice.scanned.or(self.choice.stepped.map(|(_, tag)| tag))
    }
}

/// Keeps an event in a history that lets go of its oldest.
pub fn keep(past: &mut VecDeque<Event>, event: Event) {
    if past.len() == MOST_PAST {
        past.pop_front();
    }
    past.push_back(event);
}
