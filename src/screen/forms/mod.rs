//! What takes the keys over for a moment: forms, lists, the help page.
//!
//! Only these own the digits; each says how to reach a press from it and closes by itself after 20 s without a key, a
//! list of acts after 8 s, so that nobody walks away from a board whose press keys are dead. Enter never means yes:
//! `+` submits.

mod acts;
mod bottle;
mod dial;
mod help;
mod known;
mod leave;
mod lookup;
mod order;
mod outage;
mod people;
mod pick;
mod probe;
mod reasons;
mod refused;
mod scale;
mod small;
mod stack;
pub mod strip;
mod text;
mod trouble;

use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::act::{Effect, LookRequest, Sight};
use super::art;
use super::input::{Key, KeyCode, Mode, Takes};
use super::keymap::{Deed, Keymap};
use super::paint::Line;
use super::theme::Role;
use super::ui::Tone;
use super::words;
use crate::shop::Correctable;
use crate::shop::Shop;
use crate::shop::books::coats::WeightWanted;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::order::Artwork;
use crate::shop::rules::command::Refusal;
pub use pick::open_presses;
use text::Text;

/// How long a form stays open without a key.
const STAYS: Duration = Duration::from_secs(20);

/// What a form made of a key.
#[derive(Debug)]
pub enum Typed {
    /// It stays open.
    Open,
    /// It stays open, and something is to be said.
    Said(Tone, String),
    /// It stays open, and something is to be done.
    Effects(Vec<Effect>),
    /// It has done its work, and something may be to be done. It is closed unless the shop refuses that.
    Closed(Vec<Effect>),
    /// It is closed, and this is done as by its own key.
    Deed(Deed),
    /// It is closed, and a garment is picked for a press.
    Picks(PressNo, Tag),
    /// It is closed, and with it what was picked or scanned is let go of.
    LetsGo,
}

/// An open form.
pub struct Form {
    kind: Kind,
    touched: Moment,
    /// What was said of the last key: it stands in the form, whole, until the next one.
    said: Option<(Tone, String)>,
    /// The key that opened it: it does not take it in as well, unless another came between.
    opener: Option<Key>,
    struck: bool,
}

/// A form that was left half filled in, and is there again when it is next opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Draft {
    Order,
    Probe,
}

impl Draft {
    /// What opens it again.
    pub fn deed(self) -> Deed {
        match self {
            Draft::Order => Deed::TakeOrder,
            Draft::Probe => Deed::Probe,
        }
    }
}

enum Kind {
    Acts(acts::ActList),
    Pick(pick::PickList),
    Help(help::Help),
    Leave(leave::Leave),
    Order(Box<order::OrderEntry>),
    Trouble(trouble::TroubleList),
    OutOfUse(outage::Outage),
    Dial(dial::DialEntry),
    Scale(scale::ScaleEntry),
    Probe(Box<probe::ProbeEntry>),
    Reasons(Tag),
    Stack(stack::StackEntry),
    LookUp(lookup::LookUp),
    Lot(Box<bottle::LotEntry>),
    Fill(Box<bottle::FillEntry>),
    People(people::People),
    Count(Text),
    Time(small::TimeEntry),
    Refused(refused::RefusedForm),
}

impl Form {
    fn new(kind: Kind, now: Moment) -> Self {
        Self { kind, touched: now, said: None, opener: None, struck: false }
    }

    /// The list of all acts.
    pub fn acts(now: Moment) -> Self {
        Self::new(Kind::Acts(acts::ActList::new()), now)
    }

    /// The list of the garments that could be picked for an open press.
    ///
    /// # Errors
    /// Why there is nothing to pick.
    pub fn pick(sight: &Sight<'_>) -> Result<Self, &'static str> {
        Ok(Self::new(Kind::Pick(pick::PickList::new(sight)?), sight.now))
    }

    /// The page of keys and cautions.
    pub fn help(now: Moment) -> Self {
        Self::new(Kind::Help(help::Help::default()), now)
    }

    /// Asks whether to leave, and where else to write what is not saved.
    pub fn leave(unsaved: bool, now: Moment) -> Self {
        Self::new(Kind::Leave(leave::Leave::new(unsaved)), now)
    }

    /// The form for an order.
    pub fn order(sight: &Sight<'_>) -> Self {
        Self::new(Kind::Order(Box::new(order::OrderEntry::new(sight.shop))), sight.now)
    }

    /// The list of what can be wrong with a garment, and what can be done beside; without one, that alone.
    pub fn trouble(tag: Option<Tag>, sight: &Sight<'_>) -> Self {
        Self::new(Kind::Trouble(trouble::TroubleList::new(tag, sight.shop)), sight.now)
    }

    /// Takes a press out of use, or back.
    pub fn out_of_use(now: Moment) -> Self {
        Self::new(Kind::OutOfUse(outage::Outage::default()), now)
    }

    /// Says how a press was set.
    pub fn dial(sight: &Sight<'_>) -> Self {
        Self::new(Kind::Dial(dial::DialEntry::new(sight)), sight.now)
    }

    /// Takes the weight of a garment.
    pub fn scale(wanted: WeightWanted, sight: &Sight<'_>) -> Self {
        Self::new(Kind::Scale(scale::ScaleEntry::new(wanted, sight.shop)), sight.now)
    }

    /// Takes what a probe and strips of paper said of a press; None where there is no press.
    pub fn probe(sight: &Sight<'_>) -> Option<Self> {
        Some(Self::new(Kind::Probe(Box::new(probe::ProbeEntry::new(sight)?)), sight.now))
    }

    /// The page that says why a sheet clings.
    pub fn reasons(tag: Tag, now: Moment) -> Self {
        Self::new(Kind::Reasons(tag), now)
    }

    /// Names the stack that is stored on, or says that one was shifted.
    pub fn stack(sight: &Sight<'_>) -> Self {
        Self::new(Kind::Stack(stack::StackEntry::new(sight.shop)), sight.now)
    }

    /// Looks a garment up by its tag.
    pub fn look_up(tag: Option<Tag>, now: Moment) -> Self {
        Self::new(Kind::LookUp(lookup::LookUp::new(tag)), now)
    }

    /// Registers a bottle's lot.
    pub fn lot(now: Moment) -> Self {
        Self::new(Kind::Lot(Box::new(bottle::LotEntry::new())), now)
    }

    /// Fills the sprayer.
    pub fn fill(now: Moment) -> Self {
        Self::new(Kind::Fill(Box::new(bottle::FillEntry::new())), now)
    }

    /// Who is at the bench, and the end of a shift.
    pub fn people(now: Moment) -> Self {
        Self::new(Kind::People(people::People::default()), now)
    }

    /// Stands where a form cannot be opened, and says why: what is typed for it lands nowhere else.
    pub fn refused_to_open(title: &'static str, reason: impl Into<String>, now: Moment) -> Self {
        Self::new(Kind::Refused(refused::RefusedForm::new(title, reason.into())), now)
    }

    /// Takes a number.
    pub fn count(now: Moment) -> Self {
        Self::new(Kind::Count(Text::default()), now)
    }

    /// Says when the last act really was.
    pub fn time(last: Correctable, now: Moment) -> Self {
        Self::new(Kind::Time(small::TimeEntry::new(last)), now)
    }

    /// What the keys are for in it as it stands.
    pub fn mode(&self) -> Mode {
        match &self.kind {
            Kind::Help(_) => Mode::Pages,
            Kind::Leave(leave) if leave.types() => Mode::Field(Takes::Text),
            Kind::Leave(_)
            | Kind::Trouble(_)
            | Kind::OutOfUse(_)
            | Kind::Reasons(_)
            | Kind::Acts(_)
            | Kind::Pick(_) => Mode::Lists,
            Kind::Order(entry) => Mode::Field(entry.takes()),
            Kind::Dial(entry) => Mode::Field(entry.takes()),
            Kind::Scale(_) => Mode::Field(Takes::Scan),
            Kind::Probe(entry) => Mode::Field(entry.takes()),
            Kind::Stack(_) => Mode::Field(Takes::Text),
            Kind::LookUp(entry) => Mode::Field(entry.takes()),
            Kind::Lot(entry) => Mode::Field(entry.takes()),
            Kind::Fill(entry) => entry.mode(),
            Kind::People(people) => people.mode(),
            Kind::Count(_) | Kind::Time(_) | Kind::Refused(_) => Mode::Field(Takes::Figures),
        }
    }

    /// Takes what a scanner read or a scale sent, where the field that the cursor is in asks for that.
    pub fn scan(&mut self, sight: &Sight<'_>, text: &str) -> Typed {
        self.touched = sight.now;
        self.said = None;
        self.struck = true;
        let refused = |what: &str| {
            let text = crate::shop::facts::words::clean(text.trim(), 20);
            Typed::Said(
                Tone::Refused,
                format!("\"{text}\" was scanned: {what}, nothing is changed"),
            )
        };
        let is_weight = words::is_weight(text);
        match &mut self.kind {
            Kind::Scale(entry) if is_weight => entry.scan(text),
            Kind::Scale(_) => refused("a weight is wanted here"),
            Kind::LookUp(entry) if entry.takes() == Takes::Scan => entry.scan(text),
            Kind::Lot(entry) if entry.takes() == Takes::Scan => entry.scan(text),
            Kind::Fill(entry) if entry.wants_lot() => entry.scan_lot(sight, text),
            Kind::Fill(entry) if entry.wants_grams() && is_weight => entry.scan_grams(text),
            _ => refused("no field here asks for it"),
        }
    }

    /// Says which key opened it.
    pub fn opened_by(self, key: Key) -> Self {
        Self { opener: Some(key), ..self }
    }

    /// A key that is about to do what the form is for: whether that is the one that opened it, and none came between.
    pub fn is_asking_key(&self, key: &Key) -> bool {
        !self.struck && self.opener == Some(*key)
    }

    /// A key was struck that is none of its own: it is not idle.
    pub fn touch(&mut self, now: Moment, key: &Key) {
        self.touched = now;
        self.said = None;
        self.took(key);
    }

    /// A key has been taken.
    pub fn took(&mut self, key: &Key) {
        self.struck |= self.opener != Some(*key);
    }

    /// Whether it owns the digits, so that the press keys are dead.
    pub fn owns_digits(&self) -> bool {
        !matches!(&self.kind, Kind::Leave(leave) if !leave.types())
    }

    /// What it is a draft of, where it takes so long to fill in that it is kept when it is left.
    pub fn draft_of(&self) -> Option<Draft> {
        match self.kind {
            Kind::Order(_) => Some(Draft::Order),
            Kind::Probe(_) => Some(Draft::Probe),
            _ => None,
        }
    }

    /// Opens a draft again.
    pub fn reopened(mut self, now: Moment) -> Self {
        match &mut self.kind {
            Kind::Order(entry) => entry.reopen(),
            Kind::Probe(entry) => entry.reopen(),
            _ => {}
        }
        Self { touched: now, said: None, opener: None, struck: false, ..self }
    }

    /// Says something of the last key.
    pub fn say(&mut self, tone: Tone, text: String) {
        self.said = Some((tone, text));
    }

    /// The shop refuses what was filled in: it stays, the cursor where the reason lies as far as that is known.
    pub fn refused(&mut self, refusal: &Refusal) {
        self.say(Tone::Refused, refusal.to_string());
        match &mut self.kind {
            Kind::Scale(entry) => entry.refused(),
            Kind::Stack(entry) => entry.refused(),
            Kind::LookUp(entry) => entry.refused(),
            Kind::Lot(entry) => entry.refused(refusal),
            Kind::Fill(entry) => entry.refused(refusal),
            Kind::People(people) => people.refused(),
            Kind::Count(count) => count.enter(),
            Kind::Time(entry) => entry.refused(),
            _ => {}
        }
    }

    /// Takes one key.
    pub fn key(&mut self, sight: &Sight<'_>, keys: &Keymap, key: &Key) -> Typed {
        self.touched = sight.now;
        self.said = None;
        if key.code == KeyCode::Esc && !matches!(self.kind, Kind::Trouble(_)) {
            return Typed::Closed(Vec::new());
        }
        if key.ctrl && !self.takes_ctrl(keys, key) {
            return Typed::Said(Tone::Note, format!("{key} does nothing here"));
        }
        let figure = key.with_figures();
        let key = match &self.kind {
            Kind::Trouble(_) | Kind::OutOfUse(_) | Kind::Count(_) | Kind::Time(_) => &figure,
            _ => key,
        };
        match &mut self.kind {
            Kind::Acts(list) => list.key(keys, key),
            Kind::Pick(list) => list.key(key),
            Kind::Help(help) => help.key(keys, key),
            Kind::Leave(leave) => leave.key(key),
            Kind::Order(entry) => entry.key(sight.shop, key),
            Kind::Trouble(list) => list.key(keys, key),
            Kind::OutOfUse(outage) => outage.key(sight.shop, key),
            Kind::Dial(entry) => entry.key(sight.shop, key),
            Kind::Scale(entry) => entry.key(key),
            Kind::Probe(entry) => entry.key(sight, key),
            Kind::Reasons(_) => Typed::Closed(Vec::new()),
            Kind::Stack(entry) => entry.key(key),
            Kind::LookUp(entry) => entry.key(key),
            Kind::Lot(entry) => entry.key(key),
            Kind::Fill(entry) => entry.key(sight, key),
            Kind::People(people) => people.key(sight, key),
            Kind::Count(count) => small::count_key(count, sight.shop, keys, key),
            Kind::Time(entry) => entry.key(key),
            Kind::Refused(refused) => refused.key(key),
        }
    }

    /// The few keys with Ctrl that a form knows.
    fn takes_ctrl(&self, keys: &Keymap, key: &Key) -> bool {
        match self.kind {
            Kind::Order(_) => key.code == KeyCode::Char('n'),
            Kind::Help(_) => keys.deed(key) == Some(Deed::Repaint),
            _ => false,
        }
    }

    /// Takes what was seen of an artwork.
    pub fn looked(&mut self, request: &LookRequest, found: Result<Option<Artwork>, String>) {
        if let Kind::Order(entry) = &mut self.kind {
            entry.looked(request, found);
        }
    }

    /// How long it stays open without a key; nothing once it has been left alone for too long. Where the shop's
    /// clock runs `speed` times as fast as life, so much more of it goes by.
    pub fn time_left(&self, now: Moment, speed: f64) -> Duration {
        self.stays().mul_f64(speed).saturating_sub(now.since(self.touched).span)
    }

    /// Whether it is the page of the list on which the answers to questions stand.
    pub fn lists_answers(&self) -> bool {
        matches!(&self.kind, Kind::Acts(list) if list.has_answers())
    }

    /// How long it stays open without a key.
    pub fn stays(&self) -> Duration {
        match &self.kind {
            Kind::Acts(_) => acts::STAYS,
            _ => STAYS,
        }
    }

    /// What an abandoned form still states: a trouble that was named is noted, its outcome as not noted.
    pub fn abandoned(self) -> Vec<Effect> {
        match self.kind {
            Kind::Trouble(list) => list.abandoned(),
            _ => Vec::new(),
        }
    }

    /// Draws it into its strip.
    pub fn draw(&self, view: &View<'_>, area: Rect, buf: &mut Buffer) {
        let (title, lines) = match &self.kind {
            Kind::Help(help) => return help.draw(view, area, buf),
            Kind::Acts(list) => list.lines(view),
            Kind::Pick(list) => list.lines(view),
            Kind::Leave(leave) => leave.lines(view),
            Kind::Order(entry) => entry.lines(),
            Kind::Trouble(list) => list.lines(view),
            Kind::OutOfUse(outage) => outage.lines(view),
            Kind::Dial(entry) => entry.lines(view),
            Kind::Scale(entry) => entry.lines(),
            Kind::Probe(entry) => entry.lines(view),
            Kind::Reasons(tag) => reasons::lines(*tag, view),
            Kind::Stack(entry) => entry.lines(view),
            Kind::LookUp(entry) => entry.lines(view),
            Kind::Lot(entry) => entry.lines(),
            Kind::Fill(entry) => entry.lines(view),
            Kind::People(people) => people.lines(view),
            Kind::Count(count) => small::count_lines(view, count),
            Kind::Time(entry) => entry.lines(),
            Kind::Refused(refused) => refused.lines(),
        };
        let inside = strip::open(view, &title, self.owns_digits(), area, buf);
        let beside = strip::draw(view, &lines, &self.said_lines(view, inside.width), inside, buf);
        if let Kind::Order(entry) = &self.kind
            && let Some(artwork) = entry.artwork()
            && art::fitting(beside).is_some()
        {
            art::draw(buf, view.theme, beside, &artwork.sketch);
        }
    }

    /// What was said of the last key, in full; else the board's message, whose own row the strip covers.
    fn said_lines(&self, view: &View<'_>, width: u16) -> Vec<Line> {
        let message = view.ui.message.as_ref().map(|message| (message.tone, &message.text));
        let said = self.said.as_ref().map(|(tone, text)| (*tone, text)).or(message);
        let Some((tone, text)) = said else { return Vec::new() };
        let role = match tone {
            Tone::Stop => Role::Danger,
            Tone::Refused => Role::Abnormal,
            Tone::Done | Tone::Note => Role::Strong,
        };
        let line = |text: String| Line::of(role, text);
        words::wrapped(&format!("! {text}"), usize::from(width)).into_iter().map(line).collect()
    }
}

/// The place in a list, from none, that a digit from 1 on names; None for any other letter.
fn place(digit: char) -> Option<usize> {
    digit.to_digit(10).and_then(|n| usize::try_from(n).ok()?.checked_sub(1))
}

/// The press of this station that a digit names.
fn press(shop: &Shop, digit: char) -> Option<PressNo> {
    let press = digit.to_digit(10).and_then(|n| u8::try_from(n).ok()).map(PressNo);
    press.filter(|press| shop.press_numbers().contains(press))
}

/// The head of a draft that is open again, and where it can be thrown away.
fn kept_line(field: &str) -> Line {
    Line::of(Role::Abnormal, format!("kept from before: go on, or - at {field} throws it away"))
}

/// A row with a name and a value; the chosen one stands out.
fn field(name: &str, value: &str, chosen: bool, hint: &str) -> Line {
    let role = if chosen { Role::Chosen } else { Role::Plain };
    let mut line = Line::default();
    line.add(Role::Plain, format!("{name:<12}"));
    line.add(role, format!(" {value} "));
    if chosen {
        line.add(Role::Plain, format!("  {hint}"));
    }
    line
}
